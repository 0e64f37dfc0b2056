"""
Lowering: from parts and fuels to the few numbers that the solver needs.

Every part of a line, whatever its kind, is one row of seven numbers::

    loss = crack + mu (viscous + W media) Q + rho inertial Q^2 + f(Re) (L/d) rho v^2/2

A fitting's K1/Re is a viscous term, its K an inertial one; an element's media and housing are the
same two terms; only a pipe needs a friction factor.  So a chain adds up, exactly, to four sums
and one friction term for each distinct pair of bore and roughness, and the same rows serve a
staircase (part by part) and a network (link by link).  Where something depends on the place along
the line (a soft hose, an air leak, gas coming out with time, a temperature that changes), the
chain is marched cell by cell instead: see `feedproof.feedline.cells`.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.parts import (
    AirHole,
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)
from feedproof.case.vehicle import Pump, Tank, Topology
from feedproof.core.compiled import formula
from feedproof.core.errors import InputError
from feedproof.physics.element import (
    cake_growth,
    complete_growth,
    media_growth,
    standard_growth,
    wax_multiplier,
)
from feedproof.physics.friction import FrictionRule, transition_end, turbulent_friction_factor
from feedproof.physics.fuel import (
    linear_density,
    vapour_pressure,
    walther_constants,
    walther_kinematic_viscosity,
)
from feedproof.physics.kinematics import head_pressure
from feedproof.physics.orifice import orifice_permanent_loss_coefficient

FloatArray = NDArray[np.float64]

PIPE_COLUMNS = 3 + len(FrictionRule)
CELL_COLUMNS = 13
GROWTH = {
    "intermediate": media_growth,
    "cake": cake_growth,
    "standard": standard_growth,
    "complete": complete_growth,
}
"""How an element's resistance grows with the mass that it holds, by its law."""
NO_CELLS = np.empty((0, CELL_COLUMNS))


class PartRow(NamedTuple):
    """Seven numbers of one part: [Pa], [1/m3], [1/m3], [1/m4], [m], [m], [m]."""

    crack_pa: float
    viscous_per_m3: float
    media_per_m3: float
    inertial_per_m4: float
    bore_m: float
    length_m: float
    roughness_m: float


class LinePlan(NamedTuple):
    """
    A chain in sums, its pipes merged by bore and roughness.

    Fields in order: cracking pressure [Pa]; viscous and media resistance [1/m3], inertial
    resistance [1/m4]; pipes, rows of `pipe_row`, shape (n_bores, 8); cells for a march, shape
    (n_cells, 13), none where the sums say all.
    """

    crack_pa: float
    viscous_per_m3: float
    media_per_m3: float
    inertial_per_m4: float
    pipes: FloatArray
    cells: FloatArray


class FluidPlan(NamedTuple):
    """A fuel at one temperature: [kg/m3], [Pa s], [-], [Pa], [-]."""

    density_kg_per_m3: float
    dynamic_viscosity_pa_s: float
    wax_multiplier: float
    vapour_pressure_abs_pa: float
    ostwald_air: float


class PumpPlan(NamedTuple):
    """
    A pump in the numbers of the solver.

    Topology 0 overflows to the tank, 1 recirculates; a release time below 0 means that the share
    of the gas released is fixed.
    """

    topology: int
    displacement_m3_per_rev: float
    filling_fraction: float
    slip_m3_per_s: float
    slip_viscosity_pa_s: float
    half_pressure_abs_pa: float
    softness_pa: float
    port_loss_pa: float
    port_loss_speed_rev_per_s: float
    release_fraction: float
    release_time_s: float
    lubrication_m3_per_s: float


