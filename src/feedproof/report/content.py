"""The words, pictures and tables of a report, worked out once for page and paper."""

from dataclasses import asdict
from typing import Any

from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome, Release, Verdict
from feedproof.report import (
    always,
    claims,
    customer,
    digits,
    envelope_chart,
    envelope_words,
    overlay_chart,
    ruler_picture,
    ruler_reading,
    sentences,
    staircase_picture,
    staircase_words,
    tables,
    words,
)
from feedproof.report.cautions import CAUTIONS
from feedproof.report.model import EnvelopeMap, Publication, Table
from feedproof.report.overlay_curves import kept_curves
from feedproof.report.signs import sign_svg

Content = dict[str, Any]

BANNER = "INVENTED demonstration data: nothing here was measured, nobody may rely on it."
_CALM = (Release.RELEASE, Release.RELEASE_WITH_CONDITIONS, Release.CONTROL_FOUND)
OUT_OF_SCOPE = (
    "Low-pressure side only: nothing in this report says anything about the high-pressure side."
)


def content_of(publication: Publication) -> Content:
    """
    Work out everything that page and paper print.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    dict
        Plain data: words, tables and SVG.
    """
    return {
        "title": publication.title,
        "banner": BANNER if publication.invented else "",
        "note": publication.note,
        "vehicle": publication.vehicle_name,
        "version": publication.program_version,
        "computed": f"{publication.computed:%Y-%m-%d %H:%M %z}",
        "scope": OUT_OF_SCOPE,
        "limit": limit_words(publication),
        "verdicts": [_verdict(publication, verdict) for verdict in ordered(publication)],
        "customer_heading": customer.HEADING,
        "staircase": _staircase(publication),
        "curves": [_curve(publication, measure) for measure in overlay_chart.measures(publication)],
        "envelopes": [envelope_content(publication, each) for each in publication.envelopes],
        "envelope_key": envelope_words.KEY,
        "kits": [
            {"short": kit.short, "title": kit.title, "control": kit.control}
            for kit in publication.kits
        ],
        "margins": always.margin_line(publication.margins),
        "margin_list": _margins(publication),
        "sure": _filled(
            tables.runs_table(publication),
            tables.basis_table(publication),
            tables.repeatability_table(publication),
            *publication.plans,
        ),
        "budgets": _filled(*publication.budgets),
        "claims": _filled(claims.claims_table(publication)),
        "bias": _filled(tables.bias_table(publication), claims.losses_table(publication)),
        "bias_sentences": [
            words.as_sentence(f"{publication.kit(bias.configuration).short}: {bias.sentence}")
            for bias in publication.biases
            if bias.sentence
        ]
        + claims.losses_sentences(publication),
        "conditions": _filled(tables.conditions_table(publication)),
        "findings": _filled(tables.findings_table(publication)),
        "steps": _filled(tables.steps_table(publication)),
        "sources": _filled(
            tables.inputs_table(publication), tables.fingerprints_table(publication)
        ),
        "cautions": [
            *({"head": "This case", "text": text} for text in publication.cautions),
            *({"head": head, "text": text} for head, text in CAUTIONS),
        ],
    }


def headline(publication: Publication, verdict: Verdict) -> str:
    """
    Write the one sentence that stands beside a release.

    Parameters
    ----------
    publication : Publication
        The report.
    verdict : Verdict
        The verdict.

    Returns
    -------
    str
        The plain sentence of the measure that decided, else of the one agreed to headline.
    """
    outcomes = in_order(verdict)
    decided = [one for one in outcomes if one.measure is verdict.decided_by]
    primary = [one for one in outcomes if one.measure is verdict.primary]
    chosen = (decided or primary or outcomes)[:1]
    if not chosen:
        return words.as_sentence(verdict.reason or "nothing was judged")
    setting = words.setting_of(publication, verdict.configuration, chosen[0].measure)
    return sentences.plain(chosen[0], setting)


def ordered(publication: Publication) -> list[Verdict]:
    """
    Put kits in the order of the case and positive controls behind them.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    list of Verdict
        As they are printed.
    """
    return sorted(
        publication.verdicts,
        key=lambda verdict: (
            publication.kit(verdict.configuration).control,
            publication.place(verdict.configuration),
        ),
    )


def in_order(verdict: Verdict) -> list[Outcome]:
    """
    Put wheel power first, then the other measures in their order.

    Parameters
    ----------
    verdict : Verdict
        Of one kit.

    Returns
    -------
    list of Outcome
        As they are printed.
    """
    order = list(Measure)
    return sorted(verdict.outcomes, key=lambda outcome: order.index(outcome.measure))


