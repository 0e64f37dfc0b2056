"""The verb ``prove`` as a function."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.logs import load_logs
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder


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
    book = look_book(loaded.journal)
    case, used, looked_up = case_with_archive(loaded.case, archive)
    logs, told = load_logs(folder, case, progress)
    # A reader's notes on a file are kept in the result; they are no concern of a verdict.
    findings = (*loaded.findings, *(finding for finding in told if finding.level != "note"))
    proof = prove_case(case, logs, loaded.sha256, (*findings, *looked_up), progress, book)
    proof = replace(proof, archive=used)
    # The look first: an answer that was kept without its trace could be asked for at will.
    remember_looks(folder, loaded.case, book)
    keep_result(folder, loaded, "proof", proof, proving_call(archive))
    return proof


def proving_call(archive: Path | None) -> Call:
    """
    Describe a call of `prove`.

    Parameters
    ----------
    archive : Path or None
        Archive that it was given.

    Returns
    -------
    Call
        To be kept with its result.
    """
    return Call(verb="prove", files={"archive": archive}, reads_logs=True)
