"""A positive control for a plan: an orifice whose predicted loss the test must find."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.plan_result import ControlProposal
from feedproof.case.case import Case
from feedproof.case.line import Insertion, Kit
from feedproof.case.margin import Measure
from feedproof.case.parts import Element, Orifice, Pipe
from feedproof.core.errors import FeedproofError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.network_nodes import INLET
from feedproof.feedline.pull import POINTS, engine_speeds, roller_power

FloatArray = NDArray[np.float64]

DISCHARGE_COEFFICIENT = 0.62
"""Of a square-edged plate (common practice). [-]"""
WANTED_MARGINS = (1.0, 1.5, 2.0)
LEAST_BORE_M, LARGEST_SHARE = 1.0e-3, 0.75
"""Smallest bore that is proposed, and largest share of the line's bore. [m], [-]"""
NARROW_M = 0.1e-3
"""Step of a drill: a range of bores below this cannot be met by drilling. [m]"""
USUAL_BORE_M = 8e-3
FEW_POINTS = 17
"""Along the pull of a branched line, whose points cost a thousand times as much. [-]"""
_STEPS = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pull:
    """What is needed of one predicted pull; arrays of shape (n,), SI."""

    speed_m_per_s: FloatArray
    depression_pa: FloatArray
    pressure_abs_pa: FloatArray
    wheel_power_w: FloatArray
    starved: NDArray[np.bool_]


def control_for(case: Case, measure: Measure, margin: float) -> ControlProposal:
    """
    Size an orifice whose predicted loss is one and a half margins.

    Parameters
    ----------
    case : Case
        The case.
    measure : Measure
        Wheel power or inlet depression.
    margin : float
        On the scale of the measure. [log-percent] or [Pa]

    Returns
    -------
    ControlProposal
        With the range of bores that lose once to twice the margin; without a bore where the
        model gives no such loss.
    """
    place, pipe_bore_m = _place(case)
    title = case.vehicle.line.parts[case.vehicle.line.index(place)].title or place
    words = f"behind {title}"
    bare = _pull(case, place, pipe_bore_m, None)

    def loss(bore_m: float) -> float:
        """Give the loss of one bore."""
        return _loss(bare, _pull(case, place, pipe_bore_m, bore_m), measure)

    try:
        bores = _bores(loss, margin, LARGEST_SHARE * pipe_bore_m)
    except FeedproofError:
        bores = None
    if bores is None:
        return _none(case, measure, words)
    largest, wanted, smallest = bores
    pull = _pull(case, place, pipe_bore_m, wanted)
    least = float(np.min(pull.pressure_abs_pa))
    limit = case.vehicle.pump.maker_limit_abs_pa
    starved = np.flatnonzero(pull.starved)
    proposal = ControlProposal(
        measure=measure,
        place=words,
        bore_m=wanted,
        largest_bore_m=largest,
        smallest_bore_m=smallest,
        loss=_loss(bare, pull, measure),
        added_pa=float(pull.depression_pa[-1] - bare.depression_pa[-1]),
        pressure_abs_pa=least,
        acts_from_m_per_s=float(pull.speed_m_per_s[starved[0]])
        if starved.size and measure is Measure.WHEEL_POWER
        else None,
        below_limit=limit is not None and least < limit,
        sentence="",
    )
    return replace(proposal, sentence=_sentence(proposal))


def _place(case: Case) -> tuple[str, float]:
    """Find where the orifice goes, where all fuel passes, and the bore of the line there."""
    parts = case.vehicle.line.parts
    bores = [part.bore_m for part in parts if isinstance(part, Pipe)]
    bore = bores[-1] if bores else USUAL_BORE_M
    if any(part.from_node or part.to_node for part in parts):
        # Of a branched line only what ends at the pump is sure to carry all of it: the part that
        # says so, or else the last one.
        ends = [part.id for part in parts if part.to_node == INLET]
        return (ends or [parts[-1].id])[0], bore
    factory = [part.id for part in parts if isinstance(part, Element) and part.role == "factory"]
    return (factory or [parts[-1].id])[-1], bore


