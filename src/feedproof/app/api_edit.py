"""Editing of a case as functions: what a screen and the interface over HTTP call."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.edit_requests import operation_of
from feedproof.app.edit_result import EditResult, EditState
from feedproof.core.errors import InputError
from feedproof.records.editing.editor import (
    Edited,
    edit_document,
    make_again,
    marks_of,
    revision_of,
    runs_lost,
    take_back,
)
from feedproof.records.editing.forms import Form, form_for, form_kinds
from feedproof.records.editing.forms import parts_catalogue as _parts_catalogue
from feedproof.records.editing.history import Chain, History
from feedproof.records.editing.operations import Operation
from feedproof.records.editing.parts import all_parts
from feedproof.records.editing.sheet import Sheet
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.places import lines_of, path_of


def edit_state(path: Path) -> EditState:
    """
    Give a case document as it stands, for somebody who is about to edit it.

    Parameters
    ----------
    path : Path
        Folder of the case.

    Returns
    -------
    EditState
        Document, places, mistakes and steps; also of a document that cannot be read.

    Raises
    ------
    MissingError
        There is no case.
    """
    folder = CaseFolder.open(path)
    content = (folder.path / CASE).read_bytes()
    reading = folder.examine(content)
    text = content.decode("utf-8-sig", "replace")
    try:
        data = Sheet.of(text).data
    except InputError:
        data = None
    revision = revision_of(content)
    chain = History(folder.path).chain(revision)
    hindered = _hindered(folder, content, chain)
    return EditState(
        format="feedproof-edit-state",
        version=1,
        revision=revision,
        usable=reading.case is not None,
        readable=data is not None,
        document=data or {},
        places={path_of(data, at): line for at, line in lines_of(text).items()} if data else {},
        parts=_parts_of(data or {}),
        marks=marks_of(reading.findings),
        undo=chain.last.what if chain.last and not hindered else None,
        redo=chain.next.what if chain.next else None,
        undo_hindered=hindered,
        text=text,
    )


def edit(
    path: Path,
    revision: str,
    operation: Operation | Mapping[str, Any],
    *,
    who: str = "operator",
) -> EditResult:
    """
    Edit a case document.

    A document with mistakes is saved all the same, with its mistakes in the result; an edit that
    cannot be made, or after which the document could not be read, is refused.

    Parameters
    ----------
    path : Path
        Folder of the case.
    revision : str
        Of the document that the editor saw.
    operation : Operation or mapping
        The edit, or its plain data with ``kind``.
    who : str
        Who makes it.

    Returns
    -------
    EditResult
        The document's revision and mistakes now.

    Raises
    ------
    InputError, MissingError
        The edit cannot be made; nothing was written.
    ConflictError
        Somebody else was first, with what they changed; nothing was written.
    WriteError
        No space; nothing was changed.
    """
    made = operation if isinstance(operation, Operation) else operation_of(operation)
    folder = CaseFolder.open(path)
    return _result(folder, edit_document(folder, revision, made, who=who))


def undo(path: Path, revision: str) -> EditResult:
    """
    Take the last step back.

    Parameters
    ----------
    path : Path
        Folder of the case.
    revision : str
        Of the document that the editor saw.

    Returns
    -------
    EditResult
        The document is what it was before, byte for byte.

    Raises
    ------
    InputError, MissingError, ConflictError, WriteError
        Nothing was changed.
    """
    folder = CaseFolder.open(path)
    return _result(folder, take_back(folder, revision))


def redo(path: Path, revision: str) -> EditResult:
    """
    Make the step again that was taken back last.

    Parameters
    ----------
    path : Path
        Folder of the case.
    revision : str
        Of the document that the editor saw.

    Returns
    -------
    EditResult
        The document is what it was after the step, byte for byte.

    Raises
    ------
    InputError, MissingError, ConflictError, WriteError
        Nothing was changed.
    """
    folder = CaseFolder.open(path)
    return _result(folder, make_again(folder, revision))


def form_of(kind: str) -> Form:
    """
    Describe what a form for one kind of table asks.

    Parameters
    ----------
    kind : str
        A kind of part, or such as ``tank``, ``pump``, ``kit``, ``fuel``, ``conditions``.

    Returns
    -------
    Form
        Its fields with label, help, units, range and default.

    Raises
    ------
    MissingError
        There is no such form.
    """
    return form_for(kind)


def forms() -> tuple[str, ...]:
    """
    List the kinds that `form_of` knows.

    Returns
    -------
    tuple of str
        Parts first.
    """
    return form_kinds()


def parts_catalogue() -> tuple[Form, ...]:
    """
    Describe every kind of part that can be added to a line or a kit.

    Returns
    -------
    tuple of Form
        One for each kind.
    """
    return _parts_catalogue()


def _result(folder: CaseFolder, edited: Edited) -> EditResult:
    """Tell what an edit did."""
    chain = edited.chain
    hindered = _hindered(folder, edited.content, chain)
    return EditResult(
        format="feedproof-edit",
        version=1,
        revision=edited.revision,
        changed=edited.changed,
        usable=edited.usable,
        what=edited.what,
        marks=edited.marks,
        mended=edited.mended,
        told=edited.told,
        undo=chain.last.what if chain.last and not hindered else None,
        redo=chain.next.what if chain.next else None,
    )


def _hindered(folder: CaseFolder, content: bytes, chain: Chain) -> str:
    """Say why the last step cannot be taken back."""
    if chain.last is None:
        return ""
    try:
        before = History(folder.path).read(chain.revisions[chain.position - 1])
    except InputError:
        return "the version before the last step is not kept any more"
    lost = runs_lost(folder, content, before)
    if lost:
        return f"run {', '.join(map(str, lost))} was put on record since"
    return ""


def _parts_of(data: Mapping[str, Any]) -> dict[str, str]:
    """Give the path of each part by its id."""
    found: dict[str, str] = {}
    for at, part in all_parts(dict(data)):
        found.setdefault(str(part.get("id", "")), path_of(data, at))
    return found
