"""Edits of a case's document where others may edit it too, and back again."""

import hashlib
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache

from feedproof.core.errors import ConflictError, InputError, MissingError
from feedproof.core.findings import Finding
from feedproof.records.corrections import RUN_ADDED, run_tables
from feedproof.records.document import FORMAT, VERSION
from feedproof.records.durable import locked, write_whole
from feedproof.records.editing.differing import differences
from feedproof.records.editing.history import Chain, History, Step
from feedproof.records.editing.marks import Mark, examined, key_of, marks_of
from feedproof.records.editing.operations import Operation
from feedproof.records.editing.sheet import Sheet
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.interrupted import put_right

_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edited:
    """
    What an edit did.

    Parameters
    ----------
    revision : str
        Of the document now.
    content : bytes
        The document now.
    changed : bool
        False when it says what it said before; nothing was written then.
    usable : bool
        True when the case can be used as it stands now.
    what : str
        The step in words.
    marks : tuple of Mark
        Every finding, those that the edit brought marked as new.
    mended : tuple of Mark
        Findings that are gone.
    told : tuple of Finding
        Notes of what else the edit touches.
    chain : Chain
        Steps that can be taken back or made again.
    """

    revision: str
    content: bytes
    changed: bool
    usable: bool
    what: str
    marks: tuple[Mark, ...]
    mended: tuple[Mark, ...]
    told: tuple[Finding, ...]
    chain: Chain


def revision_of(content: bytes) -> str:
    """Give the revision of a document: the SHA-256 of its bytes."""
    return hashlib.sha256(content).hexdigest()


def edit_document(
    folder: CaseFolder, revision: str, operation: Operation, *, who: str = ""
) -> Edited:
    """
    Edit a document.

    Parameters
    ----------
    folder : CaseFolder
        The case.
    revision : str
        Of the document that the editor saw.
    operation : Operation
        The edit.
    who : str
        Who makes it, for the list of steps.

    Returns
    -------
    Edited
        The document with all its findings; one with mistakes is written all the same.

    Raises
    ------
    InputError, MissingError
        The edit cannot be made; nothing was written.
    ConflictError
        Somebody else was first, with what they changed; nothing was written.
    WriteError
        No space; nothing was changed.
    """
    path = folder.path / CASE
    with locked(path):
        put_right(path, folder.journal)
        before = _seen(folder, revision)
        sheet = Sheet.of(_text_of(before))
        applied = operation.apply(sheet)
        content = _bytes_of(applied.sheet.text, before)
        _require_case(applied.sheet)
        _require_runs(folder, before, content)
        history = History(folder.path)
        chain = history.chain(revision)
        if content != before:
            now = datetime.now(UTC).isoformat(timespec="seconds")
            step = Step(what=applied.what, who=who, when=now)
            chain = _write(folder, before, content, chain.followed_by(revision_of(content), step))
    return _edited(folder, before, content, chain, applied.what, applied.told)


def take_back(folder: CaseFolder, revision: str) -> Edited:
    """
    Take the last step back.

    Parameters
    ----------
    folder : CaseFolder
        The case.
    revision : str
        Of the document that the editor saw.

    Returns
    -------
    Edited
        The document as it was before the step, byte for byte.

    Raises
    ------
    MissingError
        There is no step, or its version is not kept any more.
    InputError
        A run was put on record since.
    ConflictError
        Somebody else was first.
    """
    return _gone(folder, revision, -1)


def make_again(folder: CaseFolder, revision: str) -> Edited:
    """
    Make the step again that was taken back last.

    Parameters
    ----------
    folder : CaseFolder
        The case.
    revision : str
        Of the document that the editor saw.

    Returns
    -------
    Edited
        The document as it was after the step, byte for byte.

    Raises
    ------
    MissingError, InputError, ConflictError
        As for `take_back`.
    """
    return _gone(folder, revision, 1)


def _gone(folder: CaseFolder, revision: str, by: int) -> Edited:
    """Go a step back or on."""
    path = folder.path / CASE
    with locked(path):
        _put_right_quietly(folder)
        before = _seen(folder, revision)
        history = History(folder.path)
        chain = history.chain(revision)
        step = chain.last if by < 0 else chain.next
        if step is None:
            words = (
                "there is no step to take back." if by < 0 else "there is no step to make again."
            )
            raise MissingError.at(CASE, words, "Edits are kept from the first one made here on.")
        content = history.read(chain.revisions[chain.position + by])
        _require_runs(folder, before, content)
        chain = _write(folder, before, content, chain.moved(by))
    words = f"{'taken back' if by < 0 else 'made again'}: {step.what}"
    return _edited(folder, before, content, chain, words, ())


