"""
Viscosity of a blend of two fuels, and what a volume fraction is by mass and by mole.

The three viscosity rules differ: 5 and 20 mm2/s at 40 % give 8.1, 8.7 or 9.4.  Use them to bound,
not to replace a measurement.  Fractions are of the second fuel, by mass or by volume as the rule
says.
"""

import math

from feedproof.core.compiled import formula

_M2_PER_MM2 = 1e-6


@formula
def refutas_number(kinematic_viscosity_m2_per_s: float) -> float:
    """
    Give the viscosity blending number.

    Parameters
    ----------
    kinematic_viscosity_m2_per_s : float
        Kinematic viscosity, above 0.2e-6 [m2/s].

    Returns
    -------
    float
        14.534 ln ln(nu + 0.8) + 10.975 with nu in mm2/s; not a number below the range [1].

    Notes
    -----
    Refutas, as in Maples 2000.
    """
    inside = kinematic_viscosity_m2_per_s / _M2_PER_MM2 + 0.8
    if inside <= 1.0:
        return math.nan
    return 14.534 * math.log(math.log(inside)) + 10.975


@formula
def refutas_blend(nu1_m2_per_s: float, nu2_m2_per_s: float, mass_fraction_2: float) -> float:
    """
    Give the viscosity of a blend by blending numbers.

    Parameters
    ----------
    nu1_m2_per_s : float
        Kinematic viscosity of the first fuel [m2/s].
    nu2_m2_per_s : float
        Kinematic viscosity of the second fuel [m2/s].
    mass_fraction_2 : float
        Mass fraction of the second fuel, 0 to 1 [1].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    Refutas, as in Maples 2000.
    """
    number = (1.0 - mass_fraction_2) * refutas_number(nu1_m2_per_s)
    number += mass_fraction_2 * refutas_number(nu2_m2_per_s)
    return (math.exp(math.exp((number - 10.975) / 14.534)) - 0.8) * _M2_PER_MM2


@formula
def kendall_monroe_blend(
    nu1_m2_per_s: float, nu2_m2_per_s: float, volume_fraction_2: float
) -> float:
    """
    Give the viscosity of a blend by the mean of cube roots.

    Parameters
    ----------
    nu1_m2_per_s : float
        Kinematic viscosity of the first fuel [m2/s].
    nu2_m2_per_s : float
        Kinematic viscosity of the second fuel [m2/s].
    volume_fraction_2 : float
        Fraction of the second fuel, 0 to 1 [1].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    Kendall and Monroe 1917, from memory.
    """
    root = (1.0 - volume_fraction_2) * math.pow(nu1_m2_per_s, 1.0 / 3.0)
    root += volume_fraction_2 * math.pow(nu2_m2_per_s, 1.0 / 3.0)
    return root * root * root


@formula
def arrhenius_blend(nu1_m2_per_s: float, nu2_m2_per_s: float, volume_fraction_2: float) -> float:
    """
    Give the viscosity of a blend by the mean of logarithms.

    Parameters
    ----------
    nu1_m2_per_s : float
        Kinematic viscosity of the first fuel, above 0 [m2/s].
    nu2_m2_per_s : float
        Kinematic viscosity of the second fuel, above 0 [m2/s].
    volume_fraction_2 : float
        Fraction of the second fuel, 0 to 1 [1].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    Arrhenius 1887, from memory.
    """
    logarithm = (1.0 - volume_fraction_2) * math.log(nu1_m2_per_s)
    logarithm += volume_fraction_2 * math.log(nu2_m2_per_s)
    return math.exp(logarithm)


@formula
def mass_fraction(volume_fraction_2: float, density_1: float, density_2: float) -> float:
    """
    Give the mass fraction of the second fuel of a blend by volume.

    Parameters
    ----------
    volume_fraction_2 : float
        Fraction of the second fuel by volume, 0 to 1 [1].
    density_1 : float
        Density of the first fuel [kg/m3].
    density_2 : float
        Density of the second fuel at the same temperature [kg/m3].

    Returns
    -------
    float
        Mass fraction of the second fuel [1].

    Notes
    -----
    Definition; volumes are taken to add up.
    """
    mass_2 = volume_fraction_2 * density_2
    return mass_2 / ((1.0 - volume_fraction_2) * density_1 + mass_2)


@formula
def mole_fraction(
    volume_fraction_2: float,
    density_1: float,
    density_2: float,
    molar_mass_1: float,
    molar_mass_2: float,
) -> float:
    """
    Give the mole fraction of the second fuel of a blend by volume.

    Parameters
    ----------
    volume_fraction_2 : float
        Fraction of the second fuel by volume, 0 to 1 [1].
    density_1 : float
        Density of the first fuel [kg/m3].
    density_2 : float
        Density of the second fuel at the same temperature [kg/m3].
    molar_mass_1 : float
        Mean molar mass of the first fuel; diesel about 0.21 [kg/mol].
    molar_mass_2 : float
        Mean molar mass of the second fuel; petrol about 0.10 [kg/mol].

    Returns
    -------
    float
        Mole fraction of the second fuel [1].

    Notes
    -----
    Definition; the molar masses are from memory.  Times the second fuel's vapour pressure it is
    its partial pressure after Raoult, a screening figure.

    Examples
    --------
    >>> round(mole_fraction(0.05, 838.0, 745.0, 0.21, 0.10), 3)
    0.089
    """
    moles_1 = (1.0 - volume_fraction_2) * density_1 / molar_mass_1
    moles_2 = volume_fraction_2 * density_2 / molar_mass_2
    return moles_2 / (moles_1 + moles_2)
