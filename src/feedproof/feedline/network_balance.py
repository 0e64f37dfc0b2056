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
from feedproof.feedline.network_plan import LinkRow, NetworkPlan
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


class Work(NamedTuple):
    """
    Arrays of one solution, reused by the next.

    Fields in order: pressure against the tank's [Pa] and mass residual [m3/s], shape (n_nodes,);
    place along the curve [-], loss [Pa] and its slope, flow [m3/s] and its slope by place, shape
    (n_links,); pressure and place before a step, and the step of both; matrix and right side of
    the balance; fixed draw, shape (n_nodes,) [m3/s]; slopes of the pump's draw and return by
    pressure, and its draw, shape (3,).
    """

    pressure_pa: FloatArray
    mass_m3_per_s: FloatArray
    place: FloatArray
    loss_pa: FloatArray
    loss_slope: FloatArray
    flow_m3_per_s: FloatArray
    flow_slope: FloatArray
    old_pressure_pa: FloatArray
    old_place: FloatArray
    step_pa: FloatArray
    step_place: FloatArray
    matrix: FloatArray
    side: FloatArray
    draw_m3_per_s: FloatArray
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
    pressure, mass_residual, drawn = work.pressure_pa, work.mass_m3_per_s, work.draw_m3_per_s
    place, losses, flows = work.place, work.loss_pa, work.flow_m3_per_s
    loss_slopes, flow_slopes = work.loss_slope, work.flow_slope
    first_node, second_node, one_way = plan.first_node, plan.second_node, plan.one_way
    fluid_row, rows = plan.fluid_row, plan.rows
    first_pipe, pipes = plan.first_pipe, plan.pipes
    total = 0.0
    for node in range(plan.nodes):
        mass_residual[node] = -drawn[node]
    for link in range(first_node.shape[0]):
        row = LinkRow(
            one_way[link],
            rows[link, 0],
            rows[link, 1],
            rows[link, 2],
            rows[link, 3],
            rows[link, 4],
            rows[link, 5],
            rows[link, 6],
            rows[link, 7],
        )
        fluid = fluid_at(fluids, fluid_row[link])
        loss, slope, flow, stretch = link_state(place[link], row, fluid)
        for pipe in range(first_pipe[link], first_pipe[link + 1]):
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
        losses[link] = loss
        loss_slopes[link] = slope
        flows[link] = flow
        flow_slopes[link] = stretch
        first = first_node[link]
        second = second_node[link]
        mass_residual[first] -= flow
        mass_residual[second] += flow
        energy = (loss - pressure[first] + pressure[second]) / PRESSURE_SCALE_PA
        total += energy * energy
    if supply.pumped == 1:
        inlet = pressure[plan.inlet]
        fluid = fluid_at(fluids, 0)
        state = pump_at(inlet, pump, fluid, supply)
        beside = pump_at(inlet + PRESSURE_STEP_PA, pump, fluid, supply)
        returned = state.return_m3_per_s
        slopes = work.pump_slopes
        slopes[0] = (beside.feed_m3_per_s - state.feed_m3_per_s) / PRESSURE_STEP_PA
        slopes[1] = (beside.return_m3_per_s - returned) / PRESSURE_STEP_PA
        slopes[2] = state.feed_m3_per_s
        mass_residual[plan.inlet] -= state.feed_m3_per_s
        led_back = supply.recirculated_fraction
        if plan.return_node >= 0:
            mass_residual[plan.return_node] += (1.0 - led_back) * returned
        if plan.recirculation_node >= 0:
            mass_residual[plan.recirculation_node] += led_back * returned
    for node in range(1, plan.nodes):
        mass = mass_residual[node] / FLOW_SCALE_M3_PER_S
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
    matrix, side, place_step = work.matrix, work.side, work.step_place
    pressure, pressure_step, mass_residual = work.pressure_pa, work.step_pa, work.mass_m3_per_s
    losses, loss_slopes, flow_slopes = work.loss_pa, work.loss_slope, work.flow_slope
    first_node, second_node = plan.first_node, plan.second_node
    size = plan.nodes - 1
    for row in range(size):
        side[row] = mass_residual[row + 1]
        for column in range(size):
            matrix[row, column] = 0.0
    for link in range(first_node.shape[0]):
        first = first_node[link] - 1
        second = second_node[link] - 1
        energy = losses[link] - pressure[first + 1] + pressure[second + 1]
        conductance = flow_slopes[link] / loss_slopes[link]
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
    pressure_step[0] = 0.0
    for row in range(size):
        pressure_step[row + 1] = side[row]
    for link in range(first_node.shape[0]):
        first = first_node[link]
        second = second_node[link]
        # The same residual, to the last bit, as in the balance above: were it taken from the new
        # pressures, their rounding would unbalance the nodes.
        energy = losses[link] - pressure[first] + pressure[second]
        gap = pressure_step[first] - pressure_step[second] - energy
        place_step[link] = gap / loss_slopes[link]
    return True
