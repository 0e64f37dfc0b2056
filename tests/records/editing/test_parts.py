"""Parts and kits: added, moved, renamed, removed, also in networks, with what else it touches."""

import tomllib
from pathlib import Path

import pytest

from feedproof.core.errors import InputError, MissingError
from feedproof.records.editing.operations import AddEntry, MapChannel, Remove, SetValue, Together
from feedproof.records.editing.part_operations import (
    AddKit,
    AddPart,
    EditPart,
    MovePart,
    PlaceKit,
    RemoveKit,
    RemovePart,
    RenamePart,
)
from feedproof.records.editing.paths import location_of
from feedproof.records.editing.sheet import Sheet
from feedproof.records.places import lines_of, path_of
from feedproof.records.reading import read_document
from tests.records.documents import BRANCHED, VEHICLE, run_text
from tests.records.editing.documents import ALL, PIPE, UNUSUAL

CHAIN, NETWORK = Sheet.of(VEHICLE), Sheet.of(BRANCHED)
KIT_PARTS = "kit[secondary].insertion[0].part"


def ids(sheet: Sheet, listing: str = "line") -> list[str]:
    """List the ids of a line."""
    found = sheet.data
    for step in location_of(sheet.data, listing):
        found = found[step]
    return [part["id"] for part in found]


def errors(sheet: Sheet) -> list[str]:
    """List the mistakes of a document."""
    reading = read_document(sheet.data, sheet.text, "case.toml")
    return [str(finding) for finding in reading.findings if finding.level == "error"]


def part(sheet: Sheet, name: str) -> dict[str, object]:
    """Give a part of the line."""
    return next(each for each in sheet.data["line"] if each["id"] == name)


def test_a_part_follows_or_precedes_the_one_that_is_named() -> None:
    new = {"id": "x", **PIPE}
    order = ids(CHAIN)
    at = order.index("banjos")

    after = AddPart(part=new, after="banjos").apply(CHAIN).sheet
    before = AddPart(part=new, before="banjos").apply(CHAIN).sheet
    last = AddPart(part=new, line="return").apply(CHAIN).sheet

    assert ids(after) == [*order[: at + 1], "x", *order[at + 1 :]]
    assert ids(before) == [*order[:at], "x", *order[at:]]
    assert ids(last, "return") == [*ids(CHAIN, "return"), "x"]
    assert not errors(after)
    assert not errors(before)


def test_a_part_between_two_nodes_takes_the_node_over_from_its_neighbour() -> None:
    new = {"id": "x", **PIPE}
    after = AddPart(part=new, after="steel_line").apply(NETWORK)
    before = AddPart(part=new, before="primer").apply(NETWORK)

    assert part(after.sheet, "x")["to"] == "mixing"
    assert "to" not in part(after.sheet, "steel_line")
    assert part(before.sheet, "x")["from"] == "mixing"
    assert "from" not in part(before.sheet, "primer")
    assert not errors(after.sheet)
    assert not errors(before.sheet)
    assert "steel_line" in after.told[0].place


def test_a_branch_keeps_its_nodes_when_its_table_is_moved() -> None:
    moved = MovePart(part="bypass", before="steel_line").apply(NETWORK).sheet

    assert part(moved, "bypass") == part(NETWORK, "bypass")
    assert sorted(ids(moved)) == sorted(ids(NETWORK))


def test_a_part_that_leaves_a_row_gives_its_node_back() -> None:
    new = {"id": "x", **PIPE}
    grown = AddPart(part=new, after="steel_line").apply(NETWORK).sheet
    shrunk = RemovePart(part="x").apply(grown)
    moved = MovePart(part="x", before="lift").apply(grown)

    assert shrunk.sheet.data == NETWORK.data
    assert "now names the node mixing" in shrunk.told[0].message
    assert not errors(moved.sheet)
    assert ids(moved.sheet)[1:3] == ["x", "lift"]


def test_a_moved_part_stands_where_it_was_sent_whatever_its_neighbours() -> None:
    order = ids(CHAIN)
    for name in order:
        for beside in order:
            if name == beside:
                continue
            after = ids(MovePart(part=name, after=beside).apply(CHAIN).sheet)
            before = ids(MovePart(part=name, before=beside).apply(CHAIN).sheet)
            assert after[after.index(beside) + 1] == name
            assert before[before.index(beside) - 1] == name
            assert sorted(after) == sorted(before) == sorted(order)


def test_a_part_goes_into_a_kit_and_out_again() -> None:
    inside = MovePart(part="banjos", after="secondary_element").apply(CHAIN).sheet
    outside = MovePart(part="banjos", after="quick_connectors").apply(inside).sheet

    assert ids(inside, KIT_PARTS)[:2] == ["secondary_element", "banjos"]
    assert "banjos" not in ids(inside)
    assert outside.text == VEHICLE


