"""
What must hold of the return caught over a sweep and of a pump that cranks.

Like test_invariants_state.py it goes through `build_circuit(...).at(...)` alone.
"""

import math

import numpy as np
import pytest

from feedproof.feedline.circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState
from tests.feedline import reference
from tests.feedline.invariant_cases import PUMPS

L_PER_H = reference.L_PER_H


# The caught volume does not depend on the sampling.
def _caught(feed: FeedCircuit, moments: np.ndarray) -> float:
    """Integrate the return over a sweep of 14 s from 1700 to 3400 rpm at given moments."""
    speeds_rev_per_s = 28.4 + (56.6 - 28.4) * moments / moments[-1]
    _, full = feed.full_load(speeds_rev_per_s)
    returned = [
        feed.at(float(speed), float(flow)).return_m3_per_s
        for speed, flow in zip(speeds_rev_per_s, full, strict=True)
    ]
    return float(np.trapezoid(returned, moments))


@pytest.mark.parametrize("kits", [(), ("K1", "K2")])
@pytest.mark.parametrize("pump", PUMPS)
def test_the_caught_volume_is_the_same_at_every_rate_and_at_uneven_moments(
    pump: str, kits: tuple[str, ...]
) -> None:
    feed = reference.circuit(*kits, pump=pump)
    fine = _caught(feed, np.linspace(0.0, 14.0, 1401))
    uneven = np.sort(np.random.default_rng(4).uniform(0.0, 14.0, 281))
    uneven[0], uneven[-1] = 0.0, 14.0

    # 100, 20, 10 and 5 samples a second.
    for count in (281, 141, 71):
        assert _caught(feed, np.linspace(0.0, 14.0, count)) == pytest.approx(fine, rel=1e-4)
    assert _caught(feed, uneven) == pytest.approx(fine, rel=1e-4)


# Cranking: finite for every pump, and fed where the pump takes in more than is wanted.
START_QUANTITY = 1.5 * L_PER_H
CRANKING_REV_PER_S = 200.0 / 60.0


def _cranked(pump: str, celsius: float, fuel: str, inject: float) -> tuple[FeedCircuit, FeedState]:
    feed = reference.circuit(pump=pump, at=reference.conditions(celsius, fuel=fuel))
    return feed, feed.at(CRANKING_REV_PER_S, inject)


@pytest.mark.parametrize("fuel", ["summer", "winter", "arctic"])
@pytest.mark.parametrize("celsius", [-10.0, 70.0])
@pytest.mark.parametrize("pump", PUMPS)
def test_every_pump_starts_at_200_rpm_where_it_takes_in_more_than_back_leak_and_start_quantity(
    pump: str, celsius: float, fuel: str
) -> None:
    """The start quantity of 1.5 L/h is an assumption (common practice)."""
    feed, state = _cranked(pump, celsius, fuel, START_QUANTITY)
    backleak = feed.backleak_m3_per_s(CRANKING_REV_PER_S)
    body = feed.vehicle.pump
    taken_in = body.displacement_m3_per_rev * body.speed_ratio * CRANKING_REV_PER_S
    taken_in *= body.filling_fraction * state.inlet_filling * (1.0 - state.free_gas_fraction)

    assert all(math.isfinite(value) for value in state)
    # Physics says so for all of them: even the worn pump takes in twice what must be covered.
    assert taken_in > 2.0 * (backleak + START_QUANTITY)
    assert state.injected_m3_per_s == pytest.approx(START_QUANTITY, rel=1e-12)
    assert state.feed_m3_per_s >= (backleak + START_QUANTITY) * (1.0 - 1e-9)
    assert 0.0 < state.feed_pressure_ratio <= 1.0


@pytest.mark.parametrize("celsius", [-10.0, 70.0])
@pytest.mark.parametrize("pump", PUMPS)
def test_a_pump_that_takes_in_less_than_is_wanted_is_starved_and_says_how_much_it_gives(
    pump: str, celsius: float
) -> None:
    feed, state = _cranked(pump, celsius, "winter", 30.0 * L_PER_H)

    assert all(math.isfinite(value) for value in state)
    assert state.feed_pressure_ratio == 0.0
    assert 0.0 < state.injected_m3_per_s < 30.0 * L_PER_H
    assert state.injected_m3_per_s == pytest.approx(
        state.feed_m3_per_s - feed.backleak_m3_per_s(CRANKING_REV_PER_S), rel=1e-9
    )


def test_slip_that_ignored_feed_pressure_would_keep_a_hot_worn_pump_from_starting() -> None:
    """With the gap leakage of the regulated pressure the delivery would be below nothing."""
    feed, state = _cranked("worn", 70.0, "summer", START_QUANTITY)
    body = feed.vehicle.pump
    taken_in = body.displacement_m3_per_rev * body.speed_ratio * CRANKING_REV_PER_S
    full_slip = body.slip_m3_per_s * body.slip_viscosity_pa_s / feed.fluid.dynamic_viscosity_pa_s

    assert taken_in * body.filling_fraction - full_slip < START_QUANTITY
    assert state.feed_pressure_ratio < 1.0
    assert state.injected_m3_per_s == pytest.approx(START_QUANTITY, rel=1e-12)
