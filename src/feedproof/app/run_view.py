"""One run as a reader sees it: traces, window, faults, the steps that were taken."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feedproof.app.logs import load_logs
from feedproof.case.run import Channel, Run
from feedproof.core.errors import FeedproofError, MissingError
from feedproof.core.findings import Finding
from feedproof.core.units import from_si
from feedproof.evidence.assemble import Assembled, Trace, assemble_run
from feedproof.records.folder import CaseFolder
from feedproof.report.notation import NAMES, REPORT, Notation
from feedproof.report.trace_picture import Strip, sentence, trace_picture

SHOWN_AS: dict[Channel, tuple[str, str, str]] = {
    Channel.ROAD_SPEED: ("Road speed", "speed", "km/h"),
    Channel.WHEEL_POWER: ("Wheel power", "power", "kW"),
    Channel.INLET_DEPRESSION: ("Depression at the pump inlet", "pressure", "kPa"),
    Channel.INLET_PRESSURE_ABS: ("Absolute pressure at the pump inlet", "pressure", "kPa"),
    Channel.INLET_PRESSURE_GAUGE: ("Gauge pressure at the pump inlet", "pressure", "kPa"),
    Channel.RAIL_PRESSURE: ("Rail pressure", "pressure", "MPa"),
    Channel.RAIL_PRESSURE_DEMAND: ("Rail pressure, demanded", "pressure", "MPa"),
    Channel.FUEL_TEMPERATURE: ("Fuel temperature", "temperature", "degC"),
    Channel.ENGINE_SPEED: ("Engine speed", "rotation", "rpm"),
    Channel.THROTTLE: ("Throttle", "fraction", "percent"),
}
"""Channels in the order in which they are drawn: name, dimension, unit of who chose none."""
CHOSEN = ("pressure", "power", "speed", "temperature")
"""Dimensions whose unit a reader chooses."""
FAULTS = ("saturated", "stuck", "dropout", "outlier")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """
    A run in the list.

    Parameters
    ----------
    number : int
        As on the run sheet.
    configuration, role, session, started : str
        In words.
    logs : tuple of str
        Names of its files.
    excluded : str
        Why it is left out; empty when it counts.
    caught : bool
        True when the return was caught.
    """

    number: int
    configuration: str
    role: str
    session: str
    started: str
    logs: tuple[str, ...]
    excluded: str
    caught: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """
    One run with its traces.

    Parameters
    ----------
    line : RunLine
        As in the list.
    wide, narrow : str
        The picture for a page and for a phone; empty where the logs cannot be used.
    sentence : str
        What it shows.
    steps : tuple of (str, str)
        Each step of cleaning with what it did.
    findings : tuple of Finding
        Faults of the logs.
    """

    line: RunLine
    wide: str = ""
    narrow: str = ""
    sentence: str = ""
    steps: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()


def run_lines(runs: tuple[Run, ...]) -> tuple[RunLine, ...]:
    """
    List runs.

    Parameters
    ----------
    runs : tuple of Run
        Of a case.

    Returns
    -------
    tuple of RunLine
        In their order.
    """
    return tuple(
        RunLine(
            number=run.number,
            configuration=run.configuration,
            role=run.role.value.replace("_", " "),
            session=run.session,
            started=f"{run.started:%Y-%m-%d %H:%M}",
            logs=tuple(log.name for log in run.logs),
            excluded=run.excluded,
            caught=run.caught_return is not None,
        )
        for run in runs
    )


def opened_run(path: Path, number: int) -> tuple[RunLine, Assembled | None, tuple[Finding, ...]]:
    """
    Read the logs of one run as they are judged.

    Parameters
    ----------
    path : Path
        Folder of the case.
    number : int
        The run.

    Returns
    -------
    line : RunLine
        As in the list.
    assembled : Assembled or None
        None where its logs cannot be used.
    findings : tuple of Finding
        Faults of the logs.

    Raises
    ------
    MissingError
        No such run.
    """
    folder = CaseFolder.open(path)
    case = folder.load().case
    run = next((each for each in case.runs if each.number == number), None)
    if run is None:
        raise MissingError.at(f"run {number}", "is not in this case.", "Choose one of the list.")
    line = run_lines((run,))[0]
    try:
        logs, told = load_logs(folder, replace(case, runs=(run,)))
        assembled = assemble_run(run, logs[number], case)
    except FeedproofError as fault:
        return line, None, tuple(fault.findings)
    return line, assembled, tuple(dict.fromkeys((*told, *assembled.findings)))


def run_view(path: Path, number: int, notation: Notation = REPORT) -> RunView:
    """
    Read one run of a case.

    Parameters
    ----------
    path : Path
        Folder of the case.
    number : int
        The run.
    notation : Notation
        Units to write.

    Returns
    -------
    RunView
        With the findings alone where its logs cannot be used.

    Raises
    ------
    MissingError
        No such run.
    """
    line, assembled, findings = opened_run(path, number)
    if assembled is None:
        return RunView(line=line, findings=findings)
    strips = strips_of(assembled, notation)
    window = (assembled.window.start_s, assembled.window.end_s)
    title = f"Run {number} as it was recorded"
    return RunView(
        line=line,
        wide=trace_picture(strips, window, 880.0, title, f"run-{number}-wide"),
        narrow=trace_picture(strips, window, 336.0, title, f"run-{number}-narrow"),
        sentence=sentence(strips, window),
        steps=tuple((step.name, step.detail) for step in assembled.steps),
        findings=findings,
    )


def strips_of(assembled: Assembled, notation: Notation = REPORT) -> list[Strip]:
    """
    Turn the traces of a run into strips.

    Parameters
    ----------
    assembled : Assembled
        The run.
    notation : Notation
        Units to write.

    Returns
    -------
    list of Strip
        In the order of `SHOWN_AS`.
    """
    return [
        _strip(assembled.traces[channel], name, kind, _unit(notation, kind, unit))
        for channel, (name, kind, unit) in SHOWN_AS.items()
        if channel in assembled.traces
    ]


def _unit(notation: Notation, kind: str, unit: str) -> str:
    """Give the unit of a strip; a rail stands a thousand times over a feed line, and stays."""
    if kind not in CHOSEN or unit == "MPa":
        return unit
    return notation.unit(kind)


def _strip(trace: Trace, name: str, kind: str, unit: str) -> Strip:
    """Turn one trace into a strip."""
    # Every change of unit here is a straight line, so two points give it for all samples.
    zero, one = from_si(0.0, unit, kind), from_si(1.0, unit, kind)
    return Strip(
        name=name,
        unit=NAMES.get(unit, unit).replace("percent", "%"),
        time_s=trace.time_s,
        values=np.asarray(trace.raw, dtype=float) * (one - zero) + zero,
        faults={fault: getattr(trace.checked, fault) for fault in FAULTS},
    )
