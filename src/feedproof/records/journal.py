"""
The journal of a case: what was declared, added and left out, by whom, when and why.

Lines are only ever appended.  Each holds the hash of the line before it, so that an edit, a
removal or a change of order shows.  Last lines that were cut off leave a whole chain: results keep
the end that they were computed with, and `cut_tail` holds the journal against it.  The dates are
the writer's own: the chain proves that nothing was changed afterwards, not that a clock was right,
and reports call them self-declared.
"""

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError, WriteError
from feedproof.core.findings import Finding, error, warning
from feedproof.records.durable import locked, sync_folder

FIRST = "0" * 64
"""What the first line holds in place of a hash."""

_KEYS = ("seq", "when", "who", "what", "why", "data", "previous")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """
    One line of the journal.

    Parameters
    ----------
    seq : int
        Its number, from 1.
    when : datetime
        When, in UTC.
    who, what, why : str
        By whom; which kind of thing; the reason given.
    data : mapping
        What was declared or done.
    previous, hash : str
        Hash of the line before and of this one.
    """

    seq: int
    when: datetime
    who: str
    what: str
    why: str
    data: Mapping[str, Any]
    previous: str
    hash: str


def require_words(words: Mapping[str, str]) -> None:
    """
    Refuse an empty person, source or reason: a line of a journal needs one who stands for it.

    Parameters
    ----------
    words : mapping of str to str
        By the option that gives them.

    Raises
    ------
    InputError
        Empty or blank ones, all at once.
    """
    empty = [
        error(
            f"--{name}",
            "is empty: the line that is kept needs one who stands for it, and why.",
            f"Give --{name} in words.",
        )
        for name, text in words.items()
        if not text.strip()
    ]
    if empty:
        raise InputError(empty)


def cut_tail(
    name: str, entries: Sequence[Entry], seen: Sequence[tuple[str, int, str]]
) -> tuple[Finding, ...]:
    """
    Find that last lines were taken away, which the chain of hashes alone cannot show.

    Parameters
    ----------
    name : str
        Of the journal.
    entries : sequence of Entry
        As it stands.
    seen : sequence of (str, int, str)
        Results with the number of lines that each has seen and the hash of the last one.

    Returns
    -------
    tuple of Finding
        One error, or none.
    """
    for result, lines, digest in sorted(seen, key=lambda each: -each[1]):
        if len(entries) < lines:
            what = f"has {len(entries)} lines; result {result} was computed with {lines} of them."
        elif lines and entries[lines - 1].hash != digest:
            what = f"has another line {lines} than result {result} was computed with."
        else:
            continue
        text = f"{what} Lines were taken away after they were written."
        return (error(name, text, "Restore it from a backup; nothing is judged without them."),)
    return ()


def _hash_of(body: Mapping[str, Any]) -> str:
    """Hash the canonical form of a line."""
    canonical = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _in_utc(when: datetime | None) -> datetime:
    """Give a moment in UTC; one without offset could be any."""
    if when is None:
        return datetime.now(UTC)
    if when.tzinfo is None:
        raise InputError.at("journal", f"{when} has no offset from UTC.", "Give it one.")
    return when.astimezone(UTC)


def _as_read(body: dict[str, Any]) -> dict[str, Any]:
    """Give a line as it will be read back, so that its hash is that of what is on the disk."""
    try:
        text = json.dumps(body, allow_nan=False)
        text.encode()
        found: dict[str, Any] = json.loads(text)
    except (TypeError, ValueError) as fault:
        raise InputError.at(
            "journal", f"the line cannot be written: {fault}.", "Give plain values."
        ) from fault
    return found


def _end_of_whole(content: bytes) -> int:
    """
    Find where the lines end that were written whole.

    A power cut leaves the last line without its end, or, where a later block reached the disk
    before an earlier one, with zeros in the earlier one's place.  Zeros are never written.
    """
    end = content.rfind(b"\n") + 1
    start = content.rfind(b"\n", 0, max(end - 1, 0)) + 1
    last = content[start:end]
    return start if last.startswith(b"\0") or b"\0\0" in last else end


