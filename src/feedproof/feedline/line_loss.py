"""Pressure lost by chains and by single parts at a given flow."""

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.cells import march
from feedproof.feedline.plan import FluidPlan, LinePlan, PartRow, PumpPlan
from feedproof.feedline.surroundings import Surroundings
from feedproof.physics.gas import released_gas
from feedproof.physics.losses import pipe_pressure_loss, pipe_pressure_loss_with_end

FloatArray = NDArray[np.float64]

FIRST_END = 3
"""Column of a pipe's row that holds the transition's end of friction rule 0."""


@formula
def pipe_loss(
    flow_m3_per_s: float, pipes: FloatArray, index: int, fluid: FluidPlan, rule: int
) -> float:
    """
    Darcy-Weisbach loss of a length of one bore.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    pipes : array, shape (n_pipes, 8)
        Rows of `feedproof.feedline.plan.pipe_row`.
    index : int
        Which of them.
    fluid : FluidPlan
        Density and viscosity.
    rule : int
        Friction rule of `feedproof.physics.friction`.

    Returns
    -------
    float
        Pressure loss. [Pa]
    """
    return pipe_pressure_loss_with_end(
        flow_m3_per_s,
        pipes[index, 1],
        pipes[index, 0],
        pipes[index, 2],
        fluid.density_kg_per_m3,
        fluid.dynamic_viscosity_pa_s,
        rule,
        pipes[index, FIRST_END + rule],
    )


@formula
def loss_without_walls(
    flow_m3_per_s: float,
    crack_pa: float,
    viscous_per_m3: float,
    media_per_m3: float,
    inertial_per_m4: float,
    fluid: FluidPlan,
) -> float:
    """
    Loss of parts by everything but the friction of pipe walls.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    crack_pa : float
        Cracking pressure. [Pa]
    viscous_per_m3, media_per_m3 : float
        Viscous resistance, and that of media, which wax multiplies. [1/m3]
    inertial_per_m4 : float
        Inertial resistance. [1/m4]
    fluid : FluidPlan
        The fuel.

    Returns
    -------
    float
        Loss. [Pa]
    """
    viscous = viscous_per_m3 + fluid.wax_multiplier * media_per_m3
    return (
        crack_pa
        + fluid.dynamic_viscosity_pa_s * viscous * flow_m3_per_s
        + fluid.density_kg_per_m3 * inertial_per_m4 * flow_m3_per_s * flow_m3_per_s
    )


@formula
def line_loss(flow_m3_per_s: float, line: LinePlan, fluid: FluidPlan, rule: int) -> float:
    """
    Pressure lost by a chain of one fuel and fixed bores.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow from the tank, positive. [m3/s]
    line : LinePlan
        The chain in sums.
    fluid : FluidPlan
        The fuel.
    rule : int
        Friction rule.

    Returns
    -------
    float
        Loss; the cracking pressures alone as the flow vanishes. [Pa]
    """
    loss = loss_without_walls(
        flow_m3_per_s,
        line.crack_pa,
        line.viscous_per_m3,
        line.media_per_m3,
        line.inertial_per_m4,
        fluid,
    )
    pipes = line.pipes
    for i in range(pipes.shape[0]):
        loss += pipe_loss(flow_m3_per_s, pipes, i, fluid, rule)
    return loss


@formula
def line_losses(
    flow_m3_per_s: FloatArray, line: LinePlan, fluid: FluidPlan, rule: int
) -> FloatArray:
    """
    Pressure lost by a chain at many flows.

    Parameters
    ----------
    flow_m3_per_s : array, shape (n,)
        Flows, positive. [m3/s]
    line, fluid, rule
        As for `line_loss`.

    Returns
    -------
    array, shape (n,)
        Losses. [Pa]
    """
    losses = np.empty(flow_m3_per_s.shape[0])
    for i in range(flow_m3_per_s.shape[0]):
        losses[i] = line_loss(flow_m3_per_s[i], line, fluid, rule)
    return losses


@formula
def summed_end(
    flow_m3_per_s: float,
    line: LinePlan,
    around: Surroundings,
    pump: PumpPlan,
    fluid: FluidPlan,
    rule: int,
) -> tuple[float, float]:
    """
    Give depression and gas at the pump's end of a summed chain.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    line : LinePlan
        The chain.
    around : Surroundings
        Air, tank and lift.
    pump : PumpPlan
        For the share of the gas that is released.
    fluid : FluidPlan
        The fuel.
    rule : int
        Friction rule.

    Returns
    -------
    depression_pa : float
        At the pump inlet. [Pa]
    gas_pa : float
        Pressure times gas volume per liquid volume there. [Pa]
    """
    depression = around.static_pa + line_loss(flow_m3_per_s, line, fluid, rule)
    return depression, fixed_release(depression, around, pump, fluid)


@formula
def marched_end(
    flow_m3_per_s: float,
    line: LinePlan,
    around: Surroundings,
    pump: PumpPlan,
    fluid: FluidPlan,
    rule: int,
) -> tuple[float, float]:
    """
    Give depression and gas at the pump's end of a chain in cells.

    Parameters
    ----------
    flow_m3_per_s, line, around, pump, rule
        As for `summed_end`.
    fluid : FluidPlan
        The fuel at the pump inlet.

    Returns
    -------
    depression_pa, gas_pa : float
        As for `summed_end`.
    """
    # The lift is taken at the tank, since nothing tells where along the line it is.
    depression, released, drawn_in = march(
        flow_m3_per_s,
        line.cells,
        around.static_pa,
        0.0,
        0.0,
        around,
        fluid,
        pump.release_time_s,
        rule,
    )
    if pump.release_time_s < 0.0:
        released = fixed_release(depression, around, pump, fluid)
    return depression, released + drawn_in


@formula
def fixed_release(
    depression_pa: float, around: Surroundings, pump: PumpPlan, fluid: FluidPlan
) -> float:
    """
    Give the gas released at the pump inlet where its share is fixed.

    Parameters
    ----------
    depression_pa : float
        At the pump inlet. [Pa]
    around, pump, fluid
        As for `summed_end`.

    Returns
    -------
    float
        Pressure times gas volume per liquid volume. [Pa]
    """
    return released_gas(
        around.ambient_abs_pa - depression_pa,
        around.saturation_abs_pa,
        fluid.ostwald_air,
        pump.release_fraction,
    )


def part_loss(flow_m3_per_s: float, row: PartRow, fluid: FluidPlan, rule: int) -> float:
    """
    Pressure lost by one part.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    row : PartRow
        The part.
    fluid : FluidPlan
        The fuel.
    rule : int
        Friction rule.

    Returns
    -------
    float
        Loss. [Pa]
    """
    loss = loss_without_walls(
        flow_m3_per_s,
        row.crack_pa,
        row.viscous_per_m3,
        row.media_per_m3,
        row.inertial_per_m4,
        fluid,
    )
    if row.length_m > 0.0:
        loss += pipe_pressure_loss(
            flow_m3_per_s,
            row.length_m,
            row.bore_m,
            row.roughness_m,
            fluid.density_kg_per_m3,
            fluid.dynamic_viscosity_pa_s,
            rule,
        )
    return float(loss)
