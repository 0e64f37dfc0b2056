"""
What must hold of every solved state of a feed circuit, whatever line, fuel, pump and weather.

Everything here goes through `build_circuit(...).at(...)` alone.  The sentence above each test is
its invariant; tests/physics/invariants.csv lists them all with their places.  Sampling and cranking
are in test_invariants_cranking.py.
"""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.parts import Element, Fitting, Part, Pipe
from feedproof.physics.element import wax_multiplier
from tests.feedline import reference
from tests.feedline.invariant_cases import (
    PUMPS,
    any_part,
    calm,
    circuit_of,
    fuel_names,
    lines,
    named,
    no_less,
    pumps,
    rules,
    speeds,
    wanted,
    weathers,
)


# Feed = injected + return; every figure finite; shares are shares.
@calm
@given(lines, weathers, pumps, rules, speeds, wanted)
def test_feed_is_injected_plus_return_in_every_state(
    parts: tuple[Part, ...], weather: Conditions, pump: str, rule: str, speed: float, inject: float
) -> None:
    feed = circuit_of(parts, weather, pump, rule)
    state = feed.at(speed, inject)

    assert all(math.isfinite(value) for value in state)
    assert state.feed_m3_per_s == pytest.approx(
        state.injected_m3_per_s + state.return_m3_per_s, rel=1e-12, abs=1e-20
    )
    if 0.0 < state.feed_pressure_ratio < 1.0:
        # Short of feed the valve is shut: what returns is back-leak and lubrication.
        lubrication = feed.vehicle.pump.lubrication_m3_per_s * math.sqrt(state.feed_pressure_ratio)
        assert state.return_m3_per_s == pytest.approx(
            feed.backleak_m3_per_s(speed) + lubrication, rel=1e-9
        )
    assert 0.0 <= state.injected_m3_per_s <= inject
    assert state.return_m3_per_s >= -1e-20
    assert 0.0 <= state.feed_pressure_ratio <= 1.0
    assert 0.0 <= state.free_gas_fraction <= 1.0
    assert 0.0 <= state.inlet_filling <= 1.0
    assert state.pressure_abs_pa + state.depression_pa == pytest.approx(
        weather.ambient_pressure_abs_pa, rel=1e-12
    )


# D rises with flow: whatever speed and demand made the flow.
@calm
@given(lines, weathers, pumps, rules)
def test_in_one_circuit_a_greater_flow_never_has_a_lower_depression(
    parts: tuple[Part, ...], weather: Conditions, pump: str, rule: str
) -> None:
    feed = circuit_of(parts, weather, pump, rule)
    states = sorted(
        feed.at(speed, inject) for speed in (8.0, 20.0, 33.0, 55.0) for inject in (1e-6, 9e-6)
    )

    assert states[0].feed_m3_per_s < states[-1].feed_m3_per_s
    assert all(no_less(b.depression_pa, a.depression_pa) for a, b in pairwise(states))


# D rises with every added part; a kit never raises the inlet pressure, and never the delivery.
@calm
@given(lines, any_part, st.integers(0, 7), weathers, pumps, rules, speeds, wanted)
def test_an_added_part_anywhere_never_raises_the_inlet_pressure_nor_the_feed(
    parts: tuple[Part, ...],
    added: Part,
    place: int,
    weather: Conditions,
    pump: str,
    rule: str,
    speed: float,
    inject: float,
) -> None:
    longer = (*parts[:place], replace(added, id="added"), *parts[place:])
    before = circuit_of(parts, weather, pump, rule).at(speed, inject)
    after = circuit_of(longer, weather, pump, rule).at(speed, inject)

    assert no_less(after.depression_pa, before.depression_pa)
    assert no_less(before.pressure_abs_pa, after.pressure_abs_pa)
    assert no_less(before.feed_m3_per_s, after.feed_m3_per_s)