def _verdict(publication: Publication, verdict: Verdict) -> Content:
    """Work out one kit's answers."""
    kit = publication.kit(verdict.configuration)
    return {
        "name": kit.short,
        "heading": words.upper_first(kit.short)
        + (" (positive control, no kit)" if kit.control else ""),
        "title": kit.title,
        "control": kit.control,
        "release": words.RELEASES[verdict.release],
        "passes": verdict.release in _CALM,
        "headline": headline(publication, verdict),
        "reason": words.as_sentence(verdict.reason) if verdict.reason else "",
        "outcomes": [_outcome(publication, verdict, outcome) for outcome in in_order(verdict)],
        "table": asdict(
            ruler_picture.table(publication, verdict.configuration, tuple(in_order(verdict)))
        ),
        "always": always.always_added(publication, verdict),
        "customer": customer.customer_text(publication, verdict),
    }


def _outcome(publication: Publication, verdict: Verdict, outcome: Outcome) -> Content:
    """Work out one answer: sentences, and a ruler where there is a figure."""
    setting = words.setting_of(publication, verdict.configuration, outcome.measure)
    drawn = outcome.estimate is not None
    ruler = ruler_picture.ruler_svg
    reading = ruler_reading.reading_of(publication, verdict.configuration, outcome)
    return {
        "measure": words.upper_first(words.MEASURES[outcome.measure]),
        "label": words.label(outcome),
        "sign": sign_svg(words.shown(outcome).answer),
        "precise": sentences.precise(outcome, setting),
        "plain": sentences.plain(outcome, setting),
        "alt": ruler_reading.sentence(reading),
        "wide": ruler(publication, verdict.configuration, outcome) if drawn else "",
        "narrow": ruler(publication, verdict.configuration, outcome, narrow=True) if drawn else "",
    }


def _staircase(publication: Publication) -> Content | None:
    """Work out the staircase, when one was computed."""
    if not publication.staircases:
        return None
    return {
        "title": staircase_words.TITLE,
        "sentence": staircase_words.sentence(publication),
        "wide": staircase_picture.staircase_svg(publication),
        "narrow": staircase_picture.staircase_svg(publication, narrow=True),
        "table": asdict(staircase_words.table(publication)),
    }


def _curve(publication: Publication, measure: Measure) -> Content:
    """Work out one overlay."""
    curves = kept_curves(publication, measure)
    return {
        "title": f"{words.upper_first(words.MEASURES[measure])} along the pull",
        "sentence": overlay_chart.sentence(curves),
        "key": overlay_chart.KEY,
        "wide": overlay_chart.overlay_svg(curves),
        "narrow": overlay_chart.overlay_svg(curves, narrow=True),
        "table": asdict(overlay_chart.table(curves)),
    }


def envelope_content(publication: Publication, envelope: EnvelopeMap) -> Content:
    """
    Work out one envelope map.

    Parameters
    ----------
    publication : Publication
        The report.
    envelope : EnvelopeMap
        One configuration.

    Returns
    -------
    dict
        Words, pictures and table.
    """
    return {
        "title": words.upper_first(publication.kit(envelope.configuration).short),
        "sentence": envelope_words.sentence(publication, envelope),
        "wide": envelope_chart.envelope_svg(publication, envelope),
        "narrow": envelope_chart.envelope_svg(publication, envelope, narrow=True),
        "table": asdict(envelope_words.table(publication, envelope)),
    }


def limit_words(publication: Publication) -> str:
    """
    Say which limit the pump has.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    str
        The limit with its source, or that none is known.
    """
    if publication.limit_abs_pa is None:
        return (
            "No limit from the pump's maker is known: kits are compared with the line without a"
            " kit only, and that is never a pass."
        )
    source = f" ({publication.limit_source})" if publication.limit_source else ""
    return (
        f"Limit of the pump's maker{source}:"
        f" {digits.kpa(publication.limit_abs_pa, decimals=1)} absolute at its inlet."
    )


def _margins(publication: Publication) -> list[str]:
    """List the agreed margins."""
    margins = publication.margins
    never = digits.short_percent(100.0 * margins.return_do_not_release_fraction)
    return [
        f"Wheel power: {digits.short_percent(100.0 * margins.wheel_power_fraction)}.",
        f"Caught return: {digits.short_percent(100.0 * margins.caught_return_fraction)};"
        f" a best estimate of {never} or more is not released.",
        f"Rail pressure: a shortfall of {digits.mpa(margins.rail_deviation_pa)} held for"
        f" {margins.rail_deviation_s:g}\u00a0s is not released.",
    ]


def _filled(*all_tables: Table) -> list[Content]:
    """Keep the tables that have rows."""
    return [asdict(table) for table in all_tables if table.rows]
