"""Balance of a network's links and nodes, and Newton's step that mends it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.line_loss import FIRST_END
from feedproof.feedline.network_links import (
    FLOW_SCALE_M3_PER_S,
    PRESSURE_SCALE_PA,
    link_state,
    pipe_loss_and_slope,
)
from feedproof.feedline.network_plan import NetworkPlan, Records
from feedproof.feedline.plan import FluidPlan, PumpPlan, fluid_at
from feedproof.feedline.pump_state import FeedState, pump_state
from feedproof.feedline.surroundings import NO_AIR_DRAWN_K, Demand, Surroundings
from feedproof.physics.gas import released_gas

FloatArray = NDArray[np.float64]

# Increment for the slopes of the pump.
PRESSURE_STEP_PA = 1.0


class Supply(NamedTuple):
    """
    What the network is asked under.

    Fields in order: depression without flow, air pressure, saturation pressure [Pa]; pump speed
    [rev/s]; injection and back-leak [m3/s]; share of the return that is led back into the line
    [-]; one when the pump draws at the inlet [-]; gas at the inlet beside that which the pump's
    fixed share releases, as pressure times volume per liquid volume [Pa].
    """

    static_pa: float
    ambient_abs_pa: float
    saturation_abs_pa: float
    pump_speed_rev_per_s: float
    injected_m3_per_s: float
    backleak_m3_per_s: float
    recirculated_fraction: float
    pumped: int
    gas_pa: float = 0.0


NODE_WORK = np.dtype(
    [
        ("pressure_pa", np.float64),
        ("mass_m3_per_s", np.float64),
        ("draw_m3_per_s", np.float64),
        ("old_pressure_pa", np.float64),
        ("step_pa", np.float64),
    ]
)
"""
What is worked out at a node.

Fields in order: pressure against the tank's [Pa]; mass residual [m3/s]; fixed draw [m3/s];
pressure before a step, and the step [Pa].
"""
LINK_WORK = np.dtype(
    [
        ("place", np.float64),
        ("loss_pa", np.float64),
        ("loss_slope", np.float64),
        ("flow_m3_per_s", np.float64),
        ("flow_slope", np.float64),
        ("old_place", np.float64),
        ("step_place", np.float64),
    ]
)
"""
What is worked out in a link.