def _put_right_quietly(folder: CaseFolder) -> None:
    """Finish an interrupted run where that can be done: taking back must work beside mistakes."""
    try:
        put_right(folder.path / CASE, folder.journal)
    except InputError:
        return


def runs_lost(folder: CaseFolder, before: bytes, after: bytes) -> list[int]:
    """
    List runs on record that a document would lose.

    Parameters
    ----------
    folder : CaseFolder
        The case.
    before, after : bytes
        The documents.

    Returns
    -------
    list of int
        Numbers.
    """
    entries, _ = folder.journal.read()
    recorded = {each.data.get("run") for each in entries if each.what == RUN_ADDED}
    if not recorded:
        return []
    return sorted((_run_numbers(before) - _run_numbers(after)) & recorded)


# Asked of the same two versions at each edit, and reading a document takes a while.
@lru_cache(maxsize=8)
def _run_numbers(content: bytes) -> frozenset[int]:
    """List the runs of a document."""
    return frozenset(run_tables(content))


def _require_runs(folder: CaseFolder, before: bytes, after: bytes) -> None:
    """Refuse to lose a run on record."""
    lost = runs_lost(folder, before, after)
    if lost:
        raise InputError.at(
            f"{CASE}: run[{lost[0]}]",
            f"is on record and would be lost: run {', '.join(map(str, lost))}.",
            "A run is never removed; leave it out with its reason.",
        )


def _require_case(sheet: Sheet) -> None:
    """Refuse what would be no case document any more."""
    if sheet.data.get("format") != FORMAT or sheet.data.get("version") != VERSION:
        raise InputError.at(
            f"{CASE}: format", "would be no case any more.", "Leave format and version alone."
        )


def _seen(folder: CaseFolder, revision: str) -> bytes:
    """Read the document, which must be the one that the editor saw."""
    content = (folder.path / CASE).read_bytes()
    if revision_of(content) == revision:
        return content
    raise ConflictError.at(
        CASE,
        "was changed by somebody else meanwhile, and what they wrote stands:"
        f" {_changed_since(folder, revision, content)}.",
        "Look at it and make your change once more.",
    )


def _changed_since(folder: CaseFolder, revision: str, content: bytes) -> str:
    """Say what is different from the version that an editor saw."""
    try:
        seen = _any_version(folder, revision)
        found = differences(Sheet.of(_text_of(seen)).data, Sheet.of(_text_of(content)).data)
    except (InputError, MissingError):
        return "what exactly cannot be told, since that version was not kept"
    return "; ".join(found[:10]) + ("; and more" if len(found) > 10 else "") or "its layout only"


def _any_version(folder: CaseFolder, revision: str) -> bytes:
    """Read a version from the steps, or from what results were made of."""
    try:
        return History(folder.path).read(revision)
    except InputError:
        return folder.documents.read(f"{revision}.toml")


def _write(folder: CaseFolder, before: bytes, content: bytes, chain: Chain) -> Chain:
    """Write the steps, then the document."""
    path = folder.path / CASE
    history = History(folder.path)
    contents = {revision_of(before): before, revision_of(content): content}
    earlier = history.chain(revision_of(before))
    history.keep(chain, contents)
    # Somebody with a text editor takes no lock: look once more.
    if path.read_bytes() != before:
        history.keep(earlier, {})
        raise ConflictError.at(
            CASE,
            "was changed by somebody else meanwhile, and what they wrote stands.",
            "Look at it and make your change once more.",
        )
    write_whole(path, content)
    kept = history.chain(revision_of(content))
    history.sweep(kept)
    return kept


def _edited(
    folder: CaseFolder,
    before: bytes,
    content: bytes,
    chain: Chain,
    what: str,
    told: tuple[Finding, ...],
) -> Edited:
    """Tell what an edit made, beside what was there before."""
    old = examined(folder, before)
    new = old if content == before else examined(folder, content)
    known = Counter(key_of(mark) for mark in marks_of(old.findings))
    marks = marks_of(new.findings, known)
    still = Counter(key_of(mark) for mark in marks)
    return Edited(
        revision=revision_of(content),
        content=content,
        changed=content != before,
        usable=new.case is not None,
        what=what,
        marks=marks,
        mended=tuple(mark for mark in marks_of(old.findings) if not still[key_of(mark)]),
        told=told,
        chain=chain,
    )


def _text_of(content: bytes) -> str:
    """Read the bytes of a document as text, without a mark at their beginning."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError.at(CASE, "is not text in UTF-8.", "Save the file as UTF-8.") from fault


def _bytes_of(text: str, before: bytes) -> bytes:
    """Write a text as bytes, with the mark at the beginning that the file had."""
    return (_BOM if before.startswith(_BOM) else b"") + text.encode()
