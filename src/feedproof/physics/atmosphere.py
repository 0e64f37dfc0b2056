"""
Ambient air: standard pressure with altitude, and the dry part of a barometer reading.

The depression of a line hardly changes with altitude, the absolute pressure at the pump drops one
for one with the ambient: hence an absolute inlet limit.
"""

import math

from feedproof.core.compiled import formula

STANDARD_PRESSURE_PA = 101325.0
STANDARD_TEMPERATURE_K = 288.15
STANDARD_GRAVITY_M_PER_S2 = 9.80665
_LAPSE_K_PER_M = 0.0065
_GAS_CONSTANT_J_PER_KG_K = 287.05287
_EARTH_RADIUS_M = 6356766.0
_EXPONENT = STANDARD_GRAVITY_M_PER_S2 / (_GAS_CONSTANT_J_PER_KG_K * _LAPSE_K_PER_M)


@formula
def geopotential_altitude(geometric_altitude_m: float) -> float:
    """
    Give the geopotential altitude of a height above sea level.

    Parameters
    ----------
    geometric_altitude_m : float
        Height above sea level as a map shows it [m].

    Returns
    -------
    float
        Geopotential altitude [m].

    Notes
    -----
    ISO 2533; 1.3 m less at 3000 m.
    """
    return _EARTH_RADIUS_M * geometric_altitude_m / (_EARTH_RADIUS_M + geometric_altitude_m)


@formula
def standard_temperature(geopotential_altitude_m: float) -> float:
    """
    Give the temperature of the standard atmosphere.

    Parameters
    ----------
    geopotential_altitude_m : float
        Geopotential altitude, -2000 to 11000 [m].

    Returns
    -------
    float
        Temperature [K].

    Notes
    -----
    ISO 2533, lowest layer.
    """
    return STANDARD_TEMPERATURE_K - _LAPSE_K_PER_M * geopotential_altitude_m


@formula
def standard_pressure(geopotential_altitude_m: float) -> float:
    """
    Give the pressure of the standard atmosphere.

    Parameters
    ----------
    geopotential_altitude_m : float
        Geopotential altitude, -2000 to 11000 [m].

    Returns
    -------
    float
        Absolute pressure [Pa]; 0 above the height where the layer's temperature would vanish.

    Notes
    -----
    ISO 2533, lowest layer.

    Examples
    --------
    >>> round(standard_pressure(2500.0))
    74683
    """
    ratio = standard_temperature(geopotential_altitude_m) / STANDARD_TEMPERATURE_K
    if ratio <= 0.0:
        return 0.0
    return STANDARD_PRESSURE_PA * math.pow(ratio, _EXPONENT)


@formula
def air_density(pressure_abs_pa: float, temperature_k: float) -> float:
    """
    Give the density of dry air.

    Parameters
    ----------
    pressure_abs_pa : float
        Absolute pressure [Pa].
    temperature_k : float
        Temperature, above 0 [K].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    Ideal gas with the gas constant of ISO 2533.
    """
    return pressure_abs_pa / (_GAS_CONSTANT_J_PER_KG_K * temperature_k)


@formula
def standard_density(geopotential_altitude_m: float) -> float:
    """
    Give the density of the standard atmosphere.

    Parameters
    ----------
    geopotential_altitude_m : float
        Geopotential altitude, -2000 to 11000 [m].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    ISO 2533, lowest layer.
    """
    return air_density(
        standard_pressure(geopotential_altitude_m), standard_temperature(geopotential_altitude_m)
    )


@formula
def water_saturation_pressure(temperature_k: float) -> float:
    """
    Give the saturation pressure of water vapour over liquid water.

    Parameters
    ----------
    temperature_k : float
        Temperature, 273.15 to 647.096 [K].

    Returns
    -------
    float
        Absolute pressure [Pa].

    Notes
    -----
    IAPWS-IF97, region 4.  Below 273.15 K it follows supercooled water, which is what relative
    humidity refers to by convention; that end is an extrapolation.
    """
    theta = temperature_k - 0.23855557567849 / (temperature_k - 650.17534844798)
    square = theta * theta
    a = square + 1167.0521452767 * theta - 724213.16703206
    b = -17.073846940092 * square + 12020.824702470 * theta - 3232555.0322333
    c = 14.915108613530 * square - 4823.2657361591 * theta + 405113.40542057
    root = 2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))
    return 1e6 * root**4


@formula
def dry_pressure(
    barometer_abs_pa: float, temperature_k: float, relative_humidity_fraction: float
) -> float:
    """
    Give the pressure of the dry air in a barometer reading.

    Parameters
    ----------
    barometer_abs_pa : float
        Absolute pressure read [Pa].
    temperature_k : float
        Temperature of the same air [K].
    relative_humidity_fraction : float
        Relative humidity, 0 to 1 [1].

    Returns
    -------
    float
        Absolute pressure of the dry part [Pa].
    """
    return barometer_abs_pa - relative_humidity_fraction * water_saturation_pressure(temperature_k)


def altitude_range_faults(geopotential_altitude_m: float) -> list[str]:
    """
    Say in words where an altitude leaves the lowest layer of ISO 2533.

    Parameters
    ----------
    geopotential_altitude_m : float
        Geopotential altitude [m].

    Returns
    -------
    list of str
        One sentence, or none inside the layer.
    """
    if -2000.0 <= geopotential_altitude_m <= 11000.0:
        return []
    return [
        f"altitude {geopotential_altitude_m:g} m lies outside -2000 to 11000 m"
        " (ISO 2533, lowest layer)"
    ]
