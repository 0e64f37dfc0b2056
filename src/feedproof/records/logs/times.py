"""The clock of a log: seconds that run forward, fast enough and long enough for a pull."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, warning
from feedproof.core.units import si_line
from feedproof.records.logs.body import Body
from feedproof.records.logs.clock import NANOSECONDS, seconds_from_midnight

FloatArray = NDArray[np.float64]
Rows = NDArray[np.int32] | NDArray[np.int64]

SHORTEST_S = 5.0
# Common practice: a sweep of a few seconds needs hundreds of samples.
SLOWEST_HZ = 25.0
_DUPLICATE_SHARE = 0.001
_TIMELESS_SHARE = 0.01
# Steps that are looked at together, so that a long log needs no second array of its length.
_AT_ONCE = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """
    Times of a log and which of its rows have one.

    Parameters
    ----------
    time_s : array, shape (n,)
        Strictly increasing. [s]
    rows : array of int, shape (n,)
        Indices of the rows that were kept.
    findings : tuple of Finding
        What was left out, and warnings.
    """

    time_s: FloatArray
    rows: Rows
    findings: tuple[Finding, ...]


def read_clock(body: Body, time_column: int, unit: str, place: str, *, rated: bool = True) -> Clock:
    """
    Change the time column to seconds and check that it runs.

    Parameters
    ----------
    body : Body
        Cells of the log.
    time_column : int
        Index of the time column.
    unit : str
        Its unit where it is a number.
    place : str
        Name of the log, for the messages.
    rated : bool
        Warn of slow rows; False where each channel has a rate of its own.

    Returns
    -------
    Clock
        Seconds as written; for date-times seconds from the midnight before the first.

    Raises
    ------
    InputError
        Times that run backwards, stand still or cover less than a pull.
    """
    findings: list[Finding] = []
    if body.ticks is None:
        factor, offset = si_line(unit, "duration")
        everything = body.numbers[time_column]
        if (factor, offset) != (1.0, 0.0):
            everything = everything * factor + offset
        valid = np.isfinite(everything)
    else:
        valid = body.ticks.valid
        everything = np.empty(0)
    lost = valid.size - int(np.count_nonzero(valid))
    # In the commonest case nothing is lost and nothing is copied: logs may be large.
    rows: Rows = np.flatnonzero(valid) if lost else np.arange(valid.size, dtype=np.int32)
    if rows.size < 2 or lost > _TIMELESS_SHARE * valid.size + 1:
        first = int(body.lines[np.argmin(valid)]) if lost else 0
        raise InputError.at(
            f"{place}, line {first}" if first else place,
            f"{lost} of {valid.size} rows have no time that can be read.",
            "Export the log with a time in every row, or state time_form in the dialect.",
        )
    if lost:
        line = body.lines[np.argmin(valid)]
        findings.append(
            warning(f"{place}, line {line}", f"rows without a time ({lost}).", "Left out.")
        )
    if body.ticks is None:
        time_s = everything[rows] if lost else everything
    else:
        nanoseconds = body.ticks.nanoseconds[rows] if lost else body.ticks.nanoseconds
        time_s = (
            seconds_from_midnight(nanoseconds, body.ticks.offset)
            if nanoseconds[0] > 10**17
            else np.asarray(nanoseconds / NANOSECONDS, dtype=np.float64)
        )
    time_s, rows = _running(time_s, rows, body, place, findings)
    _fast_and_long(time_s, place, findings, rated=rated)
    return Clock(time_s=time_s, rows=rows, findings=tuple(findings))


def _running(
    time_s: FloatArray,
    rows: Rows,
    body: Body,
    place: str,
    findings: list[Finding],
) -> tuple[FloatArray, Rows]:
    """Refuse times that run backwards; leave out a few that stand still."""
    back = np.flatnonzero(time_s[1:] < time_s[:-1])
    if back.size:
        at = int(back[0])
        raise InputError.at(
            f"{place}, line {body.lines[rows[at + 1]]}",
            f"the time runs backwards, from {time_s[at]:.9g} s to {time_s[at + 1]:.9g} s"
            f" ({back.size} times in all).",
            "Cut the log where recording began anew or midnight passed, one file for each part.",
        )
    still = np.flatnonzero(time_s[1:] == time_s[:-1])
    if not still.size:
        return time_s, rows
    where = f"{place}, line {body.lines[rows[int(still[0]) + 1]]}"
    words = f"{still.size} of {time_s.size} time stamps repeat the one before"
    if still.size >= _DUPLICATE_SHARE * time_s.size:
        raise InputError.at(
            where,
            f"{words}, first {time_s[still[0]]:.9g} s (allowed: fewer than one in a thousand).",
            "Export the time with more decimals.",
        )
    findings.append(warning(where, f"{words}.", "The repeated rows were left out."))
    keep = np.ones(time_s.size, dtype=np.bool_)
    keep[still + 1] = False
    return time_s[keep], rows[keep]


def _fast_and_long(time_s: FloatArray, place: str, findings: list[Finding], *, rated: bool) -> None:
    """Refuse a log shorter than a pull and warn of a slow one."""
    duration = float(time_s[-1] - time_s[0])
    if not duration >= SHORTEST_S:
        raise InputError(
            [
                error(
                    place,
                    f"shorter than a pull: {duration:.4g} s, at least {SHORTEST_S:g} s are needed.",
                    "Record the whole sweep; look whether the unit of time is right.",
                )
            ]
        )
    if not rated:
        return
    slowest_hz = SLOWEST_HZ * (1 - 1e-6)
    wide = sum(
        int(np.count_nonzero(np.diff(time_s[i : i + _AT_ONCE + 1]) > 1.0 / slowest_hz * (1 - 1e-9)))
        for i in range(0, time_s.size - 1, _AT_ONCE)
    )
    if 2 * wide < time_s.size - 1:  # then the middle step is not wide either
        return
    rate = 1.0 / float(np.median(np.diff(time_s)))
    if rate < slowest_hz:
        findings.append(
            warning(
                place,
                f"sampled at {rate:.3g} Hz; below {SLOWEST_HZ:g} Hz pulsation is aliased and a"
                " sweep has few points.",
                "Set the instrument to a higher rate.",
            )
        )
