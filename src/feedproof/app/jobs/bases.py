"""What a result rests on, and whether that is still so."""

import hashlib
from pathlib import Path

from feedproof import __version__
from feedproof.app.calibration import calibrations
from feedproof.app.jobs.record import Basis
from feedproof.app.looking import JUDGED
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.journal import Entry
from feedproof.records.making import environment, last_line
from feedproof.records.store.address import is_there


class Standing:
    """
    A case as it stands now: what a result that is computed now rests on.

    Parameters
    ----------
    case : Path
        Its folder.
    asks_database : bool
        True when what the database says of instruments is in the result.
    """

    def __init__(self, case: Path, *, asks_database: bool = False) -> None:
        self.document = self.calibrated = ""
        self._entries: tuple[Entry, ...] = ()
        try:
            self.document = hashlib.sha256((case / CASE).read_bytes()).hexdigest()
            self._entries = CaseFolder(case).journal.read()[0]
            if asks_database and is_there():
                self.calibrated = _calibrated(case)
        except (OSError, FeedproofError):
            # Nothing rests on a case that cannot be read; the verbs say what is wrong with it.
            return

    def basis(self) -> Basis:
        """
        Give it as a basis.

        Returns
        -------
        Basis
            Of a result that is computed now.
        """
        lines, digest = last_line(self._entries)
        return Basis(
            document=self.document,
            journal_lines=lines,
            journal_sha256=digest if lines else "",
            code=environment(__version__)["code"],
            calibrated=self.calibrated,
        )

    def changes_since(self, basis: Basis | None) -> tuple[str, ...]:
        """
        Say what has changed since a result was computed.

        Parameters
        ----------
        basis : Basis or None
            What the result rests on; None where nobody can say.

        Returns
        -------
        tuple of str
            In words; empty where it would be computed from the same again.
        """
        if basis is None:
            return ("the case was changed while it was computed",)
        told = []
        if self.document != basis.document:
            told.append("the case was changed")
        kept = self._entries[: basis.journal_lines]
        lines, digest = last_line(kept)
        if lines != basis.journal_lines or (lines and digest != basis.journal_sha256):
            told.append("the journal is another one")
        elif any(each.what != JUDGED for each in self._entries[basis.journal_lines :]):
            # A further look at the same runs is no news to any result.
            told.append("the journal has more lines")
        if self.calibrated != basis.calibrated:
            told.append("what is known of the instruments' calibration changed")
        if environment(__version__)["code"] != basis.code:
            told.append("the program is another version")
        return tuple(told)


def _calibrated(case: Path) -> str:
    """Hash what the database says of a case's instruments; empty where it says nothing."""
    with calibrations(CaseFolder.open(case).load().case, None) as file:
        return hashlib.sha256(file.read_bytes()).hexdigest() if file else ""
