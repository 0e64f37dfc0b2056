"""
Promise: what a case leaves open is named, and what cannot be answered stops nothing else.

Outside checks: the mass of counted dust from a second computation (20/18/13 weighs 4.6 mg/L as
spheres of 2650 kg/m3, figures of the method); the keys that the demonstration leaves out, listed
here by hand.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import pytest

from feedproof.app.protecting import protect_case
from feedproof.app.service_text import service_html, service_text
from feedproof.app.servicing import service_case
from feedproof.app.supply_told import (
    FOR_CHOICE,
    FOR_PROTECTION,
    FOR_SERVICE,
    assumed_findings,
    dirt_findings,
)
from feedproof.case.case import Case
from feedproof.case.line import Line
from feedproof.case.parts import Element, Part, Pipe
from feedproof.core.errors import InputError

FEW = {"samples": 150}
SOURCE = "(assumed, common practice)"


@pytest.fixture(scope="module")
def case(demo: SimpleNamespace) -> Case:
    """Give the demonstration with a limit that leaves room for lives and check values."""
    found: Case = demo.folder.load().case
    pump = replace(found.vehicle.pump, maker_limit_abs_pa=40e3)
    return replace(found, vehicle=replace(found.vehicle, pump=pump))


def without_elements(case: Case) -> Case:
    """Take every element out of the vehicle's own line; kits stand before its last part."""
    parts = tuple(each for each in case.vehicle.line.parts if not isinstance(each, Element))
    kits = {
        name: replace(
            kit,
            insertions=tuple(
                replace(each, place=parts[-1].id, side="before") for each in kit.insertions
            ),
        )
        for name, kit in case.kits.items()
    }
    vehicle = replace(case.vehicle, line=Line(parts=parts))
    return replace(case, vehicle=vehicle, kits=kits, runs=())


def with_kit_part(case: Case, kit_id: str, change: Callable[[Part], Part]) -> Case:
    """Change every part of a kit."""
    kit = case.kits[kit_id]
    changed = replace(
        kit,
        insertions=tuple(
            replace(each, parts=tuple(change(part) for part in each.parts))
            for each in kit.insertions
        ),
    )
    return replace(case, kits={**case.kits, kit_id: changed})


def test_a_line_without_any_element_is_said_and_the_kits_are_answered(case: Case) -> None:
    told = service_case(without_elements(case), kits=("secondary",), **FEW)
    bare, kit = told.configurations
    assert "No element is in this line" in bare.why_not
    assert (bare.check, bare.life, bare.interval) == (None, None, None)
    assert kit.interval is not None
    assert kit.check is not None
    assert kit.check.bands
    assert kit.dirt_shares == {"secondary_element": pytest.approx(1.0)}
    text = service_text(told)
    assert "Baseline: no interval. No element is in this line" in text
    assert "No element is in this line" in service_html(told)


def test_a_refused_configuration_is_named_with_its_reason_and_the_others_are_answered(
    case: Case,
) -> None:
    def flat(part: Part) -> Part:
        if not isinstance(part, Element) or part.rating is None:
            return part
        points = tuple(replace(each, ratio=4.0) for each in part.rating.points)
        return replace(part, rating=replace(part.rating, points=points))

    told = service_case(with_kit_part(case, "primary", flat), kits=("primary", "secondary"), **FEW)
    found = {each.configuration: each for each in told.configurations}
    assert found["baseline"].interval is not None
    assert found["secondary"].interval is not None
    assert found["primary"].check is None
    assert found["primary"].why_not.startswith("Refused: primary_element:")
    assert "Primary: no interval. Refused: primary_element:" in service_text(told)


def test_a_soft_hose_is_refused_a_life_by_name_and_keeps_its_check_values(case: Case) -> None:
    def soft(part: Part) -> Part:
        if not isinstance(part, Pipe):
            return part
        return replace(part, collapse_depression_pa=30e3)

    changed = with_kit_part(case, "secondary", soft)
    told = service_case(changed, kits=("secondary",), **FEW)
    found = {each.configuration: each for each in told.configurations}
    assert found["baseline"].life is not None
    assert found["secondary"].life is None
    assert "soft hoses" in found["secondary"].why_not
    assert found["secondary"].check is not None
    assert found["secondary"].check.bands


def test_where_every_configuration_is_refused_the_reason_is_an_error(case: Case) -> None:
    with pytest.raises(InputError, match="worst"):
        service_case(replace(case, worst=()), **FEW)


LEFT_OUT = {
    "supply.spread": "0.7",
    "supply.breather_dust": "5 mg/m³",
    "duty.refuel_at": "25 %",
    "duty.refuel_to": "100 %",
    "service.capacity_spread": "0.3",
}


