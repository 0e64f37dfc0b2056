"""What a solution of a network says: of every node, part and valve, and why there may be none."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.parts import CheckValve
from feedproof.core.findings import Finding, error, has_errors
from feedproof.feedline.network_balance import Work
from feedproof.feedline.network_nodes import TANK, Link
from feedproof.feedline.network_plan import Network
from feedproof.feedline.plan import FluidPlan
from feedproof.feedline.pump_state import FeedState
from feedproof.physics.kinematics import head_pressure


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


def read_state(
    network: Network,
    work: Work,
    steps: int,
    feed: FeedState | None,
    used: Collection[str],
    tank_abs_pa: float,
    fluid: FluidPlan,
    above_inlet_m: Mapping[str, float],
) -> NetworkState:
    """
    Read a solution out of its arrays.

    Parameters
    ----------
    network : Network
        What was solved.
    work : Work
        The solution.
    steps : int
        Of the solver; not above 0 where there is none.
    feed : FeedState or None
        The pump's state.
    used : collection of str
        Nodes that fuel must reach.
    tank_abs_pa : float
        Pressure in the tank, at the height of the network. [Pa]
    fluid : FluidPlan
        For the heights.
    above_inlet_m : mapping of str to float
        Heights of nodes. [m]

    Returns
    -------
    NetworkState
        The state, with errors where it does not exist.
    """
    flows, draws = work.links.flow_m3_per_s, work.nodes.draw_m3_per_s
    most = max(float(np.max(np.abs(flows))), float(np.max(np.abs(draws))))
    most = max(most, feed.feed_m3_per_s if feed else 0.0)
    shut = shut_links(network, work)
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
            for link, flow in zip(network.links, flows, strict=True)
            for part in link.parts
        },
        open_valves=_valves(network.links, ~shut),
        shut_valves=_valves(network.links, shut),
        feed=feed,
        steps=abs(steps),
        imbalance_fraction=residual / most if most > 0.0 else 0.0,
        # A valve is to blame only in a state that was found.
        findings=tuple(_unsolved(network, work, steps) or _blocked(network, shut, used)),
    )


def shut_links(network: Network, work: Work) -> NDArray[np.bool_]:
    """
    Say which links are shut by a valve.

    Parameters
    ----------
    network : Network
        What was solved.
    work : Work
        The solution.

    Returns
    -------
    array of bool, shape (n_links,)
        True for a check valve at or before its corner.
    """
    shut: NDArray[np.bool_] = (network.plan.links.one_way == 1) & (work.links.place <= 0.0)
    return shut


def _valves(links: tuple[Link, ...], chosen: NDArray[np.bool_]) -> tuple[str, ...]:
    """List the check valves of chosen links."""
    return tuple(
        part.id
        for link, take in zip(links, chosen, strict=True)
        for part in link.parts
        if take and isinstance(part, CheckValve)
    )


def _blocked(network: Network, shut: NDArray[np.bool_], used: Collection[str]) -> list[Finding]:
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
        shut & [(link.first in reached) != (link.second in reached) for link in network.links],
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