@pytest.mark.parametrize("pump", PUMPS)
@pytest.mark.parametrize("kits", [("K1",), ("K2",), ("K1", "K2"), ("K3",), ("K2-small",)])
def test_no_kit_of_the_reference_raises_the_inlet_pressure_at_any_speed(
    kits: tuple[str, ...], pump: str
) -> None:
    for celsius in (-5.0, 40.0, 70.0):
        at = reference.conditions(celsius)
        bare = reference.circuit(pump=pump, at=at)
        fitted = reference.circuit(*kits, pump=pump, at=at)
        for rpm in (200.0, 750.0, 1700.0, 3400.0):
            one, other = (each.at(rpm / 60.0, 2.5e-9 * rpm) for each in (bare, fitted))
            assert other.pressure_abs_pa < one.pressure_abs_pa


# D rises with 1/bore.
@calm
@given(lines, weathers, pumps, rules, speeds, wanted, st.floats(1.01, 1.5))
def test_narrower_pipes_and_fittings_never_raise_the_inlet_pressure(
    parts: tuple[Part, ...],
    weather: Conditions,
    pump: str,
    rule: str,
    speed: float,
    inject: float,
    factor: float,
) -> None:
    narrow = tuple(
        replace(part, bore_m=part.bore_m / factor) if isinstance(part, Pipe | Fitting) else part
        for part in parts
    )
    wide_state, narrow_state = (
        circuit_of(each, weather, pump, rule).at(speed, inject) for each in (parts, narrow)
    )

    assert no_less(narrow_state.depression_pa, wide_state.depression_pa)


# D rises with load: dirt in an element, and fuel that the engine asks for.
@calm
@given(lines, weathers, pumps, speeds, wanted, st.floats(1e-4, 0.03))
def test_dirt_never_raises_the_inlet_pressure(
    parts: tuple[Part, ...],
    weather: Conditions,
    pump: str,
    speed: float,
    inject: float,
    mass: float,
) -> None:
    elements = [part.id for part in parts if isinstance(part, Element)]
    assume(elements)
    loaded = replace(weather, captured_mass_kg=dict.fromkeys(elements, mass))
    clean_state, loaded_state = (
        circuit_of(parts, each, pump).at(speed, inject) for each in (weather, loaded)
    )

    assert loaded_state.depression_pa > clean_state.depression_pa


@calm
@given(lines, weathers, pumps, speeds, wanted, st.floats(1e-7, 5e-6))
def test_an_engine_that_asks_for_more_never_raises_the_inlet_pressure(
    parts: tuple[Part, ...],
    weather: Conditions,
    pump: str,
    speed: float,
    inject: float,
    further: float,
) -> None:
    feed = circuit_of(parts, weather, pump)

    assert no_less(
        feed.at(speed, inject + further).depression_pa, feed.at(speed, inject).depression_pa
    )


# Delivery falls with depression: a lower tank, the same pump.
@calm
@given(lines, weathers, pumps, speeds, wanted, st.floats(0.05, 3.0))
def test_a_lower_tank_gives_more_depression_and_no_more_delivery(
    parts: tuple[Part, ...],
    weather: Conditions,
    pump: str,
    speed: float,
    inject: float,
    lower: float,
) -> None:
    low = replace(weather, fuel_level_fraction=weather.fuel_level_fraction - lower)
    high_state, low_state = (
        circuit_of(parts, each, pump).at(speed, inject) for each in (weather, low)
    )

    assert low_state.depression_pa > high_state.depression_pa
    assert no_less(high_state.feed_m3_per_s, low_state.feed_m3_per_s)
    assert no_less(high_state.injected_m3_per_s, low_state.injected_m3_per_s)
    assert no_less(high_state.feed_pressure_ratio, low_state.feed_pressure_ratio)


