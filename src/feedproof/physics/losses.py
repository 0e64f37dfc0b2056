"""
Pressure loss of a straight pipe, and the flow numbers it needs.

Flow is positive from tank to pump; a loss has the sign of its flow, so a line that runs backwards
gains by the same amount.
"""

import math

from feedproof.core.compiled import formula
from feedproof.physics.friction import (
    RULE_CHURCHILL,
    joined_friction_factor,
    transition_end_factor,
    transition_start,
)


@formula
def mean_velocity(flow_m3_per_s: float, bore_m: float) -> float:
    """
    Give the mean velocity in a round bore.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    bore_m : float
        Inner diameter, above 0 [m].

    Returns
    -------
    float
        Velocity with the sign of the flow [m/s].
    """
    return flow_m3_per_s / (0.25 * math.pi * bore_m * bore_m)


@formula
def reynolds_number(
    flow_m3_per_s: float, bore_m: float, kinematic_viscosity_m2_per_s: float
) -> float:
    """
    Give the Reynolds number of a flow in a round bore.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, either sign [m3/s].
    bore_m : float
        Inner diameter, above 0 [m].
    kinematic_viscosity_m2_per_s : float
        Kinematic viscosity at the local temperature, above 0 [m2/s].

    Returns
    -------
    float
        Reynolds number, never negative [1].

    Examples
    --------
    8 mm bore, 120 L/h, 3 mm2/s:

    >>> round(reynolds_number(120e-3 / 3600.0, 8e-3, 3e-6), 3)
    1768.388
    """
    return 4.0 * abs(flow_m3_per_s) / (math.pi * bore_m * kinematic_viscosity_m2_per_s)


@formula
def laminar_pipe_resistance(length_m: float, bore_m: float, dynamic_viscosity_pa_s: float) -> float:
    """
    Give the loss of developed laminar flow over its flow (Hagen-Poiseuille).

    Parameters
    ----------
    length_m : float
        Length [m].
    bore_m : float
        Inner diameter, above 0 [m].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity at the local temperature [Pa s].

    Returns
    -------
    float
        Resistance [Pa s/m3].
    """
    return 128.0 * dynamic_viscosity_pa_s * length_m / (math.pi * bore_m**4)


@formula
def is_laminar(reynolds: float, rule: int) -> bool:
    """
    Say whether a rule takes the laminar law, exactly.

    Parameters
    ----------
    reynolds : float
        Reynolds number [1].
    rule : int
        Code of a `feedproof.physics.friction.FrictionRule` [1].

    Returns
    -------
    bool
        True where the friction factor is 64/Re to the last digit.
    """
    return reynolds <= 1.0 or (rule != RULE_CHURCHILL and reynolds <= transition_start(rule))


@formula
def dynamic_pressure(flow_m3_per_s: float, bore_m: float, density_kg_per_m3: float) -> float:
    """
    Give half the density times the square of the mean velocity, with the sign of the flow.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    bore_m : float
        Inner diameter, above 0 [m].
    density_kg_per_m3 : float
        Density [kg/m3].

    Returns
    -------
    float
        Pressure [Pa].
    """
    velocity = mean_velocity(flow_m3_per_s, bore_m)
    return 0.5 * density_kg_per_m3 * velocity * abs(velocity)


