"""What depends on the place in a network: soft hoses, air leaks, gas that comes out with time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.case.parts import AirHole, LiftPump, Part
from feedproof.core.compiled import formula
from feedproof.feedline.cells import is_local, lower_cells, march
from feedproof.feedline.network_balance import Work
from feedproof.feedline.network_links import CREEPING_M3_PER_S
from feedproof.feedline.network_nodes import Link
from feedproof.feedline.network_plan import NetworkPlan, part_row
from feedproof.feedline.plan import CELL_COLUMNS, FluidPlan, fluid_at
from feedproof.feedline.surroundings import Surroundings

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

CRACK, COLLAPSE = 0, 10
"""Columns of a cell."""
LIFT_COLUMNS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkCells:
    """
    The cells of a link, in the order of its parts.

    Parameters
    ----------
    cells : array, shape (n_cells, 13)
        Rows in the order of `Cell`.
    counts : tuple of int
        Cells of each part.
    lifts : array, shape (n_lifts, 4)
        Running lift pumps: cell, shut-off pressure [Pa], free flow [m3/s] and exponent [-].
    """

    cells: FloatArray
    counts: tuple[int, ...]
    lifts: FloatArray


class Places(NamedTuple):
    """
    The cells of all links of a network.

    Fields in order: rows of cells; the first row of each link and the end, shape (n_links + 1,);
    rows of lift pumps, as in `LinkCells`, and the first one of each link and the end; for each
    link one when a hose of it may narrow, and one when it belongs to the return line.
    """

    cells: FloatArray
    first_cell: IntArray
    lifts: FloatArray
    first_lift: IntArray
    may_narrow: IntArray
    in_return: IntArray


def link_cells(
    links: tuple[Link, ...], masses: dict[str, float], fluids: tuple[FluidPlan, ...]
) -> tuple[LinkCells, ...]:
    """
    Cut the parts of every link into cells.

    Parameters
    ----------
    links : tuple of Link
        Of the network.
    masses : dict of str to float
        Dirt held, by part. [kg]
    fluids : tuple of FluidPlan
        Of each link.

    Returns
    -------
    tuple of LinkCells
        In the same order.
    """
    found = []
    for link, fluid in zip(links, fluids, strict=True):
        rows = tuple(part_row(part, masses.get(part.id, 0.0)) for part in link.parts)
        cells, counts = lower_cells(link.parts, rows, (fluid,) * len(rows))
        starts = np.cumsum([0, *counts])
        lifts = [
            (start, part.shut_off_pressure_pa, part.free_flow_m3_per_s, part.curve_exponent)
            for start, part in zip(starts, link.parts, strict=False)
            if isinstance(part, LiftPump) and part.running
        ]
        table = np.array(lifts, dtype=np.float64).reshape(len(lifts), LIFT_COLUMNS)
        found.append(LinkCells(cells=cells, counts=counts, lifts=table))
    return tuple(found)


def has_local(parts: tuple[Part, ...]) -> bool:
    """
    Say whether any part depends on the depression at its place.

    Parameters
    ----------
    parts : tuple of Part
        Of the feed line.

    Returns
    -------
    bool
        True when a sweep is needed for them.
    """
    return any(is_local(part) or isinstance(part, AirHole) for part in parts)


def all_places(cells: Sequence[LinkCells], links: Sequence[Link]) -> Places:
    """
    Lay the cells of all links into arrays.

    Parameters
    ----------
    cells : sequence of LinkCells
        Of each link; none where nothing depends on the place.
    links : sequence of Link
        Of the network.

    Returns
    -------
    Places
        The same, end to end.
    """
    soft = [bool(np.isfinite(each.cells[:, COLLAPSE]).any()) for each in cells]
    return Places(
        cells=np.concatenate([np.empty((0, CELL_COLUMNS)), *(each.cells for each in cells)]),
        first_cell=np.cumsum([0, *(len(each.cells) for each in cells)]),
        lifts=np.concatenate([np.empty((0, LIFT_COLUMNS)), *(each.lifts for each in cells)]),
        first_lift=np.cumsum([0, *(len(each.lifts) for each in cells)]),
        may_narrow=np.array(soft, dtype=np.int64),
        in_return=np.array([link.in_return for link in links], dtype=np.int64),
    )


@formula
def cells_in_flow(cells: FloatArray, lifts: FloatArray, flow_m3_per_s: float) -> FloatArray:
    """
    Give the cells of a link at a flow, with what lift pumps add, in the direction of flow.

    Parameters
    ----------
    cells, lifts : array
        As in `LinkCells`.
    flow_m3_per_s : float
        Signed. [m3/s]

    Returns
    -------
    array, shape (n_cells, 13)
        A copy.
    """
    found = cells.copy()
    for row in range(lifts.shape[0]):
        share = abs(flow_m3_per_s) / lifts[row, 2]
        rise = 1.0 - math.copysign(share ** lifts[row, 3], flow_m3_per_s)
        found[int(lifts[row, 0]), CRACK] -= math.copysign(lifts[row, 1] * rise, flow_m3_per_s)
    return found if flow_m3_per_s >= 0.0 else found[::-1].copy()


@formula
def sweep(
    work: Work,
    plan: NetworkPlan,
    places: Places,
    fluids: FloatArray,
    around: Surroundings,
    release_time_s: float,
    rule: int,
    inertial_per_m4: FloatArray,
) -> float:
    """
    Follow the fuel from the tank through every link, gas with it.

    Parameters
    ----------
    work : Work
        Read: pressures and flows of a solution.
    plan : NetworkPlan
        The network.
    places : Places
        Its cells.
    fluids : array, shape (n_fluids, 5)
        The fuel in each link; as in the solution, flows are volumes that do not expand.
    around : Surroundings
        Air, tank and saturation pressure.
    release_time_s : float
        Time constant of the release; below 0 none is followed. [s]
    rule : int
        Friction rule.
    inertial_per_m4 : array, shape (n_links,)
        Written: what narrowed hoses add to their links. [1/m4]

    Returns
    -------
    float
        Gas at the pump inlet: drawn in, and released where a time constant is given.  Return that
        is led back is taken to bring no free gas. [Pa]
    """
    links, nodes = plan.links, work.nodes
    tank_abs = around.ambient_abs_pa - around.static_pa
    released, drawn_in = np.zeros(plan.nodes), np.zeros(plan.nodes)
    inertial_per_m4[:] = 0.0
    for turn in range(links.shape[0] + 1):
        whole = np.zeros(plan.nodes)
        released_with, drawn_with = np.zeros(plan.nodes), np.zeros(plan.nodes)
        for index in range(links.shape[0]):
            flow = work.links[index].flow_m3_per_s
            if places.in_return[index] == 1 or flow == 0.0:
                continue
            forward = flow > 0.0
            start = links[index].first_node if forward else links[index].second_node
            end = links[index].second_node if forward else links[index].first_node
            depression = around.ambient_abs_pa - (tank_abs + nodes[start].pressure_pa)
            table = cells_in_flow(
                places.cells[places.first_cell[index] : places.first_cell[index + 1]],
                places.lifts[places.first_lift[index] : places.first_lift[index + 1]],
                flow,
            )
            size, fluid = abs(flow), fluid_at(fluids, links[index].fluid_row)
            narrowed, free, air = march(
                size,
                table,
                depression,
                released[start],
                drawn_in[start],
                around,
                fluid,
                release_time_s,
                rule,
            )
            whole[end] += size
            released_with[end] += size * free
            drawn_with[end] += size * air
            # Through a shut valve creeps a flow of rounding: nothing is to be made of it.  What a
            # hose loses does not hang on the gas, so the first turn says it.
            if turn > 0 or size < CREEPING_M3_PER_S or places.may_narrow[index] == 0:
                continue
            table[:, COLLAPSE] = np.inf
            firm, _, _ = march(
                size, table, depression, 0.0, 0.0, around, fluid, release_time_s, rule
            )
            lost = (narrowed - firm) / (fluid.density_kg_per_m3 * size * size)
            inertial_per_m4[index] = lost
        still = True
        for node in range(1, plan.nodes):
            if whole[node] > 0.0:
                free, air = released_with[node] / whole[node], drawn_with[node] / whole[node]
                still = still and free == released[node] and air == drawn_in[node]
                released[node], drawn_in[node] = free, air
        if still:
            break
    return float(released[plan.inlet] + drawn_in[plan.inlet])


def part_losses(
    link: LinkCells,
    flow_m3_per_s: float,
    depression_pa: float,
    fluid: FluidPlan,
    rule: int,
) -> list[float]:
    """
    Give what each part of a link loses in the direction from its first to its second node.

    Parameters
    ----------
    link : LinkCells
        The link.
    flow_m3_per_s : float
        Positive in that direction. [m3/s]
    depression_pa : float
        Before its first part. [Pa]
    fluid : FluidPlan
        The fuel in it.
    rule : int
        Friction rule.

    Returns
    -------
    list of float
        Losses, below 0 for a running lift pump. [Pa]
    """
    table = cells_in_flow(link.cells, link.lifts, flow_m3_per_s)
    around = Surroundings(0.0, 1e5, 1e5, 293.15)
    losses = []
    first = 0
    depression = depression_pa
    for count in link.counts:
        before = depression
        depression, _, _ = march(
            flow_m3_per_s,
            table[first : first + count],
            depression,
            0.0,
            0.0,
            around,
            fluid,
            -1.0,
            rule,
        )
        losses.append(depression - before)
        first += count
    return losses
