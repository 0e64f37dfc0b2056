"""
What must hold of the formulas of line and pump, whatever the numbers.

The lines above each test name the invariant.  Those of a whole circuit are in
tests/feedline/test_invariants_*.py; where each is held is listed in invariants.csv.
"""

import math
from collections.abc import Callable
from functools import partial

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from feedproof.core import units
from feedproof.physics import element, fittings, friction, gas, losses, pump

calm = settings(deadline=None, max_examples=150)
flows = st.floats(1e-7, 3e-4)
bores = st.floats(2e-3, 2e-2)
viscosities = st.floats(5e-4, 5e-2)
densities = st.floats(700.0, 900.0)
more = st.floats(1.001, 3.0)
rules = st.sampled_from([int(rule) for rule in friction.FrictionRule])
Loss = Callable[[float], float]


@st.composite
def parts(draw: st.DrawFn) -> Loss:
    """Draw any part of a line as its loss over flow."""
    mu, density, bore = draw(viscosities), draw(densities), draw(bores)
    media = draw(st.floats(1e7, 1e11)), draw(st.floats(0.02, 1.0))
    growth, wax = draw(st.floats(1.0, 30.0)), draw(st.floats(1.0, 30.0))
    housing = draw(st.floats(0.0, 1e10)), draw(st.floats(0.0, 1e11))
    k1, k = draw(st.floats(0.0, 2000.0)), draw(st.floats(0.01, 8.0))

    def pipe(flow: float) -> float:
        return losses.pipe_pressure_loss(flow, 2.0, bore, 1.5e-6, density, mu, draw_rule)

    def fitting(flow: float) -> float:
        return fittings.fitting_pressure_loss(flow, bore, k1, k, density, mu, False)

    def filter_element(flow: float) -> float:
        return element.element_pressure_loss(flow, *media, growth, wax, *housing, density, mu)

    def valve(flow: float) -> float:
        return element.check_valve_pressure_loss(flow, housing[0] * 1e-7, housing[1], density)

    def step(flow: float) -> float:
        return fittings.coefficient_pressure_loss(flow, bore, k, density)

    draw_rule = draw(rules)
    return draw(st.sampled_from([pipe, fitting, filter_element, valve, step]))


# D rises with flow, and with every added part.
@calm
@given(parts(), flows, more)
def test_every_part_loses_more_at_more_flow_and_never_gives_pressure(
    part: Loss, flow: float, factor: float
) -> None:
    assert 0.0 <= part(flow) <= part(factor * flow)
    assert part(-flow) == -part(flow)
    assert part(0.0) == 0.0


# D rises with 1/bore.
@calm
@given(flows, bores, st.floats(0.0, 2000.0), st.floats(0.01, 8.0), densities, viscosities, more)
def test_a_narrower_fitting_loses_more(
    flow: float, bore: float, k1: float, k: float, density: float, mu: float, factor: float
) -> None:
    def loss(width: float) -> float:
        return fittings.fitting_pressure_loss(flow, width, k1, k, density, mu, False)

    assert loss(bore / factor) > loss(bore)


# D rises with loading.
@calm
@given(
    flows, st.floats(1e7, 1e11), st.floats(0.02, 1.0), st.floats(0.0, 0.05), st.floats(1e-4, 0.05)
)
def test_a_loaded_element_loses_more_by_every_law_of_growth(
    flow: float, resistance: float, area: float, mass: float, added: float
) -> None:
    for law in (element.media_growth, element.cake_growth, element.standard_growth):
        less, greater = (
            element.element_pressure_loss(
                flow, resistance, area, law(m, 0.02), 1.0, 0.0, 0.0, 830.0, 2.5e-3
            )
            for m in (mass, mass + added)
        )
        assert greater > less or math.isinf(less)


# The viscous part is proportional to the viscosity at a given flow, to the last digit.
@calm
@given(flows, bores, viscosities, st.floats(1.0, 10.0), densities)
def test_in_laminar_flow_the_whole_loss_is_proportional_to_viscosity(
    flow: float, bore: float, mu: float, factor: float, density: float
) -> None:
    assume(losses.reynolds_number(flow, bore, mu / density) < 2000.0)
    rule = friction.RULE_BLEND_COLEBROOK
    one, other = (
        losses.pipe_pressure_loss(flow, 1.5, bore, 0.0, density, m, rule) for m in (mu, factor * mu)
    )

    assert other == pytest.approx(factor * one, rel=1e-12)


