"""Outcomes in sentences: a precise one for engineers, a plain one for customers."""

from collections.abc import Callable, Mapping

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.designs import session_words
from feedproof.report import digits
from feedproof.report.restriction_words import at_least, restriction_words
from feedproof.report.words import (
    MEASURES,
    PERCENTS,
    PLAIN_MEASURES,
    Setting,
    as_sentence,
    confidence_words,
    figure,
    margin_words,
    runs_to_settle,
    shown,
    spread_words,
    upper_first,
)

APPARENT = (
    "The figures lie wholly on the better side of zero. A filter cannot add power: suspect the"
    " order of the runs, drift or a correction, and do not advertise it."
)
DROPPED = (
    "The declared repeatability does not fit the scatter of these runs and was left out of the"
    " answer."
)
_RESTS = "rests_on_declared_repeatability"
CORRECTED = (
    "The power corrected for the air gives another answer than the power as measured; the power"
    " as measured decides."
)


def precise(outcome: Outcome, setting: Setting) -> str:
    """
    Write an outcome for an engineer.

    Parameters
    ----------
    outcome : Outcome
        The outcome.
    setting : Setting
        Names, band and margins.

    Returns
    -------
    str
        The answer, what it rests on, and what must be known with it.
    """
    outcome = shown(outcome)
    sentences = [_PRECISE[outcome.answer](outcome, setting)]
    if outcome.answer in _JUDGED and outcome.estimate is not None:
        sentences.append(basis(outcome))
    sentences += flags(outcome, setting)
    sentences += [as_sentence(reason) for reason in outcome.reasons if not _said(reason, outcome)]
    return " ".join(sentence for sentence in sentences if sentence)


def plain(outcome: Outcome, setting: Setting) -> str:
    """
    Write an outcome for a customer.

    Parameters
    ----------
    outcome : Outcome
        The outcome.
    setting : Setting
        Names, band and margins.

    Returns
    -------
    str
        One or two sentences without terms of statistics.
    """
    outcome = shown(outcome)
    what = PLAIN_MEASURES[outcome.measure]
    about, least = figure(outcome, outcome.estimate), figure(outcome, outcome.lower)
    margin, most = margin_words(outcome), figure(outcome, outcome.upper)
    fitted = f"With {setting.kit} fitted, {what}"
    limited = outcome.measure is Measure.INLET_DEPRESSION and outcome.answer is Answer.CANNOT_TELL
    if limited or outcome.answer in _LIMIT_ANSWERS:
        return _plain_limit(outcome, setting)
    return {
        Answer.NO_LOSS_WITHIN: f"{fitted} falls by less than {margin}, if at all; at the most by"
        f" {most} with {confidence_words(outcome)} confidence. The best single figure is {about}.",
        Answer.SMALL_LOSS: f"{fitted} falls a little: by about {about}, which is less than the"
        f" agreed {margin}.",
        Answer.LOSS_BEYOND: f"{fitted} falls by more than the agreed {margin}: by about {about}.",
        Answer.LOSS_UNSETTLED: f"{fitted} falls by at least {least}. How much more is not"
        " settled yet.",
        Answer.CANNOT_TELL: f"This test cannot say whether {setting.kit} costs anything in"
        f" {what}. That is not a pass: more runs are needed.",
        Answer.REFUSED: f"There is no answer on {what}: the runs cannot be compared fairly.",
        Answer.VOID: f"The answer on {what} does not count, because the rules agreed before the"
        " test were not kept.",
        Answer.NOT_TESTED: f"Nobody tested {what}.",
    }[outcome.answer]


def basis(outcome: Outcome) -> str:
    """
    Say what an outcome rests on.

    Parameters
    ----------
    outcome : Outcome
        The outcome.

    Returns
    -------
    str
        Runs, order, repeatability with its degrees of freedom, and estimate, limits, standard
        uncertainty and coverage factor; empty for an outcome without an order.
    """
    counts = [str(len(numbers)) for numbers in outcome.runs.values()]
    parts = [f"{' + '.join(counts)} runs"] if counts else []
    if outcome.order:
        parts.append(f"order {outcome.order}")
    if outcome.repeatability is not None:
        freedom = outcome.figures.get(
            "repeatability_degrees_of_freedom", outcome.degrees_of_freedom
        )
        known = "" if freedom is None else f" ({freedom:.3g} degrees of freedom)"
        parts.append(
            f"repeatability s\u00a0=\u00a0{spread_words(outcome, outcome.repeatability)}{known}"
        )
    if not (outcome.order and parts):
        return ""
    return f"{upper_first(', '.join(parts))}.{_numbers(outcome)}"


