"""The sentences of a verdict, one set for engineers and one for customers."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.outcome import Answer, Outcome, Release
from feedproof.evidence.designs import order_words
from feedproof.report import digits
from feedproof.report.model import BASELINE, Publication

SYMBOLS: Mapping[Answer, str] = {
    Answer.NO_LOSS_WITHIN: "■",
    Answer.SMALL_LOSS: "◧",
    Answer.LOSS_BEYOND: "▲",
    Answer.LOSS_UNSETTLED: "△",
    Answer.CANNOT_TELL: "○",
    Answer.WITHIN_LIMIT: "□",
    Answer.BEYOND_LIMIT: "✕",
    Answer.NO_LIMIT_KNOWN: "?",
    Answer.REFUSED: "-",
    Answer.VOID: "-",
    Answer.NOT_TESTED: "-",
}
"""Sign of each answer; pages and papers draw it as a shape."""

RELEASES: Mapping[Release, str] = {
    Release.RELEASE: "Release",
    Release.RELEASE_WITH_CONDITIONS: "Release with conditions",
    Release.DO_NOT_RELEASE: "Do not release",
    Release.CANNOT_SAY: "Cannot say",
    Release.CONTROL_FOUND: "Control found",
    Release.CONTROL_MISSED: "Control not found",
}

MEASURES: Mapping[Measure, str] = {
    Measure.WHEEL_POWER: "wheel power",
    Measure.CAUGHT_RETURN: "caught return flow",
    Measure.INLET_DEPRESSION: "depression at the pump inlet",
    Measure.RAIL_PRESSURE: "rail pressure",
}

PLAIN_MEASURES: Mapping[Measure, str] = {
    Measure.WHEEL_POWER: "power at the wheels",
    Measure.CAUGHT_RETURN: "the fuel that flows back to the tank",
    Measure.INLET_DEPRESSION: "the pull of the pump on its fuel line",
    Measure.RAIL_PRESSURE: "injection pressure",
}
_BOUNDS: Mapping[Answer, Answer] = {
    Answer.NO_LOSS_WITHIN: Answer.WITHIN_LIMIT,
    Answer.LOSS_BEYOND: Answer.BEYOND_LIMIT,
}
_LIMITED: Mapping[Measure, Mapping[Answer, str]] = {
    Measure.INLET_DEPRESSION: {
        Answer.WITHIN_LIMIT: "inside the limit of the pump's maker",
        Answer.BEYOND_LIMIT: "beyond the limit of the pump's maker",
        Answer.CANNOT_TELL: "cannot tell whether the limit of the pump's maker holds",
    },
    Measure.RAIL_PRESSURE: {
        Answer.WITHIN_LIMIT: "shortfall inside the agreed bound",
        Answer.BEYOND_LIMIT: "shortfall beyond the agreed bound",
    },
}


PERCENTS = ("percent", "log-percent")
"""Units that are written as percent; a scatter in log-percent is one to a part in a hundred."""
_KMH = "\u00a0km/h"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """
    What a sentence must know besides its outcome.

    Parameters
    ----------
    kit : str
        The kit as a sentence speaks of it.
    band : str
        Such as ``From 50 to 115 km/h``.
    margins : Margins
        As agreed.
    repeatability : Repeatability or None
        As declared for the measure.
    uncovered : str
        Sentence on the part of the pull that the band leaves out; empty where it leaves out none.
    """

    kit: str
    band: str
    margins: Margins
    repeatability: Repeatability | None = None
    uncovered: str = ""


def setting_of(publication: Publication, configuration: str, measure: Measure) -> Setting:
    """
    Gather what the sentences on one outcome need.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    measure : Measure
        The measure.

    Returns
    -------
    Setting
        Names, band and margins.
    """
    declared = [row for row in publication.repeatability if row.measure is measure]
    return Setting(
        kit=kit_words(publication, configuration),
        band=_band(publication, configuration, measure),
        margins=publication.margins,
        repeatability=declared[0] if declared else None,
        uncovered=_uncovered(publication, configuration),
    )


def _band(publication: Publication, configuration: str, measure: Measure) -> str:
    """Say where a measure was compared: the band that every run covers, or the steady catch."""
    if measure is Measure.CAUGHT_RETURN and publication.catch_words:
        return publication.catch_words
    return f"From {_span(*_ends(publication, configuration))}"


def _ends(publication: Publication, configuration: str) -> tuple[float, float]:
    """Give the ends of the band that every run covers; those of the pull without runs."""
    for run in publication.runs:
        speeds = run.speed_m_per_s
        if run.configuration == configuration and len(speeds) > 1:
            half = 0.5 * float(speeds[1] - speeds[0])
            return float(speeds[0]) - half, float(speeds[-1]) + half
    return publication.start_m_per_s, publication.stop_m_per_s


def _span(low: float, high: float) -> str:
    """Write a range of road speed."""
    return f"{digits.road_speed(low).removesuffix(_KMH)} to {digits.road_speed(high)}"


def _uncovered(publication: Publication, configuration: str) -> str:
    """Say which part of the pull the runs were not judged over: depression rises with speed."""
    whole = _span(publication.start_m_per_s, publication.stop_m_per_s)
    judged = _span(*_ends(publication, configuration))
    if judged == whole:
        return ""
    return (
        f"The runs were judged from {judged}; the pull goes from {whole}. Of the limit at other"
        " speeds the runs claim nothing."
    )


def kit_words(publication: Publication, configuration: str) -> str:
    """
    Speak of a configuration in a sentence.

    Parameters
    ----------
    publication : Publication
        Gives the short name.
    configuration : str
        ``baseline`` or kits joined by ``+``.

    Returns
    -------
    str
        Such as ``the secondary kit``.
    """
    kit = publication.kit(configuration)
    if configuration == BASELINE or kit.short.startswith("the "):
        return kit.short
    if kit.control:
        return f"the {kit.short}"
    name, _, state = kit.short.partition(", ")
    return f"the {state} {name} kit" if state else f"the {name} kit"


def shown(outcome: Outcome) -> Outcome:
    """
    Bring an outcome from the scale of the decision to the scale that people read.

    Parameters
    ----------
    outcome : Outcome
        Losses are decided in log-percent; its figures named ``..._plain_percent`` are the same
        in percent.

    Returns
    -------
    Outcome
        With figures in percent where it brings them; limits that are infinite are None; a rail
        pressure inside or beyond its bound.
    """
    plain = outcome.figures
    answer = outcome.answer
    if outcome.measure is Measure.RAIL_PRESSURE:
        # A shortfall is held against a bound, not against a margin with limits.
        answer = _BOUNDS.get(answer, answer)
    return replace(
        outcome,
        answer=answer,
        estimate=_finite(plain.get("estimate_plain_percent", outcome.estimate)),
        lower=_finite(plain.get("lower_plain_percent", outcome.lower)),
        upper=_finite(plain.get("upper_plain_percent", outcome.upper)),
        margin=plain.get("margin_plain_percent", outcome.margin),
        unit="percent" if outcome.unit in PERCENTS else outcome.unit,
    )


def figure(outcome: Outcome, value: float | None) -> str:
    """
    Write a figure of an outcome in the outcome's unit.

    Parameters
    ----------
    outcome : Outcome
        Gives unit, measure and the margin to stay apart from.
    value : float or None
        In the outcome's unit.

    Returns
    -------
    str
        Percent, kPa with inHg, or MPa for rail pressure; "not known" for None.
    """
    if value is None:
        return "not known"
    if outcome.unit in PERCENTS:
        return digits.percent(value, outcome.margin)
    if outcome.measure is Measure.RAIL_PRESSURE:
        return digits.mpa(value)
    return digits.kpa_inhg(value)


def margin_words(outcome: Outcome) -> str:
    """
    Write the margin of an outcome as it was agreed.

    Parameters
    ----------
    outcome : Outcome
        The outcome.

    Returns
    -------
    str
        Such as ``2 %``.
    """
    if outcome.margin is None:
        return "no agreed margin"
    if outcome.unit in PERCENTS:
        return digits.short_percent(outcome.margin)
    if outcome.measure is Measure.RAIL_PRESSURE:
        return digits.mpa(outcome.margin)
    return digits.kpa_inhg(outcome.margin)


def runs_to_settle(outcome: Outcome) -> int | None:
    """
    Give how many runs of each kind would settle an outcome.

    Parameters
    ----------
    outcome : Outcome
        Its figure ``runs_each_needed`` is read.

    Returns
    -------
    int or None
        None when nobody worked it out.
    """
    number = outcome.figures.get("runs_each_needed")
    return None if number is None or number != number else round(number)


def label(outcome: Outcome) -> str:
    """
    Name an answer in few words, with its number.

    Parameters
    ----------
    outcome : Outcome
        The outcome.

    Returns
    -------
    str
        Such as ``small loss, inside the margin of 2 %``.
    """
    outcome = shown(outcome)
    if outcome.measure in _LIMITED and outcome.answer in _LIMITED[outcome.measure]:
        return _LIMITED[outcome.measure][outcome.answer]
    margin = margin_words(outcome)
    number = runs_to_settle(outcome)
    more = f": drive {order_words(number)} anew" if number else ""
    return {
        Answer.NO_LOSS_WITHIN: f"no loss within the margin of {margin}",
        Answer.SMALL_LOSS: f"small loss, inside the margin of {margin}",
        Answer.LOSS_BEYOND: f"loss beyond the margin of {margin}",
        Answer.LOSS_UNSETTLED: f"loss whose size against {margin} is not settled{more}",
        Answer.CANNOT_TELL: f"cannot tell yet{more}",
        Answer.REFUSED: "no answer: the runs cannot be compared",
        Answer.VOID: "void",
        Answer.NOT_TESTED: "not tested",
        Answer.NO_LIMIT_KNOWN: "no limit known: compared with its own baseline only",
        Answer.WITHIN_LIMIT: "inside the limit",
        Answer.BEYOND_LIMIT: "beyond the limit",
    }[outcome.answer]


def _finite(value: float | None) -> float | None:
    """Take a limit that is infinite as none."""
    return value if value is not None and math.isfinite(value) else None


def upper_first(text: str) -> str:
    """
    Begin a sentence without touching the rest of its letters.

    Parameters
    ----------
    text : str
        Words.

    Returns
    -------
    str
        With a capital first letter.
    """
    return text[:1].upper() + text[1:]


def as_sentence(text: str) -> str:
    """
    Make words from elsewhere a sentence.

    Parameters
    ----------
    text : str
        Words.

    Returns
    -------
    str
        With a capital first letter and a stop.
    """
    stripped = text.strip()
    return upper_first(stripped if stripped.endswith((".", "!", "?")) else f"{stripped}.")


def spread_words(outcome: Outcome, value: float | None) -> str:
    """
    Write a standard deviation, which is not compared with the margin.

    Parameters
    ----------
    outcome : Outcome
        Gives the unit.
    value : float or None
        In the outcome's unit.

    Returns
    -------
    str
        Percent or kPa.
    """
    if value is None:
        return "unknown size"
    if outcome.unit in PERCENTS:
        return digits.percent(value)
    return digits.kpa(value)


def confidence_words(outcome: Outcome) -> str:
    """
    Write the one-sided confidence of an outcome's limits.

    Parameters
    ----------
    outcome : Outcome
        The outcome; declared looks make it more than 95 %.

    Returns
    -------
    str
        Such as ``95 %``.
    """
    share = 100.0 * outcome.figures.get("confidence", 0.95)
    return f"{share:.4g}{digits.NO_BREAK}%"
