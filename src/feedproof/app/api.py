"""
The verbs as functions: what the command line, Python callers and later doors all call.

Each opens a case folder, calls the rooms, keeps the result and gives it back.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.api_ahead import cold_start, envelope, faults, predict, sensitivity
from feedproof.app.api_archive import archive_add, archive_show, archive_withdraw
from feedproof.app.api_choose import choose
from feedproof.app.api_fit import fit
from feedproof.app.api_kits import protect, service
from feedproof.app.api_plan import plan
from feedproof.app.documents import to_document
from feedproof.app.logs import load_logs
from feedproof.app.predicting import predict_case
from feedproof.app.progress import Progress, silent
from feedproof.app.told import Checked, Demonstrated, Written
from feedproof.case.log import Log
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.core.findings import Finding, has_errors, note
from feedproof.records.folder import CaseFolder

__all__ = [
    "add_run",
    "archive_add",
    "archive_show",
    "archive_withdraw",
    "check",
    "choose",
    "cold_start",
    "declare",
    "demo",
    "envelope",
    "exclude",
    "faults",
    "fit",
    "new",
    "plan",
    "predict",
    "protect",
    "prove",
    "publish",
    "sensitivity",
    "service",
]

LEAST_OF_PULL = 0.6
"""Share of the declared pull that a run must cover: the project's own rule."""
PACKAGED_DEMO = Path(__file__).parents[1] / "scenario" / "case"
"""The demonstration case that an installed program carries."""


def new(path: Path) -> Written:
    """
    Start a case from a template.

    Parameters
    ----------
    path : Path
        Folder to make.

    Returns
    -------
    Written
        What was written.
    """
    from feedproof.records.template import new_case

    folder = new_case(path)
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


def add_run(path: Path, run: Mapping[str, Any], logs: Mapping[str, str]) -> Written:
    """
    Add a recorded run; its logs are read before anything is written.

    Parameters
    ----------
    path : Path
        Folder of the case.
    run : mapping
        The run as ``case.toml`` holds it, without ``logs``.
    logs : mapping of str to str
        Files by instrument.

    Returns
    -------
    Written
        What was written.

    Raises
    ------
    InputError, MissingError, WriteError
        Nothing was written.
    """
    from feedproof.evidence.assemble import assemble_run
    from feedproof.records.logs.reading import read_log

    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    if "fuel" not in run:
        run = {**run, "fuel": case.reference.fuel}
    files = {instrument: Path(file) for instrument, file in logs.items()}
    problems: list[Finding] = []
    told: list[Finding] = []
    read: list[Log] = []
    for instrument, file in files.items():
        if instrument not in case.instruments:
            known = ", ".join(case.instruments) or "none"
            fault = InputError.at(
                "logs", f"the case has no instrument {instrument!r}.", f"It has: {known}."
            )
            problems += fault.findings
            continue
        if not file.is_file():
            raise MissingError.at(str(file), "there is no such file.", "Check the path.")
        try:
            reading = read_log(file, case.instruments[instrument])
        except InputError as fault:
            problems += fault.findings
            continue
        told += [finding for finding in reading.findings if finding.level != "note"]
        read.append(reading.log)
    problems += [finding for finding in told if finding.level == "error"]
    if problems:
        raise InputError(problems)
    # A log that holds no pull can be exported again now; when the run is judged it is too late.
    window = assemble_run(folder.preview_run(run, files), read, case).window
    pull = case.pull
    top = min(window.end_m_per_s, pull.stop_m_per_s)
    covered = max(top - max(window.start_m_per_s, pull.start_m_per_s), 0.0) / (
        pull.stop_m_per_s - pull.start_m_per_s
    )
    if covered < LEAST_OF_PULL:
        raise InputError.at(
            f"run {run.get('number')}",
            f"the logs cover {100 * covered:.0f} % of the pull that the case declares; at least"
            f" {100 * LEAST_OF_PULL:.0f} % are needed.",
            "Export the whole pull, or correct [pull] in the case.",
        )
    added = folder.add_run(run, files, revision=loaded.sha256)
    return Written(
        format="feedproof-written",
        version=1,
        what=f"run {added.number} ({added.configuration}) was added with {len(added.logs)} logs",
        paths=tuple(str(folder.raw(log)) for log in added.logs),
        next_step=f"When the session is complete: feedproof prove {path}",
        findings=tuple(told),
    )


