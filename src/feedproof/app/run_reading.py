"""One run as a document: window, channels with their faults, the steps that were taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feedproof.app.run_view import FAULTS, RunLine, opened_run, strips_of
from feedproof.case.run import Channel
from feedproof.core.findings import Finding
from feedproof.evidence.assemble import Assembled, Trace
from feedproof.evidence.reduced import Step
from feedproof.report.trace_picture import sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class RunWindow:
    """
    The part of a run that is used.

    Parameters
    ----------
    start_s, end_s, lift_off_s : float
        First and last time used, and when power fell away. [s]
    start_m_per_s, end_m_per_s : float
        Road speed at the two ends. [m/s]
    """

    start_s: float
    end_s: float
    lift_off_s: float
    start_m_per_s: float
    end_m_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChannel:
    """
    One channel of a run.

    Parameters
    ----------
    channel : Channel
        What it is.
    instrument : str
        Who wrote it.
    samples, missing : int
        Samples, and those of them that are no number.
    first_s, last_s : float
        Its first and last time. [s]
    faults : mapping of str to int
        Samples by the fault that they are marked with.
    """

    channel: Channel
    instrument: str
    samples: int
    missing: int
    first_s: float
    last_s: float
    faults: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunReading:
    """
    One run as it was recorded and is judged.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-run`` and its version.
    line : RunLine
        As in the list.
    usable : bool
        False where its logs cannot be used; the findings say why.
    window : RunWindow or None
        The part that is used; None where the logs cannot be used.
    channels : tuple of RunChannel
        What was recorded.
    sentence : str
        What its picture shows.
    steps : tuple of Step
        Each step of cleaning with what it did.
    findings : tuple of Finding
        Faults of the logs.
    """

    format: str
    version: int
    line: RunLine
    usable: bool
    window: RunWindow | None
    channels: tuple[RunChannel, ...]
    sentence: str
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]


def run_reading(path: Path, number: int) -> RunReading:
    """
    Read one run of a case.

    Parameters
    ----------
    path : Path
        Folder of the case.
    number : int
        The run.

    Returns
    -------
    RunReading
        With the findings alone where its logs cannot be used.

    Raises
    ------
    MissingError
        No such case or run.
    InputError
        The case cannot be used.
    """
    line, assembled, findings = opened_run(path, number)
    window = None if assembled is None else _window(assembled)
    return RunReading(
        format="feedproof-run",
        version=1,
        line=line,
        usable=assembled is not None,
        window=window,
        channels=tuple(map(_channel, assembled.traces.values())) if assembled else (),
        sentence=sentence(strips_of(assembled), (window.start_s, window.end_s))
        if assembled and window
        else "",
        steps=assembled.steps if assembled else (),
        findings=findings,
    )


def _window(assembled: Assembled) -> RunWindow:
    """Lay the window out."""
    found = assembled.window
    return RunWindow(
        start_s=found.start_s,
        end_s=found.end_s,
        lift_off_s=found.lift_off_s,
        start_m_per_s=found.start_m_per_s,
        end_m_per_s=found.end_m_per_s,
    )


def _channel(trace: Trace) -> RunChannel:
    """Lay one channel out."""
    times = trace.time_s
    return RunChannel(
        channel=trace.channel,
        instrument=trace.instrument,
        samples=len(trace.raw),
        missing=int(np.count_nonzero(~np.isfinite(trace.raw))),
        first_s=float(times[0]) if len(times) else np.nan,
        last_s=float(times[-1]) if len(times) else np.nan,
        faults={fault: int(np.count_nonzero(getattr(trace.checked, fault))) for fault in FAULTS},
    )
