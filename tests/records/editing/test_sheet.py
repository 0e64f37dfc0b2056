"""The moves that edits are made of: they change what they should and leave every other byte."""

import difflib
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.core.errors import InputError, MissingError
from feedproof.records.editing import sheet as sheet_file
from feedproof.records.editing import statement
from feedproof.records.editing.operations import (
    MapChannel,
    Operation,
    Remove,
    SetValue,
    SetValues,
)
from feedproof.records.editing.part_operations import MovePart, RemoveKit, RemovePart
from feedproof.records.editing.plain import same
from feedproof.records.editing.sheet import Sheet
from feedproof.records.places import comments_of
from tests.records.editing.documents import ALL, COMMENTED, NEW, PIPE, UNUSUAL, edits

PART = {"id": "new", **PIPE}
AS_LINES = ["[[line]]", 'id = "new"', 'kind = "pipe"', 'length = "1 m"', 'bore = "8 mm"', ""]


def changes(before: str, after: str) -> tuple[list[str], list[str]]:
    """Give the lines that went and those that came."""
    told = [
        line
        for line in difflib.unified_diff(before.split("\n"), after.split("\n"), lineterm="", n=0)
        if not line.startswith(("---", "+++", "@@"))
    ]
    gone = [line[1:] for line in told if line[0] == "-"]
    return gone, [line[1:] for line in told if line[0] == "+"]


def test_a_value_is_changed_in_its_line_and_keeps_the_comment_behind_it() -> None:
    before = Sheet.of(ALL["vehicle"])
    after = before.put(("vehicle", "gearing", "wheel_inertia"), "3 kg m^2")

    assert changes(before.text, after.text) == (
        ['wheel_inertia = "2.8 kg m^2"          # all driven wheels and shafts together'],
        ['wheel_inertia = "3 kg m^2"          # all driven wheels and shafts together'],
    )


def test_a_key_that_was_not_there_follows_the_last_one_of_its_table() -> None:
    before = Sheet.of(ALL["vehicle"])
    after = before.put(("vehicle", "tank", "cap_valve"), {"value": "2 kPa", "source": "x"})

    assert changes(before.text, after.text) == (
        [],
        ['cap_valve = { value = "2 kPa", source = "x" }'],
    )
    assert 'distance_to_pump = "2.6 m"\ncap_valve' in after.text


def test_a_section_that_was_not_there_stands_where_the_guide_has_it() -> None:
    after = Sheet.of(ALL["vehicle"]).put(("duty", "source"), "customer")

    at = after.text.index('[duty]\nsource = "customer"\n')
    assert after.text.index("[repeatability.") < at < after.text.index("[instrument.")


def test_a_part_is_let_in_and_taken_out_as_a_block_and_the_text_is_as_it_was() -> None:
    before = Sheet.of(ALL["vehicle"])
    for position in range(len(before.data["line"]) + 1):
        with_part = before.insert(("line",), position, PART)
        gone, came = changes(before.text, with_part.text)

        assert (gone, sorted(came)) == ([], sorted(AS_LINES))
        assert [part["id"] for part in with_part.data["line"]].index("new") == position
        assert with_part.drop(("line", position)).text == before.text


@pytest.mark.parametrize(("old", "new"), [(0, 3), (3, 0), (0, 7), (7, 0), (4, 5), (6, 2)])
def test_a_moved_part_takes_its_comments_along_and_comes_back_to_the_byte(
    old: int, new: int
) -> None:
    for name in ("vehicle", "branched"):
        before = Sheet.of(ALL[name].replace('kind = "pipe"', 'kind = "pipe" # soft\n# or hard'))
        moved = before.move(("line",), old, new)

        assert moved.data["line"][new] == before.data["line"][old]
        assert sorted(comments_of(moved.text)) == sorted(comments_of(before.text))
        assert moved.text != before.text
        assert moved.move(("line",), new, old).text == before.text


def test_comments_below_a_part_after_a_blank_line_stay_where_they_are() -> None:
    before = Sheet.of(NEW)
    at = [part["id"] for part in before.data["line"]].index("factory_filter")
    gone, _ = changes(before.text, before.drop(("line", at)).text)

    assert '# from = "filter_in"' in gone
    assert "# Parts follow each other unless they name the nodes that they join" not in "".join(
        gone
    )


def test_a_comment_directly_above_a_table_goes_with_it() -> None:
    text = ALL["vehicle"].replace(
        '[[line]]\nid = "banjos"', '# two of them\n[[line]]\nid = "banjos"'
    )
    before = Sheet.of(text)
    at = [part["id"] for part in before.data["line"]].index("banjos")
    moved = before.move(("line",), at, 1)

    assert '\n\n# two of them\n[[line]]\nid = "banjos"' in moved.text
    assert "# two of them" not in before.drop(("line", at)).text
    assert before.drop(("line", at + 1)).text.count("# two of them") == 1


def test_the_first_ones_comment_is_the_lists_and_stays() -> None:
    told = "# The factory feed line, tank to pump inlet, in the order of flow.\n[[line]]\n"
    after = Sheet.of(ALL["vehicle"]).drop(("line", 0))

    assert told + 'id = "pickup_tube"' in after.text


