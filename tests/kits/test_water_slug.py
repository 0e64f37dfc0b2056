"""
Promise: a slug of water is held or reaches the pump, and its seconds are volumes over flows.

Outside checks: a march in small steps of volume through leaking bowls; volumes of pipes by hand.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.parts import Element, Pipe
from feedproof.core.errors import InputError
from feedproof.kits.water_slug import _held, _until_all_full, slug_of
from tests.feedline.test_network_circuit import INJECTED, RATED, branched, network
from tests.kits.test_water import SEPARATOR, line_with

HALF_LITRE = 0.5e-3
STEPS = 20_000


def marched(water: float, taken: Sequence[float], bowls: Sequence[float]) -> tuple[float, float]:
    """Send water in small steps: what passes, and the water after which all bowls are full."""
    held = [0.0] * len(bowls)
    passed, needed = 0.0, math.inf
    for step in range(STEPS):
        left = water / STEPS
        for place, (share, bowl) in enumerate(zip(taken, bowls, strict=True)):
            took = min(share * left, bowl - held[place])
            held[place] += took
            left -= took
        passed += left
        full = all(bowl - own <= 1e-15 for bowl, own in zip(bowls, held, strict=True))
        if math.isinf(needed) and full:
            needed = water * (step + 1) / STEPS
    return passed, needed


@settings(max_examples=25, deadline=None)
@given(
    taken=st.lists(st.floats(0.05, 1.0), min_size=2, max_size=2),
    bowls=st.lists(st.floats(1e-5, 3e-4), min_size=2, max_size=2),
)
def test_bowls_in_a_row_hold_what_a_march_in_small_steps_holds(
    taken: list[float], bowls: list[float]
) -> None:
    passed, needed = marched(HALF_LITRE, taken, bowls)
    held = _held(HALF_LITRE, taken, bowls)
    assert HALF_LITRE - sum(held) == pytest.approx(passed, abs=2e-3 * HALF_LITRE)
    found = _until_all_full(taken, bowls)
    if math.isfinite(needed):
        assert found == pytest.approx(needed, abs=2e-3 * HALF_LITRE)
    else:
        assert found >= HALF_LITRE * (1.0 - 2e-3)


def test_a_slug_is_held_or_reaches_the_pump() -> None:
    feed = line_with(SEPARATOR, replace(SEPARATOR, bowl_m3=80e-6, sensor_m3=None))
    found = slug_of(feed, feed.at(RATED, INJECTED), "full load")
    held = sum(each.typical for _, each in found.held_m3)
    assert [name for name, _ in found.held_m3] == ["K1_0", "oe_filter"]
    assert held + found.reaches_pump_m3.typical == pytest.approx(HALF_LITRE, rel=1e-12)
    # 150 mL and 80 mL of bowl against 500 mL: 270 mL arrive.
    assert found.reaches_pump_m3.typical == pytest.approx(270e-6, rel=1e-9)
    assert found.flood_s is not None
    assert found.flood_s > found.first_s


def test_the_seconds_are_volumes_over_the_flow() -> None:
    feed = line_with(replace(SEPARATOR, efficiency_fraction=0.999999))
    state = feed.at(RATED, INJECTED)
    found = slug_of(feed, state, "full load")
    hoses = sum(
        math.pi / 4.0 * part.bore_m**2 * part.length_m
        for part in feed.line.parts
        if isinstance(part, Pipe)
    )
    housings = sum(part.volume_m3 for part in feed.line.parts if isinstance(part, Element))
    assert found.first_s == pytest.approx((hoses + housings) / state.feed_m3_per_s, rel=1e-9)
    # The bowl lets hardly anything pass before it is full.
    assert found.flood_s == pytest.approx(found.first_s + 150e-6 / state.feed_m3_per_s, rel=1e-4)


def test_at_idle_it_takes_longer_and_no_more_passes() -> None:
    feed = line_with(SEPARATOR)
    full = slug_of(feed, feed.at(RATED, INJECTED), "full load")
    idle = slug_of(feed, feed.at(13.0, 0.1 * INJECTED), "idle")
    assert idle.first_s > full.first_s
    assert idle.reaches_pump_m3.high <= full.reaches_pump_m3.high


def test_a_full_bowl_and_a_line_without_one_hold_nothing() -> None:
    full = line_with(SEPARATOR)
    state = full.at(RATED, INJECTED)
    found = slug_of(full, state, "full load", filled_fraction=1.0)
    bare = slug_of(line_with(), state, "full load")
    for each in (found, bare):
        assert each.reaches_pump_m3.low == HALF_LITRE
        assert each.flood_s == pytest.approx(each.first_s)


def test_a_small_slug_is_held_but_for_what_leaks() -> None:
    feed = line_with(SEPARATOR)
    found = slug_of(feed, feed.at(RATED, INJECTED), "full load", water_m3=50e-6)
    assert found.flood_s is None
    assert 0.0 < found.reaches_pump_m3.typical < 5e-6


def test_in_a_network_it_keeps_to_the_way_of_most_of_the_fuel() -> None:
    feed = network(branched())
    state = feed.at(RATED, INJECTED)
    found = slug_of(feed, state, "full load")
    assert math.isfinite(found.first_s)
    assert found.reaches_pump_m3.typical == HALF_LITRE


def test_less_than_no_water_is_refused() -> None:
    feed = line_with()
    with pytest.raises(InputError, match="0 mL or more"):
        slug_of(feed, feed.at(RATED, INJECTED), "", water_m3=-1e-3)
