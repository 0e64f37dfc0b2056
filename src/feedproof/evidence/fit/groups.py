"""
Which parameter moves which part of a loss, and the case with its parameters moved.

A part's loss has a part that grows with the viscosity and one that grows with the density; pipes
are counted with the viscous ones, whose factor then stands for their bores and lengths.  The
factory element has a factor of its own, and each kit has two.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from feedproof.case.case import Case
from feedproof.case.fuel import Fuel
from feedproof.case.line import Kit, Line
from feedproof.case.parts import (
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)
from feedproof.case.vehicle import Pump, Tank
from feedproof.evidence.fit.parameters import (
    HEIGHT,
    LINE_ELEMENT,
    LINE_INERTIAL,
    LINE_VISCOUS,
)
from feedproof.physics.orifice import orifice_permanent_loss_coefficient

FACTORY_ROLE = "factory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Groups:
    """
    Names of the parameters that move one part.

    Parameters
    ----------
    viscous, inertial : str
        Of its two kinds of loss.
    loading : str
        Of an element's growth with the dirt that it holds; empty for other parts.
    """

    viscous: str
    inertial: str
    loading: str = ""


def loading_name(part_id: str) -> str:
    """
    Name the parameter of an element's growth by dirt.

    Parameters
    ----------
    part_id : str
        Id of the element.

    Returns
    -------
    str
        Name.
    """
    return f"element.{part_id}.loading"


def viscosity_name(fuel: str) -> str:
    """
    Name the parameter of a fuel's viscosity.

    Parameters
    ----------
    fuel : str
        Name of the fuel.

    Returns
    -------
    str
        Name.
    """
    return f"fuel.{fuel}.viscosity"


def groups_of_case(case: Case) -> dict[str, Groups]:
    """
    Say for each part of the line and of all kits what moves it.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    dict of str to Groups
        By part id.
    """
    found = {part.id: _factory_groups(part) for part in case.vehicle.line.parts}
    for kit in case.kits.values():
        for insertion in kit.insertions:
            for part in insertion.parts:
                loading = loading_name(part.id) if isinstance(part, Element) else ""
                found[part.id] = Groups(
                    viscous=f"kit.{kit.id}.viscous",
                    inertial=f"kit.{kit.id}.inertial",
                    loading=loading,
                )
    return found


def _factory_groups(part: Part) -> Groups:
    """Give the groups of a part of the factory line."""
    if isinstance(part, Element):
        own = LINE_ELEMENT if part.role == FACTORY_ROLE else LINE_VISCOUS
        return Groups(viscous=own, inertial=LINE_INERTIAL, loading=loading_name(part.id))
    return Groups(viscous=LINE_VISCOUS, inertial=LINE_INERTIAL)


def changed_case(case: Case, values: Mapping[str, float]) -> Case:
    """
    Give a case with its parameters moved, so that every verb can be asked of it.

    Parameters
    ----------
    case : Case
        The case.
    values : mapping of str to float
        Factors and amounts by parameter; the gauge's offset and the transition's place move
        nothing in a case.

    Returns
    -------
    Case
        With other parts, pump, tank and fuels; its book of values is the old one's.
    """
    groups = groups_of_case(case)
    line = _changed_line(case.vehicle.line, groups, values)
    vehicle = replace(
        case.vehicle,
        line=line,
        pump=changed_pump(case.vehicle.pump, values),
        tank=_changed_tank(case.vehicle.tank, values.get(HEIGHT, 0.0)),
    )
    kits = {name: _changed_kit(kit, groups, values) for name, kit in case.kits.items()}
    fuels = {
        name: _thickened(fuel, values.get(viscosity_name(name), 1.0))
        for name, fuel in case.fuels.items()
    }
    return replace(case, vehicle=vehicle, kits=kits, fuels=fuels)


def _changed_line(line: Line, groups: Mapping[str, Groups], values: Mapping[str, float]) -> Line:
    """Change the parts of a line."""
    return replace(line, parts=_changed_parts(line.parts, groups, values))


def _changed_kit(kit: Kit, groups: Mapping[str, Groups], values: Mapping[str, float]) -> Kit:
    """Change the parts of a kit."""
    insertions = tuple(
        replace(each, parts=_changed_parts(each.parts, groups, values)) for each in kit.insertions
    )
    return replace(kit, insertions=insertions)


def _changed_parts(
    parts: Iterable[Part], groups: Mapping[str, Groups], values: Mapping[str, float]
) -> tuple[Part, ...]:
    """Change parts by the factors of their groups."""
    changed = []
    for part in parts:
        mine = groups[part.id]
        viscous, inertial = (values.get(name, 1.0) for name in (mine.viscous, mine.inertial))
        loading = values.get(mine.loading, 1.0)
        changed.append(changed_part(part, viscous, inertial, loading))
    return tuple(changed)


def changed_part(part: Part, viscous: float, inertial: float, loading: float = 1.0) -> Part:
    """
    Multiply the two kinds of loss of a part.

    Parameters
    ----------
    part : Part
        The part.
    viscous, inertial : float
        Factors; a pipe's wall friction goes by the viscous one, as a longer pipe's would. [-]
    loading : float
        Factor on the exponent of an element's growth by dirt. [-]

    Returns
    -------
    Part
        The changed part; an orifice becomes a fitting of the same loss, times the factor.
    """
    match part:
        case Pipe():
            return replace(part, length_m=part.length_m * viscous)
        case Fitting():
            return replace(
                part,
                laminar_coefficient=part.laminar_coefficient * viscous,
                turbulent_coefficient=part.turbulent_coefficient * inertial,
            )
        case Element():
            return replace(
                part,
                media_resistance_per_m=part.media_resistance_per_m * viscous,
                housing_viscous_per_m3=part.housing_viscous_per_m3 * viscous,
                housing_inertial_per_m4=part.housing_inertial_per_m4 * inertial,
                loading_scale_kg=part.loading_scale_kg / loading,
            )
        case CheckValve():
            return replace(part, inertial_per_m4=part.inertial_per_m4 * inertial)
        case Orifice():
            ratio = part.bore_m / part.pipe_bore_m
            lost = orifice_permanent_loss_coefficient(ratio, part.discharge_coefficient)
            return Fitting(
                id=part.id,
                count=1,
                bore_m=part.pipe_bore_m,
                laminar_coefficient=0.0,
                turbulent_coefficient=float(lost) * inertial,
                title=part.title,
                from_node=part.from_node,
                to_node=part.to_node,
            )
        case LiftPump():
            return replace(part, stopped_inertial_per_m4=part.stopped_inertial_per_m4 * inertial)
        case Cooler():
            return replace(
                part,
                viscous_per_m3=part.viscous_per_m3 * viscous,
                inertial_per_m4=part.inertial_per_m4 * inertial,
            )
    return part


def changed_pump(pump: Pump, values: Mapping[str, float]) -> Pump:
    """
    Multiply a pump's constants by their factors.

    Parameters
    ----------
    pump : Pump
        The pump.
    values : mapping of str to float
        Factors by parameter.

    Returns
    -------
    Pump
        The changed pump; no more gas is released than there is.
    """
    return replace(
        pump,
        displacement_m3_per_rev=pump.displacement_m3_per_rev * values.get("pump.displacement", 1.0),
        slip_m3_per_s=pump.slip_m3_per_s * values.get("pump.slip", 1.0),
        inlet_half_pressure_abs_pa=pump.inlet_half_pressure_abs_pa
        * values.get("pump.half_pressure", 1.0),
        inlet_softness_pa=pump.inlet_softness_pa * values.get("pump.softness", 1.0),
        gas_release_fraction=min(
            pump.gas_release_fraction * values.get("pump.gas_release", 1.0), 1.0
        ),
    )


def _changed_tank(tank: Tank, higher_m: float) -> Tank:
    """Raise the pump inlet above the tank."""
    return replace(
        tank,
        inlet_above_full_m=tank.inlet_above_full_m + higher_m,
        inlet_above_empty_m=tank.inlet_above_empty_m + higher_m,
    )


def _thickened(fuel: Fuel, factor: float) -> Fuel:
    """Multiply a fuel's viscosity at every temperature, near enough, by a factor."""
    if factor == 1.0:
        return fuel
    return replace(
        fuel,
        viscosity_cool_m2_per_s=fuel.viscosity_cool_m2_per_s * factor,
        viscosity_warm_m2_per_s=fuel.viscosity_warm_m2_per_s * factor,
    )