class Journal:
    """
    The journal file of one case.

    Parameters
    ----------
    path : Path
        ``journal.jsonl``; it need not exist yet.
    called : str
        What to call it in findings: other files are kept in the same way.
    """

    def __init__(self, path: Path, called: str = "journal") -> None:
        self.path = path
        self.called = called

    def read(self) -> tuple[tuple[Entry, ...], tuple[Finding, ...]]:
        """
        Read all lines and check the chain.

        Returns
        -------
        entries : tuple of Entry
            Those lines whose chain is whole, from the first on.
        findings : tuple of Finding
            A broken chain is an error; a torn last line, as a power cut leaves it, a warning.
        """
        if not self.path.exists():
            return (), ()
        content = self.path.read_bytes()
        end = _end_of_whole(content)
        whole, tail = content[:end].split(b"\n")[:-1], content[end:]
        entries: list[Entry] = []
        findings: list[Finding] = []
        for number, line in enumerate(whole, start=1):
            fault = self._take(line, entries)
            if fault:
                findings.append(
                    error(
                        f"{self.path.name} line {number}",
                        f"{fault} The {self.called} was changed after it was written.",
                        "Restore it from a backup; what follows this line counts for nothing.",
                    )
                )
                return tuple(entries), tuple(findings)
        findings += [
            warning(
                f"{self.path.name} line {later.seq}",
                f"is dated {later.when:%Y-%m-%d %H:%M}, before the line above it.",
                "Dates are the writer's own: ask who wrote it.",
            )
            for earlier, later in pairwise(entries)
            if later.when < earlier.when
        ]
        if tail:
            findings.append(
                warning(
                    f"{self.path.name} line {len(whole) + 1}",
                    "the last line is torn, as a power cut leaves it; earlier lines are whole.",
                    "The next line that is written takes its place.",
                )
            )
        return tuple(entries), tuple(findings)

    def _take(self, line: bytes, entries: list[Entry]) -> str:
        """Add one line to the entries, or say what is wrong with it."""
        try:
            found = json.loads(line.decode())
            body = {key: found[key] for key in _KEYS}
            entry = Entry(
                seq=found["seq"],
                when=datetime.fromisoformat(found["when"]),
                who=found["who"],
                what=found["what"],
                why=found["why"],
                data=found["data"],
                previous=found["previous"],
                hash=found["hash"],
            )
        except (ValueError, KeyError, TypeError, RecursionError):
            return "the line cannot be read."
        before = entries[-1].hash if entries else FIRST
        if set(found) != {*_KEYS, "hash"} or entry.hash != _hash_of(body):
            return "the line does not have the hash that it states."
        if entry.previous != before or entry.seq != len(entries) + 1:
            return "the line does not follow the one before it."
        entries.append(entry)
        return ""

    def append(
        self,
        what: str,
        data: Mapping[str, Any],
        *,
        why: str = "",
        who: str = "operator",
        when: datetime | None = None,
        lines_before: int | None = None,
    ) -> Entry:
        """
        Append one line, so that it survives a power cut.

        Parameters
        ----------
        what : str
            Kind of thing, such as ``margins declared``.
        data : mapping
            What JSON can hold.
        why, who : str
            Reason and person.
        when : datetime, optional
            With offset; now when left out.
        lines_before : int, optional
            Lines that the caller's decision to append rests on; where another process has
            appended since, nothing is written.

        Returns
        -------
        Entry
            As written.

        Raises
        ------
        InputError
            The chain is broken; nothing is appended to it.
        WriteError
            The line could not be written, or another one came first.
        """
        with locked(self.path):
            entries, findings = self.read()
            broken = [finding for finding in findings if finding.level == "error"]
            if broken:
                raise InputError(broken)
            if lines_before is not None and len(entries) != lines_before:
                raise WriteError.at(
                    self.path.name, "was written by another process meanwhile.", "Try again."
                )
            self._cut_torn_tail()
            moment = _in_utc(when)
            body: dict[str, Any] = {
                "seq": len(entries) + 1,
                "when": moment.isoformat(timespec="seconds"),
                "who": who,
                "what": what,
                "why": why,
                "data": dict(data),
                "previous": entries[-1].hash if entries else FIRST,
            }
            body = _as_read(body)
            line = json.dumps({**body, "hash": _hash_of(body)}, ensure_ascii=False)
            self._write(line)
            return Entry(**{**body, "when": moment, "hash": _hash_of(body)})

    def _cut_torn_tail(self) -> None:
        """Remove an unfinished last line."""
        if not self.path.exists():
            return
        content = self.path.read_bytes()
        end = _end_of_whole(content)
        if end < len(content):
            os.truncate(self.path, end)

    def _write(self, line: str) -> None:
        """Append one line and have it reach the disk."""
        known = self.path.exists()
        before = self.path.stat().st_size if known else 0
        try:
            with self.path.open("ab") as file:
                file.write(line.encode() + b"\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as fault:
            with contextlib.suppress(OSError):
                os.truncate(self.path, before)
            raise WriteError.at(
                str(self.path.name), f"could not be written: {fault.strerror}.", "Free some space."
            ) from fault
        if not known:  # a power cut could take a new file that its folder does not name yet
            with contextlib.suppress(OSError):
                sync_folder(self.path.parent)
