"""
Promise: heat is conserved, each closed form solves its own equation, and limits are what they are.

Sources: the first law; SciPy's integrator; CoolProp and thermo for n-dodecane, n-hexadecane,
toluene and o-xylene.
"""

import math
import warnings
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedproof.physics import heat

coolprop = pytest.importorskip("CoolProp.CoolProp")
L_PER_H = 1e-3 / 3600.0


@pytest.fixture(scope="module")
def hexadecane() -> Any:
    """Load the library's n-hexadecane once; the library's own deprecations are not ours."""
    thermo = pytest.importorskip("thermo")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return thermo.Chemical("n-hexadecane")


# Specific heat.
def _dodecane(quantity: str, celsius: float, pressure_pa: float = 101325.0) -> float:
    """Ask CoolProp about n-dodecane."""
    return coolprop.PropsSI(quantity, "T", celsius + 273.15, "P", pressure_pa, "n-Dodecane")


def test_the_specific_heat_is_that_of_the_printed_form_in_degrees_fahrenheit() -> None:
    """Printed as (0.388 + 0.00045 t)/sqrt(s) cal/(g K), Cragoe 1929 (memory); 1 cal is 4.1868 J."""
    for celsius in (-20.0, 0.0, 20.0, 80.0):
        fahrenheit = 1.8 * celsius + 32.0
        printed = (0.388 + 0.00045 * fahrenheit) / math.sqrt(0.838 / 0.999016) * 4186.8
        got = heat.liquid_specific_heat(celsius + 273.15, 838.0)
        assert got == pytest.approx(printed, rel=6e-4)


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 20.0, 40.0, 80.0])
def test_paraffins_lie_above_the_formula_and_aromatics_below_as_it_says(celsius: float) -> None:
    """Road fuel is a mixture of both, so the formula must pass between them."""
    for name, least, most in (
        ("n-Dodecane", 0.88, 0.94),
        ("Toluene", 1.08, 1.13),
        ("o-Xylene", 1.04, 1.08),
    ):
        density = coolprop.PropsSI("D", "T", 288.15, "P", 101325.0, name)
        known = coolprop.PropsSI("C", "T", celsius + 273.15, "P", 101325.0, name)
        found = heat.liquid_specific_heat(celsius + 273.15, density)
        assert least < found / known < most, (name, found / known)


@pytest.mark.parametrize("celsius", [20.0, 40.0, 60.0])
def test_hexadecane_of_another_library_lies_as_far_above(hexadecane: Any, celsius: float) -> None:
    """776 kg/m3 at 15 degrees Celsius, just below its melting point (memory)."""
    hexadecane.calculate(T=celsius + 273.15, P=101325.0)
    known = hexadecane.Cpl
    found = heat.liquid_specific_heat(celsius + 273.15, 776.0)
    assert 0.89 < found / known < 0.94


# Walls and mixing.
def test_the_temperature_behind_a_wall_is_what_the_equation_of_the_pipe_gives() -> None:
    capacity = heat.heat_capacity_flow(830.0, 1950.0, 90 * L_PER_H)
    wall = 3.2

    def slope(_: float, temperature: np.ndarray) -> np.ndarray:
        return wall * (263.15 - temperature) / capacity

    solved = solve_ivp(slope, (0.0, 1.0), [303.15], rtol=1e-11, atol=1e-11).y[0, -1]
    got = heat.temperature_behind_wall(303.15, 263.15, wall, capacity)
    assert got == pytest.approx(solved, abs=1e-7)


