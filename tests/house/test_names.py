"""House rule: names in calculation rooms are SI; each quantity of `case` is in the glossary."""

import ast
import re
from collections.abc import Iterator

import pytest

from tests.house.tree import CALCULATION_ROOMS, PACKAGE, ROOT, parsed, python_files

# Left out because they also end honest SI names: `_min` (least), `_in` (inward), `_c` (a constant).
NOT_SI = re.compile(
    r"_(?:kpa|hpa|mpa|mbar|bar|psi|inhg|inh2o|mmhg|mmh2o|torr|atm"
    r"|km|cm|mm|um|inch|inches|ft|feet|mm2|cm2|mm3|cm3|cc"
    r"|l|ml|litres?|liters?|gal|gallons?|lph|lpm|gph|gpm|(?:l|ml)_per_(?:h|min|s)"
    r"|kw|hp|ps|kwh|rpm|rev_per_min|degc|degf|celsius|kmh|kph|mph|km_per_h"
    r"|minutes|h|hours|days|g|mg|ug|lb|cst|cp|mpa_s|mm2_per_s|g_per_kwh|degrees?)$"
)
# A constant such as M2_PER_MM2 names both units: a correlation that was published in other units.
FACTOR = re.compile(r"^[A-Z0-9_]+_PER_[A-Z0-9]+$")
# The one place where units change.
EXEMPT = {PACKAGE / "core" / "units.py"}

SI_UNIT = r"(?:m[2-4]?|s2?|kg|k|pa|w|j|n|nm|rad|rev)"
QUANTITY = re.compile(
    rf"_(?:{SI_UNIT}(?:_(?:per_)?{SI_UNIT})*|per_{SI_UNIT}|ratio|fraction|percent)$"
)


def defined_names(tree: ast.AST) -> Iterator[tuple[str, int]]:
    """Give each name that a file defines or hands over by keyword, with its line."""
    for node in ast.walk(tree):
        match node:
            case ast.FunctionDef(returns=ast.Name(id="str")):
                pass  # its answer is a text for a reader, and texts are in workshop units
            case ast.FunctionDef(name=name) | ast.ClassDef(name=name):
                yield name, node.lineno
            case ast.arg(arg=name):
                yield name, node.lineno
            case ast.keyword(arg=str(name)):
                yield name, node.value.lineno
            case ast.Name(id=name, ctx=ast.Store()) | ast.Attribute(attr=name, ctx=ast.Store()):
                yield name, node.lineno


def names_not_si(tree: ast.AST) -> list[tuple[str, int]]:
    """List names that end in a unit which is not SI."""
    return [
        (name, line)
        for name, line in defined_names(tree)
        if NOT_SI.search(name.lower()) and not FACTOR.search(name)
    ]


def test_no_name_in_a_calculation_room_ends_in_a_workshop_unit() -> None:
    files = [file for file in python_files(*CALCULATION_ROOMS) if file not in EXEMPT]

    found = [
        f"{file.relative_to(ROOT)}:{line}: {name}"
        for file in files
        for name, line in names_not_si(parsed(file))
    ]

    assert files
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "source",
    [
        "flow_l_per_min = 2.0",
        "def loss(bore_mm): ...",
        "loss(power_kw=3.0)",
        "class Pump:\n    limit_kpa: float",
        "def depression_inhg(): ...",
        "pump.speed_rpm = 1",
        "for temperature_degc in (): ...",
        "for speed_kmh, return_lph in (): ...",
        "flow_ml_per_s = 2.0",
        "FLOW_LPH = 100.0",
    ],
)
def test_a_workshop_unit_is_found_wherever_a_name_is_made(source: str) -> None:
    assert names_not_si(ast.parse(source))


@pytest.mark.parametrize(
    "name",
    ["flow_m3_per_s", "bore_m", "pressure_abs_pa", "viscosity_m2_per_s", "speed_min", "v_m_per_s"],
)
def test_an_honest_name_is_left_alone(name: str) -> None:
    assert not names_not_si(ast.parse(f"{name} = 1.0"))


def fields_of_case() -> set[str]:
    """List the public fields of `case` whose name says a quantity."""
    return {
        field.target.id
        for file in python_files("case")
        for node in ast.walk(parsed(file))
        if isinstance(node, ast.ClassDef)
        for field in node.body
        if isinstance(field, ast.AnnAssign)
        and isinstance(field.target, ast.Name)
        and not field.target.id.startswith("_")
        and QUANTITY.search(field.target.id)
    }


def glossary() -> set[str]:
    """List the names in backticks in the first column of the tables of docs/quantities.md."""
    lines = (ROOT / "docs" / "quantities.md").read_text(encoding="utf-8").splitlines()
    return {
        name
        for line in lines
        if line.startswith("|")
        for name in re.findall(r"`([^`]+)`", line.split("|")[1])
    }


def test_each_quantity_of_a_case_is_in_the_glossary() -> None:
    fields = fields_of_case()

    missing = sorted(fields - glossary())

    assert len(fields) > 50
    assert not missing, f"not in the first column of docs/quantities.md: {', '.join(missing)}"


@pytest.mark.parametrize(
    "name",
    ["bore_m", "slip_m3_per_s", "inertia_kg_m2", "housing_viscous_per_m3", "loss_per_m4",
     "viscosity_pa_s", "speed_rev_per_s", "fuel_level_fraction", "consumption_kg_per_j"],
)  # fmt: skip
def test_a_quantity_is_known_by_its_suffix(name: str) -> None:
    assert QUANTITY.search(name)


@pytest.mark.parametrize("name", ["drift_per_run", "friction_rule", "sha256", "title", "runs"])
def test_what_is_no_quantity_needs_no_entry(name: str) -> None:
    assert not QUANTITY.search(name)
