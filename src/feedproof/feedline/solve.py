"""
The steady state: the line's loss grows with flow, the pump's delivery falls with it.

The two curves cross once, so one bracketed root gives the operating point, starved or not.
"Starved" is what the state says (no feed pressure left, injection cut); nothing here knows of a
limit, and nothing is ever NaN.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.plan import FluidPlan, LinePlan, PartRow, PumpPlan
from feedproof.physics.gas import free_gas_fraction
from feedproof.physics.losses import pipe_pressure_loss
from feedproof.physics.pump import (
    feed_pressure_ratio,
    inlet_filling,
    inlet_half_pressure,
    slip_at_regulated,
    theoretical_flow,
)

FloatArray = NDArray[np.float64]

# Flow is solved to this fraction of itself; the numbers printed have 12 digits at the most.
FLOW_TOLERANCE = 1e-13
MOST_STEPS = 100


class FeedState(NamedTuple):
    """
    One operating point of line and pump.

    Fields in order: flow drawn through the line [m3/s], depression at the pump inlet [Pa],
    absolute pressure there [Pa], flow injected [m3/s], flow returned to the tank [m3/s], feed
    pressure over its regulated value [-], feed margin [-], free gas at the inlet [-], filling of
    the pump [-].
    """

    feed_m3_per_s: float
    depression_pa: float
    pressure_abs_pa: float
    injected_m3_per_s: float
    return_m3_per_s: float
    feed_pressure_ratio: float
    feed_margin: float
    free_gas_fraction: float
    inlet_filling: float


@formula
def pipe_loss(
    flow_m3_per_s: float,
    bore_m: float,
    length_m: float,
    roughness_m: float,
    fluid: FluidPlan,
    rule: int,
) -> float:
    """
    Darcy-Weisbach loss of a length of one bore.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    bore_m, length_m, roughness_m : float
        The pipe. [m]
    fluid : FluidPlan
        Density and viscosity.
    rule : int
        Friction rule of `feedproof.physics.friction`.

    Returns
    -------
    float
        Pressure loss. [Pa]
    """
    return pipe_pressure_loss(
        flow_m3_per_s,
        length_m,
        bore_m,
        roughness_m,
        fluid.density_kg_per_m3,
        fluid.dynamic_viscosity_pa_s,
        rule,
    )


@formula
def line_loss(flow_m3_per_s: float, line: LinePlan, fluid: FluidPlan, rule: int) -> float:
    """
    Pressure lost by a chain.

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
    viscous = line.viscous_per_m3 + fluid.wax_multiplier * line.media_per_m3
    loss = (
        line.crack_pa
        + fluid.dynamic_viscosity_pa_s * viscous * flow_m3_per_s
        + fluid.density_kg_per_m3 * line.inertial_per_m4 * flow_m3_per_s * flow_m3_per_s
    )
    for i in range(line.bore_m.shape[0]):
        loss += pipe_loss(
            flow_m3_per_s, line.bore_m[i], line.length_m[i], line.roughness_m[i], fluid, rule
        )
    return loss


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
    viscous = row.viscous_per_m3 + fluid.wax_multiplier * row.media_per_m3
    loss = (
        row.crack_pa
        + fluid.dynamic_viscosity_pa_s * viscous * flow_m3_per_s
        + fluid.density_kg_per_m3 * row.inertial_per_m4 * flow_m3_per_s**2
    )
    if row.length_m > 0.0:
        loss += pipe_loss(flow_m3_per_s, row.bore_m, row.length_m, row.roughness_m, fluid, rule)
    return float(loss)


@formula
def pump_state(
    depression_pa: float,
    ambient_abs_pa: float,
    saturation_abs_pa: float,
    pump: PumpPlan,
    fluid: FluidPlan,
    pump_speed_rev_per_s: float,
    injected_m3_per_s: float,
    backleak_m3_per_s: float,
) -> FeedState:
    """
    Give what the pump draws and delivers at a given depression.

    Parameters
    ----------
    depression_pa : float
        At the pump inlet. [Pa]
    ambient_abs_pa : float
        Air pressure. [Pa]
    saturation_abs_pa : float
        Pressure at which the tank's fuel is saturated with air: that of the gas above it, since
        the foaming return keeps it saturated. [Pa]
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel.
    pump_speed_rev_per_s : float
        Pump speed. [rev/s]
    injected_m3_per_s, backleak_m3_per_s : float
        What the engine asks for. [m3/s]

    Returns
    -------
    FeedState
        The state; flow balance holds by construction.
    """
    pressure_abs = ambient_abs_pa - depression_pa
    half = inlet_half_pressure(
        pump.half_pressure_abs_pa,
        fluid.vapour_pressure_abs_pa,
        pump.port_loss_pa,
        pump_speed_rev_per_s,
        pump.port_loss_speed_rev_per_s,
    )
    filling = inlet_filling(pressure_abs, half, pump.softness_pa)
    gas = free_gas_fraction(
        pressure_abs, saturation_abs_pa, fluid.ostwald_air, pump.release_fraction
    )
    pumped = (
        theoretical_flow(pump.displacement_m3_per_rev, pump_speed_rev_per_s)
        * pump.filling_fraction
        * (1.0 - gas)
        * filling
    )
    slip = slip_at_regulated(
        pump.slip_m3_per_s, pump.slip_viscosity_pa_s, fluid.dynamic_viscosity_pa_s
    )
    lubrication = pump.lubrication_m3_per_s
    ratio = feed_pressure_ratio(pumped, slip, lubrication, backleak_m3_per_s, injected_m3_per_s)
    need = injected_m3_per_s + backleak_m3_per_s + lubrication
    margin = (pumped - slip) / need if need > 0.0 else math.inf
    feed = pumped - slip * ratio
    if pump.topology == 1 and ratio >= 1.0:
        # Internal recirculation: the surplus goes back to the pump's own inlet.
        feed = need
    # With no feed pressure left the injection takes what the back-leak leaves.
    injected = (
        injected_m3_per_s
        if ratio > 0.0
        else min(injected_m3_per_s, max(feed - backleak_m3_per_s, 0.0))
    )
    return FeedState(
        feed,
        depression_pa,
        pressure_abs,
        injected,
        feed - injected,
        ratio,
        margin,
        gas,
        filling,
    )


