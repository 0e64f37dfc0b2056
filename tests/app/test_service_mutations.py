"""
Promise: check values, dirt and limits of `service` are what the case says, from both sides.

Outside check: the line is built and loaded here, part by part, and its pressures are held against
limits that are written down here again; the dirt that an alarm stands for is found by SciPy's root
finder from the reading alone.  One kilopascal half more must break what the alarm just keeps.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq

from feedproof.app.case_budgets import gauge_budgets
from feedproof.app.rated import duty_point, mass_shares, penetrations_of, rated_elements
from feedproof.app.service_dirt import dirt_by_band, dust_by_band
from feedproof.app.service_result import ServicedConfiguration, ServicePlan
from feedproof.app.servicing import ASSUMED_GAUGE_PA, loader_of, service_case
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.grid import GridLimits, least_slacks
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.check_values import CheckBand
from feedproof.kits.passage import passage

KIT = "secondary"
MORE_PA = 500.0
HELD = {"pressure_abs_pa": 40e3, "feed_margin": 1.15, "free_gas_fraction": 0.10}
"""Limits, written down again: the pump maker's, least feed margin, most free gas."""


@pytest.fixture(scope="module")
def case(demo: SimpleNamespace) -> Case:
    """Give the demonstration with a limit that leaves room for check values."""
    found: Case = demo.folder.load().case
    pump = replace(found.vehicle.pump, maker_limit_abs_pa=HELD["pressure_abs_pa"])
    return replace(found, vehicle=replace(found.vehicle, pump=pump))


@pytest.fixture(scope="module")
def plan(case: Case) -> ServicePlan:
    """Work service out once for one kit and the baseline."""
    return service_case(case, kits=(KIT,), samples=200)


def told(plan: ServicePlan) -> ServicedConfiguration:
    """Give the kit's own plan."""
    return next(each for each in plan.configurations if each.configuration == KIT)


def states(case: Case, at: Conditions, dirt_kg: dict[str, float]) -> dict[str, np.ndarray]:
    """Solve the line at full load over the pull's speeds, dirt put into it here."""
    circuit = build_circuit(
        case.vehicle,
        case.line_with((KIT,)),
        case.fuels[at.fuel],
        replace(at, captured_mass_kg={**at.captured_mass_kg, **dirt_kg}),
        case.friction_rule,
    )
    speeds = loader_of(case, (KIT,), dirt_shares(case)).engine_speed_rev_per_s
    _, injected = circuit.full_load(speeds)
    rows = np.array([circuit.at(float(n), float(q)) for n, q in zip(speeds, injected, strict=True)])
    return {name: rows[:, FeedState._fields.index(name)] for name in HELD}


def dirt_shares(case: Case) -> dict[str, float]:
    """Give any shares that add up, for the speeds only."""
    return {case.line_with((KIT,)).elements[-1].id: 1.0}


def caught_shares(case: Case) -> dict[str, float]:
    """Share the dirt out as one pass of the clean line catches it, by what loads."""
    assert case.duty is not None
    assert case.supply is not None
    point = duty_point(case, (KIT,), case.duty)
    way = passage(point.circuit, point.state, penetrations_of(rated_elements(case, (KIT,))))
    weighed = mass_shares(case.supply)
    loads = {e.id for e in case.line_with((KIT,)).elements if math.isfinite(e.loading_scale_kg)}
    held = {
        name: float(np.sum(way.catch[row] * weighed))
        for row, name in enumerate(way.elements)
        if name in loads
    }
    return {name: mass / sum(held.values()) for name, mass in held.items()}


def left(case: Case, guard_pa: float, shares: dict[str, float], dirt_kg: float) -> float:
    """Give the least share of a limit left over all worst conditions and speeds."""
    found = []
    for at in case.worst:
        bare = replace(at, captured_mass_kg={})
        row = states(case, bare, {name: share * dirt_kg for name, share in shares.items()})
        found += [
            np.min(row["pressure_abs_pa"]) / (HELD["pressure_abs_pa"] + guard_pa) - 1.0,
            np.min(row["feed_margin"]) / HELD["feed_margin"] - 1.0,
            1.0 - np.max(row["free_gas_fraction"]) / HELD["free_gas_fraction"],
        ]
    return float(min(found))


def dirt_of_reading(
    case: Case, each: ServicedConfiguration, band: CheckBand, shares: dict[str, float]
) -> Callable[[float], float]:
    """Give the dirt that makes a reading at the end of a band where it reads least."""

    def reading(dirt_kg: float, kelvin: float) -> float:
        at = replace(
            case.reference,
            fuel=band.fuel,
            fuel_temperature_k=kelvin,
            road_pitch_rad=0.0,
            captured_mass_kg={name: share * dirt_kg for name, share in shares.items()},
        )
        circuit = build_circuit(
            case.vehicle, case.line_with((KIT,)), case.fuels[band.fuel], at, case.friction_rule
        )
        assert not each.check.point.loaded
        return circuit.held_without_load(each.check.point.engine_speed_rev_per_s).depression_pa

    def over(dirt_kg: float, kelvin: float, depression_pa: float) -> float:
        return reading(dirt_kg, kelvin) - depression_pa

    def dirt(depression_pa: float) -> float:
        return max(
            float(brentq(over, 0.0, 0.1, args=(kelvin, depression_pa), xtol=1e-9))
            for kelvin in (band.low_k, band.high_k)
        )

    return dirt


