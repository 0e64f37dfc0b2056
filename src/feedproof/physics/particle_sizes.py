"""
Particles by size: counts that fall as a power of the size, and the mass of spheres among them.

Between two counted sizes the cumulative count is a straight line in log-log; that is common
practice for interpolation and a guess for the tails, which no counter has seen.
"""

import math

from feedproof.core.compiled import formula

DUST_DENSITY_KG_PER_M3 = 2650.0
"""True density of Arizona dust and quartz, ISO 12103-1: 2.65 g/cm3 on a public page (seen)."""


@formula
def count_exponent(
    small_m: float, large_m: float, count_small_per_m3: float, count_large_per_m3: float
) -> float:
    """
    Give how steeply the cumulative count falls between two sizes.

    Parameters
    ----------
    small_m : float
        Smaller size, above 0 [m].
    large_m : float
        Larger size [m].
    count_small_per_m3 : float
        Particles larger than the smaller size, above 0 [1/m3].
    count_large_per_m3 : float
        Particles larger than the larger size, above 0 [1/m3].

    Returns
    -------
    float
        Exponent a of N = C d^-a, not negative for counts that do not rise [1].
    """
    return math.log(count_small_per_m3 / count_large_per_m3) / math.log(large_m / small_m)


@formula
def count_above(
    particle_size_m: float, known_size_m: float, known_count_per_m3: float, exponent: float
) -> float:
    """
    Give the particles larger than a size from those larger than a known one.

    Parameters
    ----------
    particle_size_m : float
        Size, above 0 [m].
    known_size_m : float
        Size whose count is known [m].
    known_count_per_m3 : float
        Particles larger than the known size [1/m3].
    exponent : float
        Exponent of the fall [1].

    Returns
    -------
    float
        Cumulative count, N (d/d0)^-a [1/m3].
    """
    return known_count_per_m3 * math.pow(particle_size_m / known_size_m, -exponent)


@formula
def sphere_mass_between(
    small_m: float,
    large_m: float,
    count_small_per_m3: float,
    exponent: float,
    density_kg_per_m3: float,
    shape_ratio: float,
) -> float:
    """
    Give the mass of the particles between two sizes where the count falls as a power.

    Parameters
    ----------
    small_m : float
        Smaller size [m].
    large_m : float
        Larger size [m].
    count_small_per_m3 : float
        Particles larger than the smaller size [1/m3].
    exponent : float
        Exponent of the fall [1].
    density_kg_per_m3 : float
        True density of the particles [kg/m3].
    shape_ratio : float
        Volume of a particle over that of a sphere of its counted size; 1 is the sphere [1].

    Returns
    -------
    float
        Mass per volume of fuel [kg/m3].

    Notes
    -----
    The integral of pi/6 rho d^3 over -dN with N = N1 (d/d1)^-a, exact.  A real particle is flat
    or broken: with spheres the mass is good to a factor of two at best.
    """
    stretch = math.log(large_m / small_m)
    power = (3.0 - exponent) * stretch
    # (e^x - 1)/x, which is 1 where the exponent is 3.
    mean = math.expm1(power) / power if abs(power) > 1e-12 else 1.0
    one = density_kg_per_m3 * shape_ratio * math.pi / 6.0 * small_m**3
    return one * exponent * count_small_per_m3 * stretch * mean


@formula
def sphere_mass(particle_size_m: float, density_kg_per_m3: float) -> float:
    """
    Give the mass of one sphere.

    Parameters
    ----------
    particle_size_m : float
        Diameter [m].
    density_kg_per_m3 : float
        True density [kg/m3].

    Returns
    -------
    float
        Mass [kg].
    """
    return density_kg_per_m3 * math.pi / 6.0 * particle_size_m**3
