"""
A chain marched cell by cell, where something depends on the place along the line.

The summed chain is exact as long as every part has one fuel and a fixed bore.  A soft hose narrows
with the depression at its place, a leak draws air by it, gas comes out with the time that the fuel
spends below saturation, and a line that warms has another viscosity in every part: then the parts
are cut into cells and gone through from the tank to the pump, each with the depression before it.
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.line import Line
from feedproof.case.parts import AirHole, Element, Part, Pipe
from feedproof.case.vehicle import Pump
from feedproof.core.compiled import formula
from feedproof.feedline.plan import CELL_COLUMNS, FluidPlan, PartRow
from feedproof.feedline.surroundings import Surroundings
from feedproof.physics.gas import air_ingress_flow, relaxed_gas, released_gas
from feedproof.physics.hose import narrowed_bore
from feedproof.physics.losses import pipe_pressure_loss

FloatArray = NDArray[np.float64]

FIRM_CELLS, SOFT_CELLS = 4, 16
"""Cells of a firm pipe and of a soft hose; with twice as many the depression of the tests' lines
changes by less than 1 % of the hose's own loss."""

# Gas constant of dry air [J/(kg K)], for the density of air drawn in; ISO 2533.
_GAS_CONSTANT_AIR = 287.05287


class Cell(NamedTuple):
    """
    A piece of a part with its own fuel.

    Fields in order: cracking pressure [Pa]; loss over flow [Pa s/m3] and over its square
    [Pa s2/m6] without the wall; bore, length and roughness [m]; density [kg/m3] and dynamic
    viscosity [Pa s]; fuel that it holds [m3]; diameter of a hole by which air is drawn in, times
    the root of its discharge coefficient [m]; depression from which it narrows, span of that [Pa]
    and bore left [-].
    """

    crack_pa: float
    viscous_pa_s_per_m3: float
    inertial_pa_s2_per_m6: float
    bore_m: float
    length_m: float
    roughness_m: float
    density_kg_per_m3: float
    dynamic_viscosity_pa_s: float
    volume_m3: float
    hole_diameter_m: float
    collapse_depression_pa: float
    collapse_span_pa: float
    collapsed_bore_fraction: float


def needs_march(line: Line, pump: Pump, conditions: Conditions) -> bool:
    """
    Say whether a chain must be marched.

    Parameters
    ----------
    line : Line
        The chain.
    pump : Pump
        For the time that gas needs to come out.
    conditions : Conditions
        For the temperatures.

    Returns
    -------
    bool
        False where sums say all.
    """
    tank = conditions.tank_fuel_temperature_k
    return (
        pump.gas_release_time_s is not None
        or (tank is not None and tank != conditions.fuel_temperature_k)
        or any(is_local(part) for part in line.parts)
    )


def is_local(part: Part) -> bool:
    """
    Say whether what a part does depends on the depression at its place.

    Parameters
    ----------
    part : Part
        Any part.

    Returns
    -------
    bool
        True for soft hoses and air leaks.
    """
    if isinstance(part, Pipe):
        return math.isfinite(part.collapse_depression_pa)
    return isinstance(part, AirHole)


def lower_cells(
    parts: tuple[Part, ...], rows: tuple[PartRow, ...], fluids: tuple[FluidPlan, ...]
) -> tuple[FloatArray, tuple[int, ...]]:
    """
    Cut parts into cells.

    Parameters
    ----------
    parts : tuple of Part
        In the order of flow.
    rows : tuple of PartRow
        The same, lowered.
    fluids : tuple of FluidPlan
        The fuel in each of them.

    Returns
    -------
    cells : array, shape (n_cells, 13)
        Rows in the order of `Cell`.
    counts : tuple of int
        How many cells each part has.
    """
    by_part = [
        tuple(_cells_of(part, row, fluid))
        for part, row, fluid in zip(parts, rows, fluids, strict=True)
    ]
    cells = [cell for each in by_part for cell in each]
    table = np.array(cells, dtype=np.float64).reshape(len(cells), CELL_COLUMNS)
    return table, tuple(len(each) for each in by_part)


