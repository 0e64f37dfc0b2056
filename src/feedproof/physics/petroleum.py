"""
Density of petroleum fuels over temperature by ASTM D1250 table 54B.

A case holds a straight line (`feedproof.physics.fuel.linear_density`); this table is what volumes
caught at another temperature are reduced with, and what the straight line is checked against.
"""

import math

from feedproof.core.compiled import formula

_ZERO_CELSIUS_K = 273.15


@formula
def product_group_constants(density_15c: float) -> tuple[float, float]:
    """
    Give K0 and K1 of the product group of a density (ASTM D1250 table 54B).

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].

    Returns
    -------
    tuple of float and float
        K0 [kg2/m6/K] and K1 [kg/m3/K]; not a number in the transition zone from 770 to 788,
        which has a formula of its own.

    Notes
    -----
    Petrol below 770, jet fuel and light diesel to 838.3, gas oil and fuel oil above.  Diesel
    straddles the last limit.  Editions print limits that differ by 1 kg/m3; at 838.3 the two
    groups agree within 2e-7 per kelvin.
    """
    if density_15c < 770.0:
        return 346.4228, 0.4388
    if density_15c < 788.0:
        return math.nan, math.nan
    if density_15c < 838.3:
        return 594.5418, 0.0
    return 186.9696, 0.4862


@formula
def expansion_coefficient_54b(density_15c: float) -> float:
    """
    Give the expansion coefficient at 15 degrees Celsius of a petroleum product.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius, 653 to 1075 [kg/m3].

    Returns
    -------
    float
        Coefficient [1/K].

    Notes
    -----
    ASTM D1250-80 / API MPMS 11.1 table 54B, a = K0/r^2 + K1/r; in the transition zone
    a = -0.00336312 + 2680.3206/r^2 (memory).  For petroleum only: not for B100 or paraffinic fuel
    to EN 15940 without a check.
    """
    if 770.0 <= density_15c < 788.0:
        return -0.00336312 + 2680.3206 / (density_15c * density_15c)
    k0, k1 = product_group_constants(density_15c)
    return k0 / (density_15c * density_15c) + k1 / density_15c


@formula
def volume_correction_factor(density_15c: float, temperature_k: float) -> float:
    """
    Give the factor that reduces a volume to 15 degrees Celsius.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].
    temperature_k : float
        Fuel temperature [K].

    Returns
    -------
    float
        Volume at 15 degrees Celsius over the volume as read [1].

    Notes
    -----
    ASTM D1250-80 / API MPMS 11.1 table 54B, exp(-a dt (1 + 0.8 a dt)).
    """
    a = expansion_coefficient_54b(density_15c)
    rise_k = temperature_k - _ZERO_CELSIUS_K - 15.0
    return math.exp(-a * rise_k * (1.0 + 0.8 * a * rise_k))


@formula
def petroleum_density(density_15c: float, temperature_k: float) -> float:
    """
    Give the density of a petroleum fuel by ASTM D1250 table 54B.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].
    temperature_k : float
        Fuel temperature [K].

    Returns
    -------
    float
        Density [kg/m3].
    """
    return density_15c * volume_correction_factor(density_15c, temperature_k)
