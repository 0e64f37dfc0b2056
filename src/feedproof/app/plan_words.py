"""The two sentences that a plan begins with, and the figures of a measure in its own words."""

import math

from feedproof.app.plan_result import MeasurePlan, SessionPlan
from feedproof.case.margin import Measure
from feedproof.core.units import from_si

NAMES = {
    Measure.WHEEL_POWER: "wheel power",
    Measure.CAUGHT_RETURN: "caught return",
    Measure.INLET_DEPRESSION: "added depression",
}


def dashed(order: str) -> str:
    """
    Write an order so that it can be read aloud.

    Parameters
    ----------
    order : str
        Such as ``ABBA``.

    Returns
    -------
    str
        Such as ``A-B-B-A``.
    """
    return "-".join(order)


def size(plan: MeasurePlan, value: float | None, *, loss: bool = True) -> str:
    """
    Write a figure of a measure in its usual unit.

    Parameters
    ----------
    plan : MeasurePlan
        For the unit.
    value : float or None
        On the scale of the measure.
    loss : bool
        True for a loss, which is brought from log-percent to percent; False for a standard
        uncertainty.

    Returns
    -------
    str
        With unit; "none" where there is no finite figure.
    """
    if value is None or not math.isfinite(value):
        return "none"
    if plan.unit == "Pa":
        kpa = from_si(value, "kPa", "pressure")
        return f"{kpa:.2f}\u00a0kPa"
    percent = -100.0 * math.expm1(-value / 100.0) if loss else value
    return f"{percent:.2f}\u00a0%" if not loss or percent < 10.0 else f"{percent:.0f}\u00a0%"


def chance_words(value: float | None) -> str:
    """
    Write a chance.

    Parameters
    ----------
    value : float or None
        Chance. [-]

    Returns
    -------
    str
        In whole percent, never 100.
    """
    if value is None:
        return "not known"
    return "over 99\u00a0%" if value > 0.99 else f"{100 * value:.0f}\u00a0%"


def least_chance(plan: MeasurePlan) -> float | None:
    """
    Give the chance to rely on: the smaller of the two that were worked out.

    Parameters
    ----------
    plan : MeasurePlan
        Of a measure.

    Returns
    -------
    float or None
        With the planned order. [-]
    """
    known = [
        each for each in (plan.planned.chance, plan.planned.chance_checked) if each is not None
    ]
    return min(known, default=None)


def answer_words(plan: SessionPlan) -> tuple[str, str]:
    """
    Write the two sentences that a plan begins with.

    Parameters
    ----------
    plan : SessionPlan
        The plan.

    Returns
    -------
    tuple of str
        What to drive; what it can and cannot exclude.
    """
    n = len(plan.order)
    sessions = "" if len(plan.configurations) == 1 else " for each kit"
    how = "opening the line at each change" if plan.replumbed else "through a change-over loop"
    drive = (
        f"Drive a warm-up run or two that do not count, then {dashed(plan.order)} in one"
        f" session{sessions} (A without the kit, B with it, {n} runs, {how})."
    )
    able, unable, unknown = [], [], []
    for measure in plan.measures:
        name = NAMES[measure.measure]
        chance = least_chance(measure)
        if measure.margin is None:
            smallest = measure.planned.smallest[1]
            if measure.repeatability is not None and math.isfinite(smallest):
                unknown.append(
                    f"{name} has no margin (it can be told to {size(measure, smallest)})"
                )
            else:
                unknown.append(f"{name} has neither margin nor repeatability")
        elif chance is None:
            unknown.append(f"{name} has no declared repeatability")
        elif chance >= plan.chance - 0.005:
            able.append(f"{size(measure, measure.margin)} of {name} ({chance_words(chance)})")
        else:
            least = size(measure, measure.planned.smallest[1])
            unable.append(
                f"{size(measure, measure.margin)} of {name} ({chance_words(chance)}; {least} with"
                " 90\u00a0%)"
            )
    asked = f"{100 * plan.chance:.0f}\u00a0%"
    parts = []
    if able:
        parts.append(f"when there is no loss it excludes {_listed(able)}")
    if unable:
        parts.append(f"it cannot exclude {_listed(unable)} as often as the {asked} asked for")
    if unknown:
        parts.append(f"nothing can be promised where {_listed(unknown)}")
    sentence = "; ".join(parts)
    return drive, f"{sentence[:1].upper()}{sentence[1:]}."


def _listed(texts: list[str]) -> str:
    """List texts in words."""
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"
