"""The verdict as its screen shows it: the words, rulers and curves of the report."""

from pathlib import Path
from typing import Any

from feedproof.app.api_prove import prove
from feedproof.app.naming import named_archive
from feedproof.app.predicting import predict_case
from feedproof.app.progress import Progress
from feedproof.app.proof import Proof
from feedproof.app.publishing import build_publication
from feedproof.app.web.shown.common import told
from feedproof.app.web.shown.next_steps import looks_words, next_words
from feedproof.app.web.shown.sources import SOURCE, overlay_source, ruler_source
from feedproof.core.findings import Level
from feedproof.records.folder import CaseFolder
from feedproof.report.content import content_of, in_order, ordered
from feedproof.report.overlay_chart import measures

TAKEN = (
    "title", "banner", "vehicle", "computed", "scope", "limit", "curves", "margins", "margin_list",
    "customer_heading", "bias_sentences",
)  # fmt: skip


def called(path: Path, parameters: dict[str, Any], progress: Progress) -> Proof:
    """
    Judge the runs.

    Parameters
    ----------
    path : Path
        Folder of the case.
    parameters : dict
        None are known.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Proof
        The verdicts.
    """
    proof: Proof = prove(path, archive=named_archive(None), progress=progress, **parameters)
    return proof


def shown_of(path: Path, proof: Proof) -> dict[str, Any]:
    """
    Put the verdicts into what their screen shows.

    Parameters
    ----------
    path : Path
        Folder of the case.
    proof : Proof
        From `called`.

    Returns
    -------
    dict
        What JSON can hold.
    """
    case = CaseFolder.open(path).load().case
    publication = build_publication(case, predict_case(case), proof, ())
    content = content_of(publication)
    of_runs = [
        finding
        for run in publication.runs
        for finding in run.findings
        if finding.level is not Level.NOTE
    ]
    verdicts = content["verdicts"]
    steps = next_words(publication, proof)
    for place, verdict in enumerate(verdicts):
        verdict["anchor"] = f"answer-{place}"
        verdict["next"] = steps.get(verdict["name"], [])
        verdict["not_tested"], *verdict["always"] = verdict["always"]
    for verdict, judged in zip(verdicts, ordered(publication), strict=True):
        for told_of, outcome in zip(verdict["outcomes"], in_order(judged), strict=True):
            told_of[SOURCE] = ruler_source(publication, judged.configuration, outcome)
    for curve, measure in zip(content["curves"], measures(publication), strict=True):
        curve[SOURCE] = overlay_source(publication, measure)
    return {
        **{key: content[key] for key in TAKEN},
        "kits": [each for each in verdicts if not each["control"]],
        "controls": [each for each in verdicts if each["control"]],
        "looks": looks_words(publication, proof),
        "findings": told([*publication.findings, *of_runs]),
    }