@formula
def operating_point(
    line: LinePlan,
    static_pa: float,
    ambient_abs_pa: float,
    saturation_abs_pa: float,
    pump: PumpPlan,
    fluid: FluidPlan,
    pump_speed_rev_per_s: float,
    injected_m3_per_s: float,
    backleak_m3_per_s: float,
    rule: int,
) -> FeedState:
    """
    Solve line and pump together.

    The difference between the flow drawn and the flow that the pump takes at the resulting
    depression rises with the flow, so its root is unique; regula falsi with the Anderson-Bjorck
    step keeps it bracketed.

    Parameters
    ----------
    line : LinePlan
        The chain.
    static_pa : float
        Depression without flow. [Pa]
    ambient_abs_pa, saturation_abs_pa : float
        Air pressure, and pressure at which the fuel is saturated with air. [Pa]
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel.
    pump_speed_rev_per_s : float
        Pump speed. [rev/s]
    injected_m3_per_s, backleak_m3_per_s : float
        What the engine asks for. [m3/s]
    rule : int
        Friction rule.

    Returns
    -------
    FeedState
        The operating point.
    """
    low = 0.0
    still = pump_state(
        static_pa + line.crack_pa,
        ambient_abs_pa,
        saturation_abs_pa,
        pump,
        fluid,
        pump_speed_rev_per_s,
        injected_m3_per_s,
        backleak_m3_per_s,
    )
    gap_low = -still.feed_m3_per_s
    high = still.feed_m3_per_s
    if high <= 0.0:
        return still
    state = pump_state(
        static_pa + line_loss(high, line, fluid, rule),
        ambient_abs_pa,
        saturation_abs_pa,
        pump,
        fluid,
        pump_speed_rev_per_s,
        injected_m3_per_s,
        backleak_m3_per_s,
    )
    gap_high = high - state.feed_m3_per_s
    tolerance = FLOW_TOLERANCE * high
    for _ in range(MOST_STEPS):
        if gap_high <= tolerance or high - low <= tolerance:
            break
        flow = high - gap_high * (high - low) / (gap_high - gap_low)
        state = pump_state(
            static_pa + line_loss(flow, line, fluid, rule),
            ambient_abs_pa,
            saturation_abs_pa,
            pump,
            fluid,
            pump_speed_rev_per_s,
            injected_m3_per_s,
            backleak_m3_per_s,
        )
        gap = flow - state.feed_m3_per_s
        if abs(gap) <= tolerance:
            break
        if gap > 0.0:
            shrink = 1.0 - gap / gap_high
            gap_low *= shrink if shrink > 0.0 else 0.5
            high, gap_high = flow, gap
        else:
            shrink = 1.0 - gap / gap_low
            gap_high *= shrink if shrink > 0.0 else 0.5
            low, gap_low = flow, gap
    return state


@formula
def operating_points(
    line: LinePlan,
    static_pa: float,
    ambient_abs_pa: float,
    saturation_abs_pa: float,
    pump: PumpPlan,
    fluid: FluidPlan,
    pump_speed_rev_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    backleak_m3_per_s: FloatArray,
    rule: int,
) -> FloatArray:
    """
    Solve many engine speeds under one set of conditions.

    Parameters
    ----------
    line, static_pa, ambient_abs_pa, saturation_abs_pa, pump, fluid, rule
        As for `operating_point`.
    pump_speed_rev_per_s, injected_m3_per_s, backleak_m3_per_s : array, shape (n,)
        Speeds and demands. [rev/s], [m3/s]

    Returns
    -------
    array, shape (n, 9)
        Rows in the order of `FeedState`.
    """
    count = pump_speed_rev_per_s.shape[0]
    states = np.empty((count, 9))
    for i in range(count):
        state = operating_point(
            line,
            static_pa,
            ambient_abs_pa,
            saturation_abs_pa,
            pump,
            fluid,
            pump_speed_rev_per_s[i],
            injected_m3_per_s[i],
            backleak_m3_per_s[i],
            rule,
        )
        states[i, 0] = state.feed_m3_per_s
        states[i, 1] = state.depression_pa
        states[i, 2] = state.pressure_abs_pa
        states[i, 3] = state.injected_m3_per_s
        states[i, 4] = state.return_m3_per_s
        states[i, 5] = state.feed_pressure_ratio
        states[i, 6] = state.feed_margin
        states[i, 7] = state.free_gas_fraction
        states[i, 8] = state.inlet_filling
    return states
