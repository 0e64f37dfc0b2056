"""
Promise: the pressure of a day and the density of damp air are what is published.

Sources: ISO 2533 (formulas checked elsewhere against its table); altimeter settings of airfields
and corrections to sea level as published; CIPM-2007 as tabulated; CoolProp's humid air.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedproof.physics import weather
from feedproof.physics.atmosphere import (
    air_density,
    standard_density,
    standard_pressure,
    standard_temperature,
)

coolprop = pytest.importorskip("CoolProp.CoolProp")
MM_HG_PA = 133.322387415
IN_HG_PA = 3386.389
FOOT_M = 0.3048


@pytest.mark.parametrize(
    ("altitude_m", "printed_hpa"),
    # ISO 2533 table (memory of the table; the formula's digits).
    [(-400.0, 1062.23), (0.0, 1013.25), (500.0, 954.608), (1000.0, 898.746), (2000.0, 794.952),
     (3000.0, 701.085)],
)  # fmt: skip
def test_on_a_standard_day_both_ways_give_the_standard_pressure(
    altitude_m: float, printed_hpa: float
) -> None:
    temperature = standard_temperature(altitude_m)
    for found in (
        weather.station_pressure(101325.0, altitude_m, temperature),
        weather.pressure_from_qnh(101325.0, altitude_m),
    ):
        assert found == pytest.approx(100.0 * printed_hpa, rel=2e-5)
        assert found == pytest.approx(standard_pressure(altitude_m), rel=1e-12)


@pytest.mark.parametrize("celsius", [-25.0, 15.0, 38.0])
def test_the_column_of_air_is_in_balance(celsius: float) -> None:
    """dp/dh = -p g/(R T), integrated by SciPy from the sea to the place."""
    ground_k, altitude = celsius + 273.15, 1800.0

    def slope(height: float, pressure: np.ndarray) -> np.ndarray:
        temperature = ground_k + 0.0065 * (altitude - height)
        return -9.80665 * air_density(1.0, temperature) * pressure

    solved = solve_ivp(slope, (0.0, altitude), [98000.0], rtol=1e-11, atol=1e-6).y[0, -1]
    assert weather.station_pressure(98000.0, altitude, ground_k) == pytest.approx(solved, rel=1e-9)


@pytest.mark.parametrize(
    ("feet", "setting_inhg", "printed_pa"),
    # Altimeter settings of two airfields and the pressure found from them by the published formula
    # of the aviation authority (seen on a page about local barometric pressure).
    [(5045.0, 30.20, 84977.0), (7014.0, 30.37, 79375.0)],
)
def test_the_pressure_of_an_airfield_follows_from_its_altimeter_setting(
    feet: float, setting_inhg: float, printed_pa: float
) -> None:
    found = weather.pressure_from_qnh(setting_inhg * IN_HG_PA, feet * FOOT_M)
    assert found == pytest.approx(printed_pa, abs=2.0)


@pytest.mark.parametrize(
    ("celsius", "correction_hpa"),
    # Station at 250 m reading 1000 hPa: correction to sea level by the tables of the older
    # barometer formula (seen in a discussion of QFF among pilots; printed to 0.1 hPa).
    [(-15.0, 33.6), (40.0, 27.6)],
)
def test_the_reduction_to_sea_level_is_that_of_published_tables(
    celsius: float, correction_hpa: float
) -> None:
    ratio = weather.station_pressure(1.0, 250.0, celsius + 273.15)
    assert 1000.0 / ratio - 1000.0 == pytest.approx(correction_hpa, abs=0.1)


def test_a_low_costs_the_pump_what_the_map_says_and_a_hot_day_gains_a_little() -> None:
    normal = weather.station_pressure(101325.0, 700.0, standard_temperature(700.0))
    low = weather.station_pressure(98000.0, 700.0, standard_temperature(700.0))
    hot = weather.station_pressure(101325.0, 700.0, 308.15)

    assert low / normal == pytest.approx(98000.0 / 101325.0, rel=1e-12)
    assert 3000.0 < normal - low < 3300.0
    # Warm air is lighter: less of it stands below the place, and the pressure there is higher.
    assert 0.0 < hot - normal < 700.0


def test_where_no_air_can_stand_there_is_no_pressure() -> None:
    assert weather.station_pressure(101325.0, 1000.0, 0.0) == 0.0
    assert weather.pressure_from_qnh(101325.0, 5e4) == 0.0


@pytest.mark.parametrize(
    ("celsius", "mm_hg", "humidity", "printed_mg_per_ml"),
    # CIPM-2007 as tabulated in a handbook of mass metrology, quoted by the tests of an open-source
    # library for balances (seen); 40 degrees Celsius lie outside the equation's own range.
    [(10.0, 730.0, 0.40, 1.19569), (40.0, 760.0, 0.40, 1.11497)],
)
def test_the_density_of_damp_air_is_the_published_one(
    celsius: float, mm_hg: float, humidity: float, printed_mg_per_ml: float
) -> None:
    found = weather.damp_air_density(mm_hg * MM_HG_PA, celsius + 273.15, humidity)
    assert found == pytest.approx(printed_mg_per_ml, rel=1e-4)


@pytest.mark.parametrize("humidity", [0.0, 0.3, 0.9])
@pytest.mark.parametrize("celsius", [5.0, 20.0, 40.0])
@pytest.mark.parametrize("pressure_pa", [70e3, 98e3, 104e3])
def test_density_and_vapour_are_those_of_a_library_of_humid_air(
    pressure_pa: float, celsius: float, humidity: float
) -> None:
    state = ("T", celsius + 273.15, "P", pressure_pa, "R", humidity)
    ratio = coolprop.HAPropsSI("W", *state)
    known = (1.0 + ratio) / coolprop.HAPropsSI("Vda", *state)
    vapour = coolprop.HAPropsSI("Y", *state)

    found = weather.water_vapour_fraction(pressure_pa, celsius + 273.15, humidity)
    assert found == pytest.approx(vapour, rel=1e-3, abs=1e-12)
    assert weather.damp_air_density(pressure_pa, celsius + 273.15, humidity) == pytest.approx(
        known, rel=1.5e-4
    )


@pytest.mark.parametrize(("celsius", "humidity"), [(12.0, 0.2), (20.0, 0.5), (28.0, 0.8)])
def test_the_short_formula_of_scales_agrees_within_its_own_error(
    celsius: float, humidity: float
) -> None:
    """OIML R 111, E.3: (0.34848 p - 0.009 h exp(0.061 t))/(273.15 + t), hPa and % (memory)."""
    short = (0.34848 * 1000.0 - 0.9 * humidity * math.exp(0.061 * celsius)) / (273.15 + celsius)
    found = weather.damp_air_density(1e5, celsius + 273.15, humidity)
    assert found == pytest.approx(short, rel=3e-4)


def test_dry_air_of_the_standard_day_is_heavier_than_an_ideal_gas_by_its_compressibility() -> None:
    found = weather.damp_air_density(101325.0, 288.15, 0.0)
    factor = weather.damp_air_compressibility(101325.0, 288.15, 0.0)
    # ISO 2533 counts with an ideal gas and 314e-6 of carbon dioxide: 1.225 kg/m3.
    assert factor == pytest.approx(1.0 - 4.1e-4, abs=5e-5)
    assert found * factor == pytest.approx(standard_density(0.0), rel=1e-4)
