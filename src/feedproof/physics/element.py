"""
Filter element: loss, growth by captured dirt, wax in the media.

Only the viscous part of an element scales with viscosity and grows with dirt or wax; the inertial
part of head and ports does neither.  A coarse separator is therefore nearly blind to temperature
and a fine element is not.
"""

import math

from feedproof.core.compiled import formula

# Reference scenario: resistance at the cold filter plugging point over that of clear fuel.
WAX_GROWTH_AT_PLUGGING_POINT = 9.0


@formula
def element_pressure_loss(
    flow_m3_per_s: float,
    media_resistance_1_per_m: float,
    area_m2: float,
    growth_ratio: float,
    wax_ratio: float,
    housing_viscous_1_per_m3: float,
    housing_inertial_1_per_m4: float,
    density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
) -> float:
    """
    Give the pressure loss of a filter element with its housing.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    media_resistance_1_per_m : float
        Resistance of the clean media, pressure over viscosity and face velocity [1/m].
    area_m2 : float
        Media area [m2].
    growth_ratio : float
        Media resistance over that of the clean media, 1 when clean [1].
    wax_ratio : float
        Multiplier of the media resistance by wax, 1 above the cloud point [1].
    housing_viscous_1_per_m3 : float
        Viscous part of head and ports [1/m3].
    housing_inertial_1_per_m4 : float
        Inertial part of head and ports [1/m4].
    density_kg_per_m3 : float
        Density [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity [Pa s].

    Returns
    -------
    float
        Pressure difference with the sign of the flow [Pa].

    Notes
    -----
    mu (R/A G W + a) Q + rho b Q^2: Darcy's law for the media, a quadratic for the head.  The form
    is common practice; its coefficients are fitted to at least three points of a measured curve.
    """
    media = media_resistance_1_per_m / area_m2 * growth_ratio * wax_ratio
    viscous = dynamic_viscosity_pa_s * (media + housing_viscous_1_per_m3) * flow_m3_per_s
    inertial = density_kg_per_m3 * housing_inertial_1_per_m4 * flow_m3_per_s * abs(flow_m3_per_s)
    return viscous + inertial


@formula
def check_valve_pressure_loss(
    flow_m3_per_s: float,
    opening_pressure_pa: float,
    inertial_1_per_m4: float,
    density_kg_per_m3: float,
) -> float:
    """
    Give the pressure loss of an open check valve or hand primer.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    opening_pressure_pa : float
        Pressure difference at which it opens [Pa].
    inertial_1_per_m4 : float
        Inertial coefficient [1/m4].
    density_kg_per_m3 : float
        Density [kg/m3].

    Returns
    -------
    float
        Pressure difference [Pa]; 0 at rest.  Not zero for the smallest flow: the valve costs its
        opening pressure however slow the fuel.

    Notes
    -----
    Odd in the flow for the sake of solvers; that a real valve shuts against reverse flow is for
    the network to know.
    """
    if flow_m3_per_s == 0.0:
        return 0.0
    loss = opening_pressure_pa + density_kg_per_m3 * inertial_1_per_m4 * flow_m3_per_s**2
    return math.copysign(loss, flow_m3_per_s)


@formula
def media_growth(captured_mass_kg: float, loading_scale_kg: float) -> float:
    """
    Give the growth of media resistance by intermediate blocking, exp(m/mk).

    Parameters
    ----------
    captured_mass_kg : float
        Dirt held [kg].
    loading_scale_kg : float
        Mass that multiplies the resistance by e [kg]; 0, negative or infinite means an element
        that does not load.

    Returns
    -------
    float
        Ratio to the clean media [1]; infinite beyond the range of a float.

    Notes
    -----
    Constant-flow form of the intermediate blocking law (Hermia 1982, memory); flat, then a knee,
    as real curves are.
    """
    if loading_scale_kg <= 0.0 or math.isinf(loading_scale_kg):
        return 1.0
    exponent = captured_mass_kg / loading_scale_kg
    if exponent > 700.0:
        return math.inf
    return math.exp(exponent)


