"""
What one link of a network does: loss, flow and their slopes, in both directions.

The losses are those of a chain (`feedproof.feedline.solve`), continued to reversed flow with the
other sign; valves and lift pumps are curves that rise throughout, so every network has one state.
"""

import math

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.network_plan import Records
from feedproof.feedline.plan import FluidPlan
from feedproof.physics.friction import joined_friction_factor
from feedproof.physics.friction_slope import joined_exponent
from feedproof.physics.losses import (
    dynamic_pressure,
    is_laminar,
    laminar_pipe_resistance,
    reynolds_number,
)

FloatArray = NDArray[np.float64]

# What a shut valve lets through [Pa s/m3]: 500 kPa press 5e-13 m3/s through it, far below a
# millionth of any feed flow, and the pressure behind it still has one value.
LEAK_PA_S_PER_M3 = 1e18
# An inertial loss has no slope at rest, where it is laminar in truth.  Below this flow (4 mL/h)
# its curve is straightened; at a hundredfold flow the loss differs by 2.5e-9 of itself.
CREEPING_M3_PER_S = 1e-9
# Least slope that a step takes a link to have [Pa s/m3]; it does not move the solution.
LEAST_SLOPE_PA_S_PER_M3 = 1e-2
# Sizes by which residuals of both kinds are compared, and in which a valve's curve is measured.
PRESSURE_SCALE_PA = 1e4
FLOW_SCALE_M3_PER_S = 1e-5


@formula
def pipe_loss_and_slope(
    flow_m3_per_s: float,
    bore_m: float,
    length_m: float,
    roughness_m: float,
    end_factor: float,
    fluid: FluidPlan,
    rule: int,
) -> tuple[float, float]:
    """
    Give a pipe's loss in either direction, and its slope.

    Parameters
    ----------
    flow_m3_per_s : float
        Signed. [m3/s]
    bore_m, length_m, roughness_m : float
        The pipe.  Numbers and not its row: an array handed on in a loop costs more than the
        formulas. [m]
    end_factor : float
        Friction factor at the end of the rule's transition. [-]
    fluid : FluidPlan
        The fuel.
    rule : int
        Friction rule.

    Returns
    -------
    tuple of float
        Loss with the sign of the flow [Pa], slope [Pa s/m3].
    """
    kinematic = fluid.dynamic_viscosity_pa_s / fluid.density_kg_per_m3
    reynolds = reynolds_number(flow_m3_per_s, bore_m, kinematic)
    if is_laminar(reynolds, rule):
        slope = laminar_pipe_resistance(length_m, bore_m, fluid.dynamic_viscosity_pa_s)
        return slope * flow_m3_per_s, slope
    rough = roughness_m / bore_m
    factor = joined_friction_factor(reynolds, rough, rule, end_factor)
    loss = (
        factor
        * length_m
        / bore_m
        * dynamic_pressure(flow_m3_per_s, bore_m, fluid.density_kg_per_m3)
    )
    exponent = 2.0 + joined_exponent(reynolds, rough, rule, end_factor, factor)
    return loss, exponent * loss / flow_m3_per_s


@formula
def open_loss_and_slope(
    flow_m3_per_s: float,
    link: Records,
    fluid: FluidPlan,
) -> tuple[float, float]:
    """
    Give the loss of an open link beside its pipes, in either direction, and its slope.

    Parameters
    ----------
    flow_m3_per_s : float
        Signed. [m3/s]
    link : record of `LINK`
        The link.
    fluid : FluidPlan
        The fuel in it.

    Returns
    -------
    tuple of float
        Loss without cracking pressure, less what a lift pump adds [Pa], slope [Pa s/m3].
    """
    viscous = link.viscous_per_m3 + fluid.wax_multiplier * link.media_per_m3
    slope = fluid.dynamic_viscosity_pa_s * viscous
    loss = slope * flow_m3_per_s
    inertial = fluid.density_kg_per_m3 * link.inertial_per_m4
    if inertial != 0.0:
        square = flow_m3_per_s * flow_m3_per_s
        fourth = square * square + CREEPING_M3_PER_S**4
        size = math.sqrt(math.sqrt(fourth))
        loss += inertial * flow_m3_per_s * size
        slope += inertial * (fourth + square * square) / (size * size * size)
    if link.lift_pressure_pa > 0.0:
        share = abs(flow_m3_per_s) / link.lift_flow_m3_per_s
        # share**(n-1) serves loss and slope; a reversed flow meets the curve's odd extension.
        power = share if link.lift_exponent == 2.0 else math.pow(share, link.lift_exponent - 1.0)
        loss += link.lift_pressure_pa * (math.copysign(share * power, flow_m3_per_s) - 1.0)
        slope += link.lift_pressure_pa * link.lift_exponent * power / link.lift_flow_m3_per_s
    return loss, slope


@formula
def link_state(
    place: float,
    link: Records,
    fluid: FluidPlan,
) -> tuple[float, float, float, float]:
    """
    Give flow of a link and its loss beside its pipes, at a place along its curve.

    The place of a link that opens both ways is its flow.  A one-way link has a corner: shut, the
    difference changes and the flow hardly does; open, the flow changes and the difference hardly
    does.  Its place is 0 at the corner, above 0 measures flow and below 0 measures pressure, so
    that both change gently along it and it is monotone throughout.

    Parameters
    ----------
    place : float
        Place along the curve: flow [m3/s], or for a one-way link a pure number.
    link, fluid
        As for `open_loss_and_slope`.

    Returns
    -------
    tuple of float
        Loss [Pa], its slope by place, flow [m3/s], its slope by place.
    """
    flow = place
    stretch = 1.0
    crack = 0.0
    crack_slope = 0.0
    if link.one_way == 1:
        crack = link.crack_pa
        flow = crack / LEAK_PA_S_PER_M3
        if place > 0.0:
            stretch = FLOW_SCALE_M3_PER_S
        else:
            stretch = PRESSURE_SCALE_PA / LEAK_PA_S_PER_M3
            crack_slope = PRESSURE_SCALE_PA
            crack += PRESSURE_SCALE_PA * place
        flow += stretch * place
    loss, slope = open_loss_and_slope(flow, link, fluid)
    steep = crack_slope + max(slope, LEAST_SLOPE_PA_S_PER_M3) * stretch
    return crack + loss + link.offset_pa, steep, flow, stretch
