"""Read the raw logs of a case."""

from feedproof.app.progress import Progress, patient, silent
from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.reading import read_log


def load_logs(
    folder: CaseFolder, case: Case, progress: Progress = silent
) -> tuple[dict[int, list[Log]], tuple[Finding, ...]]:
    """
    Read the raw logs of all runs.

    Parameters
    ----------
    folder : CaseFolder
        Where they are kept.
    case : Case
        With its runs and instruments.
    progress : Progress
        Told after each log.

    Returns
    -------
    logs : dict of int to list of Log
        By run number.
    findings : tuple of Finding
        What must be known of the files, each run's number in its place.

    Raises
    ------
    InputError
        Every log that cannot be used, at once.
    """
    logs: dict[int, list[Log]] = {}
    findings: list[Finding] = []
    errors: list[Finding] = []
    wanted = [(run, log) for run in case.runs for log in run.logs]
    for done, (run, log) in enumerate(wanted):
        progress(done, len(wanted), "reading logs")
        try:
            reading = read_log(
                folder.raw(log),
                case.instruments[log.instrument],
                log.name,
                progress=patient(progress),
            )
        except InputError as fault:
            errors += fault.findings
            continue
        findings += reading.findings
        errors += [finding for finding in reading.findings if finding.level == "error"]
        logs.setdefault(run.number, []).append(reading.log)
    progress(len(wanted), len(wanted), "reading logs")
    if errors:
        raise InputError(errors)
    return logs, tuple(findings)
