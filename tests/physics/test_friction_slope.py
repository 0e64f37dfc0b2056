"""
Promise: the exponent of a friction factor is its exact derivative.

Outside check: the friction factors' own differences in extended steps, Blasius' published -1/4, and
the limits of the handbook (laminar -1, fully rough 0).
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics.friction import (
    FrictionRule,
    joined_friction_factor,
    transition_end,
    transition_start,
    turbulent_friction_factor,
)
from feedproof.physics.friction_slope import churchill_exponent, colebrook_exponent, joined_exponent

STEP = 1e-5


def end_factor(rule: FrictionRule, rough: float) -> float:
    """Give the constant of the bore as the lowering does."""
    if rule is FrictionRule.CHURCHILL:
        return math.nan
    return turbulent_friction_factor(transition_end(int(rule)), rough, int(rule))


def by_difference(reynolds: float, rough: float, rule: FrictionRule) -> float:
    """Take d ln f / d ln Re by a central difference."""
    end = end_factor(rule, rough)
    above, below = (
        joined_friction_factor(reynolds * math.exp(turn * STEP), rough, int(rule), end)
        for turn in (1.0, -1.0)
    )
    return (math.log(above) - math.log(below)) / (2.0 * STEP)


@settings(max_examples=400, deadline=None)
@given(
    rule=st.sampled_from(list(FrictionRule)),
    reynolds=st.floats(math.log(50.0), math.log(1e6)).map(math.exp),
    rough=st.one_of(st.just(0.0), st.floats(1e-6, 0.04)),
)
def test_the_exponent_is_the_derivative_of_the_factor(
    rule: FrictionRule, reynolds: float, rough: float
) -> None:
    if rule is not FrictionRule.CHURCHILL:
        corners = (transition_start(int(rule)), transition_end(int(rule)))
        if any(abs(math.log(reynolds / corner)) < 2.0 * STEP for corner in corners):
            return
    end = end_factor(rule, rough)
    factor = joined_friction_factor(reynolds, rough, int(rule), end)

    found = joined_exponent(reynolds, rough, int(rule), end, factor)
    assert found == pytest.approx(by_difference(reynolds, rough, rule), abs=2e-6)


def test_the_limits_are_those_of_the_handbooks() -> None:
    blasius, colebrook = int(FrictionRule.BLEND_BLASIUS), int(FrictionRule.BLEND_COLEBROOK)
    assert joined_exponent(1500.0, 0.0, colebrook, 0.04, 64.0 / 1500.0) == -1.0
    assert joined_exponent(5e4, 0.0, blasius, 0.04, 0.0211) == -0.25  # Blasius 1913
    # Fully rough: Nikuradse's factor does not know the Reynolds number (Colebrook 1939).
    rough = turbulent_friction_factor(1e9, 0.03, colebrook)
    assert colebrook_exponent(1e9, 0.03, rough) == pytest.approx(0.0, abs=1e-5)
    # Far below the transition Churchill's formula is the laminar one.
    assert churchill_exponent(100.0, 0.0) == pytest.approx(-1.0, abs=1e-6)