def test_a_stream_that_stands_takes_the_airs_temperature_and_no_wall_changes_nothing() -> None:
    assert heat.temperature_behind_wall(300.0, 260.0, 2.0, 0.0) == 260.0
    assert heat.temperature_behind_wall(300.0, 260.0, 0.0, 40.0) == 300.0
    assert heat.temperature_behind_wall(300.0, 260.0, 0.0, 0.0) == 300.0
    # Both limits are approached, not jumped to.
    assert heat.temperature_behind_wall(300.0, 260.0, 2.0, 1e-3) == pytest.approx(260.0, abs=1e-9)
    assert heat.temperature_behind_wall(300.0, 260.0, 1e-9, 40.0) == pytest.approx(300.0, abs=1e-8)
    # A short wall: U A (T - T_env) in the first order.
    assert heat.temperature_behind_wall(300.0, 260.0, 1e-3, 40.0) == pytest.approx(
        300.0 - 40.0 * 1e-3 / 40.0, abs=1e-6
    )


def test_two_pipes_one_behind_the_other_are_one_pipe() -> None:
    middle = heat.temperature_behind_wall(310.0, 265.0, 1.1, 37.0)
    end = heat.temperature_behind_wall(middle, 265.0, 2.4, 37.0)
    assert end == pytest.approx(heat.temperature_behind_wall(310.0, 265.0, 3.5, 37.0), rel=1e-14)


@pytest.mark.parametrize(
    ("first", "second"), [(10.0, 30.0), (0.0, 30.0), (12.0, 0.0), (1e-9, 40.0)]
)
def test_mixing_keeps_the_heat_of_both_streams(first: float, second: float) -> None:
    mixed = heat.mixed_temperature(262.0, first, 331.0, second)
    assert mixed * (first + second) == pytest.approx(first * 262.0 + second * 331.0, rel=1e-14)


def test_streams_that_stand_are_not_mixed_and_equal_ones_stay() -> None:
    assert heat.mixed_temperature(262.0, 0.0, 331.0, 0.0) == 262.0
    assert heat.mixed_temperature(262.7, 3.1, 262.7, 17.0) == 262.7


# Let-down from rail pressure.
@pytest.mark.parametrize("pressure_pa", [100e6, 160e6, 200e6])
@pytest.mark.parametrize("celsius", [20.0, 40.0, 80.0])
def test_fuel_let_down_from_the_rail_warms_as_an_equation_of_state_says(
    celsius: float, pressure_pa: float
) -> None:
    enthalpy = _dodecane("H", celsius, pressure_pa)
    exact = coolprop.PropsSI("T", "H", enthalpy, "P", 1e5, "n-Dodecane") - 273.15 - celsius
    found = heat.let_down_rise(
        pressure_pa - 1e5,
        _dodecane("D", celsius),
        _dodecane("C", celsius),
        _dodecane("ISOBARIC_EXPANSION_COEFFICIENT", celsius),
        celsius + 273.15,
    )
    assert found == pytest.approx(exact, rel=0.06)


def test_160_mpa_of_diesel_are_of_the_order_of_80_kelvin() -> None:
    """80 K is from memory; with the expansion 72 K, without it 98 K."""
    density, celsius = 838.0 * (1.0 - 8.3e-4 * 25.0), 40.0
    specific = heat.liquid_specific_heat(celsius + 273.15, 838.0)
    expansion = heat.local_expansion(838.0, density, 8.3e-4)
    whole = heat.let_down_rise(160e6, density, specific, expansion, celsius + 273.15)
    without = heat.let_down_rise(160e6, density, specific, 0.0, celsius + 273.15)

    assert expansion == pytest.approx(8.3e-4 / (1.0 - 8.3e-4 * 25.0), rel=1e-12)
    assert whole == pytest.approx(72.0, abs=1.0)
    assert without == pytest.approx(98.0, abs=1.0)
    assert whole < 80.0 < without


def test_compressed_and_let_down_again_fuel_gains_its_work_over_its_heat_capacity() -> None:
    """From the pump's inlet the expansion drops out: work, then constant enthalpy (CoolProp)."""
    entropy = _dodecane("S", 40.0)
    at_rail = coolprop.PropsSI("H", "S", entropy, "P", 160e6, "n-Dodecane")
    end_k = coolprop.PropsSI("T", "H", at_rail, "P", 1e5, "n-Dodecane")
    power = heat.return_heating_power(160e6, 0.0, 0.0, 1e-6, 1e-6, 1.0)
    capacity = heat.heat_capacity_flow(_dodecane("D", 40.0), _dodecane("C", 60.0), 1e-6)
    # Work is dp over the mean density, which rises by 6 % over the stroke: the formula is high.
    assert heat.heated_rise(power, capacity) == pytest.approx(end_k - 313.15, rel=0.12)


