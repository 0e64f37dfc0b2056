"""
The steady state: the line's loss grows with flow, the pump's delivery falls with it.

The two curves cross once, so one bracketed root gives the operating point, starved or not.
"Starved" is what the state says (no feed pressure left, injection cut); nothing here knows of a
limit, and nothing is ever NaN.
"""

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.line_loss import marched_end, summed_end
from feedproof.feedline.plan import FluidPlan, LinePlan, PumpPlan
from feedproof.feedline.pump_state import FeedState, pump_state
from feedproof.feedline.surroundings import Demand, Surroundings
from feedproof.physics.pump import theoretical_flow

FloatArray = NDArray[np.float64]

# Flow drawn against flow taken, over what the pump displaces; printed numbers have 12 digits.
FLOW_TOLERANCE = 1e-13
SECANT_STEPS, MOST_STEPS = 12, 100


@formula
def operating_point(
    line: LinePlan,
    around: Surroundings,
    pump: PumpPlan,
    fluid: FluidPlan,
    demand: Demand,
    rule: int,
    first_share: float = 1.0,
) -> FeedState:
    """
    Solve line and pump together.

    The difference between the flow drawn and the flow that the pump takes at the resulting
    depression rises with the flow, so its root is unique.  The pump's curve is nearly flat in a
    line that feeds well: a secant through the last two points ends in three or four steps.  A
    bisection takes over where the secant would leave the bracket, and after a dozen steps.

    Parameters
    ----------
    line : LinePlan
        The chain.
    around : Surroundings
        Air, tank and lift.
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel.
    demand : Demand
        Speed, and what the engine asks for.
    rule : int
        Friction rule.
    first_share : float
        Where to begin: flow over what the pump displaces, 0 to 1.  A neighbour's answer saves a
        step. [-]

    Returns
    -------
    FeedState
        The operating point.
    """
    marched = line.cells.shape[0] > 0
    # Nothing makes the pump take more than it displaces; that it takes nothing is the other end.
    low = 0.0
    high = pump.filling_fraction * theoretical_flow(
        pump.displacement_m3_per_rev, demand.pump_speed_rev_per_s
    )
    tolerance = FLOW_TOLERANCE * high
    flow, last_flow, last_gap = first_share * high, 0.0, -high
    for step in range(MOST_STEPS):
        if marched:
            depression, gas = marched_end(flow, line, around, pump, fluid, rule)
        else:
            depression, gas = summed_end(flow, line, around, pump, fluid, rule)
        state = pump_state(depression, gas, around, pump, fluid, demand)
        gap = flow - state.feed_m3_per_s
        if gap > 0.0:
            high = flow
        else:
            low = flow
        if abs(gap) <= tolerance or high - low <= tolerance:
            break
        guess = flow - gap * (flow - last_flow) / (gap - last_gap)
        if step == 0:
            guess = state.feed_m3_per_s
        if step >= SECANT_STEPS or not low < guess < high:
            guess = 0.5 * (low + high)
        last_flow, last_gap = flow, gap
        flow = guess
    return state


@formula
def operating_points(
    line: LinePlan,
    around: Surroundings,
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
    line, around, pump, fluid, rule
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
    share = 1.0
    for i in range(count):
        demand = Demand(pump_speed_rev_per_s[i], injected_m3_per_s[i], backleak_m3_per_s[i])
        state = operating_point(line, around, pump, fluid, demand, rule, share)
        share = feed_share(state, pump, demand)
        write_state(states, i, state)
    return states


@formula
def feed_share(state: FeedState, pump: PumpPlan, demand: Demand) -> float:
    """
    Give where to begin with the next point.

    Parameters
    ----------
    state : FeedState
        This one.
    pump : PumpPlan
        The pump.
    demand : Demand
        For its speed.

    Returns
    -------
    float
        Feed over what the pump displaces; 1 where it stands. [-]
    """
    most = pump.filling_fraction * theoretical_flow(
        pump.displacement_m3_per_rev, demand.pump_speed_rev_per_s
    )
    return state.feed_m3_per_s / most if most > 0.0 else 1.0


@formula
def write_state(states: FloatArray, row: int, state: FeedState) -> None:
    """
    Write a state into a row of an array.

    Parameters
    ----------
    states : array, shape (n, 9 or more)
        Takes the fields in the order of `FeedState`.
    row : int
        Which row; a view of it would cost more than the state.
    state : FeedState
        The state.
    """
    states[row, 0] = state.feed_m3_per_s
    states[row, 1] = state.depression_pa
    states[row, 2] = state.pressure_abs_pa
    states[row, 3] = state.injected_m3_per_s
    states[row, 4] = state.return_m3_per_s
    states[row, 5] = state.feed_pressure_ratio
    states[row, 6] = state.feed_margin
    states[row, 7] = state.free_gas_fraction
    states[row, 8] = state.inlet_filling
