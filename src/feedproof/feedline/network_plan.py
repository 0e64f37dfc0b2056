"""
Lowering of a feed line with branches: from parts and nodes to links in arrays.

Parts in series between two named nodes carry one flow, so they are added up to one link, exactly
as a chain is; the network that remains has a node only where somebody named one.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.line import Line, Recirculation
from feedproof.case.parts import CheckValve, LiftPump, Part
from feedproof.core.errors import InputError
from feedproof.feedline.network_nodes import (
    INLET,
    RETURN,
    TANK,
    Link,
    join_parts,
    network_findings,
    node_names,
    running_lift_pumps,
)
from feedproof.feedline.plan import LinePlan, PartRow, lower_part, merge_rows

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

NOWHERE = -1
INERTIAL_COLUMN, OFFSET_COLUMN = 3, 7
"""Of the links' rows."""


class LinkRow(NamedTuple):
    """
    Parts in series, added up.

    Fields in order: one when it opens in one direction only [-]; cracking pressure [Pa]; viscous
    and media resistance [1/m3], inertial resistance [1/m4]; shut-off pressure [Pa], free flow
    [m3/s] and exponent [-] of a running lift pump; loss at any flow, as of the legs of a tee whose
    split is known [Pa].
    """

    one_way: int
    crack_pa: float
    viscous_per_m3: float
    media_per_m3: float
    inertial_per_m4: float
    lift_pressure_pa: float
    lift_flow_m3_per_s: float
    lift_exponent: float
    offset_pa: float = 0.0


class NetworkPlan(NamedTuple):
    """
    Links in few arrays, which cost less to hand on than many; node 0 is the tank.

    Fields in order: first and second node of each link, shape (n_links,) [-]; one for a link that
    opens in one direction only, shape (n_links,) [-]; row of the table of fluids that a link
    carries, shape (n_links,) [-]; the other fields of `LinkRow`, shape (n_links, 8); first pipe of
    each link, shape (n_links + 1,); rows of `feedproof.feedline.plan.pipe_row`, shape
    (n_pipes, 8); number of nodes; nodes of pump inlet, of the return and of the recirculation, -1
    where there is none.
    """

    first_node: IntArray
    second_node: IntArray
    one_way: IntArray
    fluid_row: IntArray
    rows: FloatArray
    first_pipe: IntArray
    pipes: FloatArray
    nodes: int
    inlet: int
    return_node: int
    recirculation_node: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """
    A feed line with branches, ready to be solved.

    Parameters
    ----------
    nodes : tuple of str
        Names of the nodes, the tank first.
    links : tuple of Link
        As in the plan.
    plan : NetworkPlan
        The same in arrays.
    """

    nodes: tuple[str, ...]
    links: tuple[Link, ...]
    plan: NetworkPlan

    def with_added(self, inertial_per_m4: FloatArray, offset_pa: FloatArray) -> "Network":
        """
        Give the same network with losses added to its links.

        Parameters
        ----------
        inertial_per_m4 : array, shape (n_links,)
            Inertial resistance to add, as of narrowed hoses. [1/m4]
        offset_pa : array, shape (n_links,)
            Loss from first to second node at any flow, as of tees; may be negative. [Pa]

        Returns
        -------
        Network
            A new one.
        """
        rows = self.plan.rows.copy()
        rows[:, INERTIAL_COLUMN] += inertial_per_m4
        rows[:, OFFSET_COLUMN] = offset_pa
        return replace(self, plan=self.plan._replace(rows=rows))

    def index(self, node: str) -> int:
        """
        Find a node.

        Parameters
        ----------
        node : str
            Its name.

        Returns
        -------
        int
            Its place in the arrays.

        Raises
        ------
        InputError
            The network has no such node.
        """
        if node not in self.nodes:
            raise InputError.at(
                node,
                "the feed line has no node of this name.",
                f"Name one of {', '.join(self.nodes)}.",
            )
        return self.nodes.index(node)


