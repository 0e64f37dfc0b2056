"""Steps are taken back and made again to the byte, also after a restart and beside others."""

import json
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.core.errors import ConflictError, InputError, MissingError
from feedproof.records.editing import editor, history
from feedproof.records.editing.editor import (
    edit_document,
    make_again,
    revision_of,
    take_back,
)
from feedproof.records.editing.history import FROM_OUTSIDE, HISTORY, History
from feedproof.records.editing.operations import ReplaceText, SetValue
from feedproof.records.editing.part_operations import AddPart, RemovePart
from feedproof.records.editing.sheet import Sheet
from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, VEHICLE, case_folder, contents_of, run_table
from tests.records.editing.documents import PIPE, edits


def content_of(case: CaseFolder) -> bytes:
    """Give the document as it stands."""
    return (case.path / "case.toml").read_bytes()


def title(case: CaseFolder, words: str) -> editor.Edited:
    """Edit the title of a document as it stands."""
    return edit_document(case, revision_of(content_of(case)), SetValue(path="title", value=words))


def back(case: CaseFolder) -> editor.Edited:
    """Take a step back, as a program does that was just started."""
    case = CaseFolder.open(case.path)
    return take_back(case, revision_of(content_of(case)))


def again(case: CaseFolder) -> editor.Edited:
    """Make a step again."""
    case = CaseFolder.open(case.path)
    return make_again(case, revision_of(content_of(case)))


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_edits_and_as_many_steps_back_give_the_same_bytes_and_so_do_steps_on(
    data: st.DataObject,
) -> None:
    with TemporaryDirectory() as folder:
        case = case_folder(Path(folder))
        versions = [content_of(case)]
        for _ in range(5):
            operation = data.draw(edits(Sheet.of(content_of(case).decode()).data))
            with suppress(InputError, MissingError):
                edit_document(case, revision_of(versions[-1]), operation)
            if content_of(case) != versions[-1]:
                versions.append(content_of(case))
        for version in reversed(versions[:-1]):
            assert back(case).content == version == content_of(case)
        with pytest.raises(MissingError, match="no step to take back"):
            back(case)
        for version in versions[1:]:
            assert again(case).content == version == content_of(case)
        with pytest.raises(MissingError, match="no step to make again"):
            again(case)


def test_an_edit_after_a_step_back_takes_the_place_of_the_steps_that_were_to_come(
    tmp_path: Path,
) -> None:
    case = case_folder(tmp_path)
    for words in ("one", "two", "three"):
        title(case, words)
    back(case)
    back(case)
    title(case, "other")

    with pytest.raises(MissingError):
        again(case)
    assert b'title = "one"' in back(case).content
    assert back(case).content == VEHICLE.encode()


