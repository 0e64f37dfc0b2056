"""A feed line with branches under given conditions: what every node and part of it does."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.parts import CheckValve
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, has_errors
from feedproof.feedline.network_balance import (
    LINK_WORK,
    NODE_WORK,
    Supply,
    Work,
    pump_at,
)
from feedproof.feedline.network_nodes import INLET, RETURN, TANK, Link
from feedproof.feedline.network_plan import Network, NetworkPlan
from feedproof.feedline.network_solve import solve_many, solve_network
from feedproof.feedline.plan import FluidPlan, PumpPlan
from feedproof.feedline.pump_state import FeedState
from feedproof.physics.kinematics import head_pressure

FloatArray = NDArray[np.float64]

# Solved by nobody's pump: a network whose draws are given still hands one to the solver.
_NO_PUMP = PumpPlan(0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, -1.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkState:
    """
    A steady state of a network.

    Parameters
    ----------
    pressure_abs_pa : mapping of str to float
        By node. [Pa]
    flow_m3_per_s : mapping of str to float
        By part id; positive from its first to its second node. [m3/s]
    open_valves, shut_valves : tuple of str
        Ids of check valves.
    feed : FeedState or None
        The pump's state; None in a network whose draws are given.
    steps : int
        Steps of the solver.
    imbalance_fraction : float
        Greatest mass residual of a node over the greatest flow. [-]
    findings : tuple of Finding
        An error names the part for which there is no such state, and then no number here means
        anything.
    """

    pressure_abs_pa: Mapping[str, float]
    flow_m3_per_s: Mapping[str, float]
    open_valves: tuple[str, ...]
    shut_valves: tuple[str, ...]
    feed: FeedState | None
    steps: int
    imbalance_fraction: float
    findings: tuple[Finding, ...]

    @property
    def exists(self) -> bool:
        """Say whether the network has this state."""
        return not has_errors(self.findings)


def work_for(network: Network) -> Work:
    """
    Make the arrays that solutions of a network are worked out in.

    Parameters
    ----------
    network : Network
        The network.

    Returns
    -------
    Work
        Of its size, nothing drawn.
    """
    nodes = network.plan.nodes
    return Work(
        nodes=np.zeros(nodes, dtype=NODE_WORK).view(np.recarray),
        links=np.zeros(len(network.links), dtype=LINK_WORK).view(np.recarray),
        matrix=np.zeros((nodes - 1, nodes - 1)),
        side=np.zeros(nodes - 1),
        pump_slopes=np.zeros(3),
    )


def solve_fed(
    network: Network,
    pump: PumpPlan,
    fluid: FluidPlan,
    supply: Supply,
    *,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
    above_inlet_m: Mapping[str, float] | None = None,
) -> NetworkState:
    """
    Solve a network together with the pump at its inlet.

    Parameters
    ----------
    network : Network
        From `lower_network`.
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel in the feed line.
    supply : Supply
        Air, speed, demand, and the share of the return that is led back.
    return_fluid : FluidPlan or None
        The fuel in the return line, where it is warmer; None takes the same.
    link_fluids : sequence of FluidPlan or None
        The fuel in each link, where the line is not of one temperature.
    rule : int
        Friction rule.
    above_inlet_m : mapping of str to float or None
        Height of nodes above the pump inlet; pressures of the others are those at its height. [m]

    Returns
    -------
    NetworkState
        The state.

    Raises
    ------
    InputError
        The network has no pump inlet; return is led back that cannot be.
    """
    if INLET not in network.nodes:
        raise InputError.at("line", f"no part ends at {INLET!r}, so nothing feeds the pump.")
    supply = _checked(network, supply)
    work = work_for(network)
    table = _table(network, fluid, return_fluid or fluid, link_fluids)
    plan = _plan(network, link_fluids)
    steps = solve_network(work, plan, table, pump, supply, rule)
    feed = FeedState(*pump_at(work.nodes[network.plan.inlet].pressure_pa, pump, fluid, supply))
    used = {INLET} | ({RETURN} if supply.recirculated_fraction < 1.0 else set())
    used &= set(network.nodes)
    tank = supply.ambient_abs_pa - supply.static_pa
    return _state(network, work, steps, feed, used, tank, fluid, above_inlet_m or {})


def solve_drawn(
    network: Network,
    draw_m3_per_s: Mapping[str, float],
    fluid: FluidPlan,
    *,
    tank_pressure_abs_pa: float,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> NetworkState:
    """
    Solve a network out of which given flows are drawn.

    Parameters
    ----------
    network : Network
        From `lower_network`.
    draw_m3_per_s : mapping of str to float
        Flow drawn, by node; negative is put in. [m3/s]
    fluid : FluidPlan
        The fuel.
    tank_pressure_abs_pa : float
        In the tank, at the height of the network. [Pa]
    return_fluid, link_fluids
        As for `solve_fed`.
    rule : int
        Friction rule.

    Returns
    -------
    NetworkState
        The state.

    Raises
    ------
    InputError
        A node that the network does not have.
    """
    work = work_for(network)
    for node, flow in draw_m3_per_s.items():
        work.nodes[network.index(node)].draw_m3_per_s = flow
    supply = Supply(0.0, tank_pressure_abs_pa, tank_pressure_abs_pa, 0.0, 0.0, 0.0, 0.0, 0)
    table = _table(network, fluid, return_fluid or fluid, link_fluids)
    plan = _plan(network, link_fluids)
    steps = solve_network(work, plan, table, _NO_PUMP, supply, rule)
    used = {node for node, flow in draw_m3_per_s.items() if flow != 0.0}
    return _state(network, work, steps, None, used, tank_pressure_abs_pa, fluid, {})


def solve_speeds(
    network: Network,
    pump: PumpPlan,
    fluid: FluidPlan,
    supply: Supply,
    pump_speed_rev_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    backleak_m3_per_s: FloatArray,
    *,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> FloatArray:
    """
    Solve many speeds of the pump in one call.

    Parameters
    ----------
    network, pump, fluid, supply
        As for `solve_fed`; speed and demand in `supply` are passed over.
    pump_speed_rev_per_s, injected_m3_per_s, backleak_m3_per_s : array, shape (n,)
        Speeds and demands. [rev/s], [m3/s]
    return_fluid, link_fluids, rule
        As for `solve_fed`.

    Returns
    -------
    array, shape (n, 10)
        Rows in the order of `FeedState`, then the steps taken, below 0 without a solution.

    Raises
    ------
    InputError
        As for `solve_fed`.
    """
    return solve_many(
        work_for(network),
        _plan(network, link_fluids),
        _table(network, fluid, return_fluid or fluid, link_fluids),
        pump,
        _checked(network, supply),
        np.ascontiguousarray(pump_speed_rev_per_s, dtype=np.float64),
        np.ascontiguousarray(injected_m3_per_s, dtype=np.float64),
        np.ascontiguousarray(backleak_m3_per_s, dtype=np.float64),
        rule,
    )


def _table(
    network: Network,
    fluid: FluidPlan,
    return_fluid: FluidPlan,
    link_fluids: Sequence[FluidPlan] | None,
) -> FloatArray:
    """Write the fluids into a table: at the pump inlet, then of the return or of each link."""
    rows = (fluid, return_fluid) if link_fluids is None else (fluid, *link_fluids)
    if link_fluids is not None and len(link_fluids) != len(network.links):
        raise ValueError("one fluid for each link is needed")
    return np.array(rows, dtype=np.float64)


def _plan(network: Network, link_fluids: Sequence[FluidPlan] | None) -> NetworkPlan:
    """Let each link carry a fluid of its own where such are given."""
    return (network if link_fluids is None else network.with_fluid_of_each_link()).plan


def _checked(network: Network, supply: Supply) -> Supply:
    """Refuse a share of the return that has no way back; let the pump draw."""
    share = supply.recirculated_fraction
    if not 0.0 <= share <= 1.0:
        raise InputError.at("recirculation", f"leads {share:g} of the return back, not 0 to 1.")
    if share > 0.0 and network.plan.recirculation_node < 0:
        raise InputError.at(
            "recirculation",
            f"{share:g} of the return is to be led back, and the line has no node for it.",
            "Describe the recirculation when the network is made.",
        )
    return supply._replace(pumped=1)


def _state(
    network: Network,
    work: Work,
    steps: int,
    feed: FeedState | None,
    used: Collection[str],
    tank_abs_pa: float,
    fluid: FluidPlan,
    above_inlet_m: Mapping[str, float],
) -> NetworkState:
    """Read a solution out of its arrays."""
    shut = [
        bool(one_way and place <= 0.0)
        for one_way, place in zip(network.plan.links.one_way, work.links.place, strict=True)
    ]
    most = max(np.max(np.abs(work.links.flow_m3_per_s)), np.max(np.abs(work.nodes.draw_m3_per_s)))
    most = max(float(most), feed.feed_m3_per_s if feed else 0.0)
    blocked = _blocked(network, shut, used)
    residual = float(np.max(np.abs(work.nodes.mass_m3_per_s[1:])))
    heads = {
        node: head_pressure(fluid.density_kg_per_m3, above_inlet_m.get(node, 0.0))
        for node in network.nodes
    }
    return NetworkState(
        pressure_abs_pa={
            node: tank_abs_pa + float(pressure) - heads[node]
            for node, pressure in zip(network.nodes, work.nodes.pressure_pa, strict=True)
        },
        flow_m3_per_s={
            part.id: float(flow)
            for link, flow in zip(network.links, work.links.flow_m3_per_s, strict=True)
            for part in link.parts
        },
        open_valves=_valves(network.links, [not each for each in shut]),
        shut_valves=_valves(network.links, shut),
        feed=feed,
        steps=abs(steps),
        imbalance_fraction=residual / most if most > 0.0 else 0.0,
        # A valve is to blame only in a state that was found.
        findings=tuple(_unsolved(network, work, steps) or blocked),
    )


def _valves(links: tuple[Link, ...], chosen: list[bool]) -> tuple[str, ...]:
    """List the check valves of chosen links."""
    return tuple(
        part.id
        for link, take in zip(links, chosen, strict=True)
        for part in link.parts
        if take and isinstance(part, CheckValve)
    )


def _blocked(network: Network, shut: list[bool], used: Collection[str]) -> list[Finding]:
    """Name the shut valves that part the pump, its return or a draw from the tank."""
    reached = {TANK}
    grown = True
    while grown:
        new = {
            node
            for link, closed in zip(network.links, shut, strict=True)
            if not closed and reached & {link.first, link.second}
            for node in (link.first, link.second)
        }
        grown = not new <= reached
        reached |= new
    cut_off = sorted(set(used) - reached)
    if not cut_off:
        return []
    valves = _valves(
        network.links,
        [
            closed and (link.first in reached) != (link.second in reached)
            for link, closed in zip(network.links, shut, strict=True)
        ],
    )
    return [
        error(
            valve,
            f"is shut and parts {', '.join(cut_off)} from the tank: no fuel passes.",
            "Check which way round it stands, and its cracking pressure.",
        )
        for valve in valves
    ]


def _unsolved(network: Network, work: Work, steps: int) -> list[Finding]:
    """Name the part whose loss is farthest from the pressure difference across it."""
    if steps > 0:
        return []
    pressure, links = work.nodes.pressure_pa, network.plan.links
    across = pressure[links.first_node] - pressure[links.second_node]
    gaps = np.abs(work.links.loss_pa - across)
    worst = int(np.argmax(np.where(np.isfinite(gaps), gaps, np.inf)))
    part = network.links[worst].parts[0]
    return [
        error(
            part.id,
            f"no steady state was found in {-steps} steps; here loss and pressure difference are"
            f" {gaps[worst]:.3g} Pa apart.",
            "Check this part's resistance and that of its neighbours.",
        )
    ]
