"""
Promise: what elements catch and what passes add up, in chains and in networks.

Outside checks: the product of independent shares; conservation of particles; side by side the mean
by flow; the closed form of a return led back ahead of a filter.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.parts import Element
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.kits.passage import passage
from feedproof.physics.filtration import parallel_penetration
from tests.feedline.network_cases import RECIRCULATION, feed_line, return_line
from tests.feedline.reference import circuit, conditions, vehicle
from tests.feedline.test_network_circuit import INJECTED, RATED, branched, network

shares = st.floats(0.0, 1.0)


@settings(max_examples=30, deadline=None)
@given(one=shares, other=shares, third=shares)
def test_in_a_chain_the_shares_multiply_and_the_order_changes_who_catches(
    one: float, other: float, third: float
) -> None:
    feed = circuit("K1", "K2")
    state = feed.at(RATED, INJECTED)
    values = dict(zip(("K1_0", "oe_filter", "K2_0"), (one, other, third), strict=True))
    found = passage(feed, state, {name: np.array([value]) for name, value in values.items()})
    swapped = passage(
        feed,
        state,
        {"K1_0": np.array([third]), "oe_filter": np.array([other]), "K2_0": np.array([one])},
    )

    assert found.elements == ("K1_0", "oe_filter", "K2_0")
    assert found.through[0] == pytest.approx(one * other * third, abs=1e-15)
    assert found.through[0] + found.catch.sum() == pytest.approx(1.0, abs=1e-12)
    assert swapped.through[0] == pytest.approx(found.through[0], abs=1e-15)


def elements_of(feed: NetworkCircuit) -> list[str]:
    """List the filter elements of a network."""
    return [
        part.id
        for link in feed.network.links
        for part in link.parts
        if isinstance(part, Element) and not link.in_return
    ]


@pytest.mark.parametrize("celsius", [5.0, 40.0])
def test_in_a_network_what_the_tank_gives_is_caught_or_passes(celsius: float) -> None:
    feed = network(branched(), at=conditions(celsius))
    state = feed.at(RATED, INJECTED)
    rng = np.random.default_rng(3)
    names = elements_of(feed)
    found = passage(feed, state, {name: rng.uniform(0.0, 1.0, 6) for name in names})

    # What leaves the loop: caught, or burnt; the rest comes back to the tank.
    assert np.all(found.through <= 1.0 + 1e-12)
    assert found.through + found.catch.sum(axis=0) == pytest.approx(np.ones(6), abs=1e-9)
    assert found.drawn_m3_per_s == pytest.approx(
        state.feed_m3_per_s - feed.recirculated_fraction * state.return_m3_per_s, rel=1e-9
    )


def test_side_by_side_the_mean_by_flow_passes() -> None:
    body = replace(vehicle(), line=feed_line(), return_line=return_line(), recirculation=None)
    feed = network(body)
    state = feed.at(RATED, INJECTED)
    flows = feed.network_at(RATED, INJECTED).flow_m3_per_s
    values = {"filter_a": 0.1, "filter_b": 0.4}
    found = passage(feed, state, {name: np.array([share]) for name, share in values.items()})

    bypass = flows.get("bypass", 0.0)
    expected = parallel_penetration(
        [flows["filter_a"], flows["filter_b"], max(bypass, 0.0)], [0.1, 0.4, 1.0]
    )
    assert found.through[0] == pytest.approx(expected, rel=1e-6)


def test_return_that_is_led_back_ahead_of_a_filter_meets_it_again() -> None:
    feed = network(branched(), at=conditions(5.0))
    state = feed.at(RATED, INJECTED)
    behind = [name for name in elements_of(feed) if name in ("filter_a", "filter_b")]
    found = passage(feed, state, {name: np.array([0.5]) for name in behind})
    back = feed.recirculated_fraction * state.return_m3_per_s
    drawn = state.feed_m3_per_s - back

    assert RECIRCULATION.to_node in feed.network.nodes
    # c = P (D + B c)/(D + B), if all of the feed passes the two filters.
    if feed.network_at(RATED, INJECTED).flow_m3_per_s.get("bypass", 0.0) <= 1e-12:
        expected = 0.5 * drawn / (drawn + back - 0.5 * back)
        assert found.through[0] == pytest.approx(expected, rel=1e-6)


def test_elements_that_nobody_rated_let_all_pass() -> None:
    feed = circuit("K1", "K2")
    found = passage(feed, feed.at(RATED, INJECTED), {})
    assert found.through == pytest.approx([1.0])
    assert found.elements == ()