def declare(path: Path, *, who: str, source: str) -> Written:
    """
    Declare the margins in the journal.

    Parameters
    ----------
    path : Path
        Folder of the case.
    who, source : str
        Who declares them and what they come from.

    Returns
    -------
    Written
        What was written.
    """
    folder = CaseFolder.open(path)
    folder.load()
    entry = folder.declare_margins(who=who, source=source)
    return Written(
        format="feedproof-written",
        version=1,
        what=f"margins declared on {entry.when:%Y-%m-%d %H:%M} UTC by {who} (self-declared date)",
        paths=(str(folder.journal.path),),
        next_step="Runs with a kit that started before this moment cannot be judged by them.",
    )


def exclude(path: Path, number: int, *, who: str, reason: str) -> Written:
    """
    Leave a run out.

    Parameters
    ----------
    path : Path
        Folder of the case.
    number : int
        Number of the run.
    who, reason : str
        Who decides it and why.

    Returns
    -------
    Written
        What was written.
    """
    folder = CaseFolder.open(path)
    folder.exclude_run(number, who=who, reason=reason)
    return Written(
        format="feedproof-written",
        version=1,
        what=f"run {number} is left out: {reason}",
        paths=(str(folder.journal.path),),
        next_step="The reason is printed in every report.",
    )


def prove(path: Path, *, archive: Path | None = None, progress: Progress = silent) -> Any:
    """
    Decide from the runs.

    Parameters
    ----------
    path : Path
        Folder of the case.
    archive : Path, optional
        Archive of repeatability to look the rig's scatter up in.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Proof
        The verdicts; a copy is kept among the case's results, and the journal keeps which runs
        were judged.
    """
    from feedproof.app.archiving import case_with_archive
    from feedproof.app.looking import look_book, remember_looks
    from feedproof.app.proving import prove_case

    folder = CaseFolder.open(path)
    loaded = folder.load()
    book = look_book(folder.journal.read()[0])
    case, used, looked_up = case_with_archive(loaded.case, archive)
    logs, told = load_logs(folder, case, progress)
    # A reader's notes on a file are kept in the result; they are no concern of a verdict.
    findings = (*loaded.findings, *(finding for finding in told if finding.level != "note"))
    proof = prove_case(case, logs, loaded.sha256, (*findings, *looked_up), progress, book)
    proof = replace(proof, archive=used)
    # The look first: an answer that was kept without its trace could be asked for at will.
    remember_looks(folder, loaded.case, book)
    folder.results.write("proof", to_document(proof))
    return proof


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
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Written
        The two files.

    Raises
    ------
    WriteError
        Nothing could be written.
    """
    from feedproof.app.publishing import build_publication, fingerprints_of
    from feedproof.records.durable import write_whole
    from feedproof.report.page import page_html
    from feedproof.report.paper import paper_pdf

    folder = CaseFolder.open(path)
    loaded = folder.load()
    judged = any(run.kits for run in loaded.case.runs)
    if proof is None and judged:
        proof = prove(path, archive=archive, progress=progress)
    prediction = predict_case(loaded.case)
    results = {
        "prediction": folder.results.write("prediction", to_document(prediction)),
        **({"proof": folder.results.write("proof", to_document(proof))} if proof else {}),
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
    target = out or folder.path / "report"
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise WriteError.at(
            str(target), f"cannot be made: {fault.strerror}.", "Name another folder."
        ) from fault
    write_whole(target / "report.html", page.encode())
    write_whole(target / "report.pdf", paper)
    told = () if proof else (note(str(path), "no run with a kit: only predictions are printed."),)
    return Written(
        format="feedproof-written",
        version=1,
        what="the report",
        paths=(str(target / "report.html"), str(target / "report.pdf")),
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
