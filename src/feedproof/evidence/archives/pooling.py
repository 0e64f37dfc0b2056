"""
Pool the sessions of one rig, procedure and measure, and say how well the figure is known.

The pooled variance is the mean of the sessions' variances weighted by their degrees of freedom
(ISO 5725-2, repeatability standard deviation).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from scipy.special import chdtri

from feedproof.case.margin import Measure
from feedproof.core.errors import InputError
from feedproof.evidence.archive import pooled_archive
from feedproof.evidence.archives.homogeneity import OUTLIER, STRAGGLER, homogeneity
from feedproof.evidence.archives.lines import UNITS, Line, SessionData, SessionFigure
from feedproof.evidence.archives.trend import Trend, trend_of

_TAIL = 0.025
DOF_OF_THREE_RUNS = 1
"""One more baseline session of three runs: a mean and a drift are fitted, one is left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """
    One session of a pool.

    Parameters
    ----------
    line : int
        Its line in the file.
    sha256 : str
        Hash of the line.
    case, session : str
        Which.
    first, last : datetime
        Starts of its first and last run.
    runs : int
        Runs used. [-]
    standard_deviation, degrees_of_freedom : float, int
        Its own figure.
    stands_out : str
        ``outlier`` (1 %), ``straggler`` (5 %) or empty.
    chance : float
        Probability that any session would stand out so, when all scatter alike. [-]
    invented : bool
        True when its case says that its data are invented.
    """

    line: int
    sha256: str
    case: str
    session: str
    first: datetime
    last: datetime
    runs: int
    standard_deviation: float
    degrees_of_freedom: int
    stands_out: str
    chance: float
    invented: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """
    The pooled repeatability of one measure on one rig with one procedure.

    Parameters
    ----------
    rig, procedure : str, str
        Where and how.
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.
    replumbed : bool
        True when the line was opened before every repeat.
    standard_deviation, degrees_of_freedom : float
        Pooled.
    low, high : float
        Two-sided 95 % interval of the standard deviation, for normal scatter.
    members : tuple of Member
        Sessions, the oldest first.
    bartlett : float or None
        Probability of sessions so unlike; None with one session. [-]
    trend : Trend
        Whether the rig is getting worse.
    next_degrees_of_freedom, next_low, next_high : float
        With one more session of three runs that scatters alike.
    """

    rig: str
    procedure: str
    measure: Measure
    unit: str
    replumbed: bool
    standard_deviation: float
    degrees_of_freedom: float
    low: float
    high: float
    members: tuple[Member, ...]
    bartlett: float | None
    trend: Trend
    next_degrees_of_freedom: float
    next_low: float
    next_high: float

    @property
    def first(self) -> datetime:
        """Give the start of the earliest run."""
        return min(member.first for member in self.members)

    @property
    def last(self) -> datetime:
        """Give the start of the latest run."""
        return max(member.last for member in self.members)


def interval_of_deviation(
    standard_deviation: float, degrees_of_freedom: float
) -> tuple[float, float]:
    """
    Give the two-sided 95 % interval of a standard deviation.

    Parameters
    ----------
    standard_deviation : float
        As found.
    degrees_of_freedom : float
        How well it is known. [-]

    Returns
    -------
    tuple of float
        s sqrt(nu / chi2), with the quantiles at 97.5 and 2.5 %; exact for normal scatter.

    Examples
    --------
    >>> low, high = interval_of_deviation(1.0, 10)
    >>> round(low, 4), round(high, 4)
    (0.6987, 1.7549)
    """
    low, high = (
        standard_deviation
        * math.sqrt(degrees_of_freedom / float(chdtri(degrees_of_freedom, upper_tail)))
        for upper_tail in (_TAIL, 1.0 - _TAIL)
    )
    return low, high


def pool_of(lines: Sequence[tuple[Line, SessionFigure]]) -> Pool:
    """
    Pool the figures of one rig, procedure, measure and kind of plumbing.

    Parameters
    ----------
    lines : sequence of (Line, SessionFigure)
        Standing lines with the figure of the measure, at least one.

    Returns
    -------
    Pool
        With the sessions that stand out named; all of them are in the figure.

    Raises
    ------
    InputError
        No session, or sessions of different rigs, procedures, measures or kinds of plumbing.
    """
    keys = {
        (line.data.rig, line.data.procedure, figure.measure, figure.replumbed)
        for line, figure in lines
        if line.data is not None
    }
    if len(keys) != 1:
        raise InputError.at(
            "archive", f"{len(keys)} kinds of figures: only sessions of one kind can be pooled."
        )
    (rig, procedure, measure, replumbed) = keys.pop()
    ordered = sorted(lines, key=lambda each: (_data(each[0]).first, each[0].number))
    s = [figure.standard_deviation for _, figure in ordered]
    dof = [figure.degrees_of_freedom for _, figure in ordered]
    archive = pooled_archive(s, dof)
    s0, dof0 = archive.standard_deviation, archive.degrees_of_freedom
    alike = homogeneity(s, dof)
    low, high = interval_of_deviation(s0, dof0)
    next_low, next_high = interval_of_deviation(s0, dof0 + DOF_OF_THREE_RUNS)
    return Pool(
        rig=rig,
        procedure=procedure,
        measure=measure,
        unit=UNITS[measure],
        replumbed=replumbed,
        standard_deviation=s0,
        degrees_of_freedom=dof0,
        low=low,
        high=high,
        members=tuple(
            _member(line, figure, chance)
            for (line, figure), chance in zip(ordered, alike.largest, strict=True)
        ),
        bartlett=alike.bartlett,
        trend=trend_of(s, dof),
        next_degrees_of_freedom=dof0 + DOF_OF_THREE_RUNS,
        next_low=next_low,
        next_high=next_high,
    )


def pools_of(lines: Sequence[Line]) -> tuple[Pool, ...]:
    """
    Pool everything that stands, kind by kind.

    Parameters
    ----------
    lines : sequence of Line
        Standing lines.

    Returns
    -------
    tuple of Pool
        By rig, procedure, measure; with one plumbing before with a new one for every run.
    """
    kinds: dict[tuple[str, str, int, bool], list[tuple[Line, SessionFigure]]] = {}
    order = list(UNITS)
    for line in lines:
        data = _data(line)
        for figure in data.figures:
            key = (data.rig, data.procedure, order.index(figure.measure), figure.replumbed)
            kinds.setdefault(key, []).append((line, figure))
    return tuple(pool_of(kinds[key]) for key in sorted(kinds))


def _data(line: Line) -> SessionData:
    """Give a line's session, which every line that stands has."""
    if line.data is None:
        raise ValueError(f"line {line.number} of the archive holds no session")
    return line.data


def _member(line: Line, figure: SessionFigure, chance: float) -> Member:
    """Describe one session of a pool."""
    data = _data(line)
    return Member(
        line=line.number,
        sha256=line.sha256,
        case=data.case,
        session=data.session,
        first=data.first,
        last=data.last,
        runs=len(figure.runs),
        standard_deviation=figure.standard_deviation,
        degrees_of_freedom=figure.degrees_of_freedom,
        stands_out="outlier" if chance < OUTLIER else "straggler" if chance < STRAGGLER else "",
        chance=chance,
        invented=data.invented,
    )
