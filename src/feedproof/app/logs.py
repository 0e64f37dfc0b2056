"""Read the raw logs of a case."""

from collections.abc import Sequence
from pathlib import Path

from feedproof.app.progress import Progress, patient, silent
from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.run import Instrument, Run
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.records.buslog.own_dbc import with_dbc
from feedproof.records.channel_cache import (
    channel_faults,
    channels_path,
    keep_channels,
    read_channels,
)
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.reading import LogReading, read_log


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
            instrument, named = with_dbc(case.instruments[log.instrument], folder.path)
            read, told = _read(folder.raw(log), instrument, log.name, patient(progress))
        except InputError as fault:
            errors += fault.findings
            continue
        findings += (*named, *told)
        errors += [finding for finding in told if finding.level == "error"]
        logs.setdefault(run.number, []).append(read)
    progress(len(wanted), len(wanted), "reading logs")
    if errors:
        raise InputError(errors)
    return logs, tuple(findings)


def keep_run(folder: CaseFolder, case: Case, run: Run, readings: Sequence[LogReading]) -> None:
    """
    Keep the channels of a run that was just added.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    case : Case
        With its instruments.
    run : Run
        As it was added.
    readings : sequence of LogReading
        Its logs, as read before it was added.
    """
    by_instrument = {reading.log.instrument: reading for reading in readings}
    for log in run.logs:
        reading = by_instrument[log.instrument]
        instrument, _ = with_dbc(case.instruments[log.instrument], folder.path)
        path = channels_path(folder.raw(log), instrument)
        keep_channels(path, reading.log, reading.findings)


def cache_findings(folder: CaseFolder, case: Case) -> tuple[Finding, ...]:
    """
    Say which kept channels are damaged, so that raw logs are read in their place.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    case : Case
        With its instruments.

    Returns
    -------
    tuple of Finding
        A warning for each; a case without kept channels has none.
    """
    kept = []
    for run in case.runs:
        for log in run.logs:
            try:
                instrument, _ = with_dbc(case.instruments[log.instrument], folder.path)
            except InputError:
                continue  # Whoever reads the log is told.
            kept.append(channels_path(folder.raw(log), instrument))
    faults = [(path, channel_faults(path)) for path in kept if path.is_file()]
    return tuple(warning(path.name, f"{words}") for path, words in faults if words)


def _read(
    raw: Path, instrument: Instrument, name: str, progress: Progress
) -> tuple[Log, tuple[Finding, ...]]:
    """Read kept channels, or the raw log where there are none that can be trusted."""
    kept = channels_path(raw, instrument)
    told: tuple[Finding, ...] = ()
    if kept.is_file():
        try:
            return read_channels(kept)
        except ValueError as fault:
            # A note: a verdict must not change with the state of a cache.
            told = (note(name, f"{kept.name} {fault}: the raw log was read.", "Delete it."),)
    reading = read_log(raw, instrument, name, progress=progress)
    return reading.log, (*reading.findings, *told)
