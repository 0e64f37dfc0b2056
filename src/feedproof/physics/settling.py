"""Drops and grains that sink in fuel, slowly enough for Stokes' law."""

from feedproof.core.compiled import formula
from feedproof.physics.atmosphere import STANDARD_GRAVITY_M_PER_S2

# Stokes' drag is 2 % low at this Reynolds number (Oseen's next term, 3/16 Re: memory).
LARGEST_REYNOLDS = 0.1


@formula
def stokes_settling_speed(
    particle_size_m: float,
    particle_density_kg_per_m3: float,
    fluid_density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
) -> float:
    """
    Give the speed at which a small sphere sinks.

    Parameters
    ----------
    particle_size_m : float
        Diameter [m].
    particle_density_kg_per_m3 : float
        Density of the sphere [kg/m3].
    fluid_density_kg_per_m3 : float
        Density of the fluid [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity of the fluid [Pa s].

    Returns
    -------
    float
        Speed, negative where it rises [m/s].

    Notes
    -----
    Stokes: g (rho_p - rho) d^2/(18 mu), for a Reynolds number of the particle up to about 0.1
    (`settling_reynolds`).  A drop of water counts as rigid: dirt on its skin sees to that.
    """
    lighter = particle_density_kg_per_m3 - fluid_density_kg_per_m3
    weight = STANDARD_GRAVITY_M_PER_S2 * lighter
    return weight * particle_size_m**2 / (18.0 * dynamic_viscosity_pa_s)


@formula
def settling_reynolds(
    particle_size_m: float,
    speed_m_per_s: float,
    fluid_density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
) -> float:
    """
    Give the Reynolds number of a particle that moves through a fluid.

    Parameters
    ----------
    particle_size_m : float
        Diameter [m].
    speed_m_per_s : float
        Speed relative to the fluid [m/s].
    fluid_density_kg_per_m3 : float
        Density of the fluid [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity of the fluid [Pa s].

    Returns
    -------
    float
        Reynolds number [1].
    """
    return fluid_density_kg_per_m3 * abs(speed_m_per_s) * particle_size_m / dynamic_viscosity_pa_s
