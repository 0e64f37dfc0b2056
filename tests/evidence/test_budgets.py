"""
Budgets promise: each instrument's uncertainty on the scale of the result, line by line.

Rules of combination: JCGM 100:2008 (GUM).  The worked figures were computed by hand from the
stated inputs; they prove that the rules are coded as written.
"""

import math

import pytest

from feedproof.evidence.budgets import (
    Budget,
    BudgetLine,
    depression_budget,
    depression_difference_budget,
    return_budget,
    wheel_power_budget,
)

GAUGE = {
    "class_percent": 1.6,
    "span_pa": 60e3,
    "resolution_pa": 500.0,
    "density_kg_per_m3": 835.0,
}


def difference(**changes: float) -> Budget:
    """Give the worked difference, with changes."""
    settings = {
        "difference_pa": 3000.0,
        "runs_each": 3,
        "head_u_m": 0.003,
        "zero_change_pa": 100.0,
    }
    return depression_difference_budget(**{**GAUGE, **settings, **changes})  # type: ignore[arg-type]


def test_one_depression_of_a_class_1_6_gauge() -> None:
    budget = depression_budget(**GAUGE, head_u_m=0.01, zero_change_pa=200.0)
    assert budget.standard_uncertainty == pytest.approx(590.0, abs=0.5)
    assert 2.0 * budget.standard_uncertainty == pytest.approx(1180.0, abs=1.0)
    lines = {line.name: line.standard_uncertainty for line in budget.lines}
    assert lines["gauge class"] == pytest.approx(960.0 / math.sqrt(3.0))
    assert lines["head"] == pytest.approx(81.9, abs=0.05)


def test_most_of_a_gauge_cancels_in_a_difference() -> None:
    assert difference().standard_uncertainty == pytest.approx(150.0, abs=0.5)


def test_two_gauges_do_not_cancel() -> None:
    two = difference(same_gauge=False)
    assert two.standard_uncertainty > math.sqrt(2.0) * 554.0


def test_the_sign_of_the_difference_does_not_matter() -> None:
    assert difference(difference_pa=-3000.0) == difference()


def test_a_caught_return_of_two_litres_and_a_half() -> None:
    budget = return_budget(
        volume_m3=2.40e-3,
        duration_s=120.0,
        volume_error_m3=20e-6,
        resolution_m3=10e-6,
        reaction_u_s=0.2,
        temperature_error_k=2.0,
    )
    assert budget.standard_uncertainty == pytest.approx(0.57, abs=0.005)
    flow_l_per_h = 2.40 / 120.0 * 3600.0
    assert flow_l_per_h * budget.standard_uncertainty / 100 == pytest.approx(0.41, abs=0.005)
    assert 2 * flow_l_per_h * budget.standard_uncertainty / 100 == pytest.approx(0.82, abs=0.005)


def test_one_corrected_wheel_power() -> None:
    budget = wheel_power_budget(
        torque_u_percent=0.5,
        speed_u_percent=0.1,
        engine_factor=0.66,
        air_temperature_k=303.0,
        air_temperature_error_k=1.0,
        air_pressure_abs_pa=97e3,
        air_pressure_error_pa=100.0,
    )
    assert budget.standard_uncertainty == pytest.approx(0.544, abs=0.0005)


def test_an_expanded_uncertainty_uses_the_effective_degrees_of_freedom() -> None:
    lines = (
        BudgetLine(name="repeats", standard_uncertainty=1.0, degrees_of_freedom=4.0),
        BudgetLine(name="gauge", standard_uncertainty=1.0, degrees_of_freedom=4.0),
    )
    budget = Budget(quantity="x", unit="Pa", lines=lines)
    assert budget.degrees_of_freedom == pytest.approx(8.0)
    # t(8; 0.975) = 2.306, any t table.
    assert budget.expanded() == pytest.approx(2.306 * math.sqrt(2.0), abs=1e-3)