def lower_part(part: Part, captured_mass_kg: float = 0.0) -> PartRow:
    """
    Lower one part to its row.

    Parameters
    ----------
    part : Part
        Any part of a line.
    captured_mass_kg : float
        Dirt that it holds, for an element. [kg]

    Returns
    -------
    PartRow
        Its seven numbers.

    Raises
    ------
    InputError
        A running lift pump, which is no loss; an element that its load has shut.
    """
    match part:
        case Pipe():
            return PartRow(0.0, 0.0, 0.0, 0.0, part.bore_m, part.length_m, part.roughness_m)
        case Fitting():
            area_m2 = math.pi * part.bore_m**2 / 4.0
            # K1/Re rho v^2/2 = K1 mu v/(2 d): the laminar end of a fitting is a viscous loss.
            viscous = part.count * part.laminar_coefficient / (2.0 * part.bore_m * area_m2)
            inertial = part.count * part.turbulent_coefficient / (2.0 * area_m2**2)
            return PartRow(0.0, viscous, 0.0, inertial, 1.0, 0.0, 0.0)
        case Element():
            media = part.media_resistance_per_m / part.face_area_m2
            growth = GROWTH[part.loading_law](captured_mass_kg, part.loading_scale_kg)
            if math.isinf(growth):
                raise InputError.at(
                    part.id,
                    f"holds {1e3 * captured_mass_kg:g} g, which shuts its media: by its law"
                    f" {part.loading_law!r} nothing passes at its scale of"
                    f" {1e3 * part.loading_scale_kg:g} g.",
                    "Ask for a smaller load, or correct the scale.",
                )
            return PartRow(
                0.0,
                part.housing_viscous_per_m3,
                media * growth,
                part.housing_inertial_per_m4,
                1.0,
                0.0,
                0.0,
            )
        case CheckValve():
            return PartRow(part.cracking_pressure_pa, 0.0, 0.0, part.inertial_per_m4, 1.0, 0.0, 0.0)
        case Orifice():
            coefficient = orifice_permanent_loss_coefficient(
                part.bore_m / part.pipe_bore_m, part.discharge_coefficient
            )
            area_m2 = math.pi * part.pipe_bore_m**2 / 4.0
            return PartRow(0.0, 0.0, 0.0, coefficient / (2.0 * area_m2**2), 1.0, 0.0, 0.0)
        case LiftPump():
            if part.running:
                raise InputError.at(
                    part.id,
                    "a running lift pump adds pressure, it has no row of losses.",
                    "Solve the line as a network.",
                )
            return PartRow(0.0, 0.0, 0.0, part.stopped_inertial_per_m4, 1.0, 0.0, 0.0)
        case Cooler():
            return PartRow(0.0, part.viscous_per_m3, 0.0, part.inertial_per_m4, 1.0, 0.0, 0.0)
        case AirHole():
            return PartRow(0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def lower_rows(line: Line, captured_mass_kg: Mapping[str, float]) -> tuple[PartRow, ...]:
    """
    Lower every part of a line.

    Parameters
    ----------
    line : Line
        Tank to pump inlet.
    captured_mass_kg : mapping of str to float
        Dirt held, by part id. [kg]

    Returns
    -------
    tuple of PartRow
        In the order of flow.
    """
    return tuple(lower_part(part, captured_mass_kg.get(part.id, 0.0)) for part in line.parts)


def pipe_row(bore_m: float, length_m: float, roughness_m: float) -> tuple[float, ...]:
    """
    Give a pipe's numbers, with the constants of its bore.

    Parameters
    ----------
    bore_m, length_m, roughness_m : float
        The pipe. [m]

    Returns
    -------
    tuple of float
        Bore, length, roughness [m], then the friction factor at the end of the transition for each
        friction rule in the order of their codes; not a number where a rule has none. [-]
    """
    ends = (
        math.nan
        if rule is FrictionRule.CHURCHILL
        else turbulent_friction_factor(transition_end(int(rule)), roughness_m / bore_m, int(rule))
        for rule in FrictionRule
    )
    return (bore_m, length_m, roughness_m, *ends)


def merge_rows(rows: tuple[PartRow, ...], cells: FloatArray = NO_CELLS) -> LinePlan:
    """
    Add up the rows of a chain, merging pipes of equal bore and roughness.

    Parameters
    ----------
    rows : tuple of PartRow
        The parts of a chain.
    cells : array, shape (n_cells, 13)
        For a march; none where the sums say all.

    Returns
    -------
    LinePlan
        The chain in sums; its loss is the sum of the parts' losses, exactly.
    """
    lengths: dict[tuple[float, float], float] = {}
    for row in rows:
        if row.length_m > 0.0:
            key = (row.bore_m, row.roughness_m)
            lengths[key] = lengths.get(key, 0.0) + row.length_m
    pipes = [pipe_row(bore, lengths[bore, rough], rough) for bore, rough in sorted(lengths)]
    return LinePlan(
        crack_pa=math.fsum(row.crack_pa for row in rows),
        viscous_per_m3=math.fsum(row.viscous_per_m3 for row in rows),
        media_per_m3=math.fsum(row.media_per_m3 for row in rows),
        inertial_per_m4=math.fsum(row.inertial_per_m4 for row in rows),
        pipes=np.array(pipes, dtype=np.float64).reshape(len(pipes), PIPE_COLUMNS),
        cells=cells,
    )


@formula
def fluid_at(fluids: FloatArray, row: int) -> FluidPlan:
    """
    Take a fluid out of the table of fluids.

    Parameters
    ----------
    fluids : array, shape (n_fluids, 5)
        Rows in the order of `FluidPlan`; the first one is the fuel at the pump inlet.
    row : int
        Which of them.

    Returns
    -------
    FluidPlan
        The fluid.
    """
    return FluidPlan(fluids[row, 0], fluids[row, 1], fluids[row, 2], fluids[row, 3], fluids[row, 4])


def lower_fluid(fuel: Fuel, temperature_k: float) -> FluidPlan:
    """
    Give a fuel's numbers at one temperature.

    Parameters
    ----------
    fuel : Fuel
        The fuel.
    temperature_k : float
        Its temperature. [K]

    Returns
    -------
    FluidPlan
        Density, viscosity, wax multiplier, vapour pressure and air solubility.
    """
    slope_a, slope_b = walther_constants(
        fuel.temperature_cool_k,
        fuel.viscosity_cool_m2_per_s,
        fuel.temperature_warm_k,
        fuel.viscosity_warm_m2_per_s,
    )
    density = linear_density(fuel.density_15c_kg_per_m3, fuel.expansion_per_k, temperature_k)
    viscosity = walther_kinematic_viscosity(temperature_k, slope_a, slope_b)
    return FluidPlan(
        density_kg_per_m3=density,
        dynamic_viscosity_pa_s=viscosity * density,
        wax_multiplier=wax_multiplier(temperature_k, fuel.cloud_point_k, fuel.cfpp_k),
        vapour_pressure_abs_pa=vapour_pressure(
            fuel.vapour_pressure_20c_abs_pa, fuel.vapour_pressure_slope_k, temperature_k
        ),
        ostwald_air=fuel.ostwald_air,
    )


def lower_pump(pump: Pump) -> PumpPlan:
    """
    Give a pump's numbers.

    Parameters
    ----------
    pump : Pump
        The pump.

    Returns
    -------
    PumpPlan
        As the solver takes it.
    """
    return PumpPlan(
        topology=0 if pump.topology is Topology.OVERFLOW_TO_TANK else 1,
        displacement_m3_per_rev=pump.displacement_m3_per_rev,
        filling_fraction=pump.filling_fraction,
        slip_m3_per_s=pump.slip_m3_per_s,
        slip_viscosity_pa_s=pump.slip_viscosity_pa_s,
        half_pressure_abs_pa=pump.inlet_half_pressure_abs_pa,
        softness_pa=pump.inlet_softness_pa,
        port_loss_pa=pump.port_loss_pa,
        port_loss_speed_rev_per_s=pump.port_loss_speed_rev_per_s,
        release_fraction=pump.gas_release_fraction,
        release_time_s=-1.0 if pump.gas_release_time_s is None else pump.gas_release_time_s,
        lubrication_m3_per_s=pump.lubrication_m3_per_s,
    )


def lift_m(tank: Tank, conditions: Conditions) -> float:
    """
    Height of the pump inlet above the fuel surface, with level and slope of the road.

    Parameters
    ----------
    tank : Tank
        Heights with a full and an empty tank.
    conditions : Conditions
        Level and pitch.

    Returns
    -------
    float
        Positive when the fuel must be lifted. [m]
    """
    level = conditions.fuel_level_fraction
    upright = tank.inlet_above_empty_m + level * (
        tank.inlet_above_full_m - tank.inlet_above_empty_m
    )
    pitch = conditions.road_pitch_rad
    return upright * math.cos(pitch) + tank.distance_to_pump_m * math.sin(pitch)


def static_depression_pa(tank: Tank, conditions: Conditions, fluid: FluidPlan) -> float:
    """
    Depression that is there without flow: lift and a tank below ambient.

    Parameters
    ----------
    tank : Tank
        Heights.
    conditions : Conditions
        Level, pitch and tank depression.
    fluid : FluidPlan
        For the density.

    Returns
    -------
    float
        Positive below ambient. [Pa]
    """
    head = head_pressure(fluid.density_kg_per_m3, lift_m(tank, conditions))
    return head + tank_depression_pa(tank, conditions)


def tank_depression_pa(tank: Tank, conditions: Conditions) -> float:
    """
    Depression of the gas above the fuel: what the breather's valve holds, or a blocked breather.

    Parameters
    ----------
    tank : Tank
        For the valve in the cap.
    conditions : Conditions
        For a blocked breather.

    Returns
    -------
    float
        The larger of both, since a tank beyond the valve's pressure is a blocked one. [Pa]
    """
    return max(tank.cap_valve_pa, conditions.tank_depression_pa)
