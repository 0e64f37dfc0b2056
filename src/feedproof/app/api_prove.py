"""The verb ``prove`` as a function."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.logs import load_logs
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder
from feedproof.records.loaded import Loaded


def prove(
    path: Path,
    *,
    archive: Path | None = None,
    calibrated: Path | None = None,
    progress: Progress = silent,
) -> Any:
    """
    Decide from the runs.

    Parameters
    ----------
    path : Path
        Folder of the case.
    archive : Path, optional
        Archive of repeatability to look the rig's scatter up in; ``store`` is the database's.
    calibrated : Path, optional
        What was taken down of the instruments' calibrations; the database is asked when left out.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Proof
        The verdicts; a copy is kept among the case's results, and the journal keeps which runs
        were judged.
    """
    from feedproof.app.archive_place import readable
    from feedproof.app.calibration import calibrations

    folder = CaseFolder.open(path)
    loaded = folder.load()
    with readable(archive) as file, calibrations(loaded.case, calibrated) as known:
        return _proved(folder, loaded, file, known, progress)


def _proved(
    folder: CaseFolder,
    loaded: Loaded,
    archive: Path | None,
    calibrated: Path | None,
    progress: Progress,
) -> Any:
    """Decide with the files that are used, and keep the answer with them."""
    from feedproof.app.archiving import case_with_archive
    from feedproof.app.calibration import calibration_findings, read_calibrations
    from feedproof.app.looking import look_book, remember_looks
    from feedproof.app.proving import prove_case

    book = look_book(loaded.journal)
    case, used, looked_up = case_with_archive(loaded.case, archive)
    logs, told = load_logs(folder, case, progress)
    # A reader's notes on a file are kept in the result; they are no concern of a verdict.
    findings = (
        *loaded.findings,
        *(finding for finding in told if finding.level != "note"),
        *calibration_findings(case, read_calibrations(calibrated)),
    )
    proof = prove_case(case, logs, loaded.sha256, (*findings, *looked_up), progress, book)
    proof = replace(proof, archive=used)
    # The look first: an answer that was kept without its trace could be asked for at will.
    remember_looks(folder, loaded.case, book)
    keep_result(folder, loaded, "proof", proof, proving_call(archive, calibrated))
    return proof


def proving_call(archive: Path | None, calibrated: Path | None = None) -> Call:
    """
    Describe a call of `prove`.

    Parameters
    ----------
    archive : Path or None
        Archive that it was given.
    calibrated : Path or None
        What was taken down of the instruments' calibrations.

    Returns
    -------
    Call
        To be kept with its result.
    """
    return Call(verb="prove", files={"archive": archive, "calibrated": calibrated}, reads_logs=True)