# Two equal elements in parallel at Q are one at Q/2.
@pytest.mark.parametrize("celsius", [-5.0, 20.0, 60.0])
@pytest.mark.parametrize("pump", PUMPS)
def test_two_equal_elements_in_parallel_are_one_at_half_the_flow(pump: str, celsius: float) -> None:
    one = Element(
        id="one",
        role="secondary",
        media_resistance_per_m=3.2e9,
        face_area_m2=0.3,
        housing_viscous_per_m3=2e9,
        housing_inertial_per_m4=8e8,
        from_node="split",
        to_node="join",
    )
    tube = Pipe(id="tube", length_m=3.0, bore_m=8e-3, to_node="split")
    rest = Pipe(id="rest", length_m=1.0, bore_m=8e-3, from_node="join")
    pair = (tube, one, replace(one, id="other"), rest)
    # One at half the flow, written as a part that takes all of it: half the viscous and a quarter
    # of the inertial resistance.
    half = replace(
        one,
        face_area_m2=0.6,
        housing_viscous_per_m3=1e9,
        housing_inertial_per_m4=2e8,
        from_node=None,
        to_node=None,
    )
    chain = (replace(tube, to_node=None), half, replace(rest, from_node=None))
    weather = reference.conditions(celsius)
    states = [circuit_of(each, weather, pump).at(45.0, 6e-6) for each in (pair, chain)]

    assert states[0].feed_m3_per_s == pytest.approx(states[1].feed_m3_per_s, rel=1e-7)
    assert states[0].depression_pa == pytest.approx(states[1].depression_pa, rel=1e-6)


# The viscous part is proportional to viscosity.
@calm
@given(weathers, pumps, speeds, wanted, st.floats(1.05, 3.0))
def test_a_viscous_line_loses_in_proportion_to_viscosity_times_flow(
    weather: Conditions, pump: str, speed: float, inject: float, factor: float
) -> None:
    # A tube so wide that it stays laminar, a fitting without K, an element without inertia.
    parts = (
        Pipe(id="tube", length_m=8.0, bore_m=0.03),
        Fitting(
            id="fitting",
            count=2,
            bore_m=8e-3,
            laminar_coefficient=900.0,
            turbulent_coefficient=0.0,
        ),
        Element(
            id="element",
            role="secondary",
            media_resistance_per_m=2e9,
            face_area_m2=0.4,
            housing_viscous_per_m3=1e9,
            housing_inertial_per_m4=0.0,
        ),
    )
    thin = replace(reference.fuel_of("winter"), cloud_point_k=200.0, cfpp_k=190.0)
    thick = replace(
        thin,
        viscosity_cool_m2_per_s=factor * thin.viscosity_cool_m2_per_s,
        viscosity_warm_m2_per_s=factor * thin.viscosity_warm_m2_per_s,
    )
    found = []
    for fuel in (thin, thick):
        feed = circuit_of(parts, weather, pump, fuel=fuel)
        state = feed.at(speed, inject)
        lost = state.depression_pa - feed.static_pa
        found.append(lost / (feed.fluid.dynamic_viscosity_pa_s * state.feed_m3_per_s))

    assert found[1] == pytest.approx(found[0], rel=1e-9)


# The absolute limit binds before the gauge limit above sea level.
SEA_LEVEL_PA = 101325.0
LIMIT_ABS_PA = 50.5e3


@calm
@given(lines, weathers, pumps, speeds, wanted)
def test_above_sea_level_the_absolute_limit_binds_first(
    parts: tuple[Part, ...], weather: Conditions, pump: str, speed: float, inject: float
) -> None:
    assume(weather.ambient_pressure_abs_pa < SEA_LEVEL_PA - 1.0)
    state = circuit_of(parts, weather, pump).at(speed, inject)
    room_abs = state.pressure_abs_pa - LIMIT_ABS_PA
    room_gauge = (SEA_LEVEL_PA - LIMIT_ABS_PA) - state.depression_pa

    assert room_abs < room_gauge
    assert room_gauge - room_abs == pytest.approx(
        SEA_LEVEL_PA - weather.ambient_pressure_abs_pa, rel=1e-9
    )


def test_there_is_a_state_that_only_the_absolute_limit_refuses() -> None:
    at = reference.conditions(10.0, ambient_pa=65.8e3)
    state = reference.at_138(reference.circuit("K1", "K2", at=at))

    assert state.depression_pa < SEA_LEVEL_PA - LIMIT_ABS_PA
    assert state.pressure_abs_pa < LIMIT_ABS_PA


