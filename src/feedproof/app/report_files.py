"""The files of a report: written for one case, over nothing that is not this case's own."""

import hashlib
from dataclasses import replace
from pathlib import Path

from feedproof.case.case import Case
from feedproof.core.errors import WriteError
from feedproof.records.durable import write_whole
from feedproof.records.journal import Entry
from feedproof.report.seal import Seal, seal_of, sealed

PAGE, PAPER = "report.html", "report.pdf"
_REMEDY = "Name another folder with --out, move the file away, or give --force to write over it."


def seal_for(case: Case, entries: tuple[Entry, ...]) -> Seal:
    """
    Give the mark of a case's reports, before there is a result.

    Parameters
    ----------
    case : Case
        The case.
    entries : tuple of Entry
        Of its journal.

    Returns
    -------
    Seal
        Without result and paper.
    """
    return Seal(
        title=case.title,
        vehicle=case.vehicle.name,
        journal=entries[0].hash if entries else "",
        result="",
        paper_sha256="",
    )


def check_place(target: Path, seal: Seal) -> None:
    """
    Refuse a folder whose report is not this case's own, or was changed after it was written.

    Parameters
    ----------
    target : Path
        Folder; it need not exist yet.
    seal : Seal
        Of this case.

    Raises
    ------
    WriteError
        Writing there would destroy what the program did not write for this case.
    """
    page, paper = target / PAGE, target / PAPER
    there = None
    if page.exists() or page.is_symlink():
        there = _seal_in(page)
        if there is None:
            raise WriteError.at(
                str(page),
                "is there already, and is no report of this program or was changed after it was"
                " written.",
                _REMEDY,
            )
        if not there.same_case(seal):
            raise WriteError.at(
                str(page), f"is there already: the report of another case, {there.title}.", _REMEDY
            )
    if (paper.exists() or paper.is_symlink()) and not _is_paper_of(paper, there):
        raise WriteError.at(
            str(paper),
            f"is there already, and is not the one that was written with a {PAGE} beside it.",
            _REMEDY,
        )


def write_report(target: Path, page: str, paper: bytes, seal: Seal) -> tuple[str, str]:
    """
    Write page and paper.

    Parameters
    ----------
    target : Path
        Folder; made where there is none.
    page : str
        HTML.
    paper : bytes
        PDF.
    seal : Seal
        With the result.

    Returns
    -------
    tuple of str
        The two files.

    Raises
    ------
    WriteError
        Nothing could be written.
    """
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise WriteError.at(
            str(target), f"cannot be made: {fault.strerror}.", "Name another folder."
        ) from fault
    whole = replace(
        seal,
        paper_sha256=hashlib.sha256(paper).hexdigest(),
        replaced_sha256=_hash_of(target / PAPER),
    )
    write_whole(target / PAGE, sealed(page, whole).encode())
    write_whole(target / PAPER, paper)
    return str(target / PAGE), str(target / PAPER)


def _seal_in(page: Path) -> Seal | None:
    """Read the mark of a file, whatever the file is."""
    try:
        return seal_of(page.read_bytes().decode())
    except (OSError, UnicodeDecodeError):
        return None


def _is_paper_of(paper: Path, seal: Seal | None) -> bool:
    """Say whether a PDF is the one that a page was written with, or was about to replace."""
    found = _hash_of(paper)
    return seal is not None and bool(found) and found in (seal.paper_sha256, seal.replaced_sha256)


def _hash_of(paper: Path) -> str:
    """Hash a PDF; empty where there is none that can be read."""
    try:
        return hashlib.sha256(paper.read_bytes()).hexdigest()
    except OSError:
        return ""
