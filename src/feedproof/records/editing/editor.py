"""Edits of a case's document where others may edit it too, and back again."""

import hashlib
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from feedproof.core.errors import ConflictError, InputError, MissingError
from feedproof.core.findings import Finding
from feedproof.records.corrections import RUN_ADDED, run_tables
from feedproof.records.document import FORMAT, VERSION
from feedproof.records.durable import locked, write_whole
from feedproof.records.editing.differing import differences
from feedproof.records.editing.history import Chain, History, Step
from feedproof.records.editing.operations import Operation
from feedproof.records.editing.sheet import Sheet
from feedproof.records.folder import CASE, CaseFolder
from feedproof.records.interrupted import put_right

_BOM = b"\xef\xbb\xbf"
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
    return sorted((run_tables(before).keys() - run_tables(after).keys()) & recorded)


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
    old = folder.examine(before)
    new = old if content == before else folder.examine(content)
    known = Counter(_key(mark) for mark in marks_of(old.findings))
    marks = marks_of(new.findings, known)
    still = Counter(_key(mark) for mark in marks)
    return Edited(
        revision=revision_of(content),
        content=content,
        changed=content != before,
        usable=new.case is not None,
        what=what,
        marks=marks,
        mended=tuple(mark for mark in marks_of(old.findings) if not still[_key(mark)]),
        told=told,
        chain=chain,
    )


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
        is_new = known is not None and not known[_key(mark)]
        marks.append(replace(mark, is_new=is_new))
    return tuple(marks)


def _key(mark: Mark) -> tuple[str, ...]:
    """Give what makes a finding the same one in two versions: its line may differ."""
    return mark.path, mark.level, re.sub(r" line \d+", "", mark.message)


def _text_of(content: bytes) -> str:
    """Read the bytes of a document as text, without a mark at their beginning."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError.at(CASE, "is not text in UTF-8.", "Save the file as UTF-8.") from fault


def _bytes_of(text: str, before: bytes) -> bytes:
    """Write a text as bytes, with the mark at the beginning that the file had."""
    return (_BOM if before.startswith(_BOM) else b"") + text.encode()
