"""The lines that stand below every verdict: what was not tested, what the claims are, margins."""

from feedproof.case.margin import Margins, Measure
from feedproof.case.outcome import Answer, Verdict
from feedproof.case.run import Role
from feedproof.report import digits
from feedproof.report.model import Publication
from feedproof.report.model_claims import CurveClaim
from feedproof.report.words import MEASURES, as_sentence, label

_TESTED_PASSES = "each at its own level: when all must pass, no correction for their number is due"


def not_tested(publication: Publication, verdict: Verdict) -> tuple[str, ...]:
    """
    List what a verdict says nothing about.

    Parameters
    ----------
    publication : Publication
        Its runs show whether a loaded element was tried.
    verdict : Verdict
        The verdict.

    Returns
    -------
    tuple of str
        Measures first, then what the verdict names, then what no such test covers.
    """
    answered = {outcome.measure: outcome.answer for outcome in verdict.outcomes}
    items = [
        MEASURES[measure]
        for measure in Measure
        if answered.get(measure, Answer.NOT_TESTED) is Answer.NOT_TESTED
    ]
    names = {measure.value.replace("_", " ") for measure in Measure}
    items += [item for item in verdict.not_tested if item not in (*items, *names)]
    loaded = any(
        run.role is Role.LOADED and run.configuration == verdict.configuration
        for run in publication.runs
    )
    standing = [] if loaded else [("loaded", "a loaded element")]
    standing += [("cold", "cold fuel"), ("other vehicle", "other vehicles")]
    standing.append(("durab", "durability"))
    said = " ".join(items).lower()
    return tuple(items + [words for key, words in standing if key not in said])


def always_added(publication: Publication, verdict: Verdict) -> tuple[str, ...]:
    """
    Write the lines that stand below every verdict.

    Parameters
    ----------
    publication : Publication
        The report.
    verdict : Verdict
        The verdict.

    Returns
    -------
    tuple of str
        Not tested, whole-curve claims beside the average, margins with date and source, drift,
        all measures together.
    """
    lines = [f"Not tested: {'; '.join(not_tested(publication, verdict))}."]
    lines += [
        curve_line(claim, verdict)
        for claim in publication.curve_claims
        if claim.configuration == verdict.configuration
    ]
    lines.append(margin_line(publication.margins))
    lines.append("Drift is handled as a straight line over the session, which is a model.")
    lines.append(together_line(verdict))
    return tuple(lines)


def curve_line(claim: CurveClaim, verdict: Verdict) -> str:
    """
    Set the claim over the whole curve beside that on the average.

    Parameters
    ----------
    claim : CurveClaim
        Of the verdict's configuration.
    verdict : Verdict
        With the answer on the average.

    Returns
    -------
    str
        Yes or no with the bands that fail, the highest limit, where a loss is shown, and the
        answer on the average.
    """
    answer = "yes" if claim.holds else "no"
    parts = [f"Whole-curve claim for {MEASURES[claim.measure]}: {answer}."]
    if claim.sentence:
        parts.append(as_sentence(claim.sentence))
    if claim.worst_upper_percent is not None and claim.worst_speed_m_per_s is not None:
        parts.append(
            f"The highest limit of any band is {digits.percent(claim.worst_upper_percent)} near"
            f" {digits.road_speed(claim.worst_speed_m_per_s)}."
        )
    parts.append(_loss_at(claim))
    average = [label(each) for each in verdict.outcomes if each.measure is claim.measure]
    if average:
        parts.append(f"The average over the band: {average[0]}.")
    return " ".join(part for part in parts if part)


def _loss_at(claim: CurveClaim) -> str:
    """Say at which single speeds a loss is shown."""
    if not claim.loss_at_m_per_s:
        return "At no single speed is a loss shown, all looked at together."
    places = ", ".join(
        digits.road_speed(speed).removesuffix("\u00a0km/h") for speed in claim.loss_at_m_per_s
    )
    return f"A loss is shown near {places}\u00a0km/h, all speeds looked at together."


def together_line(verdict: Verdict) -> str:
    """
    Say what holds when all measures are taken together.

    Parameters
    ----------
    verdict : Verdict
        The verdict.

    Returns
    -------
    str
        Whether all passed, and in which measures a loss is shown after Holm's correction.
    """
    passed = (
        f"All four measures passed, {_TESTED_PASSES}."
        if verdict.every_measure_passed
        else "Not every measure was tested and passed, so nothing is claimed over all of them."
    )
    shown = ", ".join(MEASURES[measure] for measure in verdict.losses_shown)
    holm = (
        f"Looked at together (Holm, 5\u00a0%), a loss is shown in {shown}."
        if shown
        else "Looked at together (Holm, 5\u00a0%), neither power nor return shows a loss."
    )
    return f"Headline measure: {MEASURES[verdict.primary]}. {passed} {holm}"


def margin_line(margins: Margins) -> str:
    """
    Say when the margins were declared and by whom, with the looks declared.

    Parameters
    ----------
    margins : Margins
        As agreed.

    Returns
    -------
    str
        "Self-declared" always stands with the date.
    """
    when = (
        "with no date in the journal"
        if margins.declared is None
        else f"on {margins.declared:%Y-%m-%d %H:%M %z} (self-declared)"
    )
    looks = (
        f" Looks declared after {', '.join(map(str, margins.looks))} runs with the kit."
        if margins.looks
        else ""
    )
    return f"Margins declared {when}; source: {margins.source or 'not given'}.{looks}"
