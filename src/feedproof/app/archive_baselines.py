"""What the baseline runs of a case say about the repeatability of its rig."""

import hashlib
import json
from collections.abc import Callable, Sequence
from datetime import UTC

from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.run import Role, Run
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, warning
from feedproof.evidence.archives.lines import UNITS, RunMark, SessionData, SessionFigure
from feedproof.evidence.archives.repeats import spread_of_repeats
from feedproof.evidence.reduced import ReducedRun

NO_RIG = "Add [rig] with name and procedure to case.toml; without them nothing can be pooled."


def _depression(run: ReducedRun) -> float | None:
    """Give the band mean; a sensor at its ceiling repeats to the last digit and says nothing."""
    usable = run.depression_max_pa is not None and not run.depression_censored
    return run.depression_mean_pa if usable else None


FIGURES: dict[Measure, Callable[[ReducedRun], float | None]] = {
    Measure.WHEEL_POWER: lambda run: run.power_loss_log_percent,
    Measure.CAUGHT_RETURN: lambda run: run.return_loss_log_percent,
    Measure.INLET_DEPRESSION: _depression,
}


def mark_of(run: Run) -> RunMark:
    """
    Mark a run by what cannot be changed about it.

    Parameters
    ----------
    run : Run
        A run of a case.

    Returns
    -------
    RunMark
        The same for the same run in every copy of its case.
    """
    caught = run.caught_return
    started = run.started.astimezone(UTC) if run.started.tzinfo else run.started
    facts = [
        started.isoformat(),
        sorted(log.sha256 for log in run.logs),
        None if caught is None else [f"{caught.volume_m3:.9g}", f"{caught.duration_s:.9g}"],
    ]
    return RunMark(
        number=run.number,
        started=run.started,
        sha256=hashlib.sha256(json.dumps(facts).encode()).hexdigest(),
        logs=tuple(log.sha256 for log in run.logs),
    )


def baselines(
    case: Case, reduced: Sequence[ReducedRun], case_sha256: str, session: str | None = None
) -> tuple[tuple[SessionData, ...], tuple[Finding, ...]]:
    """
    Give what the baseline runs of a case say about the repeatability of its rig.

    Parameters
    ----------
    case : Case
        With its rig.
    reduced : sequence of ReducedRun
        Its runs, cleaned.
    case_sha256 : str
        Hash of its document.
    session : str, optional
        Only this session.

    Returns
    -------
    sessions : tuple of SessionData
        Those that have a figure.
    findings : tuple of Finding
        What does not count, and why.

    Raises
    ------
    InputError
        No rig is named, no such session, or a run starts without an offset from UTC.
    """
    if case.rig is None:
        raise InputError.at("rig", "the case does not name its rig and procedure.", NO_RIG)
    names = list(dict.fromkeys(run.session for run in case.runs))
    if session is not None and session not in names:
        raise InputError.at(
            f"session {session}", "the case has no such session.", f"It has: {', '.join(names)}."
        )
    found: list[SessionData] = []
    findings: list[Finding] = []
    for name in names if session is None else [session]:
        data, told = _session(case, reduced, case_sha256, name)
        findings += told
        found += [data] if data is not None else []
    return tuple(found), tuple(findings)


def _session(
    case: Case, reduced: Sequence[ReducedRun], case_sha256: str, name: str
) -> tuple[SessionData | None, list[Finding]]:
    """Give one session's baseline, or why it has none."""
    from feedproof import __version__

    assert case.rig is not None
    bare = {run.number: run for run in case.runs if run.session == name and not run.kits}
    counted = sorted(
        (run for run in reduced if run.number in bare and run.role is Role.COMPARE),
        key=lambda run: run.position,
    )
    counted = [run for run in counted if not bare[run.number].excluded]
    unlike = _unlike(case, [bare[run.number] for run in counted])
    if unlike:
        return None, [warning(f"session {name}", unlike, "Nothing of it is archived.")]
    figures, findings = _figures(counted, name)
    used = {number for figure in figures for number in figure.runs}
    if not figures:
        return None, findings
    naive = [n for n in sorted(used) if bare[n].started.tzinfo is None]
    if naive:
        raise InputError.at(
            f"session {name}",
            f"runs {', '.join(map(str, naive))} start at a time without offset from UTC.",
            "Write it in case.toml, as in 2026-09-14T09:42:00+02:00.",
        )
    data = SessionData(
        case=case.title,
        case_sha256=case_sha256,
        program=__version__,
        vehicle=case.vehicle.name,
        rig=case.rig.name,
        procedure=case.rig.procedure,
        session=name,
        start_m_per_s=case.pull.start_m_per_s,
        stop_m_per_s=case.pull.stop_m_per_s,
        rate_m_per_s2=case.pull.rate_m_per_s2,
        runs=tuple(mark_of(bare[number]) for number in sorted(used)),
        left_out=tuple((n, _why_left_out(bare[n])) for n in sorted(set(bare) - used)),
        figures=figures,
        invented=case.says_invented,
    )
    return data, findings


def _figures(
    counted: Sequence[ReducedRun], name: str
) -> tuple[tuple[SessionFigure, ...], list[Finding]]:
    """Give each measure's scatter, or say why it has none."""
    figures: list[SessionFigure] = []
    lacking: dict[str, list[str]] = {}
    for measure, figure_of in FIGURES.items():
        pairs = [(run, value) for run in counted if (value := figure_of(run)) is not None]
        runs = [run for run, _ in pairs]
        values = tuple(float(value) for _, value in pairs)
        places = tuple(float(run.position) for run in runs)
        setups = tuple(run.setup for run in runs)
        found = spread_of_repeats(values, places, setups)
        if isinstance(found, str):
            lacking.setdefault(found, []).append(measure.value.replace("_", " "))
            continue
        figures.append(
            SessionFigure(
                measure=measure,
                unit=UNITS[measure],
                replumbed=found.replumbed,
                runs=tuple(run.number for run in runs),
                places=places,
                setups=setups,
                values=values,
                standard_deviation=found.standard_deviation,
                degrees_of_freedom=found.degrees_of_freedom,
            )
        )
    findings = [
        warning(
            f"session {name}, {', '.join(measures)}",
            f"not archived: {reason}.",
            "Three or more baseline runs of one session count.",
        )
        for reason, measures in lacking.items()
    ]
    return tuple(figures), findings


def _unlike(case: Case, runs: Sequence[Run]) -> str:
    """Say why the baseline runs of a session are no repeats of one thing, or nothing."""
    fuels = sorted({run.fuel for run in runs})
    if len(fuels) > 1:
        return f"the baseline ran on different fuels ({', '.join(fuels)}): no repeats."
    for element in case.vehicle.line.elements:
        if element.role != "factory":
            continue
        serials = sorted({s for run in runs if (s := run.elements.get(element.id, ""))})
        if len(serials) > 1:
            return (
                f"the factory element {element.id} was not the same one in all baseline runs"
                f" ({', '.join(serials)}): no repeats."
            )
    return ""


def _why_left_out(run: Run) -> str:
    """Say why a baseline run is in no figure."""
    if run.role is Role.WARM_UP:
        return "warm-up"
    if run.excluded:
        return f"excluded: {run.excluded}"
    if run.role is not Role.COMPARE:
        return f"driven as {run.role.value}"
    return "no usable figure"