def test_what_a_text_editor_changed_is_a_step_that_can_be_taken_back(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    title(case, "one")
    by_hand = b"# by hand\n" + content_of(case)
    (case.path / "case.toml").write_bytes(by_hand)
    edited = title(case, "two")

    assert [step.what for step in edited.chain.steps] == [
        'title: "one"',
        FROM_OUTSIDE,
        'title: "two"',
    ]
    assert back(case).content == by_hand
    assert b"# by hand" not in back(case).content
    assert again(case).content == by_hand


def test_a_document_that_a_text_editor_broke_is_put_back_and_nothing_else_can_be_done(
    tmp_path: Path,
) -> None:
    case = case_folder(tmp_path)
    whole = title(case, "one").content
    broken = content_of(case) + b"\nthis is no TOML"
    (case.path / "case.toml").write_bytes(broken)

    with pytest.raises(InputError, match="cannot be read as TOML"):
        title(case, "two")
    assert content_of(case) == broken
    assert back(case).content == whole
    assert again(case).content == broken


def test_a_run_on_record_is_never_lost_by_a_step_back(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    log = tmp_path / "run.csv"
    log.write_bytes(LOG)
    title(case, "one")
    case.add_run(run_table(), {"cell": log})
    recorded = content_of(case)
    title(case, "two")

    assert back(case).content == recorded
    with pytest.raises(InputError, match=r"run\[1\].*is on record and would be lost"):
        back(case)
    with pytest.raises(InputError, match="is on record and would be lost"):
        edit_document(case, revision_of(recorded), ReplaceText(text=VEHICLE))
    assert content_of(case) == recorded
    assert [run.number for run in case.load().case.runs] == [1]


def test_the_second_editor_is_told_what_the_first_one_changed(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    seen = revision_of(content_of(case))
    edit_document(case, seen, SetValue(path="line[steel_line].bore", value="9 mm"))
    first = edit_document(
        case,
        revision_of(content_of(case)),
        AddPart(part={"id": "x", **PIPE}, after="steel_line"),
    )

    for again_or_other in (
        lambda: edit_document(case, seen, SetValue(path="title", value="second")),
        lambda: take_back(case, seen),
    ):
        with pytest.raises(ConflictError) as told:
            again_or_other()
        assert 'line[steel_line].bore: "8 mm" -> "9 mm"' in str(told.value)
        assert "line[x]: added" in str(told.value)
        assert told.value.exit_code == 4
    assert content_of(case) == first.content


def test_a_version_that_nobody_kept_is_said_not_to_be_known(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    seen = revision_of(content_of(case))
    (case.path / "case.toml").write_bytes(b"# by hand\n" + content_of(case))

    with pytest.raises(ConflictError, match="cannot be told"):
        edit_document(case, seen, SetValue(path="title", value="second"))


def test_who_writes_without_a_lock_between_check_and_write_wins_and_no_step_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = case_folder(tmp_path)
    title(case, "one")
    theirs = b"# theirs\n" + content_of(case)
    true = History.keep

    def keep_late(self: History, *arguments: object) -> None:
        true(self, *arguments)
        (case.path / "case.toml").write_bytes(theirs)

    monkeypatch.setattr(History, "keep", keep_late)
    with pytest.raises(ConflictError):
        title(case, "mine")
    monkeypatch.setattr(History, "keep", true)

    assert content_of(case) == theirs
    assert b'title = "one"' in back(case).content


def test_a_document_with_mistakes_is_saved_and_its_mistakes_are_told_as_new(
    tmp_path: Path,
) -> None:
    case = case_folder(tmp_path)
    good = revision_of(content_of(case))
    operation = SetValue(path="line[steel_line].bore", value="8 parsec")
    bad = edit_document(case, good, operation)
    worse = edit_document(case, bad.revision, RemovePart(part="factory_filter"))
    mended = edit_document(
        case, worse.revision, SetValue(path="line[steel_line].bore", value="8 mm")
    )

    assert (bad.changed, bad.usable) == (True, False)
    assert [(mark.path, mark.is_new) for mark in bad.marks if mark.level == "error"] == [
        ("line[steel_line].bore", True)
    ]
    assert {mark.is_new for mark in worse.marks if mark.path == "line[steel_line].bore"} == {False}
    assert [mark.path for mark in mended.mended] == ["line[steel_line].bore"]
    line = next(mark.line for mark in bad.marks if mark.is_new)
    assert "parsec" in bad.content.decode().split("\n")[line - 1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = ", "cannot be read as TOML"),
        ("x = 1", "no case any more"),
        (VEHICLE.replace("version = 1", "version = 2"), "no case any more"),
        (f"{VEHICLE}[[line]\n", "cannot be read as TOML"),
    ],
)
def test_a_text_that_is_no_case_is_refused_and_changes_no_byte(
    text: str, words: str, tmp_path: Path
) -> None:
    case = case_folder(tmp_path)
    before = contents_of(case.path)

    with pytest.raises(InputError, match=words):
        edit_document(case, revision_of(content_of(case)), ReplaceText(text=text))
    assert contents_of(case.path) == before


def test_an_edit_that_says_the_same_writes_nothing(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    edited = edit_document(
        case, revision_of(content_of(case)), ReplaceText(text=content_of(case).decode())
    )

    assert not edited.changed
    assert not (case.path / HISTORY).exists()


def test_a_mark_at_the_beginning_and_windows_ends_stay(tmp_path: Path) -> None:
    text = "\ufeff" + VEHICLE.replace("\n", "\r\n")
    case = case_folder(tmp_path)
    (case.path / "case.toml").write_bytes(text.encode())
    edited = title(case, "one")

    expected = text.replace(Sheet.of(VEHICLE).data["title"], "one")
    assert edited.content == expected.encode() == content_of(case)
    assert back(case).content == text.encode()


def test_only_so_many_steps_are_kept_and_versions_that_none_leads_to_are_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(history, "MOST_STEPS", 3)
    case = case_folder(tmp_path)
    for number in range(6):
        title(case, str(number))
    kept = list((case.path / HISTORY).glob("*.toml"))

    assert len(kept) == 4
    for number in (4, 3, 2):
        assert f'title = "{number}"'.encode() in back(case).content
    with pytest.raises(MissingError):
        back(case)
    assert b'title = "5"' in (again(case) and again(case) and again(case)).content


def test_large_documents_keep_fewer_steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(history, "MOST_BYTES", 3 * len(VEHICLE.encode()))
    case = case_folder(tmp_path)
    for number in range(6):
        title(case, str(number))

    assert len(list((case.path / HISTORY).glob("*.toml"))) == 3


@pytest.mark.parametrize(
    "steps", [b"", b"{", b"[]", b'{"revisions": ["a"]}', b"\xff", b'{"format": 1}']
)
def test_steps_that_cannot_be_read_are_forgotten_and_the_document_is_not(
    steps: bytes, tmp_path: Path
) -> None:
    case = case_folder(tmp_path)
    title(case, "one")
    (case.path / HISTORY / "steps.json").write_bytes(steps)

    with pytest.raises(MissingError, match="no step"):
        back(case)
    title(case, "two")
    assert b'title = "one"' in back(case).content


def test_a_version_that_was_changed_is_not_brought_back(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    title(case, "one")
    now = content_of(case)
    kept = case.path / HISTORY / f"{revision_of(VEHICLE.encode())}.toml"
    kept.write_bytes(kept.read_bytes() + b"# forged")

    with pytest.raises(InputError, match="not there as it was kept"):
        back(case)
    assert content_of(case) == now


@pytest.mark.parametrize("step", ["edit", "back", "again"])
def test_a_stop_between_the_steps_and_the_document_leaves_the_steps_true(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = case_folder(tmp_path)
    title(case, "one")
    title(case, "two")
    if step == "again":
        back(case)
    now = content_of(case)

    def stopped(*_arguments: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(editor, "write_whole", stopped)
        with pytest.raises(KeyboardInterrupt):
            {"edit": lambda: title(case, "three"), "back": lambda: back(case)}.get(
                step, lambda: again(case)
            )()
    told = json.loads((case.path / HISTORY / "steps.json").read_bytes())

    assert content_of(case) == now
    assert told["position"] != told["before"]
    chain = History(case.path).chain(revision_of(now))
    assert chain.last.what == ('title: "one"' if step == "again" else 'title: "two"')
    wanted = VEHICLE.encode() if step == "again" else b'title = "one"'
    assert wanted in back(case).content