def _numbers(outcome: Outcome) -> str:
    """Give estimate, limits, standard uncertainty and coverage factor, where there are limits."""
    if None in (outcome.lower, outcome.upper, outcome.standard_uncertainty):
        return ""
    spread, k = outcome.standard_uncertainty, outcome.coverage_factor
    freedom = outcome.degrees_of_freedom
    figures = [
        ("d", _plainly(outcome, outcome.estimate)),
        ("L", _plainly(outcome, outcome.lower)),
        ("U", f"{_plainly(outcome, outcome.upper)} (one-sided {confidence_words(outcome)})"),
        ("u", spread_words(outcome, spread)),
    ]
    figures += [] if k is None else [("k", digits.decimal(k, 2))]
    figures += [] if freedom is None else [("\u03bd", f"{freedom:.3g}")]
    # A sign and its figure stay on one line.
    gap = digits.NO_BREAK
    return f" {', '.join(f'{sign}{gap}={gap}{text}' for sign, text in figures)}."


def _plainly(outcome: Outcome, value: float | None) -> str:
    """Write a figure without a second unit beside it."""
    if value is None or outcome.unit in PERCENTS:
        return figure(outcome, value)
    return digits.kpa(value)


def flags(outcome: Outcome, setting: Setting) -> list[str]:
    """
    Write the sentences that the tags of an outcome ask for.

    Parameters
    ----------
    outcome : Outcome
        The outcome.
    setting : Setting
        Gives the source of the declared repeatability.

    Returns
    -------
    list of str
        One for each tag that has a sentence.
    """
    sentences = []
    if _RESTS in outcome.tags:
        declared = setting.repeatability
        source = (
            f" taken from {declared.source} ({declared.degrees_of_freedom:g} degrees of freedom)"
            if declared and declared.source
            else ""
        )
        size = spread_words(outcome, outcome.repeatability)
        sentences.append(f"This rests on a repeatability of {size}{source}, not on these runs.")
    # A limit with its guard band turns at another figure, which nobody works out.
    turns = outcome.measure is not Measure.INLET_DEPRESSION and outcome.answer in _JUDGED
    if turns and outcome.flip_repeatability is not None:
        flip = spread_words(outcome, outcome.flip_repeatability)
        sentences.append(
            f"With a repeatability of {flip} or better these runs would have told."
            if outcome.answer is Answer.CANNOT_TELL
            else f"With a true repeatability above {flip} the answer no longer holds."
        )
    if "drift_declared" in outcome.tags:
        sentences.append(_drift(outcome))
    for tag, sentence in (
        ("apparent_gain", APPARENT),
        ("archive_dropped", DROPPED),
        ("corrected_power_differs", CORRECTED),
    ):
        if tag in outcome.tags:
            sentences.append(sentence)
    return sentences


def _drift(outcome: Outcome) -> str:
    """Say what stands for a drift that the order of the runs could not show."""
    bound, u = outcome.figures.get("drift_bound", 0.0), outcome.figures.get("u_drift", 0.0)
    parts = []
    if bound > 0.0:
        parts.append(
            f"a hard bound of {spread_words(outcome, bound)} added to both limits as it is"
        )
    if u > 0.0:
        parts.append(f"a standard uncertainty of {spread_words(outcome, u)}")
    return (
        "In this order drift cannot be told from the kit; as declared, it enters with"
        f" {digits.listed(parts)}."
    )


def _said(reason: str, outcome: Outcome) -> bool:
    """Say whether a reason is told already by the sentence of a tag or a figure."""
    if "apparent_gain" in outcome.tags and reason.startswith("The figures lie wholly"):
        return True
    if reason.startswith("This rests on a repeatability") and _RESTS in outcome.tags:
        return True
    return runs_to_settle(outcome) is not None and "in one new session" in reason


def _more_runs(outcome: Outcome, promise: str) -> str:
    """Say how many runs would help, when somebody worked it out."""
    number = runs_to_settle(outcome)
    if not number:
        return ""
    return f" About {session_words(number)}, {promise}."


def _fit(outcome: Outcome) -> str:
    """Say what the data fit, when there are limits at all."""
    if outcome.lower is None or outcome.upper is None:
        return "these runs give no limits on either side"
    return (
        f"the data fit anything from {figure(outcome, outcome.lower)} to"
        f" {figure(outcome, outcome.upper)}"
    )


def _rail(outcome: Outcome, setting: Setting, *, inside: bool) -> str:
    """Say for an engineer how the shortfall of rail pressure stands."""
    bound = digits.mpa(setting.margins.rail_deviation_pa)
    where = "stayed inside" if inside else "went beyond"
    largest = (
        f" The largest shortfall was {figure(outcome, outcome.estimate)}."
        if outcome.estimate is not None
        else ""
    )
    return (
        f"With {setting.kit} the shortfall of rail pressure {where} what was agreed, {bound} for"
        f" at most {setting.margins.rail_deviation_s:g}\u00a0s.{largest}"
    )


