"""The fit in sentences: what was learned, what was not, and what contradicts the description."""

import math
from collections.abc import Sequence

from feedproof.app.fit_result import FittedParameter
from feedproof.evidence.fit.disagreement import Check, Standing
from feedproof.evidence.trial import BASELINE

FEW_STEPS, MANY_STEPS = 2.0, 3.0
"""Prior standard deviations from which a parameter has left what the case describes, and by far."""


def learned_sentence(parameters: Sequence[FittedParameter], runs: int) -> str:
    """
    Say what the runs teach.

    Parameters
    ----------
    parameters : sequence of FittedParameter
        All parameters.
    runs : int
        Number of runs. [-]

    Returns
    -------
    str
        One sentence.
    """
    told = [_with_value(one) for one in parameters if one.word == "learned"]
    partly = [one.meaning for one in parameters if one.word == "partly"]
    if not told and not partly:
        return f"No parameter is learned by itself from {_these(runs)}."
    parts = []
    if told:
        parts.append(", ".join(told))
    if partly:
        parts.append(f"in part {', '.join(partly)}")
    return f"Learned from {_these(runs)}: {'; '.join(parts)}."


def _these(runs: int) -> str:
    """Write a number of runs."""
    return f"these {runs} runs" if runs > 1 else "this one run"


def not_learned_sentence(parameters: Sequence[FittedParameter]) -> str:
    """
    Say what the runs do not teach, and what only together.

    Parameters
    ----------
    parameters : sequence of FittedParameter
        All parameters.

    Returns
    -------
    str
        One sentence.
    """
    together = [one for one in parameters if one.word == "only together"]
    nothing = [one.meaning for one in parameters if one.word == "not learned"]
    parts = []
    if nothing:
        parts.append(f"not learned, and as uncertain as before: {', '.join(nothing)}")
    if together:
        names = ", ".join(one.meaning for one in together)
        parts.append(f"known only together with others, not one by one: {names}")
    if not parts:
        return "Nothing that was asked is left open."
    sentence = "; ".join(parts)
    return sentence[0].upper() + sentence[1:] + "."


def _with_value(one: FittedParameter) -> str:
    """Write a parameter with its value and interval."""
    value = f"{one.after.middle:.2f} ({one.after.low:.2f} to {one.after.high:.2f})"
    if one.unit == "factor":
        return f"{one.meaning} times {value}"
    if one.unit == "Pa":
        ends = (one.after.middle, one.after.low, one.after.high)
        middle, low, high = (each / 1e3 for each in ends)
        return f"{one.meaning} {middle:+.2f} kPa ({low:+.2f} to {high:+.2f})"
    return f"{one.meaning} {value} {one.unit if one.unit != '1' else ''}".rstrip()


def bias_sentence(before: Sequence[Check], after: Sequence[Check]) -> str:
    """
    Say how the line without a kit stood to its description, and how it stands to the fit.

    Parameters
    ----------
    before, after : sequence of Check
        Runs against the described and the fitted line.

    Returns
    -------
    str
        One sentence; empty where the line was not run without a kit.
    """
    sides = []
    for checks in (before, after):
        mine = [c for c in checks if c.measure == "depression" and c.configuration == BASELINE]
        if not mine:
            return ""
        sides.append(
            (
                sum(check.difference for check in mine) / len(mine),
                sum(check.predicted for check in mine) / len(mine),
                math.sqrt(sum(check.runs_u**2 for check in mine)) / len(mine),
            )
        )
    (off, predicted, u), (left, _, _) = sides
    side = "more" if off > 0 else "less"
    size = f"{abs(off) / 1e3:.1f} kPa ({100 * abs(off) / predicted:.0f} %)"
    if abs(off) <= 2.0 * u:
        return f"Without a kit the line restricts as described, within {size}."
    return (
        f"Without a kit the line restricts {size} {side} than described, which the runs show"
        f" beyond their own scatter; of this the fit leaves {round(left / 1e3, 1) + 0.0:.1f} kPa."
    )


def left_description(parameters: Sequence[FittedParameter]) -> tuple[str, ...]:
    """
    Name the parameters that the runs moved out of what the case describes.

    Parameters
    ----------
    parameters : sequence of FittedParameter
        All parameters.

    Returns
    -------
    tuple of str
        Sentences.
    """
    return tuple(
        f"{one.name} went {abs(one.moved):.1f} standard deviations"
        f" {'above' if one.moved > 0 else 'below'} what the case says ({one.source}): measure it,"
        " or widen its range."
        for one in parameters
        if abs(one.moved) > FEW_STEPS
    )


def caution_sentence(after: Sequence[Check], parameters: Sequence[FittedParameter]) -> str:
    """
    Say whether the fit may be relied on.

    Parameters
    ----------
    after : sequence of Check
        Runs against the fitted line.
    parameters : sequence of FittedParameter
        All parameters.

    Returns
    -------
    str
        One sentence; empty where nothing speaks against the fit.
    """
    apart = [check for check in after if check.standing is Standing.BEYOND]
    if apart:
        where = ", ".join(
            dict.fromkeys(f"{each.configuration} of session {each.session}" for each in apart)
        )
        return (
            "Do not rely on this fit: no line of this description reads what these runs read"
            f" ({where}), so its predictions are withheld."
        )
    far = [one.name for one in parameters if abs(one.moved) > MANY_STEPS]
    if far:
        return (
            "Rely on this fit only after a look at the vehicle: it had to leave what the case"
            f" describes ({', '.join(far)})."
        )
    return ""


def misdescribed_sentence(kit: str, check: Check) -> str:
    """
    Say that a kit is not as described.

    Parameters
    ----------
    kit : str
        The kit.
    check : Check
        Its worst check.

    Returns
    -------
    str
        What differs, by how much, what to do.
    """
    side = "more" if check.difference > 0 else "less"
    runs = ", ".join(map(str, check.runs))
    several = "+" in check.configuration
    who = f"Kit {kit}, or another of {check.configuration}," if several else f"Kit {kit}"
    return (
        f"{who} is not as described: with it the line restricts"
        f" {abs(check.difference) / 1e3:.1f} kPa {side} (runs {runs}, session {check.session},"
        f" {check.configuration}) than the fitted line and the kit's description allow"
        f" (± {2 * check.both_u / 1e3:.1f} kPa). Its depressions are left out of the fit and"
        " nothing is concluded of it elsewhere: measure its bores and its element, and mend the"
        " case."
    )


def check_sentence(check: Check) -> str:
    """
    Say how runs stand to the described line.

    Parameters
    ----------
    check : Check
        One check against the description.

    Returns
    -------
    str
        One sentence.
    """
    runs = ", ".join(map(str, check.runs))
    if check.measure == "return":
        size = f"{abs(check.difference):.1f} %"
        side = "more return" if check.difference > 0 else "less return"
    else:
        share = 100.0 * abs(check.difference) / max(abs(check.predicted), 1.0)
        size = f"{abs(check.difference) / 1e3:.1f} kPa ({share:.0f} %)"
        side = "more restriction" if check.difference > 0 else "less restriction"
    head = f"Session {check.session}, {check.configuration} (runs {runs}): {size} {side}"
    if check.standing is Standing.WITHIN_RUNS:
        return f"{head} than described, no more than the runs themselves leave open."
    if check.standing is Standing.WITHIN_BOTH:
        return (
            f"{head} than described: more than the runs leave open, within what the description"
            " leaves open."
        )
    return f"{head} than described, beyond what runs and description both allow."