def _pull(case: Case, place: str, pipe_bore_m: float, bore_m: float | None) -> _Pull:
    """Predict the pull with an orifice, or without one."""
    line = case.vehicle.line
    if bore_m is not None:
        plate = Orifice(
            id="plan-control",
            bore_m=bore_m,
            pipe_bore_m=pipe_bore_m,
            discharge_coefficient=DISCHARGE_COEFFICIENT,
        )
        where = Insertion(place=place, side="after", parts=(plate,))
        line = line.with_kit(Kit(id="plan-control", title="", insertions=(where,), control=True))
    fuel = case.fuels[case.reference.fuel]
    circuit = build_circuit(case.vehicle, line, fuel, case.reference, case.friction_rule)
    branched = any(part.from_node or part.to_node for part in line.parts)
    speed = np.linspace(
        case.pull.start_m_per_s, case.pull.stop_m_per_s, FEW_POINTS if branched else POINTS
    )
    rotation = engine_speeds(circuit, speed)
    wanted_power, wanted = circuit.full_load(rotation)
    states = circuit.at_many(rotation, wanted)
    return _Pull(
        speed_m_per_s=speed,
        depression_pa=states[:, 1],
        pressure_abs_pa=states[:, 2],
        wheel_power_w=roller_power(circuit, speed, wanted_power * states[:, 3] / wanted, case.pull),
        starved=states[:, 3] < wanted * (1.0 - 1e-12),
    )


def _loss(bare: _Pull, pull: _Pull, measure: Measure) -> float:
    """Give the mean loss over the pull, as the verdict measures it."""
    if measure is Measure.INLET_DEPRESSION:
        return float(np.mean(pull.depression_pa - bare.depression_pa))
    if np.min(pull.wheel_power_w) <= 0.0:
        return math.inf
    return float(100.0 * np.mean(np.log(bare.wheel_power_w / pull.wheel_power_w)))


def _bores(
    loss: Callable[[float], float], margin: float, largest_m: float
) -> tuple[float, float, float] | None:
    """Find the bores that lose one, one and a half and two margins; None when none does."""
    found = []
    high = largest_m
    if loss(LEAST_BORE_M) < WANTED_MARGINS[-1] * margin or loss(high) > margin:
        return None
    for times in WANTED_MARGINS:
        low, top = LEAST_BORE_M, high
        for _ in range(_STEPS):
            middle = math.sqrt(low * top)
            low, top = (middle, top) if loss(middle) >= times * margin else (low, middle)
        found.append(low)
        # Whoever wants more loss needs a smaller bore.
        high = low
    return found[0], found[1], found[2]


def _none(case: Case, measure: Measure, words: str) -> ControlProposal:
    """Say that the model gives no such loss."""
    name = measure.value.replace("_", " ")
    held = (
        " Its transfer pump feeds enough even so: on this vehicle a restriction shows in depression"
        " and return first, so prove the test by a control of depression, and do not read flat"
        " power as proof of a healthy feed."
        if measure is Measure.WHEEL_POWER
        else ""
    )
    return ControlProposal(
        measure=measure,
        place=words,
        bore_m=None,
        largest_bore_m=None,
        smallest_bore_m=None,
        loss=None,
        added_pa=None,
        pressure_abs_pa=None,
        acts_from_m_per_s=None,
        below_limit=False,
        sentence=(
            f"No orifice from {1e3 * LEAST_BORE_M:g} mm up is predicted to cost one and a half"
            f" margins of {name} on {case.vehicle.name}.{held}"
        ),
    )


def _sentence(found: ControlProposal) -> str:
    """Write a proposal in words."""
    bore, top, bottom = (
        1e3 * each
        for each in (found.bore_m or 0.0, found.largest_bore_m or 0.0, found.smallest_bore_m or 0.0)
    )
    added = (found.added_pa or 0.0) / 1e3
    if found.measure is Measure.WHEEL_POWER:
        size = f"{100.0 * -math.expm1(-(found.loss or 0.0) / 100.0):.1f}\u00a0% of wheel power"
        where = (
            ""
            if found.acts_from_m_per_s is None
            else f"; power is lost from {3.6 * found.acts_from_m_per_s:.0f} km/h on"
        )
    else:
        size = f"{(found.loss or 0.0) / 1e3:.2f} kPa of depression"
        where = ", on the whole pull"
    text = (
        f"An orifice of {bore:.2f} mm {found.place} is predicted to cost {size} on average, one"
        f" and a half margins: it adds {added:.1f} kPa at the top of the pull{where}."
    )
    if found.largest_bore_m is not None and found.smallest_bore_m is not None:
        text += f" {top:.2f} mm cost one margin, {bottom:.2f} mm two."
        if top - bottom < 1e3 * NARROW_M:
            text += (
                f" That is a range of {top - bottom:.2f} mm, less than a drill's step: the loss is"
                " a cliff, and the prediction's own range is wider. Begin with the larger bore and"
                " go down by 0.1 mm until the power falls."
            )
    if found.below_limit:
        text += (
            f" The inlet falls to {(found.pressure_abs_pa or 0.0) / 1e3:.0f} kPa absolute, below"
            " the maker's limit: only on the workshop's own vehicle, a few pulls, since the pump"
            " wears by cavitation."
        )
    return text
