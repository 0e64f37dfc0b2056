"""
Lowering of a feed line with branches: from parts and nodes to links in arrays.

Parts in series between two named nodes carry one flow, so they are added up to one link, exactly
as a chain is; the network that remains has a node only where somebody named one.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

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
# Of NumPy's record type, whose fields are attributes in plain and in compiled formulas alike.
Records = Any

NOWHERE = -1


LINK = np.dtype(
    [
        ("first_node", np.int64),
        ("second_node", np.int64),
        ("first_pipe", np.int64),
        ("end_pipe", np.int64),
        ("fluid_row", np.int64),
        ("one_way", np.int64),
        ("crack_pa", np.float64),
        ("viscous_per_m3", np.float64),
        ("media_per_m3", np.float64),
        ("inertial_per_m4", np.float64),
        ("lift_pressure_pa", np.float64),
        ("lift_flow_m3_per_s", np.float64),
        ("lift_exponent", np.float64),
        ("offset_pa", np.float64),
    ]
)
"""
Parts in series, added up: one record of a plan's links.

Fields in order: its nodes; its pipes, from the first to before the end; row of the table of fluids
that it carries; one when it opens in one direction only [-]; cracking pressure [Pa]; viscous and
media resistance [1/m3], inertial resistance [1/m4]; shut-off pressure [Pa], free flow [m3/s] and
exponent [-] of a running lift pump; loss at any flow, as of the legs of a tee whose split is
known [Pa].
"""


class NetworkPlan(NamedTuple):
    """
    A network in numbers; node 0 is the tank.

    All that is known of a link stands in one record, because each array that a formula is handed
    costs it more than a link's loss does.

    Fields in order: links, records of `LINK`, shape (n_links,); rows of
    `feedproof.feedline.plan.pipe_row`, shape (n_pipes, 8); number of nodes; nodes of pump inlet,
    of the return and of the recirculation, -1 where there is none.
    """

    links: Records
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
        links = self.plan.links.copy()
        links.inertial_per_m4 += inertial_per_m4
        links.offset_pa = offset_pa
        return replace(self, plan=self.plan._replace(links=links))

    def with_fluid_of_each_link(self) -> "Network":
        """Give the same network with a row of the table of fluids, from the second on, a link."""
        links = self.plan.links.copy()
        links.fluid_row = np.arange(1, len(self.links) + 1)
        return replace(self, plan=self.plan._replace(links=links))

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
    table = np.recarray(len(links), dtype=LINK)
    first_pipe = 0
    for record, link, row in zip(table, links, rows, strict=True):
        record.first_node, record.second_node = place[link.first], place[link.second]
        record.first_pipe, record.end_pipe = first_pipe, first_pipe + len(row.pipes)
        record.fluid_row = link.in_return
        record.one_way = any(isinstance(part, CheckValve) for part in link.parts)
        record.crack_pa = row.crack_pa
        record.viscous_per_m3, record.media_per_m3 = row.viscous_per_m3, row.media_per_m3
        record.inertial_per_m4 = row.inertial_per_m4
        lifts = running_lift_pumps(link)
        curve = _curve(lifts[0]) if lifts else (0.0, 1.0, 1.0)
        record.lift_pressure_pa, record.lift_flow_m3_per_s, record.lift_exponent = curve
        record.offset_pa = 0.0
        first_pipe = record.end_pipe
    return NetworkPlan(
        links=table,
        pipes=np.concatenate([row.pipes for row in rows]),
        nodes=len(nodes),
        inlet=place.get(INLET, NOWHERE),
        return_node=place.get(RETURN, NOWHERE),
        recirculation_node=place[target] if target else NOWHERE,
    )


def _curve(pump: LiftPump) -> tuple[float, float, float]:
    """Give the numbers of a lift pump's curve."""
    return pump.shut_off_pressure_pa, pump.free_flow_m3_per_s, pump.curve_exponent
