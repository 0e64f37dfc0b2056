"""The pump maker's absolute limit, held against the test's and every declared worst condition."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.limits import coverage
from feedproof.evidence.students import CONFIDENCE

VEHICLE_ITSELF_TAG = "vehicle_breaks_limit_itself"
NO_WORST_TAG = "worst_conditions_not_predicted"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstCase:
    """
    Predicted pump inlet pressure at one declared worst condition.

    Parameters
    ----------
    name : str
        Name of the condition.
    configuration_abs_pa : float
        With the kit. [Pa]
    u_pa : float
        Its standard uncertainty. [Pa]
    baseline_abs_pa : float
        Without the kit. [Pa]
    """

    name: str
    configuration_abs_pa: float
    u_pa: float
    baseline_abs_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InletPressure:
    """
    Inlet pressure of one configuration over its runs, at the test's conditions.

    Parameters
    ----------
    pressure_abs_pa : float
        Mean over the runs of the least pressure in the band. [Pa]
    guard_pa : float
        One-sided 95 % guard band; infinite when no repeatability is known. [Pa]
    depression_pa : float
        Mean over the runs of the largest depression in the band. [Pa]
    ambient_abs_pa : float
        Mean ambient pressure of the runs. [Pa]
    """

    pressure_abs_pa: float
    guard_pa: float
    depression_pa: float
    ambient_abs_pa: float


def with_limit(
    outcome: Outcome,
    censored: bool,
    kit: InletPressure,
    bare: InletPressure,
    limit: float,
    worst: Sequence[WorstCase],
    confidence: float = CONFIDENCE,
) -> Outcome:
    """
    Hold the limit against the test's and every declared worst condition.

    Parameters
    ----------
    outcome : Outcome
        With the figures of the restriction.
    censored : bool
        True when the sensor of a run with the kit was at its ceiling.
    kit, bare : InletPressure
        With and without the kit, at the test's conditions.
    limit : float
        Least inlet pressure that the pump's maker states. [Pa]
    worst : sequence of WorstCase
        Predicted at the declared worst conditions.
    confidence : float
        One-sided, of the guard band of a prediction. [-]

    Returns
    -------
    Outcome
        With its answer, reasons and the predicted pressures among the figures.
    """
    places = [
        ("the test's conditions", kit.pressure_abs_pa, kit.guard_pa, bare.pressure_abs_pa, censored)
    ]
    places += [
        (
            case.name,
            case.configuration_abs_pa,
            coverage(0.0, math.inf, case.u_pa, confidence)[0],
            case.baseline_abs_pa,
            False,
        )
        for case in worst
    ]
    answers: list[Answer] = []
    reasons: list[str] = []
    to_blame = False
    for name, pressure, guard, baseline, is_bound in places:
        answer = _against_limit(pressure, guard, limit, is_bound)
        answers.append(answer)
        if answer is Answer.WITHIN_LIMIT:
            continue
        itself = baseline < limit
        verb = "is below" if answer is Answer.BEYOND_LIMIT else "cannot be shown to keep"
        most = "at most " if is_bound else ""
        reasons.append(
            f"At {name} the inlet pressure of {most}{pressure / 1e3:.1f} kPa absolute"
            f" (guard band {guard / 1e3:.1f} kPa) {verb} the limit of {limit / 1e3:.1f} kPa."
        )
        if itself:
            reasons.append(
                f"The vehicle without a kit is at {baseline / 1e3:.1f} kPa there and breaks the"
                " limit itself: the kit is not to blame."
            )
        elif answer is Answer.BEYOND_LIMIT:
            to_blame = True
    tags = list(outcome.tags)
    if Answer.BEYOND_LIMIT in answers:
        final = Answer.BEYOND_LIMIT
        if not to_blame:
            tags.append(VEHICLE_ITSELF_TAG)
    elif Answer.CANNOT_TELL in answers:
        final = Answer.CANNOT_TELL
    else:
        final = Answer.WITHIN_LIMIT
    if not worst:
        tags.append(NO_WORST_TAG)
        reasons.append("The declared worst conditions were not predicted.")
    figures = {f"worst: {case.name}": case.configuration_abs_pa for case in worst}
    # Of the room that the vehicle without a kit has left there; none where it breaks the limit.
    figures |= {
        f"worst share: {case.name}": (case.baseline_abs_pa - case.configuration_abs_pa)
        / (case.baseline_abs_pa - limit)
        for case in worst
        if case.baseline_abs_pa > limit
    }
    return replace(
        outcome,
        answer=final,
        tags=tuple(tags),
        reasons=(*reasons, *outcome.reasons),
        figures={**outcome.figures, **figures},
    )


def _against_limit(pressure: float, guard: float, limit: float, is_bound: bool) -> Answer:
    """Hold one pressure with its guard band against the limit."""
    if pressure + guard < limit:
        return Answer.BEYOND_LIMIT
    if pressure - guard >= limit and not is_bound:
        return Answer.WITHIN_LIMIT
    return Answer.CANNOT_TELL
