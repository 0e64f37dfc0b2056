"""
From the archive of repeatability to a case: the door for every verb that takes ``--archive``.

`case_with_archive` gives a case whose repeatability comes from an archive where it may, what was
looked up (to be kept in the result), and the findings that say which figure is used.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from feedproof.app.archive_baselines import NO_RIG, mark_of
from feedproof.case.case import Case
from feedproof.case.run import Role
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.archives.choice import (
    ArchiveFigure,
    ArchiveUse,
    Asked,
    Plumbing,
    asks_for_archive,
    figures_for,
    with_archive,
)
from feedproof.evidence.archives.lines import Line, standing
from feedproof.records.archive import ArchiveFile


def asked_of(case: Case) -> Asked:
    """
    Say what a case asks the archive.

    Parameters
    ----------
    case : Case
        With its rig.

    Returns
    -------
    Asked
        Rig, procedure, its own runs, and the moment after which nothing counts.

    Raises
    ------
    InputError
        No rig is named, or the first run with a kit starts without an offset from UTC.
    """
    if case.rig is None:
        raise InputError.at(
            "rig", "an archive is given, but the case names no rig and procedure.", NO_RIG
        )
    starts = [run.started for run in case.runs if run.kits]
    if any(start.tzinfo is None for start in starts):
        raise InputError.at(
            "run",
            "a run with a kit starts at a time without offset from UTC: nothing shows what the"
            " archive held before it.",
            "Write it in case.toml, as in 2026-09-14T09:42:00+02:00.",
        )
    return Asked(
        rig=case.rig.name,
        procedure=case.rig.procedure,
        plumbing=plumbing_of(case),
        marks=tuple(mark_of(run) for run in case.runs),
        before=min(starts, default=None),
        declared=case.repeatability,
    )


def plumbing_of(case: Case) -> Plumbing:
    """
    Say how often the line was opened inside a case's sessions.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Plumbing
        Of the runs that count; one plumbing where the case has no runs.
    """
    sessions: dict[str, list[str]] = {}
    for run in case.runs:
        if run.role is not Role.WARM_UP and not run.excluded:
            sessions.setdefault(run.session, []).append(run.setup)
    if all(len(set(names)) == 1 for names in sessions.values()):
        return Plumbing.ONE
    if all(len(set(names)) == len(names) for names in sessions.values()):
        return Plumbing.EACH
    return Plumbing.SHARED


def case_with_archive(
    case: Case, path: Path | None, plumbing: Plumbing | None = None
) -> tuple[Case, ArchiveUse | None, tuple[Finding, ...]]:
    """
    Give a case whose repeatability comes from an archive where it may.

    Parameters
    ----------
    case : Case
        As its document says.
    path : Path or None
        File of the archive; None for none.
    plumbing : Plumbing, optional
        How often the line will be opened, for runs that are only planned; as the case's own runs
        say when left out.

    Returns
    -------
    case : Case
        With the figures that are used in the place of the declared ones.
    use : ArchiveUse or None
        What was looked up and used, to be kept in the result.
    findings : tuple of Finding
        Which figure is used, and why.

    Raises
    ------
    InputError, MissingError
        The archive cannot be read, or the case cannot ask it.
    """
    if path is None:
        return case, None, _unasked(case)
    archived = ArchiveFile(path).load()
    asked = asked_of(case)
    asked = asked if plumbing is None else replace(asked, plumbing=plumbing)
    figures = figures_for(archived.lines, asked)
    use = ArchiveUse(
        file=path.name,
        sha256=archived.sha256,
        rig=asked.rig,
        procedure=asked.procedure,
        before=asked.before,
        figures=figures,
    )
    told = [*archived.findings, *_said(path.name, archived.lines, asked, figures)]
    changed = replace(case, repeatability=with_archive(case.repeatability, figures))
    return changed, use, tuple(told)


def _unasked(case: Case) -> tuple[Finding, ...]:
    """Say which declared figures ask for an archive that nobody named."""
    return tuple(
        warning(
            f"repeatability.{measure.value}",
            'its source is "archive", but no archive is given: the figure stands as written.',
            "Give it: --archive FILE.",
        )
        for measure, declared in case.repeatability.items()
        if asks_for_archive(declared)
    )


def _not_counted(name: str, lines: Sequence[Line], asked: Asked) -> list[Finding]:
    """Say which sessions of the rig and procedure do not count, and why."""
    here = [
        line
        for line in standing(lines)
        if line.data and (line.data.rig, line.data.procedure) == (asked.rig, asked.procedure)
    ]
    own = [line for line in here if line.data and line.data.shares_runs_with(asked.marks)]
    late = [line for line in here if asked.before and line.known_from >= asked.before]
    reasons = {
        "are this case's own": own,
        "were added after its first run with a kit": [each for each in late if each not in own],
    }
    return [
        note(name, f"{len(found)} sessions of this rig and procedure do not count: they {why}.")
        for why, found in reasons.items()
        if found
    ]


def _said(
    name: str, lines: Sequence[Line], asked: Asked, figures: Sequence[ArchiveFigure]
) -> list[Finding]:
    """Say of each measure which figure is used."""
    told: list[Finding] = []
    for figure in figures:
        what = figure.measure.value.replace("_", " ")
        if figure.standard_deviation is None:
            told.append(warning(f"{name}: {what}", f"not used: {figure.reason}."))
            continue
        size = (
            f"{figure.standard_deviation:.4g} {figure.unit} with {figure.degrees_of_freedom:g}"
            f" degrees of freedom from {len(figure.sessions)} sessions"
        )
        used = "used" if figure.used else "not used"
        told.append(note(f"{name}: {what}", f"{size}: {used}, for {figure.reason}."))
        if figure.invented:
            told.append(
                warning(
                    f"{name}: {what}",
                    f"{len(figure.invented)} of these sessions come from cases that say that their"
                    " data are INVENTED: what rests on the figure is invented too.",
                    "Withdraw them before the archive serves a real case.",
                )
            )
        told += [
            warning(
                f"{name}: {what}",
                f"{session} scatters more than the other sessions; it is in the figure.",
                "Find out why; withdraw it with the reason if the rig was at fault.",
            )
            for session in figure.standing_out
        ]
    told += _not_counted(name, lines, asked)
    mine = {line.sha256 for line in standing(lines, asked.before)}
    now = {line.sha256 for line in standing(lines)}
    if asked.before is not None and mine - now:
        told.append(
            warning(
                name,
                f"{len(mine - now)} sessions were withdrawn or replaced after the first run with a"
                " kit; they count as they stood then.",
                "What is chosen afterwards decides nothing.",
            )
        )
    return told