def test_at_an_alarm_the_worst_conditions_have_just_the_limit_left_and_half_a_kilopascal_breaks_it(
    case: Case, plan: ServicePlan
) -> None:
    each = told(plan)
    shares = caught_shares(case)
    tried = [band for band in each.check.bands if band.alarm_pa is not None]
    assert tried
    for band in (tried[0], tried[-1]):
        assert band.alarm_pa is not None
        dirt = dirt_of_reading(case, each, band, shares)
        kept = left(case, each.guard_pa, shares, dirt(band.alarm_pa))
        assert kept == pytest.approx(0.0, abs=0.0005)
        assert left(case, each.guard_pa, shares, dirt(band.alarm_pa + MORE_PA)) < -0.001


def test_elements_are_changed_below_the_alarm_by_what_the_declared_gauge_may_be_off(
    case: Case, plan: ServicePlan
) -> None:
    (one, _) = gauge_budgets(case, 0.0, 1)
    by_hand = math.sqrt(sum((x.size / x.divisor * x.sensitivity) ** 2 / x.count for x in one.lines))
    each = told(plan)
    assert by_hand > 100.0
    assert each.check.gauge_uncertainty_pa == pytest.approx(2.0 * by_hand)
    values = [(band.alarm_pa, band.change_out_pa) for band in each.check.bands if band.alarm_pa]
    assert values
    for alarm_pa, change_out_pa in values:
        assert change_out_pa == pytest.approx(alarm_pa - 2.0 * by_hand)


def test_a_gauge_that_nobody_declared_is_taken_as_a_poor_one_and_never_as_perfect(
    case: Case,
) -> None:
    found = told(service_case(replace(case, instruments={}, runs=()), kits=(KIT,), samples=100))
    # Class 1.6 on 60 kPa is 0.96 kPa, half a step and 10 mm of fuel come on top.
    assert found.check.gauge_uncertainty_pa == ASSUMED_GAUGE_PA
    assert 960.0 < ASSUMED_GAUGE_PA < 1500.0


def test_weighed_dirt_is_hard_by_size_and_soft_matter_counts_threefold(case: Case) -> None:
    assert case.supply is not None
    for soft in (0.0, 0.1, 0.4):
        supply = replace(case.supply, soft_fraction=soft, breather_dust_kg_per_m3=7e-6)
        shares = mass_shares(supply)
        found = dirt_by_band(supply, shares)
        assert found[:-1] == pytest.approx((1.0 - soft) * shares)
        assert found[-1] == pytest.approx(3.0 * soft)
        # A gram weighed is a gram, and each gram of soft matter two more.
        assert found.sum() == pytest.approx(1.0 + 2.0 * soft)
        assert dust_by_band(supply, shares)[:-1] == pytest.approx(7e-6 * shares)
        assert dust_by_band(supply, shares)[-1] == 0.0


GOOD = (20e3, 60e3, 1.5, 0.01)


@pytest.mark.parametrize(
    ("place", "value"),
    [(1, HELD["pressure_abs_pa"] - 1.0), (2, 1.149), (3, 0.101)],
    ids=["absolute pressure", "feed margin", "free gas"],
)
def test_each_limit_by_itself_breaks_a_line_that_keeps_all_others(
    case: Case, place: int, value: float
) -> None:
    limits = loader_of(case, (KIT,), dirt_shares(case)).limits
    good = np.array([GOOD])
    assert least_slacks(good, limits)[1][0] > 0.0
    bad = good.copy()
    bad[0, place] = value
    assert least_slacks(bad, limits)[1][0] < 0.0


@pytest.mark.parametrize("limit", ["feed_margin", "free_gas_fraction"])
def test_a_limit_besides_the_pressure_stops_a_line_too(case: Case, limit: str) -> None:
    # Not only in the list: a loader asked with nothing but this limit has an end of its dirt.
    loader = loader_of(case, (KIT,), dirt_shares(case))
    (row,) = [states(case, replace(case.worst[0], captured_mass_kg={}), {})]
    only = {
        "feed_margin": GridLimits(math.nan, math.nan, 1e9, 1.001 * float(min(row["feed_margin"]))),
        "free_gas_fraction": GridLimits(
            math.nan, math.nan, 0.999 * float(max(row["free_gas_fraction"])), 1e-9
        ),
    }[limit]
    assert replace(loader, limits=only).slack(case.worst[0], 0.0) < 0.0


@pytest.mark.parametrize("place", range(4))
def test_a_state_that_is_not_a_number_keeps_no_limit(case: Case, place: int) -> None:
    limits = loader_of(case, (KIT,), dirt_shares(case)).limits
    bad = np.array([GOOD])
    bad[0, place] = math.nan
    assert least_slacks(bad, limits)[1][0] <= -1.0
    assert least_slacks.py_func(bad, limits)[1][0] <= -1.0


@pytest.mark.parametrize("place", [2, 3])
def test_a_limit_of_gas_or_margin_that_is_not_a_number_is_kept_by_nothing(place: int) -> None:
    limits = GridLimits(
        *(math.nan if i == place else x for i, x in enumerate((4e4, math.nan, 0.1, 1.15)))
    )
    assert least_slacks(np.array([GOOD]), limits)[1][0] <= -1.0