def test_a_part_that_goes_into_a_kit_takes_its_comments_along() -> None:
    told = 'id = "banjos" # two\n# counted twice'
    text = ALL["vehicle"].replace('id = "banjos"', told)
    before = Sheet.of(text)
    at = [part["id"] for part in before.data["line"]].index("banjos")
    listing = ("kit", 0, "insertion", 0, "part")
    after = before.transplant(("line", at), listing, 1)

    assert after.data["kit"][0]["insertion"][0]["part"][1] == before.data["line"][at]
    assert '[[kit.insertion.part]]\nid = "banjos" # two\n# counted twice\n' in after.text
    assert after.transplant((*listing, 1), ("line",), at).text == text


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("last", ["", "end"])
def test_line_ends_stay_as_the_file_has_them(end: str, last: str) -> None:
    text = ALL["vehicle"].replace("\n", end)
    text = text if last else text.rstrip("\r\n")
    after = Sheet.of(text).insert(("line",), 2, PART).put(("service", "chance"), "90 %")
    after = after.put(("title",), "other").put(("vehicle", "tank", "cap_valve"), "1 kPa")

    assert after.text.count("\r\n") == (after.text.count("\n") if end == "\r\n" else 0)


@pytest.mark.parametrize(
    ("location", "value", "words"),
    [
        (("vehicle", "tank", "capacity"), "80 L", 'vehicle.tank.capacity = "80 L" # of the tank'),
        (("vehicle", "pump", "slip", "low"), "3 L/h", 'low = "3 L/h"'),
        (("line", 1, "bore"), "9 mm", 'bore = "9 mm"'),
        (("fuel", "summer", "cfpp"), "-9 degC", 'cfpp = "-9 degC"'),
        (("fuel", "winter mix", "cfpp"), "-9 degC", '"en590_class_f"\ncfpp = "-9 degC"'),
        (("instrument", "cell", "channels", "rail pressure", "unit"), "MPa", 'unit = "MPa"'),
        (("kit", 0, "insertion", 0, "part", 1, "rating", "point", 0, "ratio"), 80, "ratio = 80"),
        (("note",), "one line", 'note = "one line"'),
    ],
)
def test_unusual_writing_is_edited_in_place(
    location: tuple[str | int, ...], value: object, words: str
) -> None:
    before = Sheet.of(UNUSUAL)
    after = before.put(location, value)

    assert words in after.text
    assert comments_of(after.text) == comments_of(before.text)


def test_what_would_lose_a_comment_is_refused_and_told() -> None:
    with pytest.raises(InputError, match=r"line.*without losing a comment"):
        Sheet.of(UNUSUAL).insert(("line",), 0, PART)


def test_a_part_whose_comments_cannot_go_along_stays_and_that_is_told() -> None:
    before = Sheet.of(UNUSUAL)
    moved = MovePart(part="hose", after="back")
    with pytest.raises(InputError, match="without losing a comment"):
        moved.apply(before)

    bare = Sheet.of(UNUSUAL.replace(" # measured", "").replace("# below the part", ""))
    assert [part["id"] for part in moved.apply(bare).sheet.data["return"]] == ["back", "hose"]


def test_words_that_look_like_comments_and_headers_are_left_alone() -> None:
    after = Sheet.of(UNUSUAL).put(("kit", 0, "title"), "has a # and a [[kit]]\nand a line")

    assert after.data["note"] == Sheet.of(UNUSUAL).data["note"]
    assert after.data["kit"][0]["title"] == "has a # and a [[kit]]\nand a line"


def test_a_move_that_would_say_something_else_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(statement, "written", lambda _value: '"wrong"')
    before = Sheet.of(ALL["vehicle"])

    with pytest.raises(InputError, match="cannot be changed as it is written"):
        before.put(("title",), "right")


def test_a_text_that_loses_a_comment_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    true = sheet_file._put
    monkeypatch.setattr(sheet_file, "_put", lambda *a: true(*a).replace("# per revolution", ""))

    with pytest.raises(InputError, match="losing a comment"):
        Sheet.of(ALL["vehicle"]).put(("title",), "right")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "\ud800", object(), {"a": object()}])
def test_what_no_document_can_hold_is_refused(value: object) -> None:
    with pytest.raises(InputError):
        Sheet.of(ALL["vehicle"]).put(("title",), value)


def takes_away(operation: Operation) -> bool:
    """Say whether an edit is asked to take something away, whose comments go with it."""
    if isinstance(operation, MapChannel):
        return operation.column is None
    return isinstance(operation, (Remove, RemovePart, RemoveKit, SetValue, SetValues))


@pytest.mark.parametrize("name", sorted(ALL))
def test_documents_full_of_comments_say_the_same(name: str) -> None:
    assert same(Sheet.of(COMMENTED[name]).data, Sheet.of(ALL[name]).data)
    assert len(comments_of(COMMENTED[name])) > len(comments_of(ALL[name]))


@settings(max_examples=60, deadline=None)
@given(st.data(), st.sampled_from([*ALL.values(), *COMMENTED.values()]))
def test_any_edit_is_made_as_its_data_say_or_refused_with_a_place(
    data: st.DataObject, text: str
) -> None:
    sheet = Sheet.of(text)
    for _ in range(4):
        before = sheet
        operation = data.draw(edits(sheet.data))
        with suppress(InputError, MissingError):
            sheet = operation.apply(sheet).sheet
        assert same(Sheet.of(sheet.text).data, sheet.data)
        if not takes_away(operation):
            assert sorted(comments_of(sheet.text)) == sorted(comments_of(before.text))


@given(st.text(max_size=40))
def test_any_text_is_written_so_that_it_reads_as_it_was(words: str) -> None:
    try:
        words.encode()
    except UnicodeEncodeError:
        return
    after = Sheet.of(ALL["vehicle"]).put(("title",), words)

    assert after.data["title"] == words