def _plain_limit(outcome: Outcome, setting: Setting) -> str:
    """Say for a customer how an absolute limit or an agreed bound stands."""
    inside = outcome.answer is Answer.WITHIN_LIMIT
    if outcome.measure is Measure.RAIL_PRESSURE:
        kept = "kept up" if inside else "did not keep up"
        return f"With {setting.kit} fitted, injection pressure {kept} with what the engine asked."
    adds = (
        f"{upper_first(setting.kit)} makes the pump pull harder by"
        f" {at_least(outcome)}{figure(outcome, outcome.estimate)}. "
        if outcome.estimate is not None
        else ""
    )
    rest = {
        Answer.WITHIN_LIMIT: "In this test the pump stayed inside its maker's limit.",
        Answer.BEYOND_LIMIT: "The pump does not safely stay inside its maker's limit.",
        Answer.CANNOT_TELL: "This test cannot show that the pump stays inside its maker's limit."
        " That is not a pass.",
        Answer.NO_LIMIT_KNOWN: "The pump's maker gives no limit that we know of, so nobody can"
        " call this safe or unsafe.",
    }[outcome.answer]
    return adds + rest


_JUDGED = (
    Answer.NO_LOSS_WITHIN,
    Answer.SMALL_LOSS,
    Answer.LOSS_BEYOND,
    Answer.LOSS_UNSETTLED,
    Answer.CANNOT_TELL,
    Answer.WITHIN_LIMIT,
    Answer.BEYOND_LIMIT,
    Answer.NO_LIMIT_KNOWN,
)
_LIMIT_ANSWERS = (Answer.WITHIN_LIMIT, Answer.BEYOND_LIMIT, Answer.NO_LIMIT_KNOWN)
_PRECISE: Mapping[Answer, Callable[[Outcome, Setting], str]] = {
    Answer.NO_LOSS_WITHIN: lambda o, s: (
        f"{s.band}, any loss of {MEASURES[o.measure]} from {s.kit} is smaller than"
        f" {margin_words(o)} ({confidence_words(o)} one-sided confidence). Best estimate"
        f" {figure(o, o.estimate)}; the data allow up to {figure(o, o.upper)}."
    ),
    Answer.SMALL_LOSS: lambda o, s: (
        f"{s.band}, {s.kit} costs {MEASURES[o.measure]}: about {figure(o, o.estimate)}, at least"
        f" {figure(o, o.lower)}. The loss is smaller than the agreed {margin_words(o)}: the data"
        f" allow up to {figure(o, o.upper)} ({confidence_words(o)} one-sided)."
    ),
    Answer.LOSS_BEYOND: lambda o, s: (
        f"{s.band}, {s.kit} costs more {MEASURES[o.measure]} than the agreed {margin_words(o)}:"
        f" about {figure(o, o.estimate)}, at least {figure(o, o.lower)}"
        f" ({confidence_words(o)} one-sided)."
    ),
    Answer.LOSS_UNSETTLED: lambda o, s: (
        f"{s.band}, {s.kit} costs {MEASURES[o.measure]}, at least {figure(o, o.lower)}. The test"
        f" cannot tell whether it is more than the agreed {margin_words(o)}: the data allow up to"
        f" {figure(o, o.upper)}." + _more_runs(o, "would settle it")
    ),
    Answer.CANNOT_TELL: lambda o, s: (
        restriction_words(o, s)
        if o.measure is Measure.INLET_DEPRESSION
        else f"{s.band}, the test cannot tell about {MEASURES[o.measure]} with {s.kit}. It shows"
        f" neither a loss nor the absence of one: {_fit(o)}. This is not a pass."
        + _more_runs(
            o, f"would exclude {margin_words(o)} with 90\u00a0% chance if there is nothing to find"
        )
    ),
    Answer.REFUSED: lambda o, s: (
        f"No answer on {MEASURES[o.measure]} with {s.kit}: the runs cannot be compared."
    ),
    Answer.VOID: lambda o, s: f"The answer on {MEASURES[o.measure]} with {s.kit} is void.",
    Answer.NOT_TESTED: lambda o, s: (
        f"{upper_first(MEASURES[o.measure])} was not tested with {s.kit}."
    ),
    Answer.NO_LIMIT_KNOWN: lambda o, s: restriction_words(o, s),
    Answer.WITHIN_LIMIT: lambda o, s: (
        _rail(o, s, inside=True) if o.measure is Measure.RAIL_PRESSURE else restriction_words(o, s)
    ),
    Answer.BEYOND_LIMIT: lambda o, s: (
        _rail(o, s, inside=False) if o.measure is Measure.RAIL_PRESSURE else restriction_words(o, s)
    ),
}
