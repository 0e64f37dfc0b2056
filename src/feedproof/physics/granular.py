"""Beds of grains and wire screens: strainers, sintered discs, cakes of dirt."""

from feedproof.core.compiled import formula


@formula
def kozeny_carman_permeability(grain_m: float, porosity_ratio: float) -> float:
    """
    Give the permeability of a bed of spheres.

    Parameters
    ----------
    grain_m : float
        Diameter of the grains [m].
    porosity_ratio : float
        Void over whole volume [1].

    Returns
    -------
    float
        Permeability, e^3 d^2/(180 (1 - e)^2) [m2].

    Notes
    -----
    Carman's 180; Ergun's viscous part has 150 in its place and stands a sixth lower.
    """
    solid = 1.0 - porosity_ratio
    return porosity_ratio**3 * grain_m * grain_m / (180.0 * solid * solid)


@formula
def kozeny_carman_gradient(
    grain_m: float, porosity_ratio: float, face_m_per_s: float, dynamic_viscosity_pa_s: float
) -> float:
    """
    Give the pressure gradient of slow flow through a bed of spheres.

    Parameters
    ----------
    grain_m : float
        Diameter of the grains [m].
    porosity_ratio : float
        Void over whole volume [1].
    face_m_per_s : float
        Flow over area of the empty bed [m/s].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].

    Returns
    -------
    float
        Pressure loss per length [Pa/m].
    """
    permeability = kozeny_carman_permeability(grain_m, porosity_ratio)
    return dynamic_viscosity_pa_s * face_m_per_s / permeability


@formula
def ergun_gradient(
    grain_m: float,
    porosity_ratio: float,
    face_m_per_s: float,
    density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
) -> float:
    """
    Give the pressure gradient of flow through a bed of spheres, inertia with it.

    Parameters
    ----------
    grain_m : float
        Diameter of the grains [m].
    porosity_ratio : float
        Void over whole volume [1].
    face_m_per_s : float
        Flow over area of the empty bed [m/s].
    density_kg_per_m3 : float
        Density [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].

    Returns
    -------
    float
        Pressure loss per length [Pa/m].

    Notes
    -----
    Ergun 1952, coefficients 150 and 1.75.
    """
    solid = 1.0 - porosity_ratio
    void = porosity_ratio**3
    slow = 150.0 * solid * solid / void * dynamic_viscosity_pa_s * face_m_per_s / grain_m**2
    fast = 1.75 * solid / void * density_kg_per_m3 * face_m_per_s * abs(face_m_per_s) / grain_m
    return slow + fast


@formula
def wire_screen_coefficient(open_ratio: float, wire_reynolds: float) -> float:
    """
    Give the loss coefficient of a screen of round wires.

    Parameters
    ----------
    open_ratio : float
        Open over whole area, 0.05 to 0.8 [1].
    wire_reynolds : float
        Reynolds number by the gap between the wires; constant below 20 and above 400, where the
        table ends [1].

    Returns
    -------
    float
        Coefficient of the approach velocity [1].

    Notes
    -----
    Blevins 1984, straight between the points of his table (read from the fluids library).  Below
    Re 20 the true loss grows as 1/Re: for a suction strainer take `element_pressure_loss`.
    """
    table = (
        (20.0, 1.3),
        (30.0, 1.1),
        (40.0, 0.95),
        (60.0, 0.83),
        (80.0, 0.75),
        (100.0, 0.7),
        (200.0, 0.6),
        (400.0, 0.52),
    )
    factor = table[0][1]
    for i in range(len(table) - 1):
        low, high = table[i], table[i + 1]
        if wire_reynolds > low[0]:
            share = min((wire_reynolds - low[0]) / (high[0] - low[0]), 1.0)
            factor = low[1] + (high[1] - low[1]) * share
    square = open_ratio * open_ratio
    return factor * (1.0 - square) / square