def _cells_of(part: Part, row: PartRow, fluid: FluidPlan) -> Iterator[Cell]:
    """Cut one part."""
    soft = isinstance(part, Pipe) and math.isfinite(part.collapse_depression_pa)
    count = (SOFT_CELLS if soft else FIRM_CELLS) if isinstance(part, Pipe) else 1
    volume = 0.25 * math.pi * row.bore_m**2 * row.length_m
    hole = 0.0
    if isinstance(part, Element):
        volume = part.volume_m3
    if isinstance(part, AirHole):
        hole = part.hole_diameter_m * math.sqrt(part.discharge_coefficient)
    viscous = row.viscous_per_m3 + fluid.wax_multiplier * row.media_per_m3
    for _ in range(count):
        yield Cell(
            crack_pa=row.crack_pa / count,
            viscous_pa_s_per_m3=fluid.dynamic_viscosity_pa_s * viscous / count,
            inertial_pa_s2_per_m6=fluid.density_kg_per_m3 * row.inertial_per_m4 / count,
            bore_m=row.bore_m,
            length_m=row.length_m / count,
            roughness_m=row.roughness_m,
            density_kg_per_m3=fluid.density_kg_per_m3,
            dynamic_viscosity_pa_s=fluid.dynamic_viscosity_pa_s,
            volume_m3=volume / count,
            hole_diameter_m=hole,
            collapse_depression_pa=part.collapse_depression_pa
            if isinstance(part, Pipe)
            else math.inf,
            collapse_span_pa=part.collapse_span_pa if isinstance(part, Pipe) else 1.0,
            collapsed_bore_fraction=part.collapsed_bore_fraction if isinstance(part, Pipe) else 1.0,
        )


@formula
def cell_loss(flow_m3_per_s: float, cell: Cell, depression_pa: float, rule: int) -> float:
    """
    Give the pressure lost in a cell.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow, positive. [m3/s]
    cell : Cell
        The cell.
    depression_pa : float
        Before it. [Pa]
    rule : int
        Friction rule.

    Returns
    -------
    float
        Loss. [Pa]
    """
    loss = (
        cell.crack_pa
        + cell.viscous_pa_s_per_m3 * flow_m3_per_s
        + cell.inertial_pa_s2_per_m6 * flow_m3_per_s * flow_m3_per_s
    )
    if cell.length_m > 0.0:
        bore = narrowed_bore(
            cell.bore_m,
            depression_pa,
            cell.collapse_depression_pa,
            cell.collapse_span_pa,
            cell.collapsed_bore_fraction,
        )
        loss += pipe_pressure_loss(
            flow_m3_per_s,
            cell.length_m,
            bore,
            cell.roughness_m,
            cell.density_kg_per_m3,
            cell.dynamic_viscosity_pa_s,
            rule,
        )
    return loss


@formula
def march(
    flow_m3_per_s: float,
    cells: FloatArray,
    depression_pa: float,
    released_pa: float,
    drawn_in_pa: float,
    around: Surroundings,
    fluid: FluidPlan,
    release_time_s: float,
    rule: int,
) -> tuple[float, float, float]:
    """
    Go through a chain of cells in the direction of flow.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow at the pump inlet, positive; elsewhere it follows from the density. [m3/s]
    cells : array, shape (n_cells, 13)
        Rows in the order of `Cell`.
    depression_pa : float
        Before the first cell. [Pa]
    released_pa, drawn_in_pa : float
        Gas there, come out of solution and drawn in, as pressure times its volume per liquid
        volume. [Pa]
    around : Surroundings
        Air and saturation pressure.
    fluid : FluidPlan
        The fuel at the pump inlet.
    release_time_s : float
        Time constant of the release; below 0 nothing is released here. [s]
    rule : int
        Friction rule.

    Returns
    -------
    depression_pa, released_pa, drawn_in_pa : float
        After the last cell. [Pa]
    """
    depression, released, drawn_in = depression_pa, released_pa, drawn_in_pa
    air_density = around.ambient_abs_pa / (_GAS_CONSTANT_AIR * around.air_temperature_k)
    for i in range(cells.shape[0]):
        cell = Cell(
            cells[i, 0],
            cells[i, 1],
            cells[i, 2],
            cells[i, 3],
            cells[i, 4],
            cells[i, 5],
            cells[i, 6],
            cells[i, 7],
            cells[i, 8],
            cells[i, 9],
            cells[i, 10],
            cells[i, 11],
            cells[i, 12],
        )
        flow = flow_m3_per_s * fluid.density_kg_per_m3 / cell.density_kg_per_m3
        before = around.ambient_abs_pa - depression
        depression += cell_loss(flow, cell, depression, rule)
        if cell.hole_diameter_m > 0.0:
            air = air_ingress_flow(cell.hole_diameter_m, depression, air_density, 1.0)
            drawn_in += air * around.ambient_abs_pa / flow if flow > 0.0 else math.inf
        if release_time_s >= 0.0 and cell.volume_m3 > 0.0:
            pressure = around.ambient_abs_pa - depression
            # Bubbles take room, so the fuel passes faster than its own volume would.
            speed_up = 1.0 + (released + drawn_in) / pressure if pressure > 0.0 else math.inf
            stay = cell.volume_m3 / (flow * speed_up) if flow > 0.0 else math.inf
            full = released_gas(pressure, around.saturation_abs_pa, fluid.ostwald_air, 1.0)
            start = released_gas(before, around.saturation_abs_pa, fluid.ostwald_air, 1.0)
            released = relaxed_gas(released, start, full, stay, release_time_s)
    return depression, released, drawn_in
