"""
What a killed process left half done when it added a run, and how the next one puts it right.

A run is two writes: the document and its line in the journal.  Between them a process can die, and
a run without its line would look smuggled in.  So what the line will say is noted first, and the
next one that adds a run writes the line where the document holds the run.
"""

import contextlib
import json
import time
import tomllib
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from feedproof.core.errors import FeedproofError, InputError, WriteError
from feedproof.records.corrections import RUN_ADDED
from feedproof.records.durable import write_whole
from feedproof.records.journal import Journal

NOTE = ".adding.json"
STALE_S = 3600.0
"""A temporary file that old has no living writer."""
# Only names that `write_whole` gives: a user's own hidden files are not ours to remove.
_LEFT = (
    ".case.toml-????????",
    "..adding.json-????????",
    "raw/*/.*-????????",
    "results/.*-????????",
    "report/.report.*-????????",
    ".history/.*-????????",
)


def replace_and_tell(
    document: Path,
    before: bytes,
    after: bytes,
    journal: Journal,
    data: Mapping[str, Any],
    *,
    who: str,
    when: datetime | None,
) -> None:
    """
    Replace the document by one with a run more and tell the journal: both or neither.

    Parameters
    ----------
    document : Path
        The document, whose lock the caller holds.
    before, after : bytes
        Its content now and then.
    journal : Journal
        Of the case.
    data : mapping
        Of the line: ``run`` and ``logs``.
    who : str
        Of the line.
    when : datetime or None
        Of the line; now when None.

    Raises
    ------
    InputError, WriteError
        Nothing was changed; or, where not even the old document could be put back, the run is in
        and the next one that adds a run writes its line.
    """
    note = document.with_name(NOTE)
    moment = when or datetime.now(UTC)
    noted = {"data": dict(data), "who": who, "when": moment.isoformat()}
    write_whole(note, json.dumps(noted).encode())
    try:
        write_whole(document, after)
        journal.append(RUN_ADDED, data, who=who, when=when)
    except FeedproofError:
        _put_back(document, before, data["run"])
        _forget(note)
        raise
    _forget(note)


def _put_back(document: Path, before: bytes, number: int) -> None:
    """Take the run out again: without its line in the journal it would look smuggled in."""
    if document.read_bytes() == before:
        return
    try:
        write_whole(document, before)
    except WriteError as fault:
        raise WriteError.at(
            document.name,
            f"run {number} is in it, but its line in the journal could not be written.",
            "Free some space; the line is written when the next run is added.",
        ) from fault


def _forget(note: Path) -> None:
    """Remove the note; one that stays is harmless, since its run and line are found together."""
    with contextlib.suppress(OSError):
        note.unlink(missing_ok=True)


def put_right(document: Path, journal: Journal) -> None:
    """
    Finish what a killed process began; to be called with the document's lock held.

    Parameters
    ----------
    document : Path
        The document of the case.
    journal : Journal
        Of the case.

    Raises
    ------
    InputError, WriteError
        The line could not be written; the note stays.
    """
    _remove_left(document.parent)
    note = document.with_name(NOTE)
    if not note.exists():
        return
    try:
        noted = json.loads(note.read_bytes())
        data, who, when = noted["data"], noted["who"], datetime.fromisoformat(noted["when"])
        missing = _holds(document, data) and not _told(journal, data["run"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise InputError.at(
            NOTE,
            f"or {document.name} cannot be read: {fault}.",
            f"Mend the document; remove {NOTE} if it was edited by hand.",
        ) from fault
    if missing:
        why = "adding was interrupted before this line; written when the next run was added"
        journal.append(RUN_ADDED, data, who=who, when=when, why=why)
    _forget(note)


def _holds(document: Path, data: Mapping[str, Any]) -> bool:
    """Say whether the document holds the run of a note, with the same logs."""
    text = document.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    return any(
        run["number"] == data["run"]
        and [log["sha256"] for log in run["logs"]] == list(data["logs"].values())
        for run in tomllib.loads(text).get("run", ())
    )


def _told(journal: Journal, number: int) -> bool:
    """Say whether the journal has the line of a run."""
    entries, _ = journal.read()
    return any(each.what == RUN_ADDED and each.data.get("run") == number for each in entries)


def _remove_left(folder: Path) -> None:
    """Remove temporary files whose writers died."""
    for left in (path for pattern in _LEFT for path in folder.glob(pattern)):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > STALE_S:
                left.unlink()
