"""
The archive of repeatability: one file that belongs to the workshop, not to a case.

Laid out as a case's journal is: plain lines of JSON that are only ever appended, each with the
hash of the line before it.  The first line names the format; each other one adds a session (in
place of an earlier one, where it says so) or withdraws one.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import Finding, error, warning
from feedproof.evidence.archives.lines import Line, SessionData, standing
from feedproof.records.archive_document import (
    FORMAT,
    VERSION,
    body_of,
    session_of,
    withdrawal_of,
)
from feedproof.records.journal import FIRST, Entry, Journal, require_words

BEGUN = "archive begun"
ADDED = "baseline session added"
WITHDRAWN = "baseline session withdrawn"
_HASH_DIGITS_LEAST = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Archived:
    """
    An archive as its file holds it.

    Parameters
    ----------
    lines : tuple of Line
        Sessions added and withdrawn, in the order of the file.
    findings : tuple of Finding
        Warnings: dates that run backwards, a torn last line.
    entries : int
        Lines of the file, the first one included. [-]
    sha256 : str
        Hash of the last line, which stands for all of them.
    """

    lines: tuple[Line, ...]
    findings: tuple[Finding, ...]
    entries: int
    sha256: str


class ArchiveFile:
    """
    The file of an archive.

    Parameters
    ----------
    path : Path
        The file; it need not exist yet.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._journal = Journal(path, called="archive")

    def read(self) -> Archived:
        """
        Read all lines.

        Returns
        -------
        Archived
            Nothing where the file does not exist yet.

        Raises
        ------
        InputError
            A damaged line, another format or version, figures that do not follow from their
            values: each at its line.
        """
        try:
            entries, findings = self._journal.read()
        except OSError as fault:
            raise InputError.at(
                str(self.path), f"cannot be read: {fault.strerror}.", "Name a file."
            ) from fault
        broken = [finding for finding in findings if finding.level == "error"]
        if broken:
            raise InputError(broken)
        lines: list[Line] = []
        faults: list[Finding] = []
        for entry in entries:
            place = f"{self.path.name} line {entry.seq}"
            try:
                self._take(entry, lines)
            except ValueError as fault:
                faults.append(error(place, f"{fault}.", _remedy(entry)))
                if entry.seq == 1:
                    break
        if faults:
            raise InputError(faults)
        told = tuple(
            warning(
                f"{self.path.name} line {line.number}",
                "is dated before its own runs.",
                "Dates are the writer's own: ask who wrote it.",
            )
            for line in lines
            if line.data is not None and line.recorded < line.data.last
        )
        return Archived(
            lines=tuple(lines),
            findings=(*findings, *told),
            entries=len(entries),
            sha256=entries[-1].hash if entries else FIRST,
        )

    def load(self) -> Archived:
        """
        Read an archive that must be there.

        Returns
        -------
        Archived
            As read.

        Raises
        ------
        MissingError
            There is no such file.
        InputError
            What `read` refuses.
        """
        if not self.path.is_file():
            raise MissingError.at(
                str(self.path),
                "there is no archive.",
                "Begin one with a baseline session: feedproof archive add CASE --file FILE.",
            )
        return self.read()

    def add(
        self,
        session: SessionData,
        *,
        who: str,
        replace_because: str = "",
        when: datetime | None = None,
    ) -> Line:
        """
        Add one session, or put it in the place of what was added of it before.

        Parameters
        ----------
        session : SessionData
            Its baseline.
        who : str
            Who adds it.
        replace_because : str
            Reason for replacing the line that holds runs of this session.
        when : datetime, optional
            With offset; now when left out.

        Returns
        -------
        Line
            As written.

        Raises
        ------
        InputError
            No person; it is there already and no reason to replace it was given, or there is
            nothing to replace.
        WriteError
            Nothing was written.
        """
        require_words({"who": who})
        archived = self.read()
        place = f"session {session.session}"
        same = [
            line
            for line in standing(archived.lines)
            if line.data is not None and line.data.shares_runs_with(session.runs)
        ]
        if same and not replace_because:
            raise InputError.at(
                place,
                f"is there already: {self.path.name} line {same[0].number}, added"
                f" {same[0].recorded:%Y-%m-%d} by {same[0].who}.",
                "A session counts once. To put these figures in its place, give the reason:"
                " --replace REASON.",
            )
        if replace_because and len(same) != 1:
            found = "no line" if not same else f"{len(same)} lines"
            raise InputError.at(
                place,
                f"{found} of {self.path.name} hold runs of this session, so nothing can be"
                " replaced by it.",
                "Withdraw the wrong lines one by one." if same else "Leave out --replace.",
            )
        instead_of = same[0].sha256 if same else ""
        try:
            body = body_of(session, instead_of)
        except ValueError as fault:
            raise InputError.at(place, f"cannot be kept: {fault}.") from fault
        count = archived.entries or self._begin(who, when)
        self._journal.append(
            ADDED, body, who=who, why=replace_because, when=when, lines_before=count
        )
        return self.read().lines[-1]

    def withdraw(self, which: str, *, who: str, reason: str, when: datetime | None = None) -> Line:
        """
        Withdraw one session.

        Parameters
        ----------
        which : str
            Number of its line, or the first digits (8 at least) of the line's hash.
        who, reason : str
            Who withdraws it and why.
        when : datetime, optional
            With offset; now when left out.

        Returns
        -------
        Line
            The line that was withdrawn.

        Raises
        ------
        MissingError
            No session that stands has this line.
        InputError
            No person or no reason.
        """
        require_words({"who": who, "reason": reason})
        archived = self.load()
        found = [line for line in standing(archived.lines) if _named(line, which)]
        if len(found) != 1:
            stand = ", ".join(str(line.number) for line in standing(archived.lines)) or "none"
            raise MissingError.at(
                f"{self.path.name} line {which}",
                "there is no session that stands on this line.",
                f"Sessions stand on lines: {stand}. See feedproof archive show.",
            )
        line = found[0]
        data = {"line": line.number, "instead_of": line.sha256}
        self._journal.append(
            WITHDRAWN, data, who=who, why=reason, when=when, lines_before=archived.entries
        )
        return line

    def _begin(self, who: str, when: datetime | None) -> int:
        """Write the first line."""
        self._journal.append(
            BEGUN, {"format": FORMAT, "version": VERSION}, who=who, when=when, lines_before=0
        )
        return 1

    def _take(self, entry: Entry, lines: list[Line]) -> None:
        """Add one line, or say in a ValueError what is wrong with it."""
        if not isinstance(entry.data, Mapping) or entry.when.tzinfo is None:
            raise ValueError("this is not a line of an archive")
        if entry.seq == 1:
            _check_first(entry)
            return
        latest = lines[-1].known_from if lines else entry.when
        data: SessionData | None = None
        if entry.what == ADDED:
            data, instead_of = session_of(entry.data)
            latest = max(latest, data.last)
        elif entry.what == WITHDRAWN:
            instead_of = withdrawal_of(entry.data).instead_of
        else:
            raise ValueError(f"{entry.what!r} is no kind of line that this version knows")
        stands = {line.sha256 for line in standing(lines)}
        if (instead_of or data is None) and instead_of not in stands:
            raise ValueError("takes back a session that does not stand above it")
        lines.append(
            Line(
                number=entry.seq,
                sha256=entry.hash,
                recorded=entry.when,
                known_from=max(latest, entry.when),
                who=entry.who,
                why=entry.why,
                data=data,
                instead_of=instead_of,
            )
        )


def _check_first(entry: Entry) -> None:
    """Hold the first line against the format."""
    found = (entry.data.get("format"), entry.data.get("version"))
    if entry.what != BEGUN or found[0] != FORMAT:
        raise ValueError("this is not an archive of repeatability")
    if found[1] != VERSION:
        raise ValueError(
            f"the archive has version {found[1]!r}; this program reads version {VERSION}"
        )


def _remedy(entry: Entry) -> str:
    """Say what to do about a line that cannot be used."""
    if entry.seq == 1:
        return "Name a file that feedproof archive add began, or use the version that wrote it."
    return "Restore the file from a backup; nothing is written to it as it stands."


def _named(line: Line, which: str) -> bool:
    """Say whether a line is meant by a number or by the start of its hash."""
    word = which.strip().lower()
    if word == str(line.number):
        return True
    return len(word) >= _HASH_DIGITS_LEAST and line.sha256.startswith(word)
