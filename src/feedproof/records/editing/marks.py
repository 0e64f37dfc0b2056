"""Findings of a document, marked where they stand and compared with those of another version."""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder
from feedproof.records.reading import Reading

_PLACE = re.compile(r"^case\.toml(?: line (?P<line>\d+))?: (?P<path>.*)$", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """
    A finding where it stands in the document.

    Parameters
    ----------
    path : str
        Such as ``line[steel_line].bore``; empty for what is not about a key.
    line : int or None
        Line of the document.
    level, message, remedy : str
        As of the finding.
    is_new : bool
        True when the edit brought it.
    """

    path: str
    line: int | None
    level: str
    message: str
    remedy: str
    is_new: bool = False


def examined(folder: CaseFolder, content: bytes) -> Reading:
    """
    Read a document with all its findings, or remember what was read of the same one.

    Parameters
    ----------
    folder : CaseFolder
        The case.
    content : bytes
        The document, as it stands or would.

    Returns
    -------
    Reading
        As `CaseFolder.examine` gives it.
    """
    journal = folder.journal.path
    return _examine(folder.path, content, journal.read_bytes() if journal.is_file() else b"")


# The document before an edit is the one after the edit before.  What is found in it hangs on its
# bytes and the journal's alone, and a journal only grows.
@lru_cache(maxsize=8)
def _examine(path: Path, content: bytes, _journal: bytes) -> Reading:
    """Read a document."""
    return CaseFolder(path).examine(content)


def marks_of(
    findings: Iterable[Finding], known: Counter[tuple[str, ...]] | None = None
) -> tuple[Mark, ...]:
    """
    Say where findings stand.

    Parameters
    ----------
    findings : iterable of Finding
        Of a document.
    known : counter, optional
        Those that were there before; all are old when left out.

    Returns
    -------
    tuple of Mark
        In their order.
    """
    marks: list[Mark] = []
    for finding in findings:
        match = _PLACE.match(finding.place)
        line = match["line"] if match else None
        mark = Mark(
            path=match["path"] if match else "",
            line=int(line) if line else None,
            level=str(finding.level),
            message=finding.message,
            remedy=finding.remedy,
        )
        is_new = known is not None and not known[key_of(mark)]
        marks.append(replace(mark, is_new=is_new))
    return tuple(marks)


def key_of(mark: Mark) -> tuple[str, ...]:
    """
    Give what makes a finding the same one in two versions: its line may differ.

    Parameters
    ----------
    mark : Mark
        The finding.

    Returns
    -------
    tuple of str
        To compare with another's.
    """
    return mark.path, mark.level, re.sub(r" line \d+", "", mark.message)
