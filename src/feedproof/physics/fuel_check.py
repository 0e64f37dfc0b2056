"""What a fuel of a case asks of its formulas beyond their sources, all at once, in words."""

from feedproof.case.fuel import Fuel
from feedproof.physics.fuel_air import air_range_faults
from feedproof.physics.fuel_ranges import density_range_faults, viscosity_point_faults


def fuel_faults(fuel: Fuel, temperature_k: float) -> list[str]:
    """
    Say in words where a fuel leaves the ranges of viscosity, density and dissolved air.

    Parameters
    ----------
    fuel : Fuel
        A fuel of a case.
    temperature_k : float
        Fuel temperature that is asked about [K].

    Returns
    -------
    list of str
        One sentence per departure; empty where every formula stands on its source.  Wax is not
        told here: below the cloud point the line itself reckons with it.
    """
    viscosity = viscosity_point_faults(
        fuel.temperature_cool_k,
        fuel.viscosity_cool_m2_per_s,
        fuel.temperature_warm_k,
        fuel.viscosity_warm_m2_per_s,
    )
    density = density_range_faults(fuel.density_15c_kg_per_m3)
    return [*viscosity, *density, *air_range_faults(fuel, temperature_k)]
