"""Tables of claims: average beside whole curve, and measured losses beside the model's."""

from feedproof.case.margin import Measure
from feedproof.report import digits, words
from feedproof.report.model import Publication, Table
from feedproof.report.model_claims import CurveClaim


def claims_table(publication: Publication) -> Table:
    """
    Set what is claimed of the average beside what is claimed of the whole curve.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each kit whose wheel power was judged.
    """
    return Table(
        caption="Wheel power: average beside every speed",
        head=(
            "in the line",
            "average over the band",
            "upper limit of the average",
            "below the margin at every speed",
            "highest limit of any speed band",
            "speed bands that do not exclude the margin",
            "loss shown at a single speed",
            "scatter of single bands",
        ),
        rows=tuple(_claim_row(publication, claim) for claim in publication.curve_claims),
        note=(
            "An average can hide a local loss. The claim at every speed tests each band by itself,"
            " one-sided at the level of the average, and needs all of them; a loss at a single"
            " speed is looked for in all bands together (Bonferroni)."
        ),
    )


def _claim_row(publication: Publication, claim: CurveClaim) -> tuple[str, ...]:
    """Write one kit's claims."""
    outcomes = [
        words.shown(outcome)
        for verdict in publication.verdicts
        if verdict.configuration == claim.configuration
        for outcome in verdict.outcomes
        if outcome.measure is claim.measure
    ]
    average = words.label(outcomes[0]) if outcomes else "not judged"
    limit = words.figure(outcomes[0], outcomes[0].upper) if outcomes else ""
    worst = ""
    if claim.worst_upper_percent is not None and claim.worst_speed_m_per_s is not None:
        near = digits.road_speed(claim.worst_speed_m_per_s)
        worst = f"{digits.percent(claim.worst_upper_percent)} near {near}"
    return (
        publication.kit(claim.configuration).short,
        average,
        limit,
        "yes" if claim.holds else "no",
        worst,
        _speeds(claim.open_speed_m_per_s),
        _speeds(claim.loss_at_m_per_s),
        _scatter(claim),
    )


def _speeds(speeds: tuple[float, ...]) -> str:
    """List speeds, or say that there is none."""
    if not speeds:
        return "none"
    texts = [digits.road_speed(speed).removesuffix("\u00a0km/h") for speed in speeds]
    return f"near {', '.join(texts)}\u00a0km/h"


def _scatter(claim: CurveClaim) -> str:
    """Say what the scatter of single bands rests on."""
    dof = claim.degrees_of_freedom
    known = f", {dof:.2g} degrees of freedom" if dof else ""
    return {
        "archive": f"other sessions and these runs{known}",
        "pooled": f"these runs, pooled over the bands{known}",
    }.get(claim.scatter_from, "unknown")


def losses_table(publication: Publication) -> Table:
    """
    Set measured losses of power and return beside those that the described line predicts.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each kit and measure.
    """
    rows = [
        (
            publication.kit(each.configuration).short,
            words.MEASURES[each.measure],
            f"{digits.percent(each.measured_percent)} ±\u00a0"
            f"{digits.percent(each.measured_expanded_percent)}",
            digits.percent(each.predicted_percent),
            f"{digits.percent(each.predicted_low_percent)} to"
            f" {digits.percent(each.predicted_high_percent)}",
            "yes" if each.agrees else "no",
        )
        for each in publication.losses
    ]
    return Table(
        caption="Losses, measured against predicted",
        head=(
            "in the line",
            "measure",
            "loss measured (95 %)",
            "loss predicted",
            "range of the prediction",
            "explained by the model",
        ),
        rows=tuple(rows),
        note=(
            "Power at the mean conditions of the runs compared, return at the reference"
            " conditions. The range holds the transition of the friction and the inputs' ranges."
        ),
    )


def losses_sentences(publication: Publication) -> list[str]:
    """
    Write the losses that the model does not explain.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    list of str
        One sentence for each; empty when measurement and model agree.
    """
    return [
        words.as_sentence(f"{publication.kit(each.configuration).short}: {each.sentence}")
        for each in publication.losses
        if not each.agrees and each.measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN)
    ]
