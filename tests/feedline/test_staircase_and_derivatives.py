"""The staircase ends at the pump's own pressure; derivatives agree with the states they are of."""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.line import Line
from feedproof.case.parts import Element
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.sensitivity import line_derivatives
from feedproof.feedline.staircase import staircase
from tests.feedline import reference
from tests.feedline.reference import at_138, circuit, conditions, fuel_of, kit, vehicle

SPEEDS = np.array([100.0, 120.0, 138.0]) / 3.6


def _staircase(at=None):
    feed = circuit("K1", "K2", at=at)
    state = at_138(feed)
    owners = {"K1_0": "K1", "K2_0": "K2"}
    return staircase(feed, state, 56.8, "K1+K2", owners), state


def test_the_last_step_is_the_pump_inlet() -> None:
    steps, state = _staircase()

    assert steps.steps[-1].depression_after_pa == pytest.approx(state.depression_pa, rel=1e-9)
    assert steps.steps[-1].pressure_abs_after_pa == pytest.approx(state.pressure_abs_pa, rel=1e-9)


def test_shares_add_up_to_one() -> None:
    steps, _ = _staircase(conditions(tank_depression_pa=3e3))

    assert sum(step.share_fraction for step in steps.steps) == pytest.approx(1.0, rel=1e-9)
    assert steps.steps[0].part_id == ".tank"


def test_room_is_what_is_left_above_the_makers_limit() -> None:
    steps, state = _staircase()

    assert steps.room_pa == pytest.approx(state.pressure_abs_pa - 50500.0)


def test_kit_parts_stand_at_their_places_and_carry_their_owner() -> None:
    steps, _ = _staircase()
    names = [step.part_id for step in steps.steps]

    assert names.index("K1_0") < names.index("oe_filter") < names.index("K2_0")
    assert {step.owner for step in steps.steps} == {"factory", "K1", "K2"}


def test_derivatives_predict_a_small_change() -> None:
    """3 K at 20 degC change the bare line by 1.0 kPa, at 40 degC by 0.16 (reference figures)."""
    body = vehicle()
    slopes = {
        at_c: line_derivatives(
            body, body.line, fuel_of("summer"), conditions(at_c), "blend_blasius", SPEEDS, 50.0
        )
        for at_c in (20.0, 40.0)
    }

    assert 3.0 * slopes[20.0].depression_per_k[-1] == pytest.approx(-1000.0, rel=0.15)
    # At 40 degC the flow is at the start of the transition: the slope differs by side.
    assert abs(3.0 * slopes[40.0].depression_per_k[-1]) < 400.0


def test_ten_litres_drawn_cost_the_stated_head() -> None:
    """Ten litres of 80 over 0.7 m of level are 0.7 kPa; the tank here spans 0.8 m."""
    body = vehicle()
    slopes = line_derivatives(
        body, body.line, fuel_of("summer"), conditions(40.0), "blend_blasius", SPEEDS, 50.0
    )

    assert -slopes.depression_per_level[-1] * 10.0 / 80.0 == pytest.approx(0.7e3 * 8 / 7, rel=0.05)


def test_inserting_an_unknown_place_names_it() -> None:
    body = vehicle()
    bad = kit("K2")
    bad = type(bad)(
        id="x",
        title="x",
        insertions=(type(bad.insertions[0])(place="nowhere", side="after", parts=()),),
    )

    with pytest.raises(KeyError, match="nowhere"):
        body.line.with_kit(bad)


def test_a_pull_beyond_the_engines_curve_is_refused_not_clipped() -> None:
    feed = circuit()

    with pytest.raises(InputError, match="4000 rpm"):
        feed.full_load(np.array([4000.0 / 60.0]))


def test_elements_are_found_in_the_order_of_flow() -> None:
    line = vehicle().line.with_kits([kit("K1"), kit("K2")])

    assert [part.id for part in line.elements] == ["strainer", "K1_0", "oe_filter", "K2_0"]
    assert all(isinstance(part, Element) for part in line.elements)
    assert reference.DATA["meta"]["name"]


def test_a_part_may_have_the_name_of_what_is_no_part() -> None:
    """`lift` was once the id of the height too, and a report put both into one column."""
    body = vehicle()
    parts = (replace(body.line.parts[0], id="lift"), *body.line.parts[1:])
    feed = build_circuit(body, Line(parts=parts), fuel_of("summer"), conditions(), "blend_blasius")
    names = [step.part_id for step in staircase(feed, at_138(feed), 56.8, "baseline", {}).steps]

    assert len(set(names)) == len(names)
    assert "lift" in names
