"""What depends on the place in a network: soft hoses, air leaks, gas that comes out with time."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.parts import AirHole, LiftPump, Part
from feedproof.feedline.cells import is_local, lower_cells, march
from feedproof.feedline.network_links import CREEPING_M3_PER_S
from feedproof.feedline.network_nodes import INLET, TANK, Link
from feedproof.feedline.network_plan import part_row
from feedproof.feedline.plan import FluidPlan
from feedproof.feedline.surroundings import Surroundings

FloatArray = NDArray[np.float64]

CRACK, COLLAPSE = 0, 10
"""Columns of a cell."""


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
    lifts : tuple of (int, LiftPump)
        Running lift pumps and their cells.
    """

    cells: FloatArray
    counts: tuple[int, ...]
    lifts: tuple[tuple[int, LiftPump], ...]

    def at(self, flow_m3_per_s: float) -> FloatArray:
        """
        Give the cells at a flow, with what lift pumps add, in the direction of flow.

        Parameters
        ----------
        flow_m3_per_s : float
            Signed. [m3/s]

        Returns
        -------
        array, shape (n_cells, 13)
            A copy.
        """
        cells = self.cells.copy()
        for place, pump in self.lifts:
            share = abs(flow_m3_per_s) / pump.free_flow_m3_per_s
            rise = 1.0 - math.copysign(share**pump.curve_exponent, flow_m3_per_s)
            cells[place, CRACK] -= math.copysign(pump.shut_off_pressure_pa * rise, flow_m3_per_s)
        return cells if flow_m3_per_s >= 0.0 else cells[::-1].copy()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """
    What one pass along the flow found.

    Parameters
    ----------
    inertial_per_m4 : array, shape (n_links,)
        What narrowed hoses add to their links. [1/m4]
    gas_pa : float
        At the pump inlet: drawn in, and released where a time constant is given. [Pa]
    """

    inertial_per_m4: FloatArray
    gas_pa: float


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
        lifts = tuple(
            (int(start), part)
            for start, part in zip(starts, link.parts, strict=False)
            if isinstance(part, LiftPump) and part.running
        )
        found.append(LinkCells(cells=cells, counts=counts, lifts=lifts))
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


def sweep(
    pressure_abs_pa: Mapping[str, float],
    flow_m3_per_s: Sequence[float],
    links: tuple[Link, ...],
    cells: tuple[LinkCells, ...],
    fluids: tuple[FluidPlan, ...],
    around: Surroundings,
    release_time_s: float,
    rule: int,
) -> Sweep:
    """
    Follow the fuel from the tank through every link, gas with it.

    Parameters
    ----------
    pressure_abs_pa : mapping of str to float
        By node. [Pa]
    flow_m3_per_s : sequence of float
        By link; positive from its first to its second node. [m3/s]
    links : tuple of Link
        Of the network.
    cells : tuple of LinkCells
        The same in cells.
    fluids : tuple of FluidPlan
        The fuel in each link; as in the solution, flows are volumes that do not expand.
    around : Surroundings
        Air and saturation pressure.
    release_time_s : float
        Time constant of the release; below 0 none is followed. [s]
    rule : int
        Friction rule.

    Returns
    -------
    Sweep
        For the next solution.  Return that is led back is taken to bring no free gas.
    """
    gas: dict[str, tuple[float, float]] = {TANK: (0.0, 0.0)}
    added = np.zeros(len(links))
    for _ in range(len(links) + 1):
        arriving: dict[str, list[tuple[float, float, float]]] = {}
        for index, (link, flow) in enumerate(zip(links, flow_m3_per_s, strict=True)):
            if link.in_return or flow == 0.0:
                continue
            start, end = (link.first, link.second) if flow > 0.0 else (link.second, link.first)
            depression = around.ambient_abs_pa - pressure_abs_pa[start]
            table = cells[index].at(flow)
            size, fluid = abs(flow), fluids[index]
            narrowed, released, drawn_in = march(
                size,
                table,
                depression,
                *gas.get(start, (0.0, 0.0)),
                around,
                fluid,
                release_time_s,
                rule,
            )
            arriving.setdefault(end, []).append((size, released, drawn_in))
            # Through a shut valve creeps a flow of rounding: nothing is to be made of it.
            if size < CREEPING_M3_PER_S or not np.isfinite(table[:, COLLAPSE]).any():
                continue
            table[:, COLLAPSE] = math.inf
            firm, _, _ = march(
                size, table, depression, 0.0, 0.0, around, fluid, release_time_s, rule
            )
            added[index] = (narrowed - firm) / (fluid.density_kg_per_m3 * size * size)
        mixed = {node: _mixed(streams) for node, streams in arriving.items() if node != TANK}
        if all(gas.get(node) == value for node, value in mixed.items()):
            break
        gas.update(mixed)
    return Sweep(inertial_per_m4=added, gas_pa=sum(gas.get(INLET, (0.0, 0.0))))


def _mixed(streams: list[tuple[float, float, float]]) -> tuple[float, float]:
    """Mix the gas of streams by their flow."""
    whole = math.fsum(flow for flow, _, _ in streams)
    return (
        math.fsum(flow * released for flow, released, _ in streams) / whole,
        math.fsum(flow * drawn_in for flow, _, drawn_in in streams) / whole,
    )


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
    table = link.at(flow_m3_per_s)
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