# Starved is a result, never not-a-number.
@settings(deadline=None, max_examples=300)
@given(
    st.lists(any_part, min_size=0, max_size=4).map(named),
    st.floats(1e-3, 3e-2),
    st.floats(0.01, 200.0),
    st.builds(
        Conditions,
        fuel=fuel_names,
        fuel_temperature_k=st.floats(235.0, 370.0),
        ambient_pressure_abs_pa=st.floats(20e3, 110e3),
        fuel_level_fraction=st.floats(-30.0, 3.0),
        road_pitch_rad=st.floats(-0.6, 0.6),
        tank_depression_pa=st.floats(-20e3, 60e3),
    ),
    pumps,
    rules,
    st.one_of(st.just(0.0), st.floats(0.01, 150.0)),
    st.one_of(st.just(0.0), st.floats(0.0, 1e-3)),
)
def test_wild_inputs_give_a_state_and_a_starved_one_injects_less(
    parts: tuple[Part, ...],
    bore: float,
    length: float,
    weather: Conditions,
    pump: str,
    rule: str,
    speed: float,
    inject: float,
) -> None:
    whole = (Pipe(id="wild", length_m=length, bore_m=bore), *parts)
    state = circuit_of(whole, weather, pump, rule).at(speed, inject)

    assert all(math.isfinite(value) for value in state), state
    assert state.feed_m3_per_s >= 0.0
    assert state.feed_m3_per_s == pytest.approx(
        state.injected_m3_per_s + state.return_m3_per_s, rel=1e-9, abs=1e-18
    )
    assert 0.0 <= state.injected_m3_per_s <= inject
    if state.injected_m3_per_s < inject * (1.0 - 1e-12):
        assert state.feed_pressure_ratio == 0.0


# Below the cloud point only the media term changes.
def _waxed(celsius: float) -> tuple[Fuel, Fuel, float]:
    """Give one fuel clear and waxed at a temperature, and the multiplier of its media."""
    waxed = reference.fuel_of("summer")
    clear = replace(waxed, cloud_point_k=200.0, cfpp_k=190.0)
    growth = wax_multiplier(celsius + 273.15, waxed.cloud_point_k, waxed.cfpp_k)
    return clear, waxed, float(growth)


@calm
@given(lines, pumps, speeds, wanted, st.sampled_from([-12.0, -8.0, -4.0, -2.0, 5.0]))
def test_wax_acts_as_thicker_media_and_on_nothing_else(
    parts: tuple[Part, ...], pump: str, speed: float, inject: float, celsius: float
) -> None:
    clear, waxed, growth = _waxed(celsius)
    weather = reference.conditions(celsius)
    thickened = tuple(
        replace(part, media_resistance_per_m=growth * part.media_resistance_per_m)
        if isinstance(part, Element)
        else part
        for part in parts
    )
    with_wax = circuit_of(parts, weather, pump, fuel=waxed).at(speed, inject)
    with_media = circuit_of(thickened, weather, pump, fuel=clear).at(speed, inject)

    assert tuple(with_wax) == pytest.approx(tuple(with_media), rel=1e-9, abs=1e-18)
    if not any(isinstance(part, Element) for part in parts) or celsius > 0.0:
        untouched = circuit_of(parts, weather, pump, fuel=clear).at(speed, inject)
        assert tuple(with_wax) == tuple(untouched)


@pytest.mark.parametrize("pump", PUMPS)
@pytest.mark.parametrize("celsius", [-1.9, 5.0, 40.0])
def test_above_the_cloud_point_wax_is_nothing(pump: str, celsius: float) -> None:
    clear, waxed, growth = _waxed(celsius)
    parts = reference.vehicle().line.parts
    weather = reference.conditions(celsius)
    states = [circuit_of(parts, weather, pump, fuel=fuel).at(45.0, 6e-6) for fuel in (clear, waxed)]

    assert growth == 1.0
    assert states[0] == states[1]
