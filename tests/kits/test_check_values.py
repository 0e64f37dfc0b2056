"""
Promise: check values are computed back from the worst declared conditions, by solving the line.

Outside check: a second computation of the reference vehicle with both kits, 30 % of the dirt on
the factory element and 70 % on the fine secondary, by a practitioner's eye (figures of the
reference scenario, rule of Blasius).  Invariants: what holds the alarm holds the worst conditions,
a little more dirt breaks them.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.conditions import Conditions
from feedproof.case.vehicle import Topology
from feedproof.core.errors import InputError
from feedproof.feedline.grid import GridLimits
from feedproof.kits.check_values import (
    CheckPoint,
    check_values,
    choose_check_point,
    reading_pa,
    standard_workshop,
)
from feedproof.kits.loading import Loader, allowed_dirt
from feedproof.physics.atmosphere import standard_pressure
from tests.feedline.reference import conditions, fuel_of, kit, vehicle

SPEED = 3407.0 / 60.0
ONLY_PRESSURE = GridLimits(50500.0, math.nan, 1e9, 1e-9)


def loader(*kits: str, shares: dict[str, float] | None = None) -> Loader:
    """Give the reference vehicle with kits, asked at the top of its pull."""
    body = vehicle()
    return Loader(
        vehicle=body,
        line=body.line.with_kits([kit(name) for name in kits]),
        fuels={"summer": fuel_of("summer")},
        rule="blend_blasius",
        shares=shares or {"oe_filter": 0.3, "K2_0": 0.7},
        engine_speed_rev_per_s=np.array([SPEED]),
        limits=ONLY_PRESSURE,
    )


def point() -> CheckPoint:
    """Read the gauge at full load at the top of the pull, as the figures do."""
    return CheckPoint(
        engine_speed_rev_per_s=SPEED,
        loaded=True,
        conditions=conditions(),
        neutral_pa=0.0,
        full_load_pa=0.0,
    )


def dirt_that_reads(line: Loader, depression_pa: float) -> float:
    """Find the dirt with which the gauge reads a depression at 40 degC."""
    low, high = 0.0, 0.2
    for _ in range(60):
        middle = 0.5 * (low + high)
        if reading_pa(line, point(), 313.15, middle) < depression_pa:
            low = middle
        else:
            high = middle
    return low


def test_a_reading_that_looks_harmless_when_warm_is_not_when_cold() -> None:
    line = loader("K1", "K2")
    dirt = dirt_that_reads(line, 40.6e3)

    for celsius, expected in ((20.0, 57.7e3), (10.0, 70.0e3), (0.0, 78.2e3)):
        found = reading_pa(line, point(), celsius + 273.15, dirt)
        assert found == pytest.approx(expected, abs=0.35e3)


@pytest.mark.parametrize(
    ("celsius", "altitude_m", "offered_pa"),
    [(20.0, 0.0, 36.2e3), (10.0, 0.0, 30.1e3), (20.0, 1500.0, 25.9e3)],
)
def test_the_offered_reading_is_that_of_the_worst_declared_conditions(
    celsius: float, altitude_m: float, offered_pa: float
) -> None:
    line = loader("K1", "K2")
    worst = replace(
        conditions(celsius), ambient_pressure_abs_pa=float(standard_pressure(altitude_m))
    )
    allowed = allowed_dirt(line, [worst])

    assert allowed.dirt_kg is not None
    found = reading_pa(line, point(), 313.15, allowed.dirt_kg)
    assert found == pytest.approx(offered_pa, abs=0.2e3)
    assert found < 40.6e3
    assert line.slack(worst, allowed.dirt_kg) >= 0.0
    assert line.slack(worst, allowed.dirt_kg + 1e-5) < 0.0


def test_the_hardest_of_several_conditions_decides() -> None:
    line = loader("K1", "K2")
    mild, cold = conditions(30.0), conditions(10.0)
    both = allowed_dirt(line, [mild, cold])
    assert both.deciding is cold
    assert both.dirt_kg == allowed_dirt(line, [cold]).dirt_kg


def test_no_reading_of_a_band_passes_the_alarm_unseen() -> None:
    line = loader("K1", "K2")
    values = check_values(line, [conditions(10.0)], point(), gauge_uncertainty_pa=800.0)
    dirt = values.allowed.dirt_kg
    assert dirt is not None
    for band in values.bands:
        for kelvin in np.linspace(band.low_k, band.high_k, 23):
            loaded = reading_pa(line, point(), float(kelvin), dirt)
            assert band.alarm_pa is not None
            assert loaded >= band.alarm_pa - 30.0
            assert reading_pa(line, point(), float(kelvin), 0.0) <= band.clean_high_pa + 30.0
        assert band.change_out_pa == band.alarm_pa - 800.0
    # Colder fuel reads higher, clean and loaded.
    alarms = [band.alarm_pa or 0.0 for band in values.bands[:8]]
    assert alarms == sorted(alarms, reverse=True)


def test_a_line_that_is_beyond_its_limit_clean_gets_no_check_value() -> None:
    line = loader("K1", "K2")
    high = replace(conditions(0.0), ambient_pressure_abs_pa=float(standard_pressure(3500.0)))
    values = check_values(line, [high], point(), gauge_uncertainty_pa=500.0)
    assert values.allowed.dirt_kg is None
    assert values.allowed.clean_slack < 0.0
    assert values.bands == ()


def test_neutral_stands_for_full_load_with_an_overflow_to_the_tank_only() -> None:
    # 15.5 kPa stock and 18.9 kPa with both kits are the reference scenario's figures in neutral.
    stock = loader(shares={"oe_filter": 1.0})
    chosen = choose_check_point(stock, standard_workshop("summer"))
    assert not chosen.loaded
    assert chosen.neutral_pa == pytest.approx(15.5e3, abs=0.2e3)
    both = choose_check_point(loader("K1", "K2"), standard_workshop("summer"))
    assert both.neutral_pa == pytest.approx(18.9e3, abs=0.25e3)

    body = vehicle()
    recirculating = replace(
        stock,
        vehicle=replace(body, pump=replace(body.pump, topology=Topology.INTERNAL_RECIRCULATION)),
    )
    assert choose_check_point(recirculating, standard_workshop("summer")).loaded


def test_nothing_is_guessed() -> None:
    line = loader("K1", "K2")
    with pytest.raises(InputError, match="worst"):
        allowed_dirt(line, [])
    with pytest.raises(InputError, match="add up"):
        replace(line, shares={"oe_filter": 0.3})
    with pytest.raises(InputError, match="no element"):
        replace(line, shares={"nobody": 1.0})
    with pytest.raises(InputError, match="rise"):
        check_values(
            line, [conditions(10.0)], point(), gauge_uncertainty_pa=0.0, band_edges_k=[300.0, 290.0]
        )


def test_dirt_that_nothing_can_reach_is_said_to_be_unlimited() -> None:
    line = loader("K1", shares={"K1_0": 1.0})
    at: Conditions = conditions(40.0)
    assert allowed_dirt(line, [at]).unlimited


def test_each_declared_fuel_has_its_own_rows_and_no_row_says_what_a_clean_line_says() -> None:
    line = loader("K1", "K2")
    both = replace(line, fuels={**line.fuels, "winter": fuel_of("winter")})
    any_fuel = replace(point(), fuels=("summer", "winter"))
    values = check_values(both, [conditions(10.0)], any_fuel, gauge_uncertainty_pa=0.0)
    dirt = values.allowed.dirt_kg
    assert dirt is not None
    assert {band.fuel for band in values.bands} == {"summer", "winter"}
    for band in values.bands:
        for kelvin in (band.low_k, band.high_k):
            loaded = reading_pa(both, any_fuel, kelvin, dirt, band.fuel)
            if band.alarm_pa is not None:
                assert loaded >= band.alarm_pa - 1e-6
                assert band.alarm_pa > band.clean_high_pa
    thin = reading_pa(both, any_fuel, 283.15, dirt, "winter")
    assert thin < reading_pa(both, any_fuel, 283.15, dirt, "summer")


def test_where_a_clean_line_reads_as_much_there_is_no_value() -> None:
    line = loader("K1", "K2")
    wide = check_values(
        line,
        [conditions(0.0)],
        point(),
        gauge_uncertainty_pa=0.0,
        band_edges_k=[273.15, 313.15],
    )
    assert [(band.change_out_pa, band.alarm_pa) for band in wide.bands] == [(None, None)]