@formula
def cake_growth(captured_mass_kg: float, loading_scale_kg: float) -> float:
    """
    Give the growth of media resistance by a cake, 1 + m/mc.

    Parameters
    ----------
    captured_mass_kg : float
        Dirt held [kg].
    loading_scale_kg : float
        Mass that doubles the resistance [kg]; 0, negative or infinite means no growth.

    Returns
    -------
    float
        Ratio to the clean media [1].

    Notes
    -----
    Cake filtration at constant flow (Hermia 1982, memory).
    """
    if loading_scale_kg <= 0.0:
        return 1.0
    return 1.0 + captured_mass_kg / loading_scale_kg


@formula
def standard_growth(captured_mass_kg: float, loading_scale_kg: float) -> float:
    """
    Give the growth of media resistance by pores that narrow, (1 - m/ms)^-2.

    Parameters
    ----------
    captured_mass_kg : float
        Dirt held [kg].
    loading_scale_kg : float
        Mass that shuts the media [kg]; 0, negative or infinite means no growth.

    Returns
    -------
    float
        Ratio to the clean media [1]; infinite once shut.

    Notes
    -----
    Standard blocking at constant flow (Hermia 1982, memory).
    """
    if loading_scale_kg <= 0.0:
        return 1.0
    open_fraction = 1.0 - captured_mass_kg / loading_scale_kg
    if open_fraction <= 0.0:
        return math.inf
    return 1.0 / (open_fraction * open_fraction)


@formula
def complete_growth(captured_mass_kg: float, loading_scale_kg: float) -> float:
    """
    Give the growth of media resistance by pores that close, 1/(1 - m/mb).

    Parameters
    ----------
    captured_mass_kg : float
        Dirt held [kg].
    loading_scale_kg : float
        Mass that shuts the media [kg]; 0, negative or infinite means no growth.

    Returns
    -------
    float
        Ratio to the clean media [1]; infinite once shut.

    Notes
    -----
    Complete blocking at constant flow (Hermia 1982, memory).
    """
    if loading_scale_kg <= 0.0:
        return 1.0
    open_fraction = 1.0 - captured_mass_kg / loading_scale_kg
    if open_fraction <= 0.0:
        return math.inf
    return 1.0 / open_fraction


@formula
def wax_multiplier(temperature_k: float, cloud_point_k: float, cfpp_k: float) -> float:
    """
    Give the multiplier of media resistance by wax below the cloud point.

    Parameters
    ----------
    temperature_k : float
        Fuel temperature [K].
    cloud_point_k : float
        Cloud point [K].
    cfpp_k : float
        Cold filter plugging point [K].

    Returns
    -------
    float
        Ratio, 1 at and above the cloud point, 10 at the plugging point [1].

    Notes
    -----
    Invented screening law of the reference scenario, 1 + 9 ((tcp - t)/max(tcp - tcfpp, 1))^2: it
    says that a cold start is at risk, not when the element plugs.  The plugging point is found on
    a coarse mesh; a fine element plugs nearer to the cloud point.
    """
    below = cloud_point_k - temperature_k
    if below <= 0.0:
        return 1.0
    share = below / max(cloud_point_k - cfpp_k, 1.0)
    return 1.0 + WAX_GROWTH_AT_PLUGGING_POINT * share * share


@formula
def media_resistance_from_air(
    pressure_difference_pa: float, face_velocity_m_per_s: float, air_viscosity_pa_s: float
) -> float:
    """
    Give the media resistance from an air permeability datum.

    Parameters
    ----------
    pressure_difference_pa : float
        Pressure difference of the permeability test, often 200 [Pa].
    face_velocity_m_per_s : float
        Air flow per area; 1 L/(m2 s) is 0.001 [m/s].
    air_viscosity_pa_s : float
        Dynamic viscosity of the test's air, about 1.8e-5 [Pa s].

    Returns
    -------
    float
        Resistance [1/m].

    Notes
    -----
    Darcy's law.  Gas slip in fine media makes the air value low: screening only.
    """
    return pressure_difference_pa / (air_viscosity_pa_s * face_velocity_m_per_s)
