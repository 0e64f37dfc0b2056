"""What each part of a line does to the room: its loss, and changes of it that are really solved."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.predicting import staircase_at
from feedproof.app.sensitivity_model import TopModel, solved, with_line
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
from feedproof.physics.orifice import orifice_permanent_loss_coefficient

FloatArray = NDArray[np.float64]

CHANGE = 0.1
"""Part by which a part's bore, length, area or resistance is changed."""
MORE_BORE = "10 % more bore"
LESS_LENGTH = "10 % less length"
MORE_AREA = "10 % more media area"
MORE_RESISTANCE = "10 % more resistance"
LESS_PRESSURE = "10 % less shut-off pressure"
_PERCENT = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """
    What a changed part does to the prediction: the line solved again, less the line as it is.

    Parameters
    ----------
    what : str
        The change in words.
    room_pa, depression_pa : float
        Change of the room (of the absolute inlet pressure without a limit) and depression. [Pa]
    feed_margin : float
        Change of the feed margin. [-]
    return_m3_per_s : float
        Change of the return. [m3/s]
    """

    what: str
    room_pa: float
    depression_pa: float
    feed_margin: float
    return_m3_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSensitivity:
    """
    One part of the line.

    Parameters
    ----------
    part_id, title, owner : str
        Its id and title, and the kit that it belongs to or ``factory``.
    loss_pa : float or None
        Pressure lost in it; None off the way that most of the fuel takes. [Pa]
    share_fraction : float or None
        Its loss over the depression. [-]
    room_pa_per_percent : float or None
        Derivative of the room by the part's resistance, for one percent of it; None for a part
        without one. [Pa]
    changes : tuple of PartChange
        What was tried.
    """

    part_id: str
    title: str
    owner: str
    loss_pa: float | None
    share_fraction: float | None
    room_pa_per_percent: float | None
    changes: tuple[PartChange, ...]


def part_sensitivities(model: TopModel) -> tuple[PartSensitivity, ...]:
    """
    Say what each part of a line does to the top of the pull.

    Parameters
    ----------
    model : TopModel
        The configuration.

    Returns
    -------
    tuple of PartSensitivity
        Tank to pump inlet.
    """
    circuit, demand = model.circuit()
    parts = circuit.line.parts
    nominal = solved(circuit, demand)
    stairs = {
        step.part_id: step
        for step in staircase_at(model.case, model.kits, circuit.conditions).steps
    }
    owners = {
        part.id: kit_id
        for kit_id in model.kits
        for insertion in model.case.kits[kit_id].insertions
        for part in insertion.parts
    }

    def changed(index: int, part: Part) -> FloatArray:
        line = replace(circuit.line, parts=(*parts[:index], part, *parts[index + 1 :]))
        return solved(with_line(circuit, model.case, line), demand) - nominal

    found = []
    for index, part in enumerate(parts):
        more, less = (with_resistance(part, 1.0 + sign * _PERCENT) for sign in (1, -1))
        slope = None
        if more is not None and less is not None:
            slope = float(changed(index, more)[0] - changed(index, less)[0]) / 2.0
        step = stairs.get(part.id)
        found.append(
            PartSensitivity(
                part_id=part.id,
                title=part.title or part.id,
                owner=owners.get(part.id, "factory"),
                loss_pa=None if step is None else step.loss_pa,
                share_fraction=None if step is None else step.share_fraction,
                room_pa_per_percent=slope,
                changes=tuple(
                    _told(what, changed(index, other)) for what, other in part_changes(part)
                ),
            )
        )
    return tuple(found)


def _told(what: str, change: FloatArray) -> PartChange:
    """Name the numbers of a change; their order is that of `QUANTITIES`."""
    room, depression, margin, back = change.tolist()
    return PartChange(
        what=what,
        room_pa=room,
        depression_pa=depression,
        feed_margin=margin,
        return_m3_per_s=back,
    )


