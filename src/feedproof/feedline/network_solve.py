"""
The steady state of a feed line with branches.

Pressures of all nodes and flows of all links are sought together by Newton's method (the global
gradient method of Todini and Pilati 1988): each step solves the linear mass balance of the nodes
for the change of pressure, and each link's flow follows from it.  Three things are this project's
own: the pump is a draw that depends on the pressure at its inlet and gives its return back to
the network; a step is halved while the residual grows; and a one-way link is followed not by its
flow, which does not say how firmly it is shut, but along its curve (see `link_state`).
"""

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.network_balance import (
    Supply,
    Work,
    newton_step,
    residual_square,
)
from feedproof.feedline.network_links import FLOW_SCALE_M3_PER_S, PRESSURE_SCALE_PA
from feedproof.feedline.network_plan import NetworkPlan
from feedproof.feedline.plan import PumpPlan

FloatArray = NDArray[np.float64]

# Accuracy of a solved state: loss against pressure difference, and mass at each node.
ENERGY_TOLERANCE = 1e-12
ENERGY_FLOOR_PA = 1e-9
MASS_TOLERANCE = 1e-12
MASS_FLOOR_M3_PER_S = 1e-20
MOST_STEPS = 200
MOST_HALVINGS = 12
# Newton's first steps may raise the residual on their way and are taken whole.
WHOLE_STEPS = 8
# From here on a step ends at the first corner that it meets.  Whole steps are faster, but valves
# that stand against each other can make them run in a circle.
CORNER_STEPS = 20
LEAST_PLACE = 1e-300
# A valve that is open for the second start: a flow of 36 L/h.
OPEN_PLACE = 1.0


@formula
def solved(work: Work, plan: NetworkPlan) -> bool:
    """
    Say whether energy and mass balance to the accuracy of a solved state.

    Parameters
    ----------
    work : Work
        As evaluated.
    plan : NetworkPlan
        The network.

    Returns
    -------
    bool
        True when they do.
    """
    nodes, links, plan_links = work.nodes, work.links, plan.links
    highest = 0.0
    worst = 0.0
    most = abs(work.pump_slopes[2])
    for index in range(plan_links.shape[0]):
        link, at = plan_links[index], links[index]
        across = nodes[link.first_node].pressure_pa - nodes[link.second_node].pressure_pa
        highest = max(highest, abs(at.loss_pa))
        worst = max(worst, abs(at.loss_pa - across))
        most = max(most, abs(at.flow_m3_per_s))
    if not worst <= ENERGY_FLOOR_PA + ENERGY_TOLERANCE * highest:
        return False
    for node in range(1, plan.nodes):
        most = max(most, abs(nodes[node].draw_m3_per_s))
    for node in range(1, plan.nodes):
        if not abs(nodes[node].mass_m3_per_s) <= MASS_FLOOR_M3_PER_S + MASS_TOLERANCE * most:
            return False
    return True


@formula
def short_of_vacuum(work: Work, plan: NetworkPlan, supply: Supply) -> float:
    """
    Give the share of a step that keeps the pump inlet above a vacuum.

    Beyond it the pump draws nothing, whatever the pressure: a step that ends there learns
    nothing for the next one, which may then lead anywhere.

    Parameters
    ----------
    work : Work
        Read: pressures and their step.
    plan, supply
        As for `solve_network`.

    Returns
    -------
    float
        1, or the share that halves what is left above the vacuum. [-]
    """
    if supply.pumped == 0:
        return 1.0
    inlet = work.nodes[plan.inlet]
    left = inlet.pressure_pa + supply.ambient_abs_pa - supply.static_pa
    fall = -inlet.step_pa
    return 0.5 * left / fall if left > 0.0 and fall > left else 1.0


@formula
def solve_network(
    work: Work,
    plan: NetworkPlan,
    fluids: FloatArray,
    pump: PumpPlan,
    supply: Supply,
    rule: int,
) -> int:
    """
    Solve a network from rest, and where that leads nowhere from open valves.

    Parameters
    ----------
    work, plan, fluids, pump, supply, rule
        As for `solve_from`.

    Returns
    -------
    int
        Steps taken; below 0 when neither start ended in a solution.
    """
    steps = solve_from(work, plan, fluids, pump, supply, rule, 0.0)
    if steps < 0:
        steps = solve_from(work, plan, fluids, pump, supply, rule, OPEN_PLACE)
    return steps


