"""
The JSON Schema and the newcomer's template.

Promised: the schema that is shipped is the one that the models make, and it takes what the reader
takes; the template has no mistake and its numbers say that they are to be replaced.
"""

import copy
import json
import re
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from feedproof.app.configurations import circuit_for, top_state
from feedproof.case.parts import Pipe
from feedproof.records.reading import read_document
from feedproof.records.schema import SHIPPED, schema_text
from feedproof.records.template import TEMPLATE, new_case
from tests.records.documents import BRANCHED, VEHICLE, errors_of

# A key or the head of a table that a reader takes up by taking its hash away.
COMMENTED = re.compile(r"^# (\[\[\w+\]\]|\w+ = )", re.MULTILINE)
DOCUMENT = tomllib.loads(VEHICLE)
BRANCHED_DOCUMENT = tomllib.loads(BRANCHED)


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    schema = json.loads(SHIPPED.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_the_shipped_schema_is_the_one_that_the_models_make() -> None:
    assert SHIPPED.read_text(encoding="utf-8") == schema_text()


@pytest.mark.parametrize("text", [VEHICLE, BRANCHED, TEMPLATE.read_text(encoding="utf-8")])
def test_the_schema_takes_what_the_reader_takes(
    text: str, validator: jsonschema.Draft202012Validator
) -> None:
    assert list(validator.iter_errors(tomllib.loads(text))) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("line", 1, "length"), 0.5),
        (("line", 1, "kind"), "tube"),
        (("vehicle", "pump", "topology"), "round"),
        (("vehicle", "pump", "slip"), {"low": "2 L/h"}),
        (("version",), 2),
        (("typo",), 1),
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(
    path: tuple[Any, ...], value: Any, validator: jsonschema.Draft202012Validator
) -> None:
    document = copy.deepcopy(DOCUMENT)
    holder: Any = document
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value

    assert list(validator.iter_errors(document))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("line", 1, "running"), "yes"),
        (("line", 1, "speed"), "3 rpm"),
        (("line", 1, "free_flow"), 180),
        (("return", 0, "effectiveness"), []),
        (("tee", 0, "node"), "two words"),
        (("tee", 0, "loss"), 1),
        (("recirculation", "to"), 3),
        (("recirculation", "share"), 0.5),
        (("vehicle", "pump", "gas_release_time"), 1.5),
        (("reference", "tank_fuel_temperature"), 30),
    ],
)
def test_the_schema_and_the_reader_refuse_the_same_of_the_branched_vehicle(
    path: tuple[Any, ...], value: Any, validator: jsonschema.Draft202012Validator
) -> None:
    document = copy.deepcopy(BRANCHED_DOCUMENT)
    holder: Any = document
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value

    assert list(validator.iter_errors(document))
    assert read_document(document, "", "case.toml").case is None


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (("line", 1), "free_flow"),
        (("line", 7), "hole_diameter"),
        (("return", 0), "inertial"),
        (("tee", 0), "branch"),
        (("recirculation",), "warm_temperature"),
    ],
)
def test_a_key_without_which_a_new_table_says_nothing_is_missed(
    path: tuple[Any, ...], key: str, validator: jsonschema.Draft202012Validator
) -> None:
    document = copy.deepcopy(BRANCHED_DOCUMENT)
    holder: Any = document
    for step in path:
        holder = holder[step]
    del holder[key]
    told = errors_of(read_document(document, "", "case.toml"))

    assert list(validator.iter_errors(document))
    assert [f for f in told if f.place.endswith(f".{key}") and "missing" in f.message]


def test_a_new_case_has_no_mistake_and_a_first_line_in_its_journal(tmp_path: Path) -> None:
    case = new_case(tmp_path / "case")
    reading = case.read()

    assert errors_of(reading) == []
    assert reading.case is not None
    assert len(case.journal.read()[0]) == 1


def test_a_new_case_says_when_it_was_started_and_that_its_numbers_are_examples(
    tmp_path: Path,
) -> None:
    text = (new_case(tmp_path / "case").path / "case.toml").read_text(encoding="utf-8")

    assert "@TODAY@" not in text
    assert str(date.today().year) in text
    assert text.count("example, replace") > 10


def test_a_new_case_grants_no_pass_because_it_states_no_limit(tmp_path: Path) -> None:
    reading = new_case(tmp_path / "case").read()

    assert reading.case is not None
    assert reading.case.vehicle.pump.maker_limit_abs_pa is None


def test_the_run_shown_in_the_template_s_comments_is_a_sound_run(tmp_path: Path) -> None:
    case = new_case(tmp_path / "case")
    text = TEMPLATE.read_text(encoding="utf-8")
    commented = text[text.index("# [[run]]") :].split("\n")
    shown = "\n".join(line.removeprefix("# ") for line in commented).replace(
        '"..."', f'"{"0" * 64}"'
    )
    document = case.path / "case.toml"
    document.write_text(document.read_text(encoding="utf-8") + shown, encoding="utf-8")
    told = [str(finding) for finding in errors_of(case.read())]

    # Only its log is invented.
    assert [line for line in told if "is not in raw" not in line] == []
    assert len(told) == 1


def test_the_branch_and_the_soft_hose_shown_in_the_template_s_comments_are_sound(
    tmp_path: Path,
) -> None:
    case = new_case(tmp_path / "case")
    document = case.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    start, end = text.index("# The factory feed line"), text.index("[[kit]]")
    shown = COMMENTED.sub(r"\1", text[start:end])
    document.write_text(text[:start] + shown + text[end:], encoding="utf-8")
    reading = case.read()

    assert errors_of(reading) == []
    assert reading.case is not None
    vehicle = reading.case.vehicle
    assert [(tee.node, tee.branch) for tee in vehicle.tees] == [("filter_in", "bypass")]
    assert [part.id for part in vehicle.line.parts if part.from_node] == [
        "factory_filter",
        "bypass",
    ]
    hose = vehicle.line.parts[-1]
    assert isinstance(hose, Pipe)
    assert hose.collapse_depression_pa == 30e3
    top_state(reading.case, circuit_for(reading.case, ("secondary",), reading.case.reference))
