"""Editing through the front door: states, edits as plain data, and answers that JSON can hold."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from feedproof.app import api_edit
from feedproof.app.documents import schema_of, to_document
from feedproof.app.edit_requests import edit_schema, operation_of
from feedproof.app.edit_result import EditResult, EditState
from feedproof.core.errors import ConflictError, InputError, MissingError
from feedproof.records.editing.forms import Form
from feedproof.records.template import new_case
from tests.records.documents import BRANCHED, LOG, case_folder, run_table

PIPE = {"id": "x", "kind": "pipe", "length": "1 m", "bore": "8 mm"}
EDITS: list[dict[str, Any]] = [
    {"kind": "set_value", "path": "vehicle.tank.capacity", "value": "80 L"},
    {"kind": "set_value", "path": ["line", "lift", "running"], "value": False},
    {"kind": "set_values", "path": "reference", "values": {"road_pitch": "1 deg"}},
    {"kind": "edit_part", "part": "lift", "values": {"title": None, "id": "lift_pump"}},
    {"kind": "add_part", "part": PIPE, "after": "steel_line"},
    {"kind": "move_part", "part": "x", "before": "strainer"},
    {"kind": "rename_part", "part": "x", "name": "y"},
    {"kind": "remove_part", "part": "y"},
    {"kind": "add_kit", "kit": {"id": "k", "title": "K", "insertion": [
        {"after": "primer", "part": [{**PIPE, "id": "z"}]}]}},
    {"kind": "place_kit", "kit": "k", "before": "primer", "insertion": 0},
    {"kind": "remove_kit", "kit": "k"},
    {"kind": "add_entry", "path": "worst", "position": 0, "table": {
        "fuel": "summer", "fuel_temperature": "40 degC", "altitude": "0 m", "fuel_level": "50 %"}},
    {"kind": "remove", "path": "worst[0]"},
    {"kind": "map_channel", "instrument": "cell", "channel": "throttle", "column": "Pedal 2",
     "unit": "%", "more": {"ceiling": "100 %"}},
    {"kind": "together", "what": "two at once", "operations": [
        {"kind": "set_value", "path": "title", "value": "t"},
        {"kind": "set_value", "path": "note", "value": "n"}]},
]  # fmt: skip


@pytest.fixture
def case(tmp_path: Path) -> Path:
    return case_folder(tmp_path, BRANCHED).path


def test_every_kind_of_edit_is_read_from_plain_data_and_leaves_a_usable_case(case: Path) -> None:
    first = api_edit.edit_state(case)
    revision = first.revision
    for data in EDITS:
        jsonschema.validate(data, edit_schema())
        result = api_edit.edit(case, revision, data, who="me")
        revision = result.revision
        assert result.usable, data
        assert result.changed, data
        jsonschema.validate(json.loads(json.dumps(to_document(result))), schema_of(EditResult))
    for _ in EDITS:
        revision = api_edit.undo(case, revision).revision
    assert api_edit.edit_state(case).undo is None
    assert revision == first.revision
    assert api_edit.redo(case, revision).what.startswith("made again: vehicle.tank.capacity")


def test_a_state_can_be_written_as_json_and_says_where_everything_stands(case: Path) -> None:
    state = api_edit.edit_state(case)
    document = json.loads(json.dumps(to_document(state)))

    jsonschema.validate(document, schema_of(EditState))
    assert state.parts["secondary_element"] == (
        "kit[secondary].insertion[0].part[secondary_element]"
    )
    line = state.places["line[steel_line].length"]
    assert state.text.split("\n")[line - 1].startswith("length")
    assert document["document"]["vehicle"]["tank"]["capacity"] == "90 L"
    assert (state.undo, state.redo, state.undo_hindered) == (None, None, "")


def test_an_edit_with_several_mistakes_is_refused_with_all_of_them() -> None:
    data = {"kind": "place_kit", "kit": "", "insertion": -1, "besides": "x"}

    with pytest.raises(InputError) as told:
        operation_of(data)
    assert len(told.value.findings) == 3
    assert all(each.place.startswith("edit.place_kit.") for each in told.value.findings)


@pytest.mark.parametrize("data", [{}, {"kind": "fly"}, {"kind": "together", "operations": []}])
def test_an_edit_of_no_known_kind_is_refused(data: dict[str, Any], case: Path) -> None:
    with pytest.raises(InputError):
        api_edit.edit(case, api_edit.edit_state(case).revision, data)


def test_a_second_editor_gets_a_conflict_and_the_first_ones_words_stand(case: Path) -> None:
    seen = api_edit.edit_state(case).revision
    api_edit.edit(case, seen, EDITS[0])

    with pytest.raises(ConflictError, match=r'vehicle.tank.capacity: "90 L" -> "80 L"'):
        api_edit.edit(case, seen, EDITS[1])


def test_a_document_that_cannot_be_read_still_has_a_state_and_a_way_back(case: Path) -> None:
    seen = api_edit.edit_state(case).revision
    good = api_edit.edit(case, seen, EDITS[0]).revision
    (case / "case.toml").write_bytes(b"\xff broken [")
    state = api_edit.edit_state(case)

    assert (state.readable, state.usable, state.document) == (False, False, {})
    assert state.marks
    assert state.undo
    assert api_edit.undo(case, state.revision).revision == good


def test_a_run_on_record_hinders_the_step_back_and_the_state_says_so(tmp_path: Path) -> None:
    folder = case_folder(tmp_path)
    log = tmp_path / "run.csv"
    log.write_bytes(LOG)
    seen = api_edit.edit_state(folder.path).revision
    api_edit.edit(folder.path, seen, {"kind": "set_value", "path": "title", "value": "x"})
    folder.add_run(run_table(), {"cell": log})
    state = api_edit.edit_state(folder.path)

    assert state.undo is None
    assert state.undo_hindered == "run 1 was put on record since"


def test_a_newcomers_case_can_be_edited_from_the_start(tmp_path: Path) -> None:
    folder = new_case(tmp_path / "new")
    seen = api_edit.edit_state(folder.path).revision
    result = api_edit.edit(folder.path, seen, {"kind": "add_part", "part": PIPE})

    assert [mark for mark in result.marks if mark.is_new] == []
    assert "# Kinds: pipe, fitting" in (folder.path / "case.toml").read_text(encoding="utf-8")


def test_each_form_can_be_written_as_json() -> None:
    for kind in api_edit.forms():
        document = json.loads(json.dumps(to_document(api_edit.form_of(kind))))
        assert document["kind"] == kind
        jsonschema.validate(document, schema_of(Form))
    assert len(api_edit.parts_catalogue()) == 8
    with pytest.raises(MissingError):
        api_edit.form_of("nothing")