@formula
def solve_from(
    work: Work,
    plan: NetworkPlan,
    fluids: FloatArray,
    pump: PumpPlan,
    supply: Supply,
    rule: int,
    valve_place: float,
) -> int:
    """
    Solve a network from pressures of nought.

    Parameters
    ----------
    work : Work
        Read: fixed draws.  Written: the solution.
    plan : NetworkPlan
        The network.
    fluids : array, shape (n_fluids, 5)
        Fuels of the links, that at the pump inlet first.
    pump : PumpPlan
        The pump at the inlet.
    supply : Supply
        What the network is asked under.
    rule : int
        Friction rule.
    valve_place : float
        Where one-way links begin along their curve: 0 at the corner, above 0 open. [-]

    Returns
    -------
    int
        Steps taken; below 0 when they did not end in a solution.
    """
    nodes, links, plan_links = work.nodes, work.links, plan.links
    for node in range(plan.nodes):
        nodes[node].pressure_pa = 0.0
    for index in range(plan_links.shape[0]):
        one_way = plan_links[index].one_way == 1
        links[index].place = valve_place if one_way else FLOW_SCALE_M3_PER_S
    work.pump_slopes[2] = 0.0
    square = residual_square(work, plan, fluids, pump, supply, rule)
    for index in range(plan_links.shape[0]):
        if plan_links[index].one_way == 1 and valve_place == 0.0:
            # At its corner a valve's two slopes say nothing about which way it will go; the step
            # from here takes it for a resistance of middling size and lets the place decide.
            links[index].loss_slope = PRESSURE_SCALE_PA
            links[index].flow_slope = FLOW_SCALE_M3_PER_S
    for step in range(1, MOST_STEPS + 1):
        if not newton_step(work, plan, supply):
            return -step
        for node in range(plan.nodes):
            nodes[node].old_pressure_pa = nodes[node].pressure_pa
        corner = -1
        longest = short_of_vacuum(work, plan, supply)
        for index in range(plan_links.shape[0]):
            at = links[index]
            at.old_place = at.place
            if step > CORNER_STEPS and plan_links[index].one_way == 1:
                after = at.place + at.step_place
                if (at.place > 0.0) != (after > 0.0):
                    reach = -at.place / at.step_place
                    if reach < longest:
                        longest = reach
                        corner = index
        share = longest
        trial = square
        done = False
        for halving in range(MOST_HALVINGS):
            take_step(work, plan, share)
            if corner >= 0 and share == longest:
                # Exactly at the corner, and on its other side.
                links[corner].place = LEAST_PLACE if links[corner].old_place <= 0.0 else 0.0
            trial = residual_square(work, plan, fluids, pump, supply, rule)
            done = solved(work, plan)
            # Rounding alone may raise a residual that is at its end already, and a corner that
            # the last step ended at is crossed without getting anywhere.
            if step <= WHOLE_STEPS or trial < square or done or share == 0.0:
                break
            # Where no shorter step helps, the whole one is taken after all.
            share = 0.5 * share if halving < MOST_HALVINGS - 2 else longest
        square = trial
        if done:
            return step
    return -MOST_STEPS


@formula
def take_step(work: Work, plan: NetworkPlan, share: float) -> None:
    """
    Go a share of the step from where it began.

    Parameters
    ----------
    work : Work
        Read: pressures and places before the step, and the step.  Written: those after it.
    plan : NetworkPlan
        The network.
    share : float
        Of the step. [-]
    """
    nodes, links = work.nodes, work.links
    for node in range(plan.nodes):
        at_node = nodes[node]
        at_node.pressure_pa = at_node.old_pressure_pa + share * at_node.step_pa
    for index in range(plan.links.shape[0]):
        at = links[index]
        at.place = at.old_place + share * at.step_place