def test_the_heat_in_the_return_is_the_shafts_work_less_what_goes_with_the_injection() -> None:
    rail, feed, injected, leaked, returned, efficiency = 120e6, 6e5, 8e-6, 2.5e-6, 27e-6, 0.85
    shaft = rail * (injected + leaked) / efficiency + feed * returned
    got = heat.return_heating_power(rail, feed, injected, leaked, returned, efficiency)
    assert got == pytest.approx(shaft - rail * injected, rel=1e-12)
    # A pump without losses and without leaks heats by its feed pressure alone.
    assert heat.return_heating_power(rail, feed, injected, 0.0, returned, 1.0) == feed * returned


# Cooler, heater, tank.
def test_a_cooler_between_nothing_and_all() -> None:
    assert heat.cooled_temperature(340.0, 300.0, 0.0) == 340.0
    assert heat.cooled_temperature(340.0, 300.0, 1.0) == 300.0
    assert heat.cooled_temperature(340.0, 300.0, 0.4) == pytest.approx(324.0)


def test_a_heaters_power_is_found_again_in_the_stream() -> None:
    capacity = heat.heat_capacity_flow(830.0, 1900.0, 80 * L_PER_H)
    assert capacity * heat.heated_rise(250.0, capacity) == pytest.approx(250.0, rel=1e-14)
    assert heat.heated_rise(250.0, 0.0) == math.inf
    assert heat.heated_rise(0.0, 0.0) == 0.0


@pytest.mark.parametrize("falling", [0.0, 17.0, -12.0, 1e-9])
def test_the_tank_follows_its_equation_with_a_constant_and_with_a_falling_level(
    falling: float,
) -> None:
    start, inflow, air, carried, loss, power = 263.15, 318.0, 268.15, 40.0, 11.0, 90.0
    capacity, duration = 95e3, 3600.0

    def slope(moment: float, temperature: np.ndarray) -> np.ndarray:
        held = capacity - falling * moment
        return (carried * (inflow - temperature) + loss * (air - temperature) + power) / held

    solved = solve_ivp(slope, (0.0, duration), [start], rtol=1e-11, atol=1e-11).y[0, -1]
    end = heat.tank_balance_temperature(inflow, carried, air, loss, power)
    got = heat.stirred_tank_temperature(start, end, carried + loss, capacity, falling, duration)
    assert got == pytest.approx(solved, abs=1e-6)


def test_a_tank_is_as_it_was_at_the_start_and_as_it_stays_in_the_end() -> None:
    assert heat.stirred_tank_temperature(260.0, 300.0, 50.0, 9e4, 15.0, 0.0) == 260.0
    assert heat.stirred_tank_temperature(260.0, 300.0, 50.0, 9e4, 0.0, 1e7) == pytest.approx(300.0)
    assert heat.stirred_tank_temperature(300.0, 300.0, 50.0, 9e4, 15.0, 900.0) == 300.0
    # An empty tank has no temperature.
    assert math.isnan(heat.stirred_tank_temperature(260.0, 300.0, 50.0, 9e4, 15.0, 6000.0))


def test_the_balance_of_a_tank_is_where_heat_in_is_heat_out() -> None:
    end = heat.tank_balance_temperature(318.0, 40.0, 268.15, 11.0, 90.0)
    assert 40.0 * (318.0 - end) + 90.0 == pytest.approx(11.0 * (end - 268.15), rel=1e-12)
    assert heat.tank_balance_temperature(318.0, 0.0, 268.15, 0.0, 0.0) == 268.15
    assert heat.tank_balance_temperature(318.0, 0.0, 268.15, 0.0, 90.0) == math.inf
