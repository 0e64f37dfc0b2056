"""Verdicts as text for a console, in the same sentences as page and paper."""

import textwrap

from feedproof.case.outcome import Verdict
from feedproof.core.findings import Level
from feedproof.report.always import always_added
from feedproof.report.customer import customer_text
from feedproof.report.model import Publication
from feedproof.report.sentences import precise
from feedproof.report.words import (
    MEASURES,
    RELEASES,
    SYMBOLS,
    label,
    setting_of,
    shown,
    upper_first,
)

WIDTH = 100

WORST_SOURCE = (
    "Worst conditions: the description, moved by the difference above in proportion to the losses"
    " of flow. The verb fit predicts them from parameters fitted to all runs, so its figures"
    " differ."
)
"""What the predictions of ``prove`` rest on, beside those of ``fit``."""


def proof_text(publication: Publication) -> str:
    """
    Write the verdicts for a console.

    Parameters
    ----------
    publication : Publication
        Of a case whose runs were judged.

    Returns
    -------
    str
        One block for each kit, then measured against predicted, then what must be known.
    """
    parts = [publication.title]
    if publication.note:
        parts.append(publication.note)
    for verdict in publication.verdicts:
        parts += ["", engineer_text(publication, verdict), ""]
    if publication.biases:
        parts.append("Measured against predicted depression (mean over the band)")
        parts += [
            _wrapped(f"{publication.kit(bias.configuration).short}: {bias.sentence}", "  ")
            for bias in publication.biases
        ]
        parts.append(_wrapped(WORST_SOURCE, "  "))
    if publication.losses:
        parts.append("Losses of power and return, measured against predicted")
        parts += [
            _wrapped(f"{publication.kit(each.configuration).short}: {each.sentence}", "  ")
            for each in publication.losses
        ]
    told = [
        finding
        for run in publication.runs
        for finding in run.findings
        if finding.level is not Level.NOTE
    ]
    lines = dict.fromkeys(str(finding) for finding in (*publication.findings, *told))
    if lines:
        parts.append("What must be known of the runs")
        parts += [_wrapped(line, "  ") for line in lines]
    return "\n".join(parts)


def customers_text(publication: Publication) -> str:
    """
    Write the verdicts for a customer.

    Parameters
    ----------
    publication : Publication
        Of a case whose runs were judged.

    Returns
    -------
    str
        A few plain sentences for each kit.
    """
    parts = [publication.title]
    if publication.note:
        parts.append(publication.note)
    for verdict in publication.verdicts:
        kit = publication.kit(verdict.configuration)
        parts += ["", upper_first(kit.short), _wrapped(customer_text(publication, verdict), "  ")]
    return "\n".join(parts)


def engineer_text(publication: Publication, verdict: Verdict) -> str:
    """
    Write one kit's verdict for an engineer.

    Parameters
    ----------
    publication : Publication
        Of a case whose runs were judged.
    verdict : Verdict
        One of its verdicts.

    Returns
    -------
    str
        Release, every measure with its figures, and what always stands below.
    """
    kit = publication.kit(verdict.configuration)
    lines = [
        f"{upper_first(kit.short)}: {RELEASES[verdict.release].upper()}",
        _wrapped(verdict.reason, "  "),
    ]
    for outcome in verdict.outcomes:
        sign = SYMBOLS[outcome.answer]
        name = upper_first(MEASURES[outcome.measure])
        lines.append(f"  {sign} {name}: {label(shown(outcome))}")
        setting = setting_of(publication, verdict.configuration, outcome.measure)
        lines.append(_wrapped(precise(outcome, setting), "      "))
    lines += [_wrapped(line, "  ") for line in always_added(publication, verdict)]
    return "\n".join(lines)


def _wrapped(text: str, indent: str) -> str:
    """Wrap to the console's width."""
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
