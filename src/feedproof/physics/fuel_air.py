"""
Air that a fuel of a case can hold: its own coefficient at 20 degrees Celsius, by temperature.

A grade brings the coefficient that ASTM D2779 gives for its density; a fuel with figures of its
own states one.  Both are read as values at 20 degrees Celsius.
"""

from feedproof.case.fuel import Fuel
from feedproof.physics.fuel import ostwald_air_coefficient, ostwald_at_temperature
from feedproof.physics.fuel_ranges import dissolved_air_range_faults

REFERENCE_TEMPERATURE_K = 293.15
# Road diesel as tables have it; aromatic fuel stands at the high end for its density.
COMMON_RANGE = (0.10, 0.20)
# How far measurements lie from the formula: 10 % for oxygen in a jet fuel from -20 to
# 40 degrees (abstract of a published measurement), 20 to 30 % for light paraffinic fuel.
FORMULA_UNCERTAINTY_FRACTION = 0.25


def ostwald_of_density(density_15c: float) -> float:
    """
    Give the coefficient at 20 degrees Celsius of a petroleum fuel of which the density is known.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius, 630 to 900 [kg/m3].

    Returns
    -------
    float
        Ostwald coefficient of air by ASTM D2779, from memory [1].

    Examples
    --------
    >>> round(ostwald_of_density(838.0), 3)
    0.122
    """
    return float(ostwald_air_coefficient(REFERENCE_TEMPERATURE_K, density_15c))


def ostwald_of_fuel(fuel: Fuel, temperature_k: float) -> float:
    """
    Give the coefficient of a fuel of a case at a temperature.

    Parameters
    ----------
    fuel : Fuel
        With its coefficient at 20 degrees Celsius.
    temperature_k : float
        Fuel temperature, 228 to 423 [K].

    Returns
    -------
    float
        Ostwald coefficient of air [1].
    """
    return float(ostwald_at_temperature(fuel.ostwald_air, temperature_k))


def air_range_faults(fuel: Fuel, temperature_k: float) -> list[str]:
    """
    Say in words where the air that a fuel can hold leaves its sources.

    Parameters
    ----------
    fuel : Fuel
        A fuel of a case.
    temperature_k : float
        Fuel temperature [K].

    Returns
    -------
    list of str
        One sentence per departure: from the scope of ASTM D2779, or of the stated coefficient
        from what the formula gives for the fuel's density.
    """
    density = fuel.density_15c_kg_per_m3
    faults = dissolved_air_range_faults(temperature_k, density)
    expected = ostwald_of_density(density)
    stated = fuel.ostwald_air
    if abs(stated / expected - 1.0) > FORMULA_UNCERTAINTY_FRACTION:
        faults.append(
            f"Ostwald coefficient {stated:.3f} of {fuel.name} differs by more than"
            f" {100 * FORMULA_UNCERTAINTY_FRACTION:.0f} % from {expected:.3f}, what ASTM D2779"
            f" gives for {density:.0f} kg/m3 at 20 degC: measured, or a slip?"
        )
    return faults
