"""
Single-fibre theory: pressure loss and catch of a layer of fibres in a slow liquid.

Screening of depth media from fibre size and solidity, for telling which way a change goes; an
element is rated by its test and not by this.  Coefficients are from memory of the papers named.
"""

import math

from feedproof.core.compiled import formula

BOLTZMANN_J_PER_K = 1.380649e-23


@formula
def kuwabara_factor(solidity_ratio: float) -> float:
    """
    Give Kuwabara's hydrodynamic factor of fibres across the flow.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume, up to about 0.3 [1].

    Returns
    -------
    float
        Ku [1].

    Notes
    -----
    Kuwabara 1959 (memory): -ln(a)/2 - 3/4 + a - a^2/4.
    """
    a = solidity_ratio
    return -0.5 * math.log(a) - 0.75 + a - 0.25 * a * a


@formula
def happel_factor(solidity_ratio: float) -> float:
    """
    Give Happel's hydrodynamic factor of fibres across the flow.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume [1].

    Returns
    -------
    float
        Ha [1].

    Notes
    -----
    Happel 1959 (memory): -ln(a)/2 - (1 - a^2)/(2 (1 + a^2)).
    """
    square = solidity_ratio * solidity_ratio
    return -0.5 * math.log(solidity_ratio) - (1.0 - square) / (2.0 * (1.0 + square))


@formula
def cell_drag(solidity_ratio: float, hydrodynamic_factor: float) -> float:
    """
    Give the dimensionless drag of a layer by a cell model.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume [1].
    hydrodynamic_factor : float
        Kuwabara's or Happel's factor [1].

    Returns
    -------
    float
        Pressure loss times fibre diameter squared over viscosity, speed and thickness [1].
    """
    return 16.0 * solidity_ratio / hydrodynamic_factor


@formula
def davies_drag(solidity_ratio: float) -> float:
    """
    Give the dimensionless drag of a layer by Davies' correlation.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume, 0.006 to 0.3 [1].

    Returns
    -------
    float
        Pressure loss times fibre diameter squared over viscosity, speed and thickness [1].

    Notes
    -----
    Davies 1953 (memory): 64 a^1.5 (1 + 56 a^3); real, unevenly laid fibres lie below the cells.
    """
    return 64.0 * math.pow(solidity_ratio, 1.5) * (1.0 + 56.0 * solidity_ratio**3)


@formula
def layer_pressure_loss(
    face_m_per_s: float,
    thickness_m: float,
    fibre_m: float,
    dynamic_viscosity_pa_s: float,
    drag: float,
) -> float:
    """
    Give the pressure loss of a layer of fibres.

    Parameters
    ----------
    face_m_per_s : float
        Flow over area [m/s].
    thickness_m : float
        Thickness of the layer [m].
    fibre_m : float
        Fibre diameter [m].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].
    drag : float
        Dimensionless drag [1].

    Returns
    -------
    float
        Pressure difference [Pa].
    """
    return drag * dynamic_viscosity_pa_s * face_m_per_s * thickness_m / (fibre_m * fibre_m)


@formula
def stokes_einstein_diffusivity(
    particle_size_m: float, temperature_k: float, dynamic_viscosity_pa_s: float
) -> float:
    """
    Give the diffusivity of a small sphere in a liquid.

    Parameters
    ----------
    particle_size_m : float
        Diameter [m].
    temperature_k : float
        Temperature [K].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].

    Returns
    -------
    float
        Diffusivity, k T/(3 pi mu d) [m2/s].
    """
    resistance = 3.0 * math.pi * dynamic_viscosity_pa_s * particle_size_m
    return BOLTZMANN_J_PER_K * temperature_k / resistance


@formula
def fibre_peclet(face_m_per_s: float, fibre_m: float, diffusivity_m2_per_s: float) -> float:
    """
    Give the Peclet number of a fibre.

    Parameters
    ----------
    face_m_per_s : float
        Flow over area [m/s].
    fibre_m : float
        Fibre diameter [m].
    diffusivity_m2_per_s : float
        Diffusivity of the particles [m2/s].

    Returns
    -------
    float
        U d/D [1].
    """
    return face_m_per_s * fibre_m / diffusivity_m2_per_s


@formula
def lee_liu_diffusion(solidity_ratio: float, hydrodynamic_factor: float, peclet: float) -> float:
    """
    Give the share of a fibre's frontal flow that diffusion cleans.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume [1].
    hydrodynamic_factor : float
        Kuwabara's factor [1].
    peclet : float
        Peclet number [1].

    Returns
    -------
    float
        Single-fibre efficiency [1].

    Notes
    -----
    Lee and Liu 1982 (memory): 1.6 ((1 - a)/Ku)^(1/3) Pe^(-2/3).
    """
    flow = math.pow((1.0 - solidity_ratio) / hydrodynamic_factor, 1.0 / 3.0)
    return 1.6 * flow * math.pow(peclet, -2.0 / 3.0)


@formula
def lee_liu_interception(
    solidity_ratio: float, hydrodynamic_factor: float, interception_ratio: float
) -> float:
    """
    Give the share of a fibre's frontal flow that particles of a size touch the fibre from.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume [1].
    hydrodynamic_factor : float
        Kuwabara's factor [1].
    interception_ratio : float
        Particle size over fibre diameter, up to about 1 [1].

    Returns
    -------
    float
        Single-fibre efficiency [1].

    Notes
    -----
    Lee and Liu 1982 (memory): 0.6 (1 - a)/Ku R^2/(1 + R).
    """
    r = interception_ratio
    return 0.6 * (1.0 - solidity_ratio) / hydrodynamic_factor * r * r / (1.0 + r)


@formula
def layer_penetration(
    solidity_ratio: float, fibre_efficiency: float, thickness_m: float, fibre_m: float
) -> float:
    """
    Give the share of the particles that passes a layer of fibres.

    Parameters
    ----------
    solidity_ratio : float
        Fibre volume over layer volume [1].
    fibre_efficiency : float
        Single-fibre efficiency of all mechanisms together [1].
    thickness_m : float
        Thickness of the layer [m].
    fibre_m : float
        Fibre diameter [m].

    Returns
    -------
    float
        Penetration, exp(-4 a E L/(pi (1 - a) df)) [1].
    """
    a = solidity_ratio
    return math.exp(-4.0 * a * fibre_efficiency * thickness_m / (math.pi * (1.0 - a) * fibre_m))
