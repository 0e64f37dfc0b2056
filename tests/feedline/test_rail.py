"""
Promise: a shortfall and the rail's pressure go together as the stiffness of the fuel says.

Sources: dp/dt = K Q/V by hand; SciPy's integrator; thresholds are common practice.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedproof.feedline.rail import (
    DEVIATIONS_PA,
    RailData,
    build_up_duration_s,
    rail_of_full_load,
    rail_of_state,
    rail_shortfall,
)
from tests.feedline import reference

L_PER_H = reference.L_PER_H


def test_one_litre_an_hour_short_is_15_6_mpa_a_second() -> None:
    """By hand: 1.4e9 Pa/25e-6 m3 x 1e-3/3600 m3/s = 15.56 MPa/s."""
    found = rail_shortfall(30 * L_PER_H, 29 * L_PER_H)

    assert found.is_starved
    assert found.fall_rate_pa_per_s == pytest.approx(1.4e9 / 25e-6 * 1e-3 / 3600, rel=1e-12)
    assert round(found.fall_rate_pa_per_s / 1e6, 1) == 15.6
    assert found.deviation_pa == DEVIATIONS_PA == (11e6, 20e6)
    assert found.duration_s == pytest.approx((11 / 15.5556, 20 / 15.5556), rel=1e-4)
    for word in ("1.0 L/h", "15.6 MPa/s", "11 MPa after 0.71 s", "20 MPa after 1.3 s"):
        assert word in found.text


def test_the_time_is_where_an_integrated_rail_has_lost_the_pressure() -> None:
    rail = RailData(volume_m3=18e-6, bulk_modulus_pa=1.25e9)
    wanted, delivered = 27 * L_PER_H, 26.6 * L_PER_H
    found = rail_shortfall(wanted, delivered, rail)

    def slope(_: float, pressure: np.ndarray) -> np.ndarray:
        return np.full_like(pressure, 1.25e9 / 18e-6 * (delivered - wanted))

    for deviation, duration in zip(found.deviation_pa, found.duration_s, strict=True):
        end = solve_ivp(slope, (0.0, duration), [130e6], rtol=1e-10).y[0, -1]
        assert 130e6 - end == pytest.approx(deviation, rel=1e-9)


def test_half_the_shortfall_takes_twice_the_time_and_twice_the_rail_too() -> None:
    one = rail_shortfall(10 * L_PER_H, 8 * L_PER_H)
    half = rail_shortfall(10 * L_PER_H, 9 * L_PER_H)
    large = rail_shortfall(10 * L_PER_H, 8 * L_PER_H, RailData(volume_m3=50e-6))

    assert half.duration_s == pytest.approx([2 * each for each in one.duration_s], rel=1e-12)
    assert large.duration_s == pytest.approx(half.duration_s, rel=1e-12)


@pytest.mark.parametrize("delivered", [10.0, 12.0, 10.0 * (1.0 - 1e-13)])
def test_where_nothing_is_short_the_rail_never_falls(delivered: float) -> None:
    found = rail_shortfall(10 * L_PER_H, delivered * L_PER_H)

    assert not found.is_starved
    assert found.fall_rate_pa_per_s == 0.0
    assert found.duration_s == (math.inf, math.inf)
    assert "Nothing is short" in found.text


def test_a_solved_state_says_its_shortfall_by_its_own_balance() -> None:
    feed = reference.circuit(pump="worn", at=reference.conditions(-10.0, fuel="winter"))
    wanted = 30 * L_PER_H
    state = feed.at(200.0 / 60.0, wanted)
    found = rail_of_state(state, wanted)

    assert found.is_starved
    assert found.shortfall_m3_per_s == pytest.approx(
        wanted - (state.feed_m3_per_s - feed.backleak_m3_per_s(200.0 / 60.0)), rel=1e-9
    )
    assert not rail_of_state(feed.at(30.0, 9 * L_PER_H), 9 * L_PER_H).is_starved


def test_the_rail_fills_as_fast_as_it_empties() -> None:
    rail = RailData()
    flow = 2 * L_PER_H
    falling = rail_shortfall(flow, 0.0, rail)

    assert build_up_duration_s(flow, rail) == pytest.approx(
        rail.start_pressure_pa / falling.fall_rate_pa_per_s, rel=1e-12
    )
    # 20 MPa at 31.1 MPa/s.
    assert build_up_duration_s(flow, rail) == pytest.approx(0.643, abs=1e-3)
    assert build_up_duration_s(0.0, rail) == math.inf
    assert build_up_duration_s(-flow, rail) == math.inf


def test_a_starved_pull_is_told_where_most_is_missing() -> None:
    at = reference.conditions(-5.0, mass_g={"oe_filter": 16.0})
    feed = reference.circuit(pump="worn", at=at)
    speeds = np.linspace(1728.0, 3457.0, 9) / 60.0
    _, wanted = feed.full_load(speeds)
    short = [
        flow - feed.at(float(speed), float(flow)).injected_m3_per_s
        for speed, flow in zip(speeds, wanted, strict=True)
    ]
    found = rail_of_full_load(feed, speeds)

    assert max(short) > 1.0 * L_PER_H
    assert found.shortfall_m3_per_s == pytest.approx(max(short), rel=1e-9)
    assert found.fall_rate_pa_per_s == pytest.approx(1.4e9 / 25e-6 * max(short), rel=1e-9)
    assert not rail_of_full_load(reference.circuit(), speeds).is_starved
