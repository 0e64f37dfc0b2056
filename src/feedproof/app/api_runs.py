"""The verbs that put runs and declarations on record, as functions."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.logs import keep_run
from feedproof.app.progress import Progress, patient, silent
from feedproof.app.run_table import with_fuel
from feedproof.app.told import Written
from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import Finding
from feedproof.records.folder import CaseFolder

LEAST_OF_PULL = 0.6
"""Share of the declared pull that a run must cover: the project's own rule."""


def add_run(
    path: Path,
    run: Mapping[str, Any],
    logs: Mapping[str, str],
    *,
    who: str = "operator",
    learn: bool = True,
    progress: Progress = silent,
) -> Written:
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
    who : str
        Who adds it.
    learn : bool
        Remember what the columns of the logs mean, for headers of the same shape.
    progress : Progress
        Told while a log is read that takes more than a second.

    Returns
    -------
    Written
        What was written.

    Raises
    ------
    InputError, MissingError, WriteError
        Nothing was written.
    """
    from feedproof.app.learned import Lesson, remember
    from feedproof.evidence.assemble import assemble_run
    from feedproof.records.buslog.own_dbc import with_dbc
    from feedproof.records.logs.reading import LogReading, read_log

    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    run = with_fuel(run, case)
    files = {instrument: Path(file) for instrument, file in logs.items()}
    problems: list[Finding] = []
    told: list[Finding] = []
    read: list[LogReading] = []
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
            settled, named = with_dbc(case.instruments[instrument], folder.path)
            told += named
            reading = read_log(file, settled, progress=patient(progress))
        except InputError as fault:
            problems += fault.findings
            continue
        told += [finding for finding in reading.findings if finding.level != "note"]
        read.append(reading)
    problems += [finding for finding in told if finding.level == "error"]
    if problems:
        raise InputError(problems)
    # A log that holds no pull can be exported again now; when the run is judged it is too late.
    window = assemble_run(folder.preview_run(run, files), [r.log for r in read], case).window
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
    added = folder.add_run(run, files, who=who, revision=loaded.sha256)
    keep_run(folder, case, added, read)
    if learn:
        lessons = [Lesson(instrument=r.log.instrument, dialect=r.dialect) for r in read]
        why = f"case {case.title!r}, run {added.number}"
        told += remember(lessons, loaded.content, who=who, why=why)
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


def correct(path: Path, run: int, *, who: str, why: str) -> Written:
    """
    Record that a run's table was corrected after it was added.

    Parameters
    ----------
    path : Path
        Folder of the case, its document already corrected.
    run : int
        Number of the run.
    who, why : str
        Who corrected it and why.

    Returns
    -------
    Written
        What was recorded.

    Raises
    ------
    MissingError
        The case has no such run.
    InputError
        Nothing differs from what was recorded, or nobody stands for it; nothing was written.
    """
    from feedproof.records.corrections import (
        RUN_CORRECTED,
        changes,
        recorded,
        run_tables,
    )

    folder = CaseFolder.open(path)
    loaded = folder.load()
    empty = [f for f, text in (("--who", who), ("--why", why)) if not text.strip()]
    if empty:
        raise InputError.at(" and ".join(empty), "is empty.", "Say who corrected it, and why.")
    table = run_tables(loaded.content).get(run)
    if table is None:
        raise MissingError.at(f"run {run}", "the case has no such run.")
    before = recorded(loaded.journal).get(run)
    differing = {} if before is None else changes(before, table)
    if before is not None and not differing:
        raise InputError.at(
            f"run {run}", "says what the journal recorded.", "Correct case.toml first."
        )
    entry = folder.journal.append(
        RUN_CORRECTED,
        {"run": run, "table": table, "changed": differing},
        who=who,
        why=why,
        lines_before=len(loaded.journal),
    )
    what = ", ".join(differing) or "its table, which no line held so far"
    return Written(
        format="feedproof-written",
        version=1,
        what=f"line {entry.seq}: run {run} was corrected by {who} ({what})",
        paths=(str(folder.journal.path),),
        next_step=f"What rests on it is computed anew by: feedproof prove {path}",
    )
