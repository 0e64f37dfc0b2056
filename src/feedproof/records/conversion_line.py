"""From the lines, kits, tees and recirculation of a checked document to those of the case."""

import math
from typing import Any

from feedproof.case.line import Insertion, Kit, Recirculation, Tee
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
from feedproof.core.values import SourcedValue
from feedproof.records import document_line as lines
from feedproof.records.conversion_supply import rating_of, separator_of


def part_of(section: lines.PartSection) -> Part:
    """
    Make a part of a line.

    Parameters
    ----------
    section : PartSection
        Any kind of part of a document.

    Returns
    -------
    Part
        In SI.

    Raises
    ------
    TypeError
        A kind that no part is made from.
    """
    common: dict[str, Any] = {
        "id": section.id,
        "title": section.title,
        "from_node": section.from_node,
        "to_node": section.to_node,
    }
    match section:
        case lines.PipeSection():
            return Pipe(
                length_m=section.length.value,
                bore_m=section.bore.value,
                roughness_m=section.roughness.value,
                collapse_depression_pa=_or_infinite(section.collapse_depression),
                collapse_span_pa=section.collapse_span.value,
                collapsed_bore_fraction=section.collapsed_bore.value,
                **common,
            )
        case lines.FittingSection():
            return Fitting(
                count=section.count,
                bore_m=section.bore.value,
                laminar_coefficient=section.laminar_coefficient.value,
                turbulent_coefficient=section.turbulent_coefficient.value,
                **common,
            )
        case lines.ElementSection():
            return Element(
                role=section.role,
                media_resistance_per_m=section.media_resistance.value,
                face_area_m2=section.face_area.value,
                housing_inertial_per_m4=section.housing_inertial.value,
                housing_viscous_per_m3=section.housing_viscous.value,
                loading_scale_kg=_or_infinite(section.loading_scale),
                volume_m3=section.volume.value,
                loading_law=section.loading_law,
                rating=rating_of(section.rating),
                separator=separator_of(section.separator),
                **common,
            )
        case lines.CheckValveSection():
            return CheckValve(
                cracking_pressure_pa=section.cracking_pressure.value,
                inertial_per_m4=section.housing_inertial.value,
                **common,
            )
        case lines.OrificeSection():
            return Orifice(
                bore_m=section.bore.value,
                pipe_bore_m=section.pipe_bore.value,
                discharge_coefficient=section.discharge_coefficient.value,
                **common,
            )
        case lines.LiftPumpSection():
            return LiftPump(
                shut_off_pressure_pa=section.shut_off_pressure.value,
                free_flow_m3_per_s=section.free_flow.value,
                curve_exponent=section.curve_exponent.value,
                stopped_inertial_per_m4=section.stopped_inertial.value,
                running=section.running,
                **common,
            )
        case lines.CoolerSection():
            return Cooler(
                viscous_per_m3=section.viscous.value,
                inertial_per_m4=section.inertial.value,
                effectiveness_fraction=section.effectiveness.value,
                **common,
            )
        case lines.AirHoleSection():
            return AirHole(
                hole_diameter_m=section.hole_diameter.value,
                discharge_coefficient=section.discharge_coefficient.value,
                **common,
            )
    raise TypeError(f"no part is made from {type(section).__name__}")


def _or_infinite(found: SourcedValue | None) -> float:
    """Give a value, or infinity for what never happens: a firm hose, an element without scale."""
    return math.inf if found is None else found.value


def kit_of(section: lines.KitSection) -> Kit:
    """
    Make a kit.

    Parameters
    ----------
    section : KitSection
        Of the document.

    Returns
    -------
    Kit
        In SI.
    """
    return Kit(
        id=section.id,
        title=section.title,
        control=section.control,
        insertions=tuple(
            Insertion(
                place=insertion.before or insertion.after or "",
                side="before" if insertion.before else "after",
                parts=tuple(part_of(part) for part in insertion.part),
            )
            for insertion in section.insertion
        ),
    )


def tee_of(section: lines.TeeSection) -> Tee:
    """
    Make a tee piece.

    Parameters
    ----------
    section : TeeSection
        Of the document.

    Returns
    -------
    Tee
        In SI.
    """
    return Tee(node=section.node, bore_m=section.bore.value, branch=section.branch)


def recirculation_of(section: lines.RecirculationSection | None) -> Recirculation | None:
    """
    Make the recirculation, where there is one.

    Parameters
    ----------
    section : RecirculationSection or None
        Of the document.

    Returns
    -------
    Recirculation or None
        In SI.
    """
    if section is None:
        return None
    return Recirculation(
        to_node=section.to,
        cold_fraction=section.cold_fraction.value,
        warm_fraction=section.warm_fraction.value,
        cold_temperature_k=section.cold_temperature.value,
        warm_temperature_k=section.warm_temperature.value,
    )
