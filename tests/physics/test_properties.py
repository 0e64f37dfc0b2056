"""Promise: what must hold for every line, pump and fuel holds, joins included."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.physics import (
    element,
    fittings,
    friction,
    fuel,
    gas,
    losses,
    petroleum,
    power_correction,
    pump,
)
from feedproof.physics.friction import FrictionRule
from feedproof.physics.fuel_ranges import viscosity_point_faults
from feedproof.physics.power_correction import EngineGroup, PowerStandard

# The first call of a compiled formula waits for the compiler.
calm = settings(deadline=None, max_examples=100)
flows = st.floats(1e-7, 3e-4)
bores = st.floats(2e-3, 2e-2)
viscosities = st.floats(5e-4, 5e-2)
rules = st.sampled_from([int(rule) for rule in FrictionRule])
small = st.floats(0.0, 1e-4)


def loss(flow: float, bore: float, mu: float, rule: int, length: float = 1.0) -> float:
    """Lose pressure in a pipe of drawn tube."""
    return losses.pipe_pressure_loss(flow, length, bore, 1.5e-6, 830.0, mu, rule)


@calm
@given(flows, bores, viscosities, rules, st.floats(1.0001, 3.0))
def test_the_loss_rises_with_flow(f: float, d: float, mu: float, rule: int, more: float) -> None:
    assert loss(f * more, d, mu, rule) > loss(f, d, mu, rule)


@calm
@given(flows, bores, viscosities, rules, st.floats(1.0001, 3.0))
def test_the_loss_rises_as_the_bore_shrinks(
    f: float, d: float, mu: float, rule: int, more: float
) -> None:
    assert loss(f, d / more, mu, rule) > loss(f, d, mu, rule)


@calm
@given(flows, bores, viscosities, st.floats(1.0001, 2.0))
def test_inside_one_regime_the_loss_rises_with_viscosity(
    f: float, d: float, mu: float, more: float
) -> None:
    thin = losses.reynolds_number(f, d, mu / 830.0)
    thick = losses.reynolds_number(f, d, more * mu / 830.0)
    rule = friction.RULE_BLEND_COLEBROOK
    if thin <= 2000.0 or thick >= 4000.0:
        assert loss(f, d, more * mu, rule) > loss(f, d, mu, rule)


def test_hot_fuel_may_cost_more_than_warm_fuel_through_the_transition() -> None:
    warm = loss(3.6e-5, 8e-3, 2.4e-3, friction.RULE_BLEND_COLEBROOK)
    hot = loss(3.6e-5, 8e-3, 1.4e-3, friction.RULE_BLEND_COLEBROOK)
    assert hot > warm


@calm
@given(flows, bores, viscosities, rules)
def test_reversing_the_flow_reverses_the_loss(f: float, d: float, mu: float, rule: int) -> None:
    assert loss(-f, d, mu, rule) == -loss(f, d, mu, rule)
    assert fittings.fitting_pressure_loss(-f, d, 150.0, 0.9, 830.0, mu, False) == (
        -fittings.fitting_pressure_loss(f, d, 150.0, 0.9, 830.0, mu, False)
    )


@pytest.mark.parametrize("rule", list(FrictionRule))
def test_at_rest_nothing_is_lost_and_nothing_breaks(rule: FrictionRule) -> None:
    assert friction.friction_factor(0.0, 0.0, int(rule)) == 0.0
    assert loss(0.0, 8e-3, 2e-3, int(rule)) == 0.0
    assert loss(1e-300, 8e-3, 2e-3, int(rule)) == pytest.approx(0.0, abs=1e-280)


@pytest.mark.parametrize("rule", list(FrictionRule))
@pytest.mark.parametrize("reynolds", [1.0, 2000.0, 2300.0, 4000.0, 4400.0])
@pytest.mark.parametrize("roughness", [0.0, 2e-4, 0.02])
def test_friction_has_no_jump_at_any_join(
    rule: FrictionRule, reynolds: float, roughness: float
) -> None:
    values = [
        friction.friction_factor(reynolds * side, roughness, int(rule))
        for side in (1.0 - 1e-12, 1.0, 1.0 + 1e-12)
    ]
    assert max(values) - min(values) < 1e-9 * max(values)


@pytest.mark.parametrize("rule", list(FrictionRule))
def test_the_loss_has_no_jump_where_the_written_out_laminar_form_ends(rule: FrictionRule) -> None:
    flow = math.pi * 8e-3 * 3e-6 / 4.0
    below, above = (loss(flow * s, 8e-3, 3e-6 * 830.0, int(rule)) for s in (1 - 1e-12, 1 + 1e-12))
    assert above == pytest.approx(below, rel=1e-11)


@calm
@given(st.floats(1.0, 1e6), st.floats(0.0, 0.05))
def test_the_two_edges_enclose_the_default_rule(reynolds: float, roughness: float) -> None:
    lower, middle, upper = (
        friction.friction_factor(reynolds, roughness, int(rule))
        for rule in (
            FrictionRule.LAMINAR_LATE,
            FrictionRule.BLEND_COLEBROOK,
            FrictionRule.TURBULENT_EARLY,
        )
    )
    assert lower <= middle * (1 + 1e-12)
    assert middle <= upper * (1 + 1e-12)


@calm
@given(flows, bores, viscosities, rules, st.floats(0.1, 0.9))
def test_two_pipes_in_series_lose_what_one_long_pipe_loses(
    f: float, d: float, mu: float, rule: int, share: float
) -> None:
    parts = loss(f, d, mu, rule, 3 * share) + loss(f, d, mu, rule, 3 * (1 - share))
    assert parts == pytest.approx(loss(f, d, mu, rule, 3.0), rel=1e-12)


def filter_loss(flow: float, area: float, mu: float, growth: float = 1.0) -> float:
    """Lose pressure in the factory element of the reference scenario, media only."""
    return element.element_pressure_loss(flow, 2.5e9, area, growth, 1.0, 0.0, 0.0, 830.0, mu)


@calm
@given(flows, viscosities)
def test_two_equal_elements_side_by_side_are_one_of_twice_the_area(f: float, mu: float) -> None:
    assert filter_loss(f / 2, 0.22, mu) == pytest.approx(filter_loss(f, 0.44, mu), rel=1e-12)


@calm
@given(flows, viscosities, st.floats(1.01, 4.0))
def test_only_the_viscous_part_of_an_element_follows_viscosity(
    f: float, mu: float, more: float
) -> None:
    def whole(viscosity: float, housing: float) -> float:
        return element.element_pressure_loss(
            f, 2.5e9, 0.22, 1.0, 1.0, 1e9, housing, 830.0, viscosity
        )

    inertial = 830.0 * 9e8 * f * f
    assert whole(mu, 9e8) - whole(mu, 0.0) == pytest.approx(inertial, rel=1e-6)
    assert whole(more * mu, 0.0) == pytest.approx(more * whole(mu, 0.0), rel=1e-12)


@calm
@given(flows, viscosities, st.floats(1.0, 10.0), st.floats(1.0, 10.0))
def test_dirt_and_wax_multiply_the_media_and_leave_the_housing(
    f: float, mu: float, dirt: float, wax: float
) -> None:
    def whole(growth: float, wax_ratio: float) -> float:
        return element.element_pressure_loss(f, 2.5e9, 0.22, growth, wax_ratio, 1e9, 9e8, 830.0, mu)

    media = filter_loss(f, 0.22, mu)
    added = media * (dirt * wax - 1.0)
    assert whole(dirt, wax) - whole(1.0, 1.0) == pytest.approx(added, rel=1e-9, abs=1e-9)


GROWTH_LAWS = [
    element.media_growth,
    element.cake_growth,
    element.standard_growth,
    element.complete_growth,
]


@pytest.mark.parametrize("law", GROWTH_LAWS)
def test_media_growth_starts_at_one_rises_and_ends_shut_not_broken(
    law: Callable[[float, float], float],
) -> None:
    assert law(0.0, 0.005) == 1.0
    values = [law(m * 1e-3, 0.02) for m in range(20)]
    assert values == sorted(values)
    assert values[10] > 1.4
    assert law(0.01, math.inf) == 1.0
    assert law(0.01, 0.0) == 1.0
    assert law(1e9, 1e-3) > 1e9


def test_the_blocking_laws_differ_in_their_order() -> None:
    # At the same scale: cake, intermediate, complete, standard from flat to steep.
    values = [law(0.01, 0.02) for law in GROWTH_LAWS]
    assert values == pytest.approx([math.exp(0.5), 1.5, 4.0, 2.0])


def test_wax_acts_below_the_cloud_point_only() -> None:
    assert element.wax_multiplier(271.15, 271.15, 265.15) == 1.0
    assert element.wax_multiplier(265.15, 271.15, 265.15) == pytest.approx(10.0)
    assert element.wax_multiplier(268.15, 271.15, 265.15) == pytest.approx(3.25)


@calm
@given(st.floats(0, 1e-4), small, small, small, small)
def test_the_feed_pressure_balances_the_flows(
    pumped: float, slip: float, lubrication: float, backleak: float, injected: float
) -> None:
    x = pump.feed_pressure_ratio(pumped, slip, lubrication, backleak, injected)
    assert 0.0 <= x <= 1.0
    taken = slip * x + lubrication * math.sqrt(x) + backleak + injected
    scale = pumped + slip + lubrication + backleak + injected + 1e-30
    if 0.0 < x < 1.0:
        assert abs(taken - pumped) <= 1e-12 * scale
    elif x == 1.0:
        assert taken <= pumped + 1e-12 * scale
    else:
        assert pumped <= backleak + injected + 1e-12 * scale


@calm
@given(small, small, small, small, st.floats(0, 1e-4), st.floats(0, 1e-5))
def test_more_pumped_never_lowers_the_feed_pressure(
    slip: float, lubrication: float, backleak: float, injected: float, pumped: float, more: float
) -> None:
    less = pump.feed_pressure_ratio(pumped, slip, lubrication, backleak, injected)
    assert pump.feed_pressure_ratio(pumped + more, slip, lubrication, backleak, injected) >= less


@calm
@given(st.floats(-1e5, 1e6), st.floats(0, 1e5), st.floats(0.0, 1e4))
def test_the_filling_is_a_share_and_never_overflows(p: float, half: float, width: float) -> None:
    value = pump.inlet_filling(p, half, width)
    assert 0.0 <= value <= 1.0
    assert pump.inlet_filling(p + 100.0, half, width) >= value


def test_the_filling_is_one_half_at_the_half_pressure() -> None:
    assert pump.inlet_filling(16e3, 16e3, 3500.0) == 0.5
    assert pump.inlet_half_pressure(16e3, 100.0, 900.0, 28.0, 28.0) == 17e3


@calm
@given(st.floats(100.0, 1.5e5), st.floats(0.05, 0.3), st.floats(0.0, 1.0))
def test_the_free_gas_fraction_is_a_share_that_falls_with_pressure(
    p: float, ostwald: float, release: float
) -> None:
    value = gas.free_gas_fraction(p, 101325.0, ostwald, release)
    assert 0.0 <= value < 1.0
    assert gas.free_gas_fraction(p * 1.01, 101325.0, ostwald, release) <= value
    phi = release * gas.equilibrium_free_gas_ratio(p, 101325.0, ostwald)
    assert value == pytest.approx(phi / (1.0 + phi), rel=1e-12, abs=1e-15)


def test_the_free_gas_fraction_reaches_its_limits() -> None:
    assert gas.free_gas_fraction(101325.0, 101325.0, 0.13, 0.35) == 0.0
    assert gas.free_gas_fraction(2e5, 101325.0, 0.13, 0.35) == 0.0
    assert gas.free_gas_fraction(0.0, 101325.0, 0.13, 0.35) == 1.0
    assert gas.free_gas_fraction(-5e3, 101325.0, 0.13, 0.35) == 1.0
    assert gas.free_gas_fraction(1e-6, 101325.0, 0.13, 0.35) == pytest.approx(1.0, abs=1e-6)
    assert gas.relaxed_gas(0.0, 0.1, 0.1, 1e3, 1.0) == pytest.approx(0.1)
    assert gas.relaxed_gas(0.02, 0.1, 0.1, 0.0, 1.0) == pytest.approx(0.02)


@calm
@given(st.floats(1.0, 40.0), st.floats(1.05, 3.0), st.floats(250.0, 300.0))
def test_a_viscosity_line_returns_its_own_points(nu: float, ratio: float, t: float) -> None:
    pairs = (
        (fuel.walther_constants, fuel.walther_kinematic_viscosity),
        (fuel.d341_constants, fuel.d341_kinematic_viscosity),
    )
    for constants, viscosity in pairs:
        a, b = constants(t, nu * ratio * 1e-6, t + 30.0, nu * 1e-6)
        assert viscosity(t, a, b) == pytest.approx(nu * ratio * 1e-6, rel=1e-9)
        assert viscosity(t + 30.0, a, b) == pytest.approx(nu * 1e-6, rel=1e-9)


def test_points_without_a_line_give_no_number_and_a_reason() -> None:
    assert math.isnan(fuel.walther_constants(293.15, 3e-6, 293.15, 2e-6)[0])
    assert math.isnan(fuel.walther_constants(293.15, 3e-6, 313.15, 0.2e-6)[0])
    assert "0.3 mm2/s" in " ".join(viscosity_point_faults(293.15, 3e-6, 313.15, 0.2e-6))
    assert "exchange" in " ".join(viscosity_point_faults(293.15, 2e-6, 313.15, 3e-6))
    assert viscosity_point_faults(293.15, 4.8e-6, 313.15, 2.95e-6) == []


@pytest.mark.parametrize("density", [770.0, 788.0, 838.3])
def test_the_product_groups_meet_within_what_their_editions_differ(density: float) -> None:
    below = petroleum.expansion_coefficient_54b(density - 1e-9)
    above = petroleum.expansion_coefficient_54b(density)
    assert above == pytest.approx(below, rel=0.01)


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 15.0, 40.0, 70.0])
def test_the_straight_density_line_stays_within_its_stated_bounds(celsius: float) -> None:
    straight = fuel.linear_density(838.0, 8.3e-4, celsius + 273.15)
    assert straight == pytest.approx(
        petroleum.petroleum_density(838.0, celsius + 273.15), rel=0.002
    )


@pytest.mark.parametrize("standard", list(PowerStandard))
@pytest.mark.parametrize("group", list(EngineGroup))
def test_reference_air_needs_no_correction(standard: PowerStandard, group: EngineGroup) -> None:
    for qc in (0.02, 0.05, 0.09):
        factor = power_correction.power_correction_factor(
            99e3, 298.0, qc, int(group), int(standard)
        )
        assert factor == pytest.approx(1.0, rel=1e-15)


def test_thin_hot_air_asks_for_a_greater_factor_and_limits_are_told() -> None:
    turbo, r85 = int(EngineGroup.TURBO), int(PowerStandard.UN_R85)
    mild = power_correction.power_correction_factor(95e3, 303.0, 0.05, turbo, r85)
    harsh = power_correction.power_correction_factor(75e3, 320.0, 0.05, turbo, r85)
    assert 1.0 < mild < harsh
    assert power_correction.correction_range_faults(95e3, 303.0, mild) == []
    assert len(power_correction.correction_range_faults(75e3, 320.0, harsh)) == 3