Fields in order: place along the curve [-]; loss [Pa] and its slope, flow [m3/s] and its slope, by
place; place before a step, and the step [-].
"""


class Work(NamedTuple):
    """
    Arrays of one solution, reused by the next.

    Fields in order: records of `NODE_WORK`, shape (n_nodes,); records of `LINK_WORK`, shape
    (n_links,); matrix and right side of the balance; slopes of the pump's draw and return by
    pressure, and its draw, shape (3,).
    """

    nodes: Records
    links: Records
    matrix: FloatArray
    side: FloatArray
    pump_slopes: FloatArray


@formula
def residual_square(
    work: Work,
    plan: NetworkPlan,
    fluids: FloatArray,
    pump: PumpPlan,
    supply: Supply,
    rule: int,
) -> float:
    """
    Evaluate every link and node at the pressures and places that `work` holds.

    Parameters
    ----------
    work : Work
        Read: pressures, places, draws.  Written: losses, flows, slopes, mass residuals.
    plan, fluids, pump, supply, rule
        As for `solve_network`.

    Returns
    -------
    float
        Sum of the squared residuals of energy and mass, each in its scale. [-]
    """
    # Arrays are taken out of their tuples once: in a loop that costs more than the formulas.
    nodes, links, plan_links, pipes = work.nodes, work.links, plan.links, plan.pipes
    total = 0.0
    for node in range(plan.nodes):
        nodes[node].mass_m3_per_s = -nodes[node].draw_m3_per_s
    for index in range(plan_links.shape[0]):
        link, at = plan_links[index], links[index]
        fluid = fluid_at(fluids, link.fluid_row)
        loss, slope, flow, stretch = link_state(at.place, link, fluid)
        for pipe in range(link.first_pipe, link.end_pipe):
            more, steeper = pipe_loss_and_slope(
                flow,
                pipes[pipe, 0],
                pipes[pipe, 1],
                pipes[pipe, 2],
                pipes[pipe, FIRST_END + rule],
                fluid,
                rule,
            )
            loss += more
            slope += steeper * stretch
        at.loss_pa = loss
        at.loss_slope = slope
        at.flow_m3_per_s = flow
        at.flow_slope = stretch
        first, second = nodes[link.first_node], nodes[link.second_node]
        first.mass_m3_per_s -= flow
        second.mass_m3_per_s += flow
        energy = (loss - first.pressure_pa + second.pressure_pa) / PRESSURE_SCALE_PA
        total += energy * energy
    if supply.pumped == 1:
        inlet = nodes[plan.inlet].pressure_pa
        fluid = fluid_at(fluids, 0)
        state = pump_at(inlet, pump, fluid, supply)
        beside = pump_at(inlet + PRESSURE_STEP_PA, pump, fluid, supply)
        returned = state.return_m3_per_s
        slopes = work.pump_slopes
        slopes[0] = (beside.feed_m3_per_s - state.feed_m3_per_s) / PRESSURE_STEP_PA
        slopes[1] = (beside.return_m3_per_s - returned) / PRESSURE_STEP_PA
        slopes[2] = state.feed_m3_per_s
        nodes[plan.inlet].mass_m3_per_s -= state.feed_m3_per_s
        led_back = supply.recirculated_fraction
        if plan.return_node >= 0:
            nodes[plan.return_node].mass_m3_per_s += (1.0 - led_back) * returned
        if plan.recirculation_node >= 0:
            nodes[plan.recirculation_node].mass_m3_per_s += led_back * returned
    for node in range(1, plan.nodes):
        mass = nodes[node].mass_m3_per_s / FLOW_SCALE_M3_PER_S
        total += mass * mass
    return total


@formula
def pump_at(inlet_pa: float, pump: PumpPlan, fluid: FluidPlan, supply: Supply) -> FeedState:
    """
    Give what the pump draws at a pressure of its inlet against the tank's.

    Parameters
    ----------
    inlet_pa : float
        Pressure at the inlet less that which it has without flow. [Pa]
    pump, fluid, supply
        As for `solve_network`.

    Returns
    -------
    FeedState
        The pump's state.
    """
    depression = supply.static_pa - inlet_pa
    around = Surroundings(
        supply.static_pa, supply.ambient_abs_pa, supply.saturation_abs_pa, NO_AIR_DRAWN_K
    )
    gas = supply.gas_pa + released_gas(
        supply.ambient_abs_pa - depression,
        supply.saturation_abs_pa,
        fluid.ostwald_air,
        pump.release_fraction,
    )
    demand = Demand(supply.pump_speed_rev_per_s, supply.injected_m3_per_s, supply.backleak_m3_per_s)
    return pump_state(depression, gas, around, pump, fluid, demand)


@formula
def eliminate(matrix: FloatArray, side: FloatArray, size: int) -> bool:
    """
    Solve a linear system by elimination with partial pivoting, in place and in a fixed order.

    Parameters
    ----------
    matrix : array, shape (size, size)
        Destroyed.
    side : array, shape (size,)
        Right side; becomes the solution.
    size : int
        Number of unknowns.

    Returns
    -------
    bool
        False when the matrix is singular.
    """
    for column in range(size):
        pivot = column
        most = abs(matrix[column, column])
        for row in range(column + 1, size):
            here = abs(matrix[row, column])
            if here > most:
                pivot = row
                most = here
        if most == 0.0:
            return False
        if pivot != column:
            for other in range(column, size):
                kept = matrix[column, other]
                matrix[column, other] = matrix[pivot, other]
                matrix[pivot, other] = kept
            held = side[column]
            side[column] = side[pivot]
            side[pivot] = held
        inverse = 1.0 / matrix[column, column]
        known = side[column]
        for row in range(column + 1, size):
            below = matrix[row, column]
            if below != 0.0:
                ratio = below * inverse
                for other in range(column + 1, size):
                    matrix[row, other] -= ratio * matrix[column, other]
                side[row] -= ratio * known
    for row in range(size - 1, -1, -1):
        rest = side[row]
        for other in range(row + 1, size):
            rest -= matrix[row, other] * side[other]
        side[row] = rest / matrix[row, row]
    return True


@formula
def newton_step(work: Work, plan: NetworkPlan, supply: Supply) -> bool:
    """
    Solve the linear balance of the nodes for the next change of pressures and places.

    Parameters
    ----------
    work : Work
        Read: losses, flows, slopes, residuals.  Written: steps of pressure and place.
    plan, supply
        As for `solve_network`.

    Returns
    -------
    bool
        False when the balance is singular.
    """
    matrix, side, nodes, links = work.matrix, work.side, work.nodes, work.links
    plan_links = plan.links
    size = plan.nodes - 1
    for row in range(size):
        side[row] = nodes[row + 1].mass_m3_per_s
        for column in range(size):
            matrix[row, column] = 0.0
    for index in range(plan_links.shape[0]):
        link, at = plan_links[index], links[index]
        first = link.first_node - 1
        second = link.second_node - 1
        energy = at.loss_pa - nodes[first + 1].pressure_pa + nodes[second + 1].pressure_pa
        conductance = at.flow_slope / at.loss_slope
        if first >= 0:
            matrix[first, first] += conductance
            side[first] += conductance * energy
        if second >= 0:
            matrix[second, second] += conductance
            side[second] -= conductance * energy
        if first >= 0 and second >= 0:
            matrix[first, second] -= conductance
            matrix[second, first] -= conductance
    if supply.pumped == 1:
        inlet = plan.inlet - 1
        slopes = work.pump_slopes
        matrix[inlet, inlet] += slopes[0]
        led_back = supply.recirculated_fraction
        if plan.return_node >= 0:
            matrix[plan.return_node - 1, inlet] -= (1.0 - led_back) * slopes[1]
        if plan.recirculation_node >= 0:
            matrix[plan.recirculation_node - 1, inlet] -= led_back * slopes[1]
    if not eliminate(matrix, side, size):
        return False
    nodes[0].step_pa = 0.0
    for row in range(size):
        nodes[row + 1].step_pa = side[row]
    for index in range(plan_links.shape[0]):
        link, at = plan_links[index], links[index]
        start, end = nodes[link.first_node], nodes[link.second_node]
        # The same residual, to the last bit, as in the balance above: were it taken from the new
        # pressures, their rounding would unbalance the nodes.
        energy = at.loss_pa - start.pressure_pa + end.pressure_pa
        gap = start.step_pa - end.step_pa - energy
        at.step_place = gap / at.loss_slope
    return True
