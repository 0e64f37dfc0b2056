"""
Promise: words on water hold the figures, both ends and the doubts, and promise nothing.

Outside check: 2400 L of fuel with 200 mg/kg of free water bring 403 mL in a year, by hand.
"""

import re
from dataclasses import replace

from feedproof.kits.water import water_of
from feedproof.kits.water_slug import slug_of
from feedproof.kits.water_words import doubts, slug_words, water_words
from tests.feedline.test_network_circuit import INJECTED, RATED
from tests.kits.test_unstopped import PROMISE
from tests.kits.test_water import SEPARATOR, asked, line_with


def told(*separators: object) -> str:
    """Write the words for a line with separators."""
    feed = line_with(*separators)  # type: ignore[arg-type]
    states = {"part load": feed.at(32.0, 0.3 * INJECTED), "full load": feed.at(RATED, INJECTED)}
    found = water_of(feed, states, asked())
    slugs = [slug_of(feed, state, name) for name, state in states.items()]
    return "\n".join(water_words(found, slugs))


def test_the_figures_of_a_year_are_in_the_words() -> None:
    said = told(SEPARATOR)
    assert "a year 403 mL" in said
    assert "Bowl of K1_0" in said
    assert "to never" in said
    assert "If the tank keeps all of its free water" in said
    assert "50 % of the tank's free water is drawn (assumed)" in said
    assert "No separator, so no water is taken by: strainer, oe_filter" in said


def test_doubts_are_told_once_for_each_element_and_operating_point() -> None:
    slow = replace(SEPARATOR, flow_m3_per_s=1e-3 / 3600.0)
    feed = line_with(slow)
    state = feed.at(RATED, INJECTED)
    found = water_of(feed, {"full load": state}, asked())
    said = doubts(found.uses)
    assert len(said) == len(set(said)) == 3
    assert all(each.startswith("K1_0 at full load") for each in said)
    assert all(f"Doubt: {each}." in "\n".join(water_words(found)) for each in said)


def test_a_line_without_bowls_says_so_of_a_slug() -> None:
    feed = line_with()
    said = slug_words(slug_of(feed, feed.at(RATED, INJECTED), "full load"))
    assert "no bowl on its way" in said
    assert "500 mL reaches the pump" in said


def test_nothing_is_promised_of_water() -> None:
    for said in (told(SEPARATOR), told(SEPARATOR, SEPARATOR), told()):
        assert not PROMISE.search(re.sub(r"100 % of the free water", "", said)), said
