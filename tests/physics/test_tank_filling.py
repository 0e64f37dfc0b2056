"""
Promise: a shrinking tank is followed exactly, and no particle is lost.

Outside check: SciPy's integrator on the balance as it is written against time; the closed forms of
the loop where the tank is burnt to the last drop.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from feedproof.physics.tank_filling import (
    cleaning_exponent,
    concentration_after,
    particles_drawn,
)

positive = st.floats(0.05, 20.0)


@settings(max_examples=60, deadline=None)
@given(
    start=positive,
    source=st.one_of(st.just(0.0), positive),
    ratio=st.floats(1.0, 12.0),
    penetration=st.one_of(st.just(0.0), st.just(1.0), st.floats(0.0, 1.0)),
    left=st.floats(0.05, 1.0),
)
def test_the_solution_is_that_of_the_balance_against_time(
    start: float, source: float, ratio: float, penetration: float, left: float
) -> None:
    injected, volume = 1.0, 1.0
    feed = ratio * injected

    def balance(t: float, y: list[float]) -> list[float]:
        here, drawn = y
        del drawn
        concentration = here / (volume - injected * t)
        back = (feed - injected) * penetration * concentration
        return [source * injected - feed * concentration + back, feed * concentration]

    end = (1.0 - left) * volume / injected
    solved = solve_ivp(
        balance, (0.0, end), [start * volume, 0.0], method="LSODA", rtol=1e-10, atol=1e-13
    )
    exponent = cleaning_exponent(feed, injected, penetration)
    after = concentration_after(start, source, exponent, left)
    drawn = particles_drawn(
        start * volume,
        after * volume * left,
        source * volume * (1.0 - left),
        feed,
        injected,
        penetration,
    )

    assert after == pytest.approx(solved.y[0, -1] / (left * volume), rel=2e-6, abs=1e-9)
    assert drawn == pytest.approx(solved.y[1, -1], rel=2e-6, abs=1e-9)


@pytest.mark.parametrize(("penetration", "injected_in_the_end"), [(0.5, 0.130), (0.3, 0.060)])
def test_burnt_to_the_last_drop_it_is_the_closed_form_of_the_loop(
    penetration: float, injected_in_the_end: float
) -> None:
    # F = P (1 - r)/(1 - r P) with r = 0.85: figures of the method.
    feed, injected = 1.0, 0.15
    drawn = particles_drawn(1.0, 0.0, 0.0, feed, injected, penetration)
    assert drawn * penetration * injected / feed == pytest.approx(injected_in_the_end, abs=5e-4)


def test_a_tank_without_filters_and_source_keeps_its_concentration() -> None:
    exponent = cleaning_exponent(5.0, 1.0, 1.0)
    assert concentration_after(3.0, 0.0, exponent, 0.2) == 3.0


def test_a_hardly_filtered_tank_loses_no_digits() -> None:
    # Near k = 0 the two terms of the textbook form cancel.
    for exponent in (1e-4, 1e-8, 1e-12, 0.0):
        found = concentration_after(1.0, 2.0, exponent, 0.25)
        assert found == pytest.approx(1.0 + 2.0 * math.log(4.0), rel=3e-4 if exponent else 1e-15)
