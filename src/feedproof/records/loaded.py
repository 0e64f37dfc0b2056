"""A case as its folder holds it, with the bytes and the lines that it was read from."""

from dataclasses import dataclass

from feedproof.case.case import Case
from feedproof.core.findings import Finding
from feedproof.records.journal import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """
    A case as its folder holds it.

    Parameters
    ----------
    case : Case
        Without mistakes.
    findings : tuple of Finding
        Warnings.
    sha256 : str
        Hash of the document.
    content : bytes
        The document.
    journal : tuple of Entry
        Lines of the journal that it was read with.
    """

    case: Case
    findings: tuple[Finding, ...]
    sha256: str
    content: bytes
    journal: tuple[Entry, ...]