def lower_network(
    line: Line,
    return_line: Line | None = None,
    *,
    recirculation: Recirculation | None = None,
    conditions: Conditions | None = None,
    drawn: Collection[str] = (),
) -> Network:
    """
    Lower a feed line and its return line to a network.

    Parameters
    ----------
    line : Line
        From the tank to the pump inlet.  A part without `to_node` ends where the next one begins,
        the last one at ``inlet``; one without `from_node` begins where the one before ended, the
        first one at ``tank``.
    return_line : Line or None
        From ``return`` to the tank, by the same rule; None or empty when it is not described, and
        then the return reaches the tank without loss.
    recirculation : Recirculation or None
        Thermostatic return into the feed line.
    conditions : Conditions or None
        For the dirt that elements hold.
    drawn : collection of str
        Nodes where fuel is drawn by something else than the pump.

    Returns
    -------
    Network
        Ready to be solved.

    Raises
    ------
    InputError
        All at once: two parts of one id, nodes that nothing joins to the tank, dead ends, a part
        from a node to itself, a recirculation into no node, lift pumps without a curve, too many
        nodes.
    """
    back = return_line.parts if return_line else ()
    links = [
        *join_parts(line.parts, start=TANK, end=INLET, in_return=False),
        *join_parts(back, start=RETURN, end=TANK, in_return=True),
    ]
    findings = network_findings((*line.parts, *back), links, recirculation, drawn)
    if findings:
        raise InputError(findings)
    masses = conditions.captured_mass_kg if conditions else {}
    rows = [
        merge_rows(tuple(part_row(part, masses.get(part.id, 0.0)) for part in link.parts))
        for link in links
    ]
    nodes = node_names(links)
    target = recirculation.to_node if recirculation else None
    return Network(nodes=nodes, links=tuple(links), plan=_plan(nodes, links, rows, target))


def part_row(part: Part, captured_mass_kg: float) -> PartRow:
    """Give a part's row of losses; that of a running lift pump is empty, its curve stands apart."""
    if isinstance(part, LiftPump) and part.running:
        return PartRow(0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    return lower_part(part, captured_mass_kg)


def _plan(
    nodes: tuple[str, ...], links: list[Link], rows: list[LinePlan], target: str | None
) -> NetworkPlan:
    """Write links and their sums into arrays."""
    place = {node: index for index, node in enumerate(nodes)}
    lifts = [running_lift_pumps(link) for link in links]
    links_rows = [
        (
            row.crack_pa,
            row.viscous_per_m3,
            row.media_per_m3,
            row.inertial_per_m4,
            *(_curve(pumps[0]) if pumps else (0.0, 1.0, 1.0)),
            0.0,
        )
        for row, pumps in zip(rows, lifts, strict=True)
    ]
    pipes = np.concatenate([row.pipes for row in rows])
    one_way = [any(isinstance(part, CheckValve) for part in link.parts) for link in links]
    return NetworkPlan(
        first_node=np.array([place[link.first] for link in links], dtype=np.int64),
        second_node=np.array([place[link.second] for link in links], dtype=np.int64),
        one_way=np.array(one_way, dtype=np.int64),
        fluid_row=np.array([link.in_return for link in links], dtype=np.int64),
        rows=np.array(links_rows, dtype=np.float64),
        first_pipe=np.cumsum([0, *(len(row.pipes) for row in rows)], dtype=np.int64),
        pipes=pipes,
        nodes=len(nodes),
        inlet=place.get(INLET, NOWHERE),
        return_node=place.get(RETURN, NOWHERE),
        recirculation_node=place[target] if target else NOWHERE,
    )


def _curve(pump: LiftPump) -> tuple[float, float, float]:
    """Give the numbers of a lift pump's curve."""
    return pump.shut_off_pressure_pa, pump.free_flow_m3_per_s, pump.curve_exponent
