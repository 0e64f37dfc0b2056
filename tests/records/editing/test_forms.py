"""Forms: what they ask is what the document can hold, each field with its name and meaning."""

import tomllib
from collections.abc import Iterator

import pytest

from feedproof.core.errors import MissingError
from feedproof.core.units import parse_quantity, split_quantity, unit_fits
from feedproof.records.document import CaseDocument
from feedproof.records.document_line import part_kinds
from feedproof.records.editing.forms import FormField, form_for, form_kinds, parts_catalogue
from feedproof.records.editing.part_operations import AddPart
from feedproof.records.editing.sheet import Sheet
from feedproof.records.reading import read_document
from tests.records.documents import BRANCHED, VEHICLE
from tests.records.editing.documents import NEW

TYPES = {
    "quantity", "series", "level", "count", "switch", "choice", "fixed", "name", "names", "counts",
    "text", "date", "size", "cleanliness", "table", "tables", "map", "parts", "end",
}  # fmt: skip


def all_fields(fields: tuple[FormField, ...]) -> Iterator[FormField]:
    """Go through fields and those below them."""
    for each in fields:
        yield each
        yield from all_fields(each.fields)


def keys_of(part: dict[str, object], fields: tuple[FormField, ...]) -> set[str]:
    """List keys of a table that no field asks for."""
    return set(part) - {each.key for each in fields}


def test_each_kind_of_part_has_a_form_and_only_these_are_parts() -> None:
    assert [form.kind for form in parts_catalogue()] == list(part_kinds())
    assert {kind for kind in form_kinds() if form_for(kind).is_part} == set(part_kinds())


@pytest.mark.parametrize("kind", form_kinds())
def test_each_field_has_a_label_a_help_a_known_type_and_units_of_its_kind(kind: str) -> None:
    form = form_for(kind)
    assert form.title
    assert form.help
    for each in all_fields(form.fields):
        if each.key:  # of a map's value the key is the user's own
            assert each.label[:1].isupper(), each
            assert each.help.endswith("."), each
        assert each.type in TYPES
        assert bool(each.choices) == (each.type == "choice")
        if each.type == "quantity":
            low, high = split_quantity(each.low), split_quantity(each.high)
            assert low[0] < high[0] or low[1] != high[1]
            assert each.units
            assert high[1] in (*each.units, "")
            assert len(set(each.units)) == len(each.units)


@pytest.mark.parametrize("kind", form_kinds())
def test_no_two_fields_of_a_form_are_called_the_same(kind: str) -> None:
    labels = [each.label for each in form_for(kind).fields]

    assert len(set(labels)) == len(labels)


def test_the_usual_unit_of_a_field_comes_first() -> None:
    units = {each.key: each.units[0] for each in form_for("duty").fields if each.units}
    bore = next(each for each in form_for("pipe").fields if each.key == "bore")

    assert units["fuel_use"] == "L/100km"
    assert units["distance_per_year"] == "km"
    assert bore.units[:2] == ("mm", "m")
    assert unit_fits(bore.units[1], "length")


@pytest.mark.parametrize("text", [VEHICLE, BRANCHED, NEW])
def test_each_key_of_the_documents_is_asked_by_the_form_of_its_table(text: str) -> None:
    data = tomllib.loads(text)
    tables = [(part["kind"], part) for part in (*data["line"], *data.get("return", []))]
    tables += [("kit", kit) for kit in data["kit"]]
    tables += [("fuel", fuel) for fuel in data["fuel"].values()]
    tables += [("conditions", each) for each in (data["reference"], *data["worst"])]
    tables += [(name, data["vehicle"][name]) for name in ("engine", "gearing", "tank", "pump")]
    tables += [("instrument", each) for each in data["instrument"].values()]
    tables += [("margins", data["margins"]), ("pull", data["pull"])]

    asked = [(kind, keys_of(table, form_for(kind).fields)) for kind, table in tables]

    assert [each for each in asked if each[1]] == []


@pytest.mark.parametrize("kind", part_kinds())
def test_a_part_of_what_a_form_requires_and_no_more_is_taken(kind: str) -> None:
    made: dict[str, object] = {}
    for each in form_for(kind).fields:
        if each.required:
            made[each.key] = {
                "name": "new_part",
                "fixed": each.default,
                "choice": each.choices[-1] if each.choices else None,
                "count": 1,
                "quantity": each.high,
            }[each.type]
    sheet = AddPart(part=made, after="steel_line").apply(Sheet.of(VEHICLE)).sheet
    findings = read_document(sheet.data, sheet.text, "case.toml").findings

    assert [str(finding) for finding in findings if "new_part]." in finding.place] == []


def test_a_default_is_what_the_document_means_where_a_key_is_left_out() -> None:
    found = {each.key: each.default for each in form_for("pipe").fields}
    default = CaseDocument.model_validate(tomllib.loads(VEHICLE)).line[1]

    assert found["collapsed_bore"] == "50 %"
    assert parse_quantity(found["collapse_span"], "pressure") == default.collapse_span.value
    assert found["title"] is None


def test_a_grade_of_the_catalogue_can_be_named_and_names_say_what_they_refer_to() -> None:
    fuel = {each.key: each for each in form_for("fuel").fields}
    place = {each.key: each for each in form_for("insertion").fields}
    where = {each.key: each for each in form_for("conditions").fields}

    assert "en590_class_a" in fuel["grade"].catalogue
    assert place["after"].refers_to == "part"
    assert (where["fuel"].refers_to, where["loading"].refers_to) == ("fuel", "element")


def test_a_form_that_there_is_not_is_told_with_the_nearest() -> None:
    with pytest.raises(MissingError, match='Did you mean "pipe"'):
        form_for("pip")
