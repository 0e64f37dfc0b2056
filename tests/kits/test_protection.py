"""
Promise: particles are neither made nor lost between tank, filters and injectors.

Outside checks: the closed forms of the loop; many fills one after the other against the fill that
repeats itself; conservation; a code is unchanged without filters.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.core.errors import InputError
from feedproof.kits.passage import Passage
from feedproof.kits.protection import (
    Filling,
    after_bad_fuel,
    code_of_bands,
    delivered,
    in_the_long_run,
    one_fill,
)
from feedproof.physics.cleanliness import distribution_of_codes
from feedproof.physics.size_bins import DEFAULT_EDGES_M
from feedproof.physics.tank_loop import caught_fraction, injected_fraction
from tests.kits.test_life import in_a_row

EDGES = DEFAULT_EDGES_M
BANDS = len(EDGES) - 1
shares = st.floats(0.0, 1.0)


def filling(
    *, entering: float = 0.0, low: float = 0.02, code: tuple[int, ...] = (20, 18, 13)
) -> Filling:
    """Fill an 80 L tank with fuel of a code."""
    return Filling(
        low_m3=low,
        high_m3=0.08,
        edges_m=EDGES,
        delivered_per_m3=delivered(distribution_of_codes(code), EDGES),
        entering_per_m3=np.full(BANDS, entering),
    )


def way(*penetrations: float) -> Passage:
    """Put filters in a row that treat all sizes alike."""
    if not penetrations:
        return in_a_row(np.ones((1, BANDS)))
    return in_a_row(np.array([np.full(BANDS, each) for each in penetrations]))


@settings(max_examples=50, deadline=None)
@given(first=shares, second=shares, entering=st.sampled_from([0.0, 1e9]))
def test_what_a_filling_brings_is_caught_or_injected(
    first: float, second: float, entering: float
) -> None:
    tank = filling(entering=entering)
    found = in_the_long_run(way(first, second), tank)
    brought = tank.delivered_per_m3 + tank.entering_per_m3
    injected = found.injected_per_m3 / brought

    assert injected + found.caught.sum(axis=0) == pytest.approx(np.ones(BANDS), rel=1e-9)


@pytest.mark.parametrize(("first", "second"), [(0.5, 1.0), (0.3, 0.4), (1.0, 0.05)])
def test_in_the_long_run_the_loops_closed_forms_hold(first: float, second: float) -> None:
    # All that comes in leaves by a filter or by an injector, whatever the levels between.
    found = in_the_long_run(way(first, second), filling())
    line = way(first, second)
    r, p = 1.0 - line.injected_m3_per_s / line.drawn_m3_per_s, first * second
    brought = filling().delivered_per_m3

    assert found.injected_per_m3 / brought == pytest.approx(
        np.full(BANDS, injected_fraction(p, r)), rel=1e-9
    )
    assert found.caught[0] == pytest.approx(
        np.full(BANDS, caught_fraction(1.0, first, p, r)), rel=1e-9
    )
    assert found.caught[1] == pytest.approx(
        np.full(BANDS, caught_fraction(first, second, p, r)), rel=1e-9
    )


def test_many_fills_end_in_the_one_that_repeats_itself() -> None:
    tank, line = filling(entering=2e8), way(0.6, 0.3)
    fills = after_bad_fuel(line, tank, 50.0 * tank.delivered_per_m3, 200)
    steady = in_the_long_run(line, tank)
    assert fills[-1].pump_per_m3 == pytest.approx(steady.pump_per_m3, rel=1e-9)
    assert fills[0].pump_per_m3[3] > 10.0 * steady.pump_per_m3[3]
    # One dirty tank is followed down: no fill is dirtier than the one before.
    pumped = [fill.pump_per_m3[3] for fill in fills[:10]]
    assert pumped == sorted(pumped, reverse=True)


def test_without_filters_fuel_keeps_its_code_and_with_them_it_gets_cleaner() -> None:
    tank = filling()
    bare = in_the_long_run(way(), tank)
    assert code_of_bands(EDGES, bare.pump_per_m3) == (20, 18, 13)
    filtered = in_the_long_run(way(0.01), tank)
    assert all(
        after < before
        for after, before in zip(
            code_of_bands(EDGES, filtered.pump_per_m3), (20, 18, 13), strict=True
        )
    )


def test_the_order_of_filters_changes_who_catches_and_not_what_passes() -> None:
    tank = filling(entering=1e8)
    one, other = in_the_long_run(way(0.7, 0.2), tank), in_the_long_run(way(0.2, 0.7), tank)
    assert one.pump_per_m3 == pytest.approx(other.pump_per_m3, rel=1e-12)
    assert np.all(other.caught[0] > one.caught[0])


def test_a_torn_seal_lets_its_share_pass_whatever_the_media_holds() -> None:
    tank = filling()
    sound, torn = in_the_long_run(way(0.001), tank), in_the_long_run(way(0.05), tank)
    assert np.all(torn.pump_per_m3 > 20.0 * sound.pump_per_m3)


def test_a_fill_of_a_clean_tank_stays_clean() -> None:
    found = one_fill(way(0.5), filling(), np.zeros(BANDS))
    assert np.all(found.pump_per_m3 == 0.0)
    assert np.all(np.isfinite(found.caught))


def test_a_tank_that_is_not_filled_is_refused() -> None:
    with pytest.raises(InputError, match="before and"):
        filling(low=0.08)
