"""
The verbs as functions: what the command line, Python callers and later doors all call.

Each opens a case folder, calls the rooms, keeps the result and gives it back.
"""

from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.api_ahead import cold_start, envelope, faults, predict, sensitivity
from feedproof.app.api_archive import (
    archive_add,
    archive_give_out,
    archive_show,
    archive_take_in,
    archive_withdraw,
)
from feedproof.app.api_choose import choose
from feedproof.app.api_fit import fit
from feedproof.app.api_kits import protect, service
from feedproof.app.api_look import look
from feedproof.app.api_plan import plan
from feedproof.app.api_prove import prove, proving_call
from feedproof.app.api_runs import add_run, correct, declare, exclude
from feedproof.app.api_store import (
    store_export,
    store_import,
    store_remove,
    store_undo,
    store_verify,
)
from feedproof.app.calibration import calibration_findings, taken_down
from feedproof.app.keeping import Call, keep_result
from feedproof.app.logs import cache_findings, load_logs
from feedproof.app.predicting import predict_case
from feedproof.app.progress import Progress, silent
from feedproof.app.told import Checked, Demonstrated, Written
from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import has_errors, note
from feedproof.records.folder import CaseFolder

__all__ = [
    "add_run",
    "archive_add",
    "archive_give_out",
    "archive_show",
    "archive_take_in",
    "archive_withdraw",
    "check",
    "choose",
    "cold_start",
    "correct",
    "declare",
    "demo",
    "envelope",
    "exclude",
    "faults",
    "fit",
    "look",
    "new",
    "plan",
    "predict",
    "protect",
    "prove",
    "publish",
    "sensitivity",
    "service",
    "store_export",
    "store_import",
    "store_remove",
    "store_undo",
    "store_verify",
]

PACKAGED_DEMO = Path(__file__).parents[1] / "scenario" / "case"
"""The demonstration case that an installed program carries."""


def new(path: Path, *, title: str = "") -> Written:
    """
    Start a case from a template.

    Parameters
    ----------
    path : Path
        Folder to make.
    title : str
        What the case is about; the template's own words where it is empty.

    Returns
    -------
    Written
        What was written.
    """
    from feedproof.records.template import new_case

    folder = new_case(path, title)
    return Written(
        format="feedproof-written",
        version=1,
        what="a case to begin with; its values are examples, replace them",
        paths=(str(folder.path),),
        next_step=f"Edit {folder.path / 'case.toml'}, then: feedproof check {folder.path}",
    )


def check(path: Path, *, progress: Progress = silent) -> Checked:
    """
    Say everything that is wrong with a case.

    Parameters
    ----------
    path : Path
        Folder of the case.
    progress : Progress
        Told after each log.

    Returns
    -------
    Checked
        All findings of document, journal and logs.
    """
    folder = CaseFolder.open(path)
    reading = folder.read()
    findings = list(reading.findings)
    case = reading.case
    if case is not None:
        try:
            _, told = load_logs(folder, case, progress)
            findings += [finding for finding in told if finding.level != "note"]
            findings += cache_findings(folder, case)
            known, unasked = taken_down(case)
            findings += unasked or calibration_findings(case, known)
        except InputError as fault:
            findings += fault.findings
    return Checked(
        format="feedproof-check",
        version=1,
        case=str(path),
        usable=not has_errors(findings),
        runs=len(case.runs) if case else 0,
        kits=len(case.kits) if case else 0,
        logs=sum(len(run.logs) for run in case.runs) if case else 0,
        findings=tuple(dict.fromkeys(findings)),
    )


def words_of(path: Path, proof: Any, *, reader: str = "engineer") -> str:
    """
    Write a proof in the sentences of the report.

    Parameters
    ----------
    path : Path
        Folder of the case.
    proof : Proof
        From `prove`.
    reader : str
        ``engineer`` or ``customer``.

    Returns
    -------
    str
        For a console.
    """
    from feedproof.app.spoken import spoken
    from feedproof.app.verdict_text import customers_text, proof_text

    publication = spoken(CaseFolder.open(path).load().case, proof)
    return customers_text(publication) if reader == "customer" else proof_text(publication)


def publish(
    path: Path,
    out: Path | None = None,
    *,
    proof: Any = None,
    archive: Path | None = None,
    force: bool = False,
    progress: Progress = silent,
) -> Written:
    """
    Write the report: one HTML page and one PDF.

    Parameters
    ----------
    path : Path
        Folder of the case.
    out : Path, optional
        Folder for the files; ``report`` in the case when left out.
    proof : Proof, optional
        Of this case as it stands, from `prove`; it is proved anew when left out.
    archive : Path, optional
        As for `prove`, where the case is proved anew.
    force : bool
        Write over files that are not this case's own report, or were changed since.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Written
        The two files.

    Raises
    ------
    WriteError
        Nothing could be written, or another file is in the way.
    """
    from feedproof.app.publishing import build_publication, fingerprints_of
    from feedproof.app.report_files import check_place, seal_for, write_report
    from feedproof.report.page import page_html
    from feedproof.report.paper import paper_pdf

    folder = CaseFolder.open(path)
    loaded = folder.load()
    target = out or folder.path / "report"
    seal = seal_for(loaded.case, folder.journal.read()[0])
    if not force:
        # Before anything is judged: a look at the runs that ends in no report would still count.
        check_place(target, seal)
    judged = any(run.kits for run in loaded.case.runs)
    if proof is None and judged:
        proof = prove(path, archive=archive, progress=progress)
    prediction = predict_case(loaded.case)
    results = {
        kind: keep_result(folder, loaded, kind, result, call)
        for kind, result, call in (
            ("prediction", prediction, Call(verb="predict", parameters={"kits": None})),
            ("proof", proof, proving_call(archive)),
        )
        if result
    }
    publication = build_publication(
        loaded.case,
        prediction,
        proof,
        fingerprints_of(loaded.case, loaded.sha256, folder.journal.path, results),
    )
    progress(0, 2, "drawing the report")
    page = page_html(publication)
    progress(1, 2, "drawing the report")
    paper = paper_pdf(publication)
    progress(2, 2, "drawing the report")
    seal = replace(seal, result=results.get("proof", results["prediction"]))
    written = write_report(target, page, paper, seal)
    told = () if proof else (note(str(path), "no run with a kit: only predictions are printed."),)
    return Written(
        format="feedproof-written",
        version=1,
        what="the report",
        paths=written,
        findings=told,
    )


def demo(out: Path, *, progress: Progress = silent) -> Demonstrated:
    """
    Copy the invented demonstration case, then check, predict, prove and publish it.

    Parameters
    ----------
    out : Path
        Folder to write.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Demonstrated
        The verdicts and where everything is.
    """
    packaged = CaseFolder(PACKAGED_DEMO)
    if out.exists() and _is_earlier_demo(out):
        folder = CaseFolder.open(out)
    else:
        folder = packaged.copy_to(out)
    predict(folder.path)
    proof = prove(folder.path, progress=progress)
    written = publish(folder.path, proof=proof, progress=progress)
    return Demonstrated(
        format="feedproof-demo",
        version=1,
        case=str(folder.path),
        page=written.paths[0],
        paper=written.paths[1],
        proof=proof,
        words=words_of(folder.path, proof),
    )


def _is_earlier_demo(out: Path) -> bool:
    """Say whether a folder holds the demonstration, as an earlier start left it."""
    try:
        return "INVENTED demonstration" in CaseFolder.open(out).load().case.note
    except (InputError, MissingError):
        return False
