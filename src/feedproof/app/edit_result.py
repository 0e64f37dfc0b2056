"""What the editing of a case says: the state that a screen shows, and what an edit did."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from feedproof.core.findings import Finding
from feedproof.records.editing.editor import Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class EditState:
    """
    A case document as it stands, for somebody who is about to edit it.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-edit-state`` and its version.
    revision : str
        Hash of the document; each edit names the one that its editor saw.
    usable : bool
        False where the case cannot be used as it stands.
    readable : bool
        False where the document is no TOML: then it can be edited as text, or steps taken back.
    document : mapping
        The document as data, values as they are written; empty where it is not readable.
    places : mapping of str to int
        Line of each table and key by its path, such as ``line[steel_line].bore``.
    parts : mapping of str to str
        Path of each part by its id, first of the line, then of the return line and the kits.
    marks : tuple of Mark
        Mistakes and warnings where they stand.
    undo, redo : str or None
        The step that can be taken back or made again, in words; None where there is none.
    undo_hindered : str
        Why the last step cannot be taken back, empty where it can.
    text : str
        The document as text.
    """

    format: str
    version: int
    revision: str
    usable: bool
    readable: bool
    document: Mapping[str, Any]
    places: Mapping[str, int]
    parts: Mapping[str, str]
    marks: tuple[Mark, ...]
    undo: str | None
    redo: str | None
    undo_hindered: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EditResult:
    """
    What an edit did.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-edit`` and its version.
    revision : str
        Of the document now: the next edit names it.
    changed : bool
        False where the edit says what the document said before; nothing was written then.
    usable : bool
        True when the case can be used; False when it was saved with mistakes.
    what : str
        The step in words.
    marks : tuple of Mark
        All mistakes and warnings of the document now; those that the edit brought are new.
    mended : tuple of Mark
        Mistakes and warnings that the edit took away.
    told : tuple of Finding
        Notes of what else the edit touches.
    undo, redo : str or None
        The step that can be taken back or made again, in words.
    """

    format: str
    version: int
    revision: str
    changed: bool
    usable: bool
    what: str
    marks: tuple[Mark, ...]
    mended: tuple[Mark, ...]
    told: tuple[Finding, ...]
    undo: str | None
    redo: str | None

    def text(self) -> str:
        """Write it for a console."""
        new = sum(mark.is_new and mark.level == "error" for mark in self.marks)
        state = "can be used" if self.usable else "saved; it cannot be used as it stands"
        return f"{self.what}\n{state}; {new} new mistakes, {len(self.mended)} mended"
