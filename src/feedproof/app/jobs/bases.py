"""What a result rests on, and whether that is still so."""

import hashlib
from pathlib import Path

from feedproof import __version__
from feedproof.app.jobs.record import Basis
from feedproof.app.looking import JUDGED
from feedproof.core.errors import FeedproofError
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.making import environment, last_line


def document_hash(case: Path) -> str:
    """
    Hash the document of a case.

    Parameters
    ----------
    case : Path
        Its folder.

    Returns
    -------
    str
        SHA-256; empty where there is none.
    """
    try:
        return hashlib.sha256((case / CASE).read_bytes()).hexdigest()
    except OSError:
        return ""


def basis_now(case: Path) -> Basis | None:
    """
    Say what a result that is computed now rests on.

    Parameters
    ----------
    case : Path
        Folder of the case.

    Returns
    -------
    Basis or None
        None where there is no case.
    """
    document = document_hash(case)
    if not document:
        return None
    lines, digest = last_line(CaseFolder(case).journal.read()[0])
    code = environment(__version__)["code"]
    return Basis(document=document, journal_lines=lines, journal_sha256=digest, code=code)


def changes_since(case: Path, basis: Basis) -> tuple[str, ...]:
    """
    Say what has changed since a result was computed.

    Parameters
    ----------
    case : Path
        Folder of the case.
    basis : Basis
        What the result rests on.

    Returns
    -------
    tuple of str
        In words; empty where it would be computed from the same again.
    """
    told = []
    if document_hash(case) != basis.document:
        told.append("the case was changed")
    try:
        entries = CaseFolder(case).journal.read()[0]
    except FeedproofError:
        entries = ()
    kept, later = entries[: basis.journal_lines], entries[basis.journal_lines :]
    lines, digest = last_line(kept)
    if lines != basis.journal_lines or (lines and digest != basis.journal_sha256):
        told.append("the journal is another one")
    elif any(each.what != JUDGED for each in later):
        # A further look at the same runs is no news to any result.
        told.append("the journal has more lines")
    if environment(__version__)["code"] != basis.code:
        told.append("the program is another version")
    return tuple(told)
