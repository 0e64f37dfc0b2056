"""
Every value that a prediction depends on can be moved by its path in the book of values.

Promised: a value of the vehicle, its lines, tees, recirculation or kits is found by its path, and
putting another number there changes that number and nothing else, in SI.
"""

from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from feedproof.app.configurations import circuit_for, top_state
from feedproof.app.spread import contributions, unplaced, with_value
from feedproof.case.case import Case
from feedproof.core.values import SourcedValue
from tests.records.documents import BRANCHED, reading_of

KIT = """
[[kit]]
id = "boosted"
title = "kit of new parts"
[[kit.insertion]]
after = "loose_clip"
[[kit.insertion.part]]
id = "kit_pump"
kind = "lift_pump"
shut_off_pressure = { value = "0.3 bar", low = "0.2 bar", high = "0.4 bar" }
free_flow = { value = "4 L/min", low = "3 L/min", high = "5 L/min" }
curve_exponent = { value = 2, low = 1, high = 3 }
stopped_inertial = "1e9 1/m^4"
running = false
[[kit.insertion.part]]
id = "kit_cooler"
kind = "cooler"
viscous = { value = "1e10 1/m^3", low = "0 1/m^3", high = "2e10 1/m^3" }
inertial = "1e9 1/m^4"
effectiveness = { value = "30 %", low = "20 %", high = "40 %" }
[[kit.insertion.part]]
id = "kit_hole"
kind = "air_hole"
hole_diameter = "0.01 mm"
discharge_coefficient = { value = 0.7, low = 0.6, high = 0.8 }
[[kit.insertion.part]]
id = "kit_hose"
kind = "pipe"
length = "0.2 m"
bore = "8 mm"
collapse_depression = "30 kPa"
collapse_span = "0.1 bar"
collapsed_bore = 0.5
"""
MOVED = ("vehicle.", "line[", "return[", "tee[", "recirculation", "kit[")
# What a level in litres was divided by cannot be moved afterwards.
FIXED = ("vehicle.tank.capacity",)


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    text = BRANCHED.replace("\n[fuel.summer]", KIT + "\n[fuel.summer]", 1)
    read = reading_of(text, tmp_path_factory.mktemp("book")).case
    assert read is not None
    return read


def differences(one: Any, two: Any) -> list[tuple[Any, Any]]:
    """List the numbers in which two cases differ."""
    if is_dataclass(one):
        pairs = [(getattr(one, f.name), getattr(two, f.name)) for f in fields(one)]
    elif isinstance(one, dict):
        pairs = [(one[key], two[key]) for key in one]
    elif isinstance(one, tuple):
        pairs = list(zip(one, two, strict=True))
    else:
        return [] if one == two else [(one, two)]
    return [found for pair in pairs for found in differences(*pair)]


def test_every_written_value_of_vehicle_lines_and_kits_moves_one_number(case: Case) -> None:
    tried = 0
    for path, value in case.values.items():
        if not path.startswith(MOVED) or path in FIXED:
            continue
        new = value.value * 1.0625 + 1e-9
        changed = with_value(case, path, value, new)

        assert changed is not None, path
        assert differences(case, changed) == [(pytest.approx(value.value, rel=1e-9), new)], path
        tried += 1

    assert tried > 100


def test_only_what_is_asked_for_stays_unplaced(case: Case) -> None:
    ranged = {
        path: SourcedValue(value=value.value, low=value.value * 0.99, high=value.value * 1.01)
        for path, value in case.values.items()
        if path.startswith(MOVED)
    }

    assert unplaced(case) == ()
    assert unplaced(case_with(case, ranged)) == FIXED


def case_with(case: Case, values: dict[str, SourcedValue]) -> Case:
    """Give a case another book of values."""
    return replace(case, values=values)


def test_values_of_two_parts_that_are_alike_are_not_taken_for_each_other(case: Case) -> None:
    value = case.values["line[soft_hose].bore"]
    changed = with_value(case, "line[soft_hose].bore", value, 0.007)

    assert changed is not None
    bores = {part.id: getattr(part, "bore_m", None) for part in changed.vehicle.line.parts}
    assert (bores["steel_line"], bores["soft_hose"]) == (0.008, 0.007)


def test_a_path_that_names_nothing_is_unplaced(case: Case) -> None:
    value = SourcedValue(value=0.008)
    for path in (
        "line[nobody].bore",
        "return[nobody].bore",
        "tee[nowhere].bore",
        "vehicle.boat.bore",
        "vehicle.name",
        "recirculation.to",
        "line",
        "",
    ):
        assert with_value(case, path, value, 0.009) is None, path


def test_a_case_without_recirculation_has_no_place_for_it(case: Case) -> None:
    bare = replace(case, vehicle=replace(case.vehicle, recirculation=None))

    assert with_value(bare, "recirculation.cold_fraction", SourcedValue(value=0.8), 0.7) is None


@pytest.mark.parametrize(
    ("path", "sign"),
    [
        # A stronger lift pump lowers the depression; a narrower check valve raises it, and so does
        # a valve of the tank's cap that opens later.
        ("line[lift].shut_off_pressure", -1),
        ("vehicle.tank.cap_valve", 1),
        ("line[primer].housing_inertial", 1),
        ("return[cooler].inertial", 0),
    ],
)
def test_moving_a_value_moves_the_prediction_the_right_way(
    path: str, sign: int, case: Case
) -> None:
    def depression(other: Case) -> float:
        state, _ = top_state(other, circuit_for(other, (), other.reference))
        return state.depression_pa

    only = case_with(case, {path: case.values[path]})
    found = contributions(only, depression)

    if sign == 0:
        # The return stands behind the pump: nothing of it reaches the suction side.
        assert found == ()
    else:
        assert [each.path for each in found] == [path]
        assert found[0].high_pa * sign > 0.0 > found[0].low_pa * sign


def test_a_cap_valve_holds_its_own_pressure_in_the_tank(case: Case) -> None:
    # Statics: without flow the depression rises by exactly what the valve holds more.
    path = "vehicle.tank.cap_valve"
    value = case.values[path]
    changed = with_value(case, path, value, value.value + 500.0)
    assert changed is not None
    before, after = (circuit_for(each, (), case.reference).static_pa for each in (case, changed))

    assert after - before == pytest.approx(500.0, rel=1e-12)