def part_changes(part: Part) -> tuple[tuple[str, Part], ...]:
    """
    Give the changes of a part that make sense for its kind.

    Parameters
    ----------
    part : Part
        The part.

    Returns
    -------
    tuple of (str, Part)
        What is changed, and the changed part.
    """
    found: list[tuple[str, Part]] = []
    if isinstance(part, Pipe | Fitting):
        found.append((MORE_BORE, replace(part, bore_m=part.bore_m * (1.0 + CHANGE))))
    # A plate that would be as wide as its pipe is no orifice any more.
    if isinstance(part, Orifice) and part.bore_m * (1.0 + CHANGE) < part.pipe_bore_m:
        found.append((MORE_BORE, replace(part, bore_m=part.bore_m * (1.0 + CHANGE))))
    if isinstance(part, Pipe):
        found.append((LESS_LENGTH, replace(part, length_m=part.length_m * (1.0 - CHANGE))))
    if isinstance(part, Element):
        # A larger element holds more dirt at the same resistance, so the scale grows with it.
        larger = replace(
            part,
            face_area_m2=part.face_area_m2 * (1.0 + CHANGE),
            loading_scale_kg=part.loading_scale_kg * (1.0 + CHANGE),
        )
        found.append((MORE_AREA, larger))
    if isinstance(part, LiftPump) and part.running:
        weaker = replace(part, shut_off_pressure_pa=part.shut_off_pressure_pa * (1.0 - CHANGE))
        found.append((LESS_PRESSURE, weaker))
    resisting = with_resistance(part, 1.0 + CHANGE)
    if resisting is not None:
        found.append((MORE_RESISTANCE, resisting))
    return tuple(found)


def with_resistance(part: Part, factor: float) -> Part | None:
    """
    Give the part whose loss at any flow is a multiple of this one's.

    Parameters
    ----------
    part : Part
        The part.
    factor : float
        Multiple, above 0. [-]

    Returns
    -------
    Part or None
        None for one that has no loss of its own: a running lift pump, an air hole.
    """
    match part:
        case Pipe():
            return replace(part, length_m=part.length_m * factor)
        case Fitting():
            return replace(
                part,
                laminar_coefficient=part.laminar_coefficient * factor,
                turbulent_coefficient=part.turbulent_coefficient * factor,
            )
        case Element():
            return replace(
                part,
                media_resistance_per_m=part.media_resistance_per_m * factor,
                housing_viscous_per_m3=part.housing_viscous_per_m3 * factor,
                housing_inertial_per_m4=part.housing_inertial_per_m4 * factor,
            )
        case CheckValve():
            return replace(
                part,
                cracking_pressure_pa=part.cracking_pressure_pa * factor,
                inertial_per_m4=part.inertial_per_m4 * factor,
            )
        case Orifice():
            return replace(part, discharge_coefficient=_discharge(part, factor))
        case Cooler():
            return replace(
                part,
                viscous_per_m3=part.viscous_per_m3 * factor,
                inertial_per_m4=part.inertial_per_m4 * factor,
            )
        case LiftPump():
            if part.running:
                return None
            return replace(part, stopped_inertial_per_m4=part.stopped_inertial_per_m4 * factor)
        case AirHole():
            return None


def _discharge(part: Orifice, factor: float) -> float:
    """
    Give the discharge coefficient at which a plate loses a multiple.

    ISO 5167-2 turned round: with K = (sqrt(1 - b^4 (1 - C^2))/(C b^2) - 1)^2 and
    s = 1 + sqrt(K), C^2 = (1 - b^4)/(b^4 (s^2 - 1)).
    """
    ratio = part.bore_m / part.pipe_bore_m
    loss = orifice_permanent_loss_coefficient(ratio, part.discharge_coefficient)
    square = (1.0 + math.sqrt(factor * loss)) ** 2 - 1.0
    return math.sqrt((1.0 - ratio**4) / (ratio**4 * square))
