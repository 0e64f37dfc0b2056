"""Promise: what becomes of the particles of a tank adds up, and agrees with an ODE solver."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from feedproof.physics import tank_filling, tank_loop

calm = settings(deadline=None, max_examples=100)
shares = st.floats(0.0, 1.0)
returns = st.floats(0.0, 0.98)


def caught(penetrations: list[float], r: float) -> list[float]:
    """Give the share that each filter of a line catches in the end."""
    whole = math.prod(penetrations)
    before = 1.0
    found = []
    for own in penetrations:
        found.append(tank_loop.caught_fraction(before, own, whole, r))
        before *= own
    return found


@calm
@given(st.lists(shares, min_size=1, max_size=4), returns)
def test_every_particle_is_caught_or_injected(line: list[float], r: float) -> None:
    injected = tank_loop.injected_fraction(math.prod(line), r)
    assert sum(caught(line, r)) + injected == pytest.approx(1.0, abs=1e-12)


@calm
@given(st.permutations([0.9, 0.4, 0.15]), returns)
def test_the_order_of_filters_changes_who_catches_and_not_how_much_is_injected(
    order: list[float], r: float
) -> None:
    first = [0.9, 0.4, 0.15]
    injected = tank_loop.injected_fraction(math.prod(first), r)
    assert tank_loop.injected_fraction(math.prod(order), r) == pytest.approx(injected, rel=1e-12)
    assert sum(caught(order, r)) == pytest.approx(sum(caught(first, r)), rel=1e-12)
    if order.index(0.9) > 0:
        assert caught(order, r)[order.index(0.9)] < caught(first, r)[0]


@calm
@given(returns)
def test_open_and_shut_filters_are_the_ends(r: float) -> None:
    assert tank_loop.injected_fraction(1.0, r) == pytest.approx(1.0)
    assert tank_loop.injected_fraction(0.0, r) == 0.0
    assert tank_loop.pump_passes(1.0, r) == pytest.approx(1.0 / (1.0 - r))
    assert tank_loop.pump_passes(0.0, r) == 0.0


@calm
@given(shares, st.floats(0.0, 0.9), st.floats(0.001, 0.08))
def test_more_return_means_less_injected(p: float, r: float, more: float) -> None:
    less = tank_loop.injected_fraction(p, r + more)
    assert less <= tank_loop.injected_fraction(p, r) + 1e-15


@pytest.mark.parametrize(("p", "injected"), [(0.5, 0.130), (0.3, 0.060), (0.1, 0.016)])
def test_the_examples_of_a_second_computation_are_met(p: float, injected: float) -> None:
    assert tank_loop.injected_fraction(p, 0.85) == pytest.approx(injected, abs=6e-4)


@pytest.mark.parametrize("p", [0.02, 0.4, 0.97])
@pytest.mark.parametrize("r", [0.0, 0.5, 0.85])
def test_the_closed_forms_agree_with_a_solver_that_follows_a_tank_until_it_is_clean(
    p: float, r: float
) -> None:
    volume, feed = 0.08, 80e-3 / 3600
    back = r * feed

    def change(_: float, state: list[float]) -> list[float]:
        count = state[0]
        rate = tank_loop.tank_count_rate(count, volume, feed, back, p, feed - back, 0.0)
        # Injected, passes of the pump, caught: of the particles, not of the fuel.
        return [rate, (feed - back) * p * count, feed * p * count, feed * (1 - p) * count]

    end = 60.0 * tank_loop.cleaning_time(volume, feed, back, p)
    state = solve_ivp(change, (0, end), [1.0, 0, 0, 0], rtol=1e-10, atol=1e-13, method="LSODA")
    count, injected, passes, held = state.y[:, -1]
    assert count < 1e-8
    assert injected / volume == pytest.approx(tank_loop.injected_fraction(p, r), rel=1e-6)
    assert passes / volume == pytest.approx(tank_loop.pump_passes(p, r), rel=1e-6)
    assert held / volume == pytest.approx(tank_loop.caught_fraction(1.0, p, p, r), rel=1e-6)


@pytest.mark.parametrize("p", [0.0, 0.3, 1.0])
def test_a_tank_of_constant_volume_with_sources_agrees_with_a_solver(p: float) -> None:
    volume, feed, back = 0.08, 80e-3 / 3600, 60e-3 / 3600
    burnt = feed - back
    source = tank_loop.particle_source(burnt, 2e9, burnt, 1e7, 40.0)
    assert source == pytest.approx(burnt * 2.01e9 + 40.0)

    def change(_: float, state: list[float]) -> list[float]:
        return [tank_loop.tank_count_rate(state[0], volume, feed, back, p, burnt, source)]

    times = [600.0, 7200.0, 40000.0]
    solved = solve_ivp(change, (0, times[-1]), [5e9], t_eval=times, rtol=1e-11, atol=1.0)
    for time, count in zip(times, solved.y[0], strict=True):
        got = tank_loop.steady_tank_count(5e9, time, volume, feed, back, p, source)
        assert got == pytest.approx(count, rel=1e-7)
    steady = source / (feed - back * p)
    late = tank_loop.steady_tank_count(5e9, 1e9, volume, feed, back, p, source)
    assert late == pytest.approx(steady, rel=1e-9)


def test_a_loop_that_nothing_leaves_gathers_what_comes_in() -> None:
    assert tank_loop.steady_tank_count(3.0, 50.0, 0.1, 1e-5, 1e-5, 1.0, 0.02) == pytest.approx(13.0)
    assert tank_loop.cleaning_time(0.1, 1e-5, 1e-5, 1.0) == math.inf


@calm
@given(st.floats(0.01, 1.0), st.floats(0.0, 0.9))
def test_a_tank_driven_down_agrees_with_a_solver_and_sums_to_what_is_injected(
    p: float, r: float
) -> None:
    feed = 2e-5
    back = r * feed

    def change(_: float, state: list[float]) -> list[float]:
        volume, count, _sum = state
        rate = tank_loop.tank_count_rate(count, volume, feed, back, p, 0.0, 0.0)
        return [back - feed, rate, (feed - back) * p * count]

    end = 0.99 * 0.08 / (feed - back)
    solved = solve_ivp(change, (0, end), [0.08, 1.0, 0.0], rtol=1e-9, atol=1e-12, method="LSODA")
    left, count, injected = solved.y[:, -1] / [0.08, 1.0, 0.08]
    exponent = tank_filling.cleaning_exponent(feed, feed - back, p)
    followed = tank_filling.concentration_after(1.0, 0.0, exponent, left)
    # Below its own tolerance the solver knows nothing.
    assert followed == pytest.approx(count, rel=1e-5, abs=1e-9)
    # Of what has gone, the closed form's share was injected.
    gone = 1.0 - left * count
    assert injected == pytest.approx(tank_loop.injected_fraction(p, r) * gone, rel=1e-5)


def test_the_time_constant_of_a_common_tank_is_one_to_two_hours() -> None:
    for p in (0.05, 0.5):
        hours = tank_loop.cleaning_time(0.08, 80e-3 / 3600, 0.75 * 80e-3 / 3600, p) / 3600
        assert 1.0 <= hours <= 2.0


def test_a_breather_without_a_filter_in_dust_brings_as_much_as_the_fuel() -> None:
    # 1 g/m3 of dust, a litre of air per litre burnt: 1 mg per litre of fuel, by mass.
    burnt = 1e-5
    assert tank_loop.particle_source(0.0, 0.0, burnt, 1e-3, 0.0) / burnt == pytest.approx(1e-3)


def test_clean_fuel_thins_a_dirty_tank_at_once_by_the_volumes() -> None:
    # Filling without driving: V c stays.
    rate = tank_loop.tank_count_rate(8.0, 0.04, 0.0, 0.0, 1.0, 1e-3, 0.0)
    assert rate == pytest.approx(-8.0 * 1e-3 / 0.04)
