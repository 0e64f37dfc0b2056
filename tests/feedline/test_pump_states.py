"""
Pump topologies, worn pumps, cranking and idle: slip follows feed pressure and nothing is NaN.

Figures of the internally recirculating pump are computed values of the invented reference
scenario; the others are facts that follow from the equations.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from feedproof.feedline.line_loss import line_loss
from feedproof.feedline.pull import predict_pull
from feedproof.feedline.pump_state import FeedState, pump_state
from feedproof.feedline.surroundings import Demand
from feedproof.physics.gas import released_gas
from tests.feedline import reference
from tests.feedline.reference import circuit, conditions

L_PER_H = reference.L_PER_H
RATED = 3407.0 / 60.0


def _recirculating(depression_kpa: float) -> FeedState:
    """Solve the recirculating pump, lifted until the inlet reads this (head keeps the air in)."""

    def state(level: float) -> FeedState:
        feed = circuit(pump="internal_recirculation", at=conditions(fuel_level_fraction=level))
        _, injected = feed.full_load(np.array([RATED]))
        return feed.at(RATED, float(injected[0]))

    # A level far below zero stands for a lift of metres.
    level = brentq(lambda each: state(each).depression_pa / 1e3 - depression_kpa, -14.0, 1.0)
    return state(level)


@pytest.mark.parametrize("depression_kpa", [12.0, 40.0, 70.0, 80.0])
def test_return_of_a_recirculating_pump_is_flat_while_its_reserve_lasts(
    depression_kpa: float,
) -> None:
    state = _recirculating(depression_kpa)

    assert state.return_m3_per_s / L_PER_H == pytest.approx(54.5, abs=0.1)
    assert state.feed_pressure_ratio == 1.0


def test_return_of_a_recirculating_pump_collapses_when_the_reserve_is_used_up() -> None:
    """
    Printed for the reference pump: 38 L/h at 85 kPa, 9.5 at 88 with the injection cut.

    The print held slip constant; here it falls with the feed pressure, worth 1.6 L/h.
    """
    early, late = _recirculating(85.0), _recirculating(88.0)

    assert early.feed_pressure_ratio < 1.0
    assert early.return_m3_per_s / L_PER_H == pytest.approx(38.0, abs=2.0)
    assert late.return_m3_per_s / L_PER_H == pytest.approx(9.5, abs=0.2)
    assert late.injected_m3_per_s / L_PER_H < 33.0


@pytest.mark.parametrize("pump", ["new", "worn", "internal_recirculation"])
@pytest.mark.parametrize("temperature_c", [-10.0, 70.0])
def test_cranking_has_a_state_for_every_pump(pump: str, temperature_c: float) -> None:
    """200 rpm; the start quantity of 1.5 L/h is an assumption (common practice)."""
    feed = circuit(pump=pump, at=conditions(temperature_c, fuel="winter"))
    state = feed.at(200.0 / 60.0, 1.5 * L_PER_H)

    assert all(math.isfinite(value) for value in state)
    assert state.injected_m3_per_s == pytest.approx(1.5 * L_PER_H)
    assert 0.0 < state.feed_pressure_ratio <= 1.0


def test_a_worn_pump_can_start_because_slip_falls_with_feed_pressure() -> None:
    """With constant slip its delivery at 70 degC and 200 rpm would be negative."""
    feed = circuit(pump="worn", at=conditions(70.0))
    state = feed.at(200.0 / 60.0, 1.5 * L_PER_H)

    assert state.feed_margin < 0.0
    assert state.feed_pressure_ratio > 0.0
    assert state.feed_m3_per_s > 0.0


def test_hot_idle_of_a_worn_pump_runs_at_low_feed_pressure() -> None:
    feed = circuit(pump="worn", at=conditions(70.0))
    worn = feed.at(750.0 / 60.0, 1.0 * L_PER_H)
    sound = circuit(at=conditions(70.0)).at(750.0 / 60.0, 1.0 * L_PER_H)

    assert 0.0 < worn.feed_pressure_ratio < sound.feed_pressure_ratio


@pytest.mark.parametrize("pump", ["new", "worn", "internal_recirculation"])
def test_flow_balance_holds_in_every_state(pump: str) -> None:
    for tank_kpa in (0.0, 30.0, 60.0, 80.0, 90.0, 99.0):
        feed = circuit(pump=pump, at=conditions(tank_depression_pa=tank_kpa * 1e3))
        for rpm in (200.0, 800.0, 2000.0, 3400.0):
            state = feed.at(rpm / 60.0, 0.004 * rpm * L_PER_H)

            assert all(math.isfinite(value) for value in state)
            assert state.feed_m3_per_s == pytest.approx(
                state.injected_m3_per_s + state.return_m3_per_s, rel=1e-12, abs=1e-20
            )


def test_starved_is_a_result_and_cuts_the_power() -> None:
    at = conditions(fuel_level_fraction=-11.5)
    feed = circuit("K3", at=at)
    pull = predict_pull(feed, reference.PULL, "K3")
    wanted, _ = feed.full_load(pull.engine_speed_rev_per_s)

    assert pull.starved.any()
    assert not pull.starved.all()
    assert np.all(np.isfinite(pull.engine_power_w))
    assert np.all(pull.engine_power_w[pull.starved] < wanted[pull.starved])
    assert pull.engine_power_w[~pull.starved] == pytest.approx(wanted[~pull.starved])


def test_the_root_is_a_root_of_line_and_pump() -> None:
    """A second way: SciPy's bracketing solver on the same two curves."""
    for kits, temperature_c in (((), 40.0), (("K1", "K2"), 0.0), (("K3",), -5.0)):
        feed = circuit(*kits, at=conditions(temperature_c))
        _, injected = feed.full_load(np.array([RATED]))
        wanted = float(injected[0])

        def gap(flow: float, feed=feed, wanted=wanted) -> float:
            depression = feed.static_pa + line_loss(flow, feed.plan, feed.fluid, feed.rule)
            gas = released_gas(
                feed.around.ambient_abs_pa - depression,
                feed.saturation_abs_pa,
                feed.fluid.ostwald_air,
                feed.pump.release_fraction,
            )
            demand = Demand(RATED * 0.5, wanted, feed.backleak_m3_per_s(RATED))
            state = pump_state(depression, gas, feed.around, feed.pump, feed.fluid, demand)
            return flow - state.feed_m3_per_s

        flow = brentq(gap, 1e-9, 1e-4, xtol=1e-18, rtol=1e-14)

        assert feed.at(RATED, wanted).feed_m3_per_s == pytest.approx(flow, rel=1e-11)
