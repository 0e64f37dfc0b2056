"""
A network solved again and again, until what depends on its own state has come to rest.

The split of a tee, the bore of a soft hose and the gas that comes out on the way hang on the
flows and pressures that they change.  They are looked at after each solution and held for the
next one.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.core.compiled import formula
from feedproof.feedline.network_balance import Supply, Work, pump_at
from feedproof.feedline.network_local import LinkCells, Places, all_places, sweep
from feedproof.feedline.network_nodes import Link
from feedproof.feedline.network_plan import NetworkPlan
from feedproof.feedline.network_solve import solve_network
from feedproof.feedline.network_tees import PlacedTee, tee_losses, tee_table
from feedproof.feedline.plan import PumpPlan, fluid_at
from feedproof.feedline.solve import write_state
from feedproof.feedline.surroundings import Surroundings

FloatArray = NDArray[np.float64]

# Rounds of solving and looking at the places again, until no link's loss moves by more than this,
# nor the gas at the inlet (pressure times volume per volume).
ROUND_TOLERANCE_PA = 1e-6
# So many rounds go the whole way to what they found; nearly all networks are settled by then.
WHOLE_ROUNDS = 15


class Hung(NamedTuple):
    """
    What hangs on the state of a network.

    Fields in order: tees, rows of `feedproof.feedline.network_tees.tee_table`; cells of all links,
    none where nothing depends on the place; air, tank and saturation pressure; time constant of
    the release of gas, below 0 where none is followed [s].
    """

    tees: FloatArray
    places: Places
    around: Surroundings
    release_time_s: float


def hung_on(
    links: Sequence[Link],
    tees: Sequence[PlacedTee],
    cells: Sequence[LinkCells],
    around: Surroundings | None = None,
    release_time_s: float = -1.0,
) -> Hung:
    """
    Gather what hangs on the state of a network.

    Parameters
    ----------
    links : sequence of Link
        Of the network.
    tees : sequence of PlacedTee
        Tee pieces.
    cells : sequence of LinkCells
        Of each link; none where nothing depends on the place.
    around : Surroundings or None
        Air, tank and saturation pressure; needed with cells.
    release_time_s : float
        Time constant of the release of gas; below 0 none is followed. [s]

    Returns
    -------
    Hung
        In numbers.
    """
    return Hung(
        tees=tee_table(tees, links),
        places=all_places(cells, links),
        around=around or Surroundings(0.0, 0.0, 0.0, 0.0),
        release_time_s=release_time_s,
    )


@formula
def with_gas(supply: Supply, gas_pa: float) -> Supply:
    """
    Give what a network is asked under, with gas at the inlet.

    Parameters
    ----------
    supply : Supply
        Without it.
    gas_pa : float
        Gas that does not come by the pump's fixed share. [Pa]

    Returns
    -------
    Supply
        With it.
    """
    return Supply(
        supply.static_pa,
        supply.ambient_abs_pa,
        supply.saturation_abs_pa,
        supply.pump_speed_rev_per_s,
        supply.injected_m3_per_s,
        supply.backleak_m3_per_s,
        supply.recirculated_fraction,
        supply.pumped,
        gas_pa,
    )


@formula
def look(
    work: Work,
    plan: NetworkPlan,
    hung: Hung,
    fluids: FloatArray,
    rule: int,
    inertial_per_m4: FloatArray,
    offset_pa: FloatArray,
) -> float:
    """
    Look at what hangs on a solution.

    Parameters
    ----------
    work, plan, fluids, rule
        As for `feedproof.feedline.network_solve.solve_network`; the solution is read.
    hung : Hung
        What to look at.
    inertial_per_m4 : array, shape (n_links,)
        Written: what narrowed hoses add. [1/m4]
    offset_pa : array, shape (n_links,)
        Written: what tees take. [Pa]

    Returns
    -------
    float
        Gas at the pump inlet. [Pa]
    """
    flows = np.empty(plan.links.shape[0])
    for index in range(flows.shape[0]):
        flows[index] = work.links[index].flow_m3_per_s
    offset_pa[:] = tee_losses(hung.tees, flows, fluid_at(fluids, 0).density_kg_per_m3)
    inertial_per_m4[:] = 0.0
    if hung.places.cells.shape[0] == 0:
        return 0.0
    return sweep(
        work,
        plan,
        hung.places,
        fluids,
        hung.around,
        hung.release_time_s,
        rule,
        inertial_per_m4,
    )


@formula
def is_cut_off(work: Work, plan: NetworkPlan, supply: Supply) -> bool:
    """
    Say whether shut valves part the pump inlet, or the return, from the tank.

    The flow does not say it: what the pump returns is pressed even through a shut valve, at a
    pressure that nothing stands.

    Parameters
    ----------
    work : Work
        Read: a solution.
    plan, supply
        As for `feedproof.feedline.network_solve.solve_network`.

    Returns
    -------
    bool
        True where there is no such state; `feedproof.feedline.network_state.read_state` names the
        valves.
    """
    links = plan.links
    reached = np.zeros(plan.nodes, dtype=np.bool_)
    reached[0] = True
    for _ in range(plan.nodes):
        grown = False
        for index in range(links.shape[0]):
            first, second = links[index].first_node, links[index].second_node
            shut = links[index].one_way == 1 and work.links[index].place <= 0.0
            if not shut and reached[first] != reached[second]:
                reached[first] = reached[second] = grown = True
        if not grown:
            break
    needs_return = plan.return_node >= 0 and supply.recirculated_fraction < 1.0
    return not reached[plan.inlet] or (needs_return and not reached[plan.return_node])


@formula
def settle(
    work: Work,
    plan: NetworkPlan,
    hung: Hung,
    fluids: FloatArray,
    pump: PumpPlan,
    supply: Supply,
    rule: int,
) -> tuple[int, float]:
    """
    Solve a network, look at what hangs on it, and solve again until nothing moves.

    Parameters
    ----------
    work, plan, fluids, pump, supply, rule
        As for `feedproof.feedline.network_solve.solve_network`.
    hung : Hung
        What is looked at.

    Returns
    -------
    steps : int
        Of the last solution; below 0 without one, 0 where the rounds did not come to an end or
        one of them led to valves that shut off the pump or its return.
    gas_pa : float
        At the pump inlet. [Pa]
    """
    if hung.tees.shape[0] == 0 and hung.places.cells.shape[0] == 0:
        steps = solve_network(work, plan, fluids, pump, supply, rule)
        cut_off = steps > 0 and is_cut_off(work, plan, supply)
        return 0 if cut_off else steps, supply.gas_pa
    count = plan.links.shape[0]
    density = fluid_at(fluids, 0).density_kg_per_m3
    links = plan.links.copy()
    tried = NetworkPlan(
        links, plan.pipes, plan.nodes, plan.inlet, plan.return_node, plan.recirculation_node
    )
    hoses, tees, gas = np.zeros(count), np.zeros(count), 0.0
    hoses_now, tees_now = np.zeros(count), np.zeros(count)
    for _ in range(WHOLE_ROUNDS):
        for index in range(count):
            links[index].inertial_per_m4 = plan.links[index].inertial_per_m4 + hoses[index]
            links[index].offset_pa = tees[index]
        steps = solve_network(work, tried, fluids, pump, with_gas(supply, gas), rule)
        if steps < 0:
            return steps, gas
        if is_cut_off(work, tried, supply):
            return 0, gas
        gas_now = look(work, tried, hung, fluids, rule, hoses_now, tees_now)
        # Asked of each by itself: the greatest of them would pass over what is no number.
        at_rest = abs(gas_now - gas) <= ROUND_TOLERANCE_PA
        for index in range(count):
            flow = work.links[index].flow_m3_per_s
            moved = abs(hoses_now[index] - hoses[index]) * density * flow**2
            moved += abs(tees_now[index] - tees[index])
            at_rest = at_rest and moved <= ROUND_TOLERANCE_PA
        if at_rest:
            return steps, gas
        hoses += hoses_now - hoses
        tees += tees_now - tees
        gas += gas_now - gas
    return 0, gas


@formula
def solve_many(
    work: Work,
    plan: NetworkPlan,
    hung: Hung,
    fluids: FloatArray,
    pump: PumpPlan,
    supply: Supply,
    pump_speed_rev_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    backleak_m3_per_s: FloatArray,
    rule: int,
) -> FloatArray:
    """
    Solve many engine speeds under one set of conditions, each from rest.

    Parameters
    ----------
    work, plan, hung, fluids, pump, supply, rule
        As for `settle`.
    pump_speed_rev_per_s, injected_m3_per_s, backleak_m3_per_s : array, shape (n,)
        Speeds and demands. [rev/s], [m3/s]

    Returns
    -------
    array, shape (n, 10)
        Rows in the order of `FeedState`, then the steps that `settle` gives.
    """
    states = np.empty((pump_speed_rev_per_s.shape[0], 10))
    for i in range(pump_speed_rev_per_s.shape[0]):
        asked = Supply(
            supply.static_pa,
            supply.ambient_abs_pa,
            supply.saturation_abs_pa,
            pump_speed_rev_per_s[i],
            injected_m3_per_s[i],
            backleak_m3_per_s[i],
            supply.recirculated_fraction,
            supply.pumped,
            supply.gas_pa,
        )
        steps, gas = settle(work, plan, hung, fluids, pump, asked, rule)
        pressure = work.nodes[plan.inlet].pressure_pa
        write_state(states, i, pump_at(pressure, pump, fluid_at(fluids, 0), with_gas(asked, gas)))
        states[i, 9] = steps
    return states
