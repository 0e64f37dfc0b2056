"""Depression as a restriction, in an engineer's sentences."""

from collections.abc import Mapping

from feedproof.case.outcome import Answer, Outcome
from feedproof.report import digits
from feedproof.report.words import Setting, confidence_words, figure

_WORST, _WORST_SHARE = "worst: ", "worst share: "
CEILING = "censored_lower_bound"
"""Tag of an outcome with runs whose sensor was at its ceiling: its figures are bounds."""
_AGAINST_LIMIT: Mapping[Answer, str] = {
    Answer.WITHIN_LIMIT: "With its guard band the inlet pressure keeps the absolute limit of the"
    " pump's maker.",
    Answer.BEYOND_LIMIT: "The absolute limit of the pump's maker does not hold.",
    Answer.CANNOT_TELL: "Whether the absolute limit of the pump's maker holds cannot be told. This"
    " is not a pass.",
    Answer.NO_LIMIT_KNOWN: "No limit is known for this pump: it is compared with its own baseline"
    " only, and that is never a pass.",
}


def restriction_words(outcome: Outcome, setting: Setting) -> str:
    """
    Say for an engineer what a kit adds, what it takes of the room, and whether that holds.

    Parameters
    ----------
    outcome : Outcome
        On depression, as shown.
    setting : Setting
        Names and band.

    Returns
    -------
    str
        Added depression, shares of the room, inlet pressures with and without the kit, the limit
        and the speeds over which it was judged.
    """
    parts = [_added(outcome, setting), _share(outcome), _worst_shares(outcome), _inlet(outcome)]
    parts.append(_AGAINST_LIMIT[outcome.answer])
    if outcome.answer is not Answer.NO_LIMIT_KNOWN:
        parts.append(setting.uncovered)
    worst = [name for name in outcome.figures if name.startswith(_WORST)]
    if worst and outcome.answer is Answer.WITHIN_LIMIT:
        names = "; ".join(name.removeprefix(_WORST) for name in worst)
        parts.append(f"By prediction it also keeps it under the worst conditions: {names}.")
    return " ".join(part for part in parts if part)


def at_least(outcome: Outcome) -> str:
    """
    Give the words before a depression that is only a lower bound.

    Parameters
    ----------
    outcome : Outcome
        On depression.

    Returns
    -------
    str
        ``at least`` with a space, or nothing where the figure is firm.
    """
    return "at least " if CEILING in outcome.tags else ""


def _added(outcome: Outcome, setting: Setting) -> str:
    """Say how much depression a kit adds, with its uncertainty."""
    if outcome.estimate is None:
        return f"What {setting.kit} adds could not be measured."
    expanded = outcome.figures.get("added_expanded_pa")
    least = at_least(outcome)
    span = ""
    if expanded is not None:
        span = f" \u00b1\u00a0{digits.kpa(expanded)} (95\u00a0%)"
    elif outcome.lower is not None and outcome.upper is not None:
        limits = f"{digits.kpa(outcome.lower)} and {digits.kpa(outcome.upper)}"
        span = f" (one-sided {confidence_words(outcome)} limits {limits})"
    return (
        f"{setting.band}, {setting.kit} adds {least}{figure(outcome, outcome.estimate)}{span} of"
        " depression at the pump inlet."
    )


def _share(outcome: Outcome) -> str:
    """Say what share of the room a kit takes."""
    room, share = outcome.figures.get("room_pa"), outcome.figures.get("room_share")
    if room is None or share is None:
        return ""
    top = outcome.figures.get("room_share_upper")
    most = f" (at most {_whole(top)})" if top is not None else ""
    return (
        f"Where the depression is highest the kit takes {at_least(outcome)}{_whole(share)}{most}"
        f" of the {digits.kpa_inhg(room)} left without it."
    )


def _worst_shares(outcome: Outcome) -> str:
    """Say what share of the room a kit takes at the declared worst conditions."""
    held = {
        name.removeprefix(_WORST_SHARE): share
        for name, share in outcome.figures.items()
        if name.startswith(_WORST_SHARE)
    }
    if not held:
        return ""
    texts = [f"{_whole(share)} at {name}" for name, share in held.items()]
    return f"Of the room left at the worst conditions it takes, by prediction: {'; '.join(texts)}."


def _inlet(outcome: Outcome) -> str:
    """Say at which absolute pressure the inlet stands."""
    pressure, guard = outcome.figures.get("inlet_abs_pa"), outcome.figures.get("inlet_guard_pa")
    if pressure is None:
        return ""
    band = f" (guard band {digits.kpa(guard, decimals=1)})" if guard is not None else ""
    limit = (
        f"; the limit is {digits.kpa(outcome.margin, decimals=1)}"
        if outcome.margin is not None
        else ""
    )
    least = digits.kpa(pressure, outcome.margin, 1)
    bare = outcome.figures.get("baseline_inlet_abs_pa")
    beside = f"; without a kit {digits.kpa(bare, outcome.margin, 1)}" if bare is not None else ""
    bound = "at most " if CEILING in outcome.tags else ""
    ceiling = " The sensor was at its ceiling in some runs: this is no firm figure."
    return (
        f"The least inlet pressure, averaged over its runs, was {bound}{least} absolute{band}"
        f"{beside}{limit}.{ceiling if bound else ''}"
    )


def _whole(fraction: float) -> str:
    """Write a share of the room."""
    return f"{digits.decimal(100.0 * fraction, 1)}{digits.NO_BREAK}%"
