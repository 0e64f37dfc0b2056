"""What the archive's lines say, and which of them stood at a moment."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from feedproof.case.margin import Measure

UNITS = {
    Measure.WHEEL_POWER: "log-percent",
    Measure.CAUGHT_RETURN: "log-percent",
    Measure.INLET_DEPRESSION: "Pa",
}
"""Measures that the archive keeps, and the unit of their scatter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunMark:
    """
    A run by what cannot be changed about it.

    Parameters
    ----------
    number : int
        In its case.
    started : datetime
        With its offset from UTC.
    sha256 : str
        Of its start, its logs' hashes and its caught return: the same run in a copy of a case
        has the same.
    logs : tuple of str
        Hashes of its logs.
    """

    number: int
    started: datetime
    sha256: str
    logs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFigure:
    """
    Scatter of one measure in one session, with the figures that it comes from.

    Parameters
    ----------
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.
    replumbed : bool
        True when the line was opened before every repeat.
    runs : tuple of int
        Runs used.
    places : tuple of float
        Their places in the session's order. [-]
    setups : tuple of str
        Their plumbing.
    values : tuple of float
        Their figures.
    standard_deviation, degrees_of_freedom : float, int
        After removing a straight drift.
    """

    measure: Measure
    unit: str
    replumbed: bool
    runs: tuple[int, ...]
    places: tuple[float, ...]
    setups: tuple[str, ...]
    values: tuple[float, ...]
    standard_deviation: float
    degrees_of_freedom: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionData:
    """
    One session's baseline as it goes into the archive.

    Parameters
    ----------
    case, case_sha256 : str
        Title of the case and hash of its document.
    program : str
        Version that worked the figures out.
    vehicle : str
        On which.
    rig, procedure, session : str
        Where, how, when.
    start_m_per_s, stop_m_per_s, rate_m_per_s2 : float
        The pull as declared.
    runs : tuple of RunMark
        Baseline runs used by any figure.
    left_out : tuple of (int, str)
        Baseline runs that no figure uses, with the reason.
    figures : tuple of SessionFigure
        One for each measure that has one.
    invented : bool
        True when the case says that its data are invented.
    """

    case: str
    case_sha256: str
    program: str
    vehicle: str
    rig: str
    procedure: str
    session: str
    start_m_per_s: float
    stop_m_per_s: float
    rate_m_per_s2: float
    runs: tuple[RunMark, ...]
    left_out: tuple[tuple[int, str], ...]
    figures: tuple[SessionFigure, ...]
    invented: bool = False

    @property
    def first(self) -> datetime:
        """Give the start of the first run."""
        return min(run.started for run in self.runs)

    @property
    def last(self) -> datetime:
        """Give the start of the last run."""
        return max(run.started for run in self.runs)

    def shares_runs_with(self, marks: Sequence[RunMark]) -> bool:
        """Say whether a run, or a log of one, is among others."""
        own = {run.sha256 for run in self.runs} | {log for run in self.runs for log in run.logs}
        other = {run.sha256 for run in marks} | {log for run in marks for log in run.logs}
        return bool(own & other)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    One line of the archive: a session that was added, or one that was withdrawn.

    Parameters
    ----------
    number : int
        In the file, from 1.
    sha256 : str
        Of the line.
    recorded : datetime
        When it was written, as it says itself, in UTC.
    known_from : datetime
        The latest of that moment, those of all lines above it and its runs' starts: the chain
        proves the order, so no line can be older than one above it.
    who, why : str
        By whom, and the reason given.
    data : SessionData or None
        What was added; None for a withdrawal.
    instead_of : str
        Hash of the line that this one replaces or withdraws; empty for a new session.
    """

    number: int
    sha256: str
    recorded: datetime
    known_from: datetime
    who: str
    why: str
    data: SessionData | None
    instead_of: str = ""


def standing(lines: Sequence[Line], before: datetime | None = None) -> tuple[Line, ...]:
    """
    Give the sessions that stand, now or as the archive was at a moment.

    Parameters
    ----------
    lines : sequence of Line
        All lines, in the order of the file.
    before : datetime or None
        Only lines written before this count, withdrawals included: what was added, replaced or
        withdrawn later could have been chosen by its effect.

    Returns
    -------
    tuple of Line
        Sessions neither withdrawn nor replaced.
    """
    known = [line for line in lines if before is None or line.known_from < before]
    gone = {line.instead_of for line in known}
    return tuple(line for line in known if line.data is not None and line.sha256 not in gone)
