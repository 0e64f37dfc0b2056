"""Edit the document of a case where others may edit it too: the second is told, nothing is lost."""

import hashlib
import tomllib

from feedproof.core.errors import InputError, WriteError
from feedproof.core.findings import has_errors
from feedproof.records.corrections import vanished
from feedproof.records.durable import locked, write_whole
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.reading import read_document


def replace_document(folder: CaseFolder, content: bytes, revision: str) -> str:
    """
    Put a new document in the place of the one that the editor read.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    content : bytes
        The new document, in UTF-8.
    revision : str
        SHA-256 of the document that it was made from.

    Returns
    -------
    str
        SHA-256 of the new one.

    Raises
    ------
    InputError
        Every mistake in it; nothing was written.
    WriteError
        Somebody else was first, and what they wrote stands; or no space.
    """
    path = folder.path / CASE
    with locked(path):
        before = path.read_bytes()
        if hashlib.sha256(before).hexdigest() != revision:
            raise WriteError.at(
                CASE,
                "was changed by somebody else meanwhile; what they wrote stands.",
                "Read it again and make your change once more.",
            )
        _check(folder, content)
        # Whoever comes later can look up what stood here.
        folder.documents.keep(before, "toml")
        write_whole(path, content)
    return hashlib.sha256(content).hexdigest()


def _check(folder: CaseFolder, content: bytes) -> None:
    """Refuse a document with mistakes, or without a run that the journal knows."""
    entries, findings = folder.journal.read()
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as fault:
        raise InputError.at(CASE, f"cannot be read: {fault}.", "Mend it.") from fault
    reading = read_document(document, text, CASE, entries)
    findings += reading.findings
    if reading.case is not None:
        findings += tuple(vanished(entries, reading.case))
    if has_errors(findings):
        raise InputError([finding for finding in findings if finding.level == "error"])