@formula
def pipe_pressure_loss(
    flow_m3_per_s: float,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
    rule: int,
) -> float:
    """
    Give the friction loss of a straight round pipe (Darcy-Weisbach).

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    length_m : float
        Length [m].
    bore_m : float
        Inner diameter, above 0 [m].
    roughness_m : float
        Equivalent sand roughness of the wall [m].
    density_kg_per_m3 : float
        Density at the local temperature [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity at the local temperature, above 0 [Pa s].
    rule : int
        Code of a `feedproof.physics.friction.FrictionRule` [1].

    Returns
    -------
    float
        Pressure difference with the sign of the flow; 0 at rest [Pa].

    Notes
    -----
    Developed flow.  A short hose runs above it: see `entrance_loss_ratio`.  The loss always rises
    with flow and with a smaller bore; with viscosity it rises inside one regime only, since warm
    fuel may turn turbulent and cost more than cold.
    """
    reynolds = reynolds_number(flow_m3_per_s, bore_m, dynamic_viscosity_pa_s / density_kg_per_m3)
    return pipe_pressure_loss_with_end(
        flow_m3_per_s,
        length_m,
        bore_m,
        roughness_m,
        density_kg_per_m3,
        dynamic_viscosity_pa_s,
        rule,
        transition_end_factor(reynolds, roughness_m / bore_m, rule),
    )


@formula
def pipe_pressure_loss_with_end(
    flow_m3_per_s: float,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    density_kg_per_m3: float,
    dynamic_viscosity_pa_s: float,
    rule: int,
    end_factor: float,
) -> float:
    """
    Give the friction loss of a straight round pipe whose transition's end is known.

    Parameters
    ----------
    flow_m3_per_s : float
        Volume flow, signed [m3/s].
    length_m : float
        Length [m].
    bore_m : float
        Inner diameter, above 0 [m].
    roughness_m : float
        Equivalent sand roughness of the wall [m].
    density_kg_per_m3 : float
        Density at the local temperature [kg/m3].
    dynamic_viscosity_pa_s : float
        Dynamic viscosity at the local temperature, above 0 [Pa s].
    rule : int
        Code of a `feedproof.physics.friction.FrictionRule` [1].
    end_factor : float
        Turbulent friction factor at the end of the rule's transition [1].

    Returns
    -------
    float
        Pressure difference with the sign of the flow; 0 at rest [Pa].
    """
    reynolds = reynolds_number(flow_m3_per_s, bore_m, dynamic_viscosity_pa_s / density_kg_per_m3)
    if is_laminar(reynolds, rule):
        # Written out: 64/Re times a velocity squared costs more and loses digits near rest.
        return laminar_pipe_resistance(length_m, bore_m, dynamic_viscosity_pa_s) * flow_m3_per_s
    factor = joined_friction_factor(reynolds, roughness_m / bore_m, rule, end_factor)
    head = dynamic_pressure(flow_m3_per_s, bore_m, density_kg_per_m3)
    return factor * length_m / bore_m * head


@formula
def laminar_apparent_friction_product(dimensionless_length: float) -> float:
    """
    Give the mean Fanning factor times Reynolds number from a square inlet on.

    Parameters
    ----------
    dimensionless_length : float
        (L/d)/Re, above 0 [1].

    Returns
    -------
    float
        Apparent product f Re of Fanning's factor; 16 far from the inlet [1].  Infinite at the
        inlet itself.

    Notes
    -----
    Shah and London 1978, round pipe, laminar, from memory: a check against its digits proves that
    it is coded as written, not that the book prints it so.
    """
    if dimensionless_length <= 0.0:
        return math.inf
    near = 3.44 / math.sqrt(dimensionless_length)
    far = 1.25 / (4.0 * dimensionless_length) + 16.0
    return near + (far - near) / (1.0 + 2.1e-4 / (dimensionless_length * dimensionless_length))


@formula
def entrance_loss_ratio(length_m: float, bore_m: float, reynolds: float) -> float:
    """
    Give the laminar loss of a pipe with its inlet over that of developed flow.

    Parameters
    ----------
    length_m : float
        Length from the inlet [m].
    bore_m : float
        Inner diameter [m].
    reynolds : float
        Reynolds number, below about 2000 [1].

    Returns
    -------
    float
        Ratio, 1 for a long pipe or at rest [1].

    Notes
    -----
    Source and standing as in `laminar_apparent_friction_product`.
    """
    if reynolds <= 0.0:
        return 1.0
    return laminar_apparent_friction_product(length_m / bore_m / reynolds) / 16.0
