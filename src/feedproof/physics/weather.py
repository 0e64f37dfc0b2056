"""
Weather: the air pressure on a day of high or low pressure, and the density of damp air.

The standard atmosphere knows one day only.  A deep low takes 3 to 5 kPa from the pressure on a
pump's inlet, as much as a fine add-on element does.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.atmosphere import (
    STANDARD_GRAVITY_M_PER_S2,
    STANDARD_PRESSURE_PA,
    STANDARD_TEMPERATURE_K,
    water_saturation_pressure,
)

_LAPSE_K_PER_M = 0.0065
_GAS_CONSTANT_J_PER_KG_K = 287.05287
_EXPONENT = STANDARD_GRAVITY_M_PER_S2 / (_GAS_CONSTANT_J_PER_KG_K * _LAPSE_K_PER_M)
_ZERO_CELSIUS_K = 273.15
# CIPM-2007: molar mass of dry air with 400e-6 of carbon dioxide over the gas constant.
_MOLAR_MASS_OVER_GAS_CONSTANT = 3.483740e-3
_VAPOUR_DEFICIT = 0.3780


@formula
def station_pressure(
    sea_level_abs_pa: float, geopotential_altitude_m: float, ground_temperature_k: float
) -> float:
    """
    Give the air pressure at a place from the map's sea-level pressure and the air's temperature.

    Parameters
    ----------
    sea_level_abs_pa : float
        Pressure reduced to sea level with the temperature of the day, as a weather map has it
        (QFF) [Pa].
    geopotential_altitude_m : float
        Altitude of the place, -400 to about 3000 [m].
    ground_temperature_k : float
        Air temperature at the place, above 0 [K].

    Returns
    -------
    float
        Absolute pressure [Pa]; 0 where the column would be colder than nothing.

    Notes
    -----
    Hydrostatic balance of a dry column with the lapse of ISO 2533, 6.5 K/km, below the place.
    Weather services reduce with damp air and rules of their own for inversions; hot damp air alone
    makes 0.1 kPa at 500 m.  At an airfield take `pressure_from_qnh`.
    """
    sea_level_k = ground_temperature_k + _LAPSE_K_PER_M * geopotential_altitude_m
    if sea_level_k <= 0.0 or ground_temperature_k <= 0.0:
        return 0.0
    return sea_level_abs_pa * math.pow(ground_temperature_k / sea_level_k, _EXPONENT)


@formula
def pressure_from_qnh(qnh_abs_pa: float, geopotential_altitude_m: float) -> float:
    """
    Give the air pressure at a place from an airfield's altimeter setting.

    Parameters
    ----------
    qnh_abs_pa : float
        Pressure reduced to sea level by the standard atmosphere, whatever the temperature
        (QNH) [Pa].
    geopotential_altitude_m : float
        Altitude of the place, -400 to about 6000 [m].

    Returns
    -------
    float
        Absolute pressure [Pa]; 0 above the height where the layer would end.

    Notes
    -----
    ICAO: the altimeter set to QNH shows the altitude, which makes the pressure that of the
    standard atmosphere moved in height.
    """
    at_qnh = math.pow(qnh_abs_pa / STANDARD_PRESSURE_PA, 1.0 / _EXPONENT)
    ratio = at_qnh - _LAPSE_K_PER_M * geopotential_altitude_m / STANDARD_TEMPERATURE_K
    if ratio <= 0.0:
        return 0.0
    return STANDARD_PRESSURE_PA * math.pow(ratio, _EXPONENT)


@formula
def water_vapour_fraction(
    pressure_abs_pa: float, temperature_k: float, relative_humidity_fraction: float
) -> float:
    """
    Give the mole fraction of water vapour in damp air.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure, above 0 [Pa].
    temperature_k : float
        Temperature, 273 to 320 [K].
    relative_humidity_fraction : float
        Relative humidity, 0 to 1 [1].

    Returns
    -------
    float
        Mole fraction [1]; 1 in a vacuum, where all that there is is vapour.

    Notes
    -----
    CIPM-2007 with its enhancement factor; the saturation pressure is that of IAPWS-IF97, which
    differs by less than 0.1 %.
    """
    if pressure_abs_pa <= 0.0:
        return 1.0
    celsius = temperature_k - _ZERO_CELSIUS_K
    enhancement = 1.00062 + 3.14e-8 * pressure_abs_pa + 5.6e-7 * celsius * celsius
    saturated = enhancement * water_saturation_pressure(temperature_k)
    return relative_humidity_fraction * saturated / pressure_abs_pa


@formula
def damp_air_compressibility(
    pressure_abs_pa: float, temperature_k: float, vapour_fraction: float
) -> float:
    """
    Give the compressibility factor of damp air.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    temperature_k : float
        Temperature, above 0 [K].
    vapour_fraction : float
        Mole fraction of water vapour [1].

    Returns
    -------
    float
        Factor, 0.9996 for air at 20 degrees Celsius and sea level [1].

    Notes
    -----
    CIPM-2007 (Picard et al., Metrologia 45 (2008) 149), appendix A.
    """
    celsius = temperature_k - _ZERO_CELSIUS_K
    over = pressure_abs_pa / temperature_k
    pure = 1.58123e-6 - 2.9331e-8 * celsius + 1.1043e-10 * celsius * celsius
    mixed = (5.707e-6 - 2.051e-8 * celsius) * vapour_fraction
    vapour = (1.9898e-4 - 2.376e-6 * celsius) * vapour_fraction * vapour_fraction
    square = 1.83e-11 - 0.765e-8 * vapour_fraction * vapour_fraction
    return 1.0 - over * (pure + mixed + vapour) + over * over * square


@formula
def damp_air_density(
    pressure_abs_pa: float, temperature_k: float, relative_humidity_fraction: float
) -> float:
    """
    Give the density of damp air.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure, 60e3 to 110e3 [Pa].
    temperature_k : float
        Temperature, 288 to 300 in the publication; the formula is used beyond [K].
    relative_humidity_fraction : float
        Relative humidity, 0 to 1 [1].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    CIPM-2007 (Picard et al., Metrologia 45 (2008) 149) with 400e-6 of carbon dioxide; relative
    standard uncertainty of the equation 2.2e-5 inside its range.

    Examples
    --------
    >>> round(damp_air_density(101325.0, 293.15, 0.5), 3)
    1.199
    """
    vapour = water_vapour_fraction(pressure_abs_pa, temperature_k, relative_humidity_fraction)
    factor = damp_air_compressibility(pressure_abs_pa, temperature_k, vapour)
    dry = _MOLAR_MASS_OVER_GAS_CONSTANT * pressure_abs_pa / (factor * temperature_k)
    return dry * (1.0 - _VAPOUR_DEFICIT * vapour)
