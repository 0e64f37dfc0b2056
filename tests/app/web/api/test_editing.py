"""A case edited in steps over HTTP: two editors, steps back and again, forms."""

import hashlib

import pytest

BORE = {"kind": "edit_part", "part": "steel_line", "values": {"bore": "7 mm"}}


@pytest.fixture
def case(lasting):
    """Begin a copy of the demonstration for one test."""
    told = lasting.ask("POST", "/cases", 201, json={"name": "copy", "begin": "demo"})
    return told.headers["location"].removeprefix("/api")


def revision(lasting, case):
    return lasting.get(f"{case}/edit")["revision"]


def edit(lasting, case, seen, operation, status=200):
    headers = {"if-match": f'"{seen}"'}
    return lasting.post(f"{case}/edit?who=Ann", operation, status, headers=headers)


def test_an_edit_names_the_revision_it_was_made_from_and_steps_go_back_and_on(lasting, case):
    answer = lasting.ask("GET", f"{case}/edit")
    state, first = answer.json(), answer.json()["revision"]
    assert answer.headers["etag"] == f'"{first}"'
    assert first == hashlib.sha256(state["text"].encode()).hexdigest()
    told = edit(lasting, case, first, BORE)
    assert told["changed"]
    assert told["usable"]
    after = lasting.get(f"{case}/edit")
    assert (after["revision"], after["undo"]) == (told["revision"], told["what"])
    assert 'bore = "7 mm"' in after["text"]

    headers = {"if-match": told["revision"]}
    back = lasting.post(f"{case}/edit/undo", None, headers=headers)
    assert back["revision"] == first
    again = lasting.post(f"{case}/edit/redo", None, headers={"if-match": first})
    assert again["revision"] == told["revision"]
    lasting.post(f"{case}/edit/redo", None, 404, headers=headers)


def test_the_second_editor_is_told_what_the_first_changed_and_nothing_is_lost(lasting, case):
    seen = revision(lasting, case)
    kept = edit(lasting, case, seen, BORE)["revision"]
    late = {"kind": "edit_part", "part": "steel_line", "values": {"bore": "6 mm"}}
    told = edit(lasting, case, seen, late, 412)
    assert "bore" in told["findings"][0]["message"]
    assert told["exit_code"] == 4
    for step in ("undo", "redo"):
        lasting.post(f"{case}/edit/{step}", None, 412, headers={"if-match": seen})
        lasting.post(f"{case}/edit/{step}", None, 428)
    lasting.post(f"{case}/edit", BORE, 428)
    edit(lasting, case, "of yesterday", BORE, 412)
    assert revision(lasting, case) == kept


@pytest.mark.parametrize(
    ("operation", "status"),
    [
        ({}, 422),
        ({"kind": "fly"}, 422),
        ({"kind": "edit_part", "part": "", "values": {}}, 422),
        ({"kind": "remove_part", "part": "nowhere"}, 404),
        ({"kind": "replace_text", "text": "= no TOML ="}, 422),
        ({**BORE, "extra": 1}, 422),
    ],
)
def test_an_edit_that_cannot_be_made_is_refused_and_nothing_is_written(lasting, operation, status):
    seen = revision(lasting, "/cases/demo")
    assert edit(lasting, "/cases/demo", seen, operation, status)["findings"]
    assert revision(lasting, "/cases/demo") == seen


def test_a_mistake_is_saved_with_its_mark_so_that_it_can_be_mended(lasting, case):
    wrong = {"kind": "edit_part", "part": "steel_line", "values": {"bore": "7 kPa"}}
    told = edit(lasting, case, revision(lasting, case), wrong)
    assert not told["usable"]
    assert [each["is_new"] for each in told["marks"] if each["level"] == "error"] == [True]
    assert edit(lasting, case, told["revision"], BORE)["mended"]


def test_every_form_of_the_list_is_given(lasting):
    kinds = lasting.get("/forms")["kinds"]
    assert "tank" in kinds
    assert all(lasting.get(f"/forms/{kind}")["fields"] for kind in kinds)
    lasting.get("/forms/none", 404)