@pytest.mark.parametrize("line", ["kit[secondary]", "kit[secondary].insertion[0]", KIT_PARTS])
def test_a_part_is_added_at_the_end_of_a_kit(line: str) -> None:
    sheet = AddPart(part={"id": "x", **PIPE}, line=line).apply(CHAIN).sheet

    assert ids(sheet, KIT_PARTS)[-1] == "x"
    assert not errors(sheet)


def test_what_refers_to_a_removed_part_is_told_and_is_then_a_mistake() -> None:
    applied = RemovePart(part="factory_filter").apply(CHAIN)
    told = "\n".join(map(str, applied.told))

    assert "kit[secondary].insertion[0].after" in told
    assert "worst[0].loading.factory_filter" in told
    assert any("no part" in each for each in errors(applied.sheet))


def test_a_renamed_part_is_followed_by_kits_tees_and_conditions_but_not_by_runs() -> None:
    runs = run_text(1, elements='{ factory_filter = "a 1" }')
    sheet = Sheet.of(BRANCHED + runs)
    applied = Together(
        operations=(
            RenamePart(part="factory_filter", name="first_filter"),
            RenamePart(part="bypass", name="overflow"),
        )
    ).apply(sheet)
    text = applied.sheet.text

    assert text.count("factory_filter") == 1
    assert 'elements = { factory_filter = "a 1" }' in text
    assert "a run is a record" in applied.told[0].message
    assert applied.sheet.data["tee"][0]["branch"] == "overflow"
    assert 'loading = { secondary_element = "6 g", first_filter = "4 g"' in text
    assert [each for each in errors(applied.sheet) if "run[1]" not in each] == []


def test_an_id_cannot_be_had_by_two_parts() -> None:
    for operation in (
        AddPart(part={"id": "banjos", **PIPE}, after="primer"),
        RenamePart(part="primer", name="banjos"),
        EditPart(part="primer", values={"id": "banjos"}),
        AddKit(kit={"id": "k", "insertion": [{"part": [{"id": "banjos"}]}]}),
        AddKit(kit={"id": "primary"}),
    ):
        with pytest.raises(InputError, match="is in the case already"):
            operation.apply(CHAIN)


@pytest.mark.parametrize(
    "operation",
    [
        AddPart(part={"id": "x"}, after="nobody"),
        AddPart(part={"id": "x"}, line="kit[nobody].insertion[0].part"),
        MovePart(part="nobody", after="primer"),
        MovePart(part="primer", after="nobody"),
        RemovePart(part="nobody"),
        RenamePart(part="nobody", name="x"),
        EditPart(part="nobody", values={"bore": "8 mm"}),
        RemoveKit(kit="nobody"),
        PlaceKit(kit="primary", after="nobody"),
        PlaceKit(kit="primary", after="primer", insertion=7),
        SetValue(path="line[nobody].bore", value="8 mm"),
        SetValue(path="vehicle.tank.cap_valve", value=None),
        Remove(path="fuel.nobody"),
        MapChannel(instrument="nobody", channel="time", column="Time"),
    ],
)
def test_what_is_not_in_the_case_is_told_by_its_name(operation: SetValue) -> None:
    with pytest.raises(MissingError, match=r"nobody|cap_valve|\[7\]|insertion"):
        operation.apply(CHAIN)


@pytest.mark.parametrize(
    "operation",
    [
        AddPart(part={"kind": "pipe"}, after="primer"),
        AddPart(part={"id": "x"}, after="primer", before="primer"),
        AddPart(part={"id": "x"}, line="vehicle"),
        MovePart(part="primer"),
        MovePart(part="primer", after="primer"),
        MovePart(part="primer", after="banjos", before="bends"),
        PlaceKit(kit="primary"),
        AddEntry(path="vehicle.tank", table={}),
        AddEntry(path="worst", table={}, position=9),
        SetValue(path="", value=1),
        SetValue(path="line[", value=1),
        SetValue(path="title..x", value=1),
    ],
)
def test_an_edit_that_says_too_little_or_too_much_is_refused(operation: SetValue) -> None:
    with pytest.raises(InputError):
        operation.apply(CHAIN)