def test_each_default_that_the_demonstration_leaves_to_the_program_is_listed_once(
    case: Case,
) -> None:
    told = [str(each) for each in service_case(case, kits=("baseline",), **FEW).findings]
    for key, value in LEFT_OUT.items():
        (line,) = [each for each in told if each.startswith(f"note: {key}:")]
        assert value in line
        assert SOURCE in line
    assert sum(SOURCE in each and "note: fuel use" not in each for each in told) == len(LEFT_OUT)
    protected = [each.place for each in protect_case(case, kits=("baseline",)).findings]
    for key in ("supply.breather_dust", "duty.refuel_at", "duty.refuel_to"):
        assert protected.count(key) == 1
    assert "supply.spread" not in protected


def test_nothing_declared_is_named_as_assumed_and_nothing_assumed_is_left_out(case: Case) -> None:
    assert case.supply is not None
    assert case.duty is not None
    every = {*FOR_CHOICE, *FOR_SERVICE, *FOR_PROTECTION}
    known = replace(
        case,
        supply=replace(case.supply, assumed=()),
        duty=replace(case.duty, assumed=()),
        service=replace(case.service, assumed=()) if case.service else None,
    )
    assert assumed_findings(known, every) == ()
    supply_keys = tuple(each.split(".")[1] for each in every if each.startswith("supply"))
    none = replace(
        case,
        supply=replace(case.supply, assumed=supply_keys),
        duty=replace(case.duty, assumed=("refuel_at", "refuel_to")),
        service=None,
    )
    assert {each.place for each in assumed_findings(none, every)} == every


def test_an_assumed_gauge_is_named(case: Case) -> None:
    bare = replace(case, instruments={}, runs=())
    told = [str(each) for each in service_case(bare, kits=("baseline",), **FEW).findings]
    assert len([each for each in told if each.startswith("note: gauge: ± 1.2 kPa")]) == 1


@pytest.mark.parametrize(
    ("mg_per_kg", "low", "high", "level"),
    [
        (5.5, None, None, "note"),
        (1.5, None, None, "warning"),
        (1.5, 0.5, 5.0, "note"),
        (40.0, None, None, "warning"),
        (40.0, 20.0, 60.0, "warning"),
    ],
)
def test_weighed_dirt_is_held_against_what_the_counts_weigh(
    case: Case, mg_per_kg: float, low: float | None, high: float | None, level: str
) -> None:
    assert case.supply is not None
    supply = replace(
        case.supply,
        cleanliness=(20, 18, 13),
        contamination_fraction=1e-6 * mg_per_kg,
        contamination_low_fraction=None if low is None else 1e-6 * low,
        contamination_high_fraction=None if high is None else 1e-6 * high,
    )
    (found,) = dirt_findings(replace(case, supply=supply))
    assert found.level == level
    counted = re.search(r"weigh about ([\d.]+) mg/kg", found.message)
    assert counted is not None
    # 4.6 mg/L of fuel of about 0.83 kg/L.
    assert float(counted[1]) == pytest.approx(4.6 / 0.83, rel=0.05)
    if level == "warning":
        ratio = max(mg_per_kg / 5.55, 5.55 / mg_per_kg)
        times = re.search(r"([\d.]+) times", found.message)
        assert times is not None
        assert float(times[1]) == pytest.approx(ratio, rel=0.05)


def test_a_filter_in_the_return_line_is_said_to_protect_nothing_on_the_way(case: Case) -> None:
    (element,) = [each for each in case.vehicle.line.elements if each.role == "factory"]
    back = Line(parts=(replace(element, id="return_filter"),))
    changed = replace(case, vehicle=replace(case.vehicle, return_line=back))
    told = protect_case(changed, kits=("secondary",))
    (line,) = [str(each) for each in told.findings if each.place == "return_filter"]
    assert "stops nothing on the way from tank to pump" in line
    assert "enters the tank cleaner" in line
    # The figures are those without it.
    plain = protect_case(case, kits=("secondary",))
    assert told.configurations[1].exposure == pytest.approx(
        plain.configurations[1].exposure, rel=1e-3
    )


@pytest.mark.parametrize("celsius", [22.0, 35.0])
def test_the_fans_levels_are_those_of_its_own_fuel_and_temperature(
    case: Case, celsius: float
) -> None:
    warm = replace(case, reference=replace(case.reference, fuel_temperature_k=celsius + 273.15))
    told = service_case(warm, kits=("secondary",), **FEW)
    kit = told.configurations[1]
    band = kit.fan_band
    assert band is not None
    assert kit.check is not None
    assert band in kit.check.bands
    assert band.fuel == warm.reference.fuel
    assert band.low_k <= celsius + 273.15 <= band.high_k
    # The fan starts at the clean reading of that very band.
    assert kit.fan is not None
    start = kit.fan.depression_pa[:, 0]
    assert band.clean_low_pa - 1.0 <= start.min() <= start.max() <= band.clean_high_pa + 1.0
    low = band.low_k - 273.15
    words = f"alarm and change-out of {band.fuel} fuel, {low:.0f} to {low + 5:.0f} °C"
    page = service_html(told)
    assert page.count(words) >= 3
    assert f"with {band.fuel} fuel at {celsius:.0f} °C" in page