@calm
@given(flows, bores, viscosities, st.floats(1.0, 10.0), st.floats(1.0, 2000.0), densities)
def test_the_viscous_part_of_a_fitting_is_proportional_to_viscosity_and_blind_to_density(
    flow: float, bore: float, mu: float, factor: float, k1: float, density: float
) -> None:
    def viscous(m: float, rho: float) -> float:
        return fittings.fitting_pressure_loss(flow, bore, k1, 0.0, rho, m, False)

    assert viscous(factor * mu, density) == pytest.approx(factor * viscous(mu, density), rel=1e-12)
    assert viscous(mu, density) == viscous(mu, 1.1 * density)


# Two equal elements in parallel at Q lose what one loses at Q/2, housing included.
@calm
@given(
    flows, st.floats(1e7, 1e11), st.floats(0.02, 1.0), st.floats(0.0, 1e10), st.floats(0.0, 1e11)
)
def test_a_pair_is_one_of_twice_the_area_half_the_viscous_and_a_quarter_of_the_inertial_part(
    flow: float, resistance: float, area: float, viscous: float, inertial: float
) -> None:
    single = element.element_pressure_loss(
        flow / 2.0, resistance, area, 1.0, 1.0, viscous, inertial, 830.0, 2.5e-3
    )
    pair = element.element_pressure_loss(
        flow, resistance, 2.0 * area, 1.0, 1.0, viscous / 2.0, inertial / 4.0, 830.0, 2.5e-3
    )

    assert pair == pytest.approx(single, rel=1e-12)


# Below the cloud point only the media term changes; at and above it nothing does.
@calm
@given(flows, st.floats(0.0, 1e10), st.floats(0.0, 1e11), st.floats(-40.0, 40.0))
def test_wax_touches_media_alone_and_only_below_the_cloud_point(
    flow: float, viscous: float, inertial: float, above_cloud_k: float
) -> None:
    cloud_k = 270.0
    wax = element.wax_multiplier(cloud_k + above_cloud_k, cloud_k, cloud_k - 6.0)
    loss = partial(element.element_pressure_loss, flow)
    media = 2.5e9, 0.22, 1.0
    housing = viscous, inertial, 830.0, 2.5e-3
    only_media = loss(*media, wax, 0.0, 0.0, 830.0, 2.5e-3)
    only_housing = loss(0.0, 1.0, 1.0, wax, *housing)

    assert wax >= 1.0
    if above_cloud_k >= 0.0:
        assert wax == 1.0
    elif above_cloud_k < -1e-3:
        assert wax > 1.0
    assert only_housing == loss(0.0, 1.0, 1.0, 1.0, *housing)
    assert only_media == pytest.approx(wax * loss(*media, 1.0, 0.0, 0.0, 830.0, 2.5e-3), rel=1e-12)


@st.composite
def pumps(draw: st.DrawFn) -> Callable[[float], tuple[float, float]]:
    """Draw a pump as what it takes in and its feed pressure ratio over depression."""
    ambient = draw(st.floats(40e3, 105e3))
    half, width = draw(st.floats(2e3, 40e3)), draw(st.floats(0.0, 8e3))
    ostwald, release = draw(st.floats(0.05, 0.3)), draw(st.floats(0.0, 1.0))
    displaced = draw(st.floats(1e-7, 2e-4))
    others = [draw(st.floats(0.0, 5e-5)) for _ in range(4)]

    def at(depression: float) -> tuple[float, float]:
        pressure = ambient - depression
        filling = pump.inlet_filling(pressure, half, width)
        free = gas.free_gas_fraction(pressure, ambient, ostwald, release)
        pumped = pump.pumped_flow(displaced, 0.95, free, filling)
        return pumped, pump.feed_pressure_ratio(pumped, *others)

    return at


# Delivery falls with depression and never below nothing; starved is a value, not an error.
@calm
@given(pumps(), st.floats(0.0, 120e3), st.floats(1.0, 30e3))
def test_no_pump_delivers_more_at_more_depression_and_none_gives_nan(
    delivery: Callable[[float], tuple[float, float]], depression: float, deeper: float
) -> None:
    (more_pumped, more_ratio), (pumped, ratio) = delivery(depression), delivery(depression + deeper)

    assert 0.0 <= pumped <= more_pumped
    assert 0.0 <= ratio <= more_ratio <= 1.0


# A reading in inches of mercury comes back as it was.
@calm
@given(st.floats(-30.0, 60.0), st.sampled_from(["inHg", "kPa", "mmHg", "psi", "bar", "mbar"]))
def test_a_pressure_survives_the_way_to_si_and_back(reading: float, unit: str) -> None:
    back = units.from_si(units.to_si(reading, unit), unit)

    assert back == pytest.approx(reading, rel=1e-14, abs=1e-300)
    assert units.to_si(1.0, "inHg") == pytest.approx(3386.389, abs=5e-4)
