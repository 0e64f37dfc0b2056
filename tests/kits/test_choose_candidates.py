"""
Promise: every candidate of a catalogue is made, once, whatever its order.

Outside check: the number of candidates counted by hand; joints and cost added up by hand.
"""

from dataclasses import replace

import pytest

from feedproof.case.parts import Element, Fitting, Pipe
from feedproof.core.errors import InputError
from feedproof.kits.candidates import Catalogue, Kind, candidates_of, factory_element
from feedproof.records.catalogue import generic_catalogue
from tests.feedline.reference import vehicle


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    """Read the packaged catalogue."""
    return generic_catalogue()


def test_the_number_of_candidates_is_the_product_counted_by_hand(catalogue: Catalogue) -> None:
    # 3 primaries and 8 secondaries in 2 places each; 3 hoses, 4 or 6 fittings; and no kit.
    made = candidates_of(catalogue)
    primaries, secondaries = 3 * 2, 8 * 2
    assert len(made) == 1 + 3 * 2 * (primaries + secondaries + primaries * secondaries)
    assert len({each.id for each in made}) == len(made)
    assert sum(each.kind is Kind.BOTH for each in made) == 3 * 2 * primaries * secondaries


def test_the_order_of_the_catalogue_changes_nothing(catalogue: Catalogue) -> None:
    turned = replace(
        catalogue,
        filters=catalogue.filters[::-1],
        hoses=catalogue.hoses[::-1],
        places=catalogue.places[::-1],
    )
    assert candidates_of(turned) == candidates_of(catalogue)


def test_joints_cost_and_room_add_up_by_hand(catalogue: Catalogue) -> None:
    name = "coarse_medium@before_factory+finest_large@bulkhead/hose_10x6"
    both = next(each for each in candidates_of(catalogue) if each.id == name)
    assert both.joints == 2 * (6 + 1)
    # Heads 75 and 55, elements 24 and 44, 1.0 and 0.9 m of hose at 11, twelve fittings at 6.
    assert both.cost == pytest.approx(75 + 55 + 24 + 44 + 1.9 * 11 + 12 * 6)
    assert both.space_m3 == pytest.approx(2.6e-3 + 2.2e-3)


def test_a_primary_stands_before_the_factory_element_and_a_secondary_behind(
    catalogue: Catalogue,
) -> None:
    body = vehicle()
    both = next(each for each in candidates_of(catalogue) if each.kind is Kind.BOTH)
    kit = both.kit("oe_filter")
    assert kit is not None
    parts = body.line.with_kit(kit).parts
    roles = [getattr(each, "role", "") for each in parts]
    factory = [each.id for each in parts].index("oe_filter")
    assert roles.index("primary") < factory < roles.index("secondary")
    added = [each for each in parts if each not in body.line.parts]
    assert [type(each) for each in added] == [Element, Pipe, Fitting] * 2
    assert len({each.id for each in parts}) == len(parts)


def test_no_kit_adds_nothing(catalogue: Catalogue) -> None:
    bare = next(each for each in candidates_of(catalogue) if each.kind is Kind.NONE)
    assert bare.kit("oe_filter") is None
    assert (bare.cost, bare.joints, bare.space_m3) == (0, 0, 0)


def test_without_one_factory_element_nothing_is_guessed() -> None:
    with pytest.raises(InputError, match="'factory'"):
        factory_element(vehicle().line)