def test_a_kit_is_added_placed_and_removed_and_nothing_else_changes() -> None:
    kit = {
        "id": "prefilter",
        "title": "a coarse one",
        "insertion": [{"after": "steel_line", "part": [{"id": "x", **PIPE}]}],
    }
    added = AddKit(kit=kit, after="secondary").apply(CHAIN).sheet
    placed = PlaceKit(kit="prefilter", before="primer").apply(added).sheet
    removed = RemoveKit(kit="prefilter").apply(placed).sheet

    assert [each["id"] for each in added.data["kit"]][:2] == ["secondary", "prefilter"]
    assert not errors(added)
    assert placed.data["kit"][1]["insertion"][0]["before"] == "primer"
    assert "after" not in placed.data["kit"][1]["insertion"][0]
    assert not errors(placed)
    assert removed.text == VEHICLE


def test_runs_with_a_kit_that_is_removed_are_told() -> None:
    sheet = Sheet.of(VEHICLE + run_text(3, kits='["primary"]'))
    told = RemoveKit(kit="primary").apply(sheet).told

    assert [each.place for each in told] == ["case.toml: run[3].kits"]


def test_a_channel_is_mapped_changed_and_taken_out() -> None:
    more = {"ceiling": "60 kPa"}
    mapped = MapChannel(
        instrument="logger", channel="rail_pressure", column="Rail", unit="MPa", more=more
    ).apply(CHAIN)
    channels = mapped.sheet.data["instrument"]["logger"]["channels"]

    assert channels["rail_pressure"] == {"column": "Rail", "unit": "MPa", **more}
    gone = MapChannel(instrument="logger", channel="rail_pressure", column=None)
    taken = gone.apply(mapped.sheet).sheet
    assert "rail_pressure" not in taken.data["instrument"]["logger"]["channels"]


def test_the_date_of_a_run_stays_a_date() -> None:
    sheet = Sheet.of(VEHICLE + run_text(1))
    after = SetValue(path="run[1].started", value="2026-09-14T10:30:00+02:00").apply(sheet).sheet

    assert "started = 2026-09-14T10:30:00+02:00" in after.text
    assert not [each for each in errors(after) if "started" in each]


def test_several_edits_are_one_step_or_none() -> None:
    both = Together(
        operations=(
            SetValue(path="title", value="other"),
            SetValue(path="line[nobody].bore", value="8 mm"),
        )
    )
    with pytest.raises(MissingError):
        both.apply(CHAIN)


@pytest.mark.parametrize("name", sorted(ALL))
def test_each_path_that_a_finding_may_name_leads_back_to_its_key(name: str) -> None:
    data = tomllib.loads(ALL[name])
    for location in lines_of(ALL[name]):
        if any(isinstance(step, str) and " " in step for step in location):
            assert location_of(data, list(location)) == location
        assert location_of(data, path_of(data, location)) == location


def test_the_text_of_the_demonstration_case_can_be_edited(tmp_path: Path) -> None:
    del tmp_path
    from feedproof.app.api import PACKAGED_DEMO

    sheet = Sheet.of((PACKAGED_DEMO / "case.toml").read_text(encoding="utf-8"))
    grown = AddPart(part={"id": "x", **PIPE}, after="steel_line").apply(sheet).sheet

    assert not errors(grown)
    assert RemovePart(part="x").apply(grown).sheet.text == sheet.text


def test_a_node_that_a_part_takes_over_brings_its_comment_along() -> None:
    hung = next(each for each in NETWORK.data["line"] if "to" in each and "from" not in each)
    node = f'to = "{hung["to"]}"'
    before = Sheet.of(NETWORK.text.replace(node, f"{node} # under the seat", 1))
    after = AddPart(part={"id": "x", **PIPE}, after=hung["id"]).apply(before).sheet

    assert part(after, "x")["to"] == hung["to"]
    assert f"{node} # under the seat" in after.text
    assert RemovePart(part="x").apply(after).sheet.text == before.text


def test_a_comment_behind_a_place_or_a_loading_follows_it() -> None:
    told = Sheet.of(UNUSUAL.replace('after = "strainer"', 'after = "strainer" # near'))
    placed = PlaceKit(kit="first", before="strainer").apply(told).sheet
    assert 'before = "strainer" # near' in placed.text

    loaded = SetValue(path="worst[0]", value=None).apply(told).sheet
    text = f'{loaded.text}\n[reference.loading]\nstrainer = "1 g" # guessed\n'
    renamed = RenamePart(part="strainer", name="sieve").apply(Sheet.of(text)).sheet
    assert 'sieve = "1 g" # guessed' in renamed.text


def test_a_comment_behind_a_node_that_nobody_takes_over_stays_as_a_line_of_its_own() -> None:
    text = UNUSUAL.replace('bore = "8 mm"\n      # below', 'to = "tee" # seat\n      # below')
    moved = MovePart(part="hose", after="element").apply(Sheet.of(text)).sheet

    assert "\n# seat\n" in moved.text
    assert "to =" not in moved.text
