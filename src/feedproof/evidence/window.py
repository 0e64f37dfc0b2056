"""
The full-load pull inside a run, and the speed band that every run compared covers.

The pull begins when the speed rises and the power has settled, and ends before lift-off.  A
short dip of power that recovers in the same gear is kept and told: it may be the very thing
that the test looks for.  The thresholds are the project's own rules, tried by own simulation.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.filters import (
    half_samples,
    on_even_grid,
    robust_sd,
    running_mean,
    sample_period,
    trailing_max,
)

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

START_RATE_SHARE = 0.2
START_HOLD_S = 0.3
LIFT_OFF_SHARE = 0.9
LIFT_OFF_WINDOW_S = 0.5
GUARD_S = 0.2
FILTER_S = 0.2
SETTLED_SDS = 2.0
HESITATION_LONGEST_S = 1.0
HESITATION_DEEPEST_SHARE = 0.5
RATIO_CHANGE_SHARE = 0.05
LEAST_SPAN_M_PER_S = 3.0
BAND_STEP_M_PER_S = 2.0 / 3.6
"""Ends of the band are rounded inward to 2 km/h: sessions of one procedure share their bins."""
BAND_TRIM_SHARE = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class PullWindow:
    """
    The part of a run that is used.

    Parameters
    ----------
    start_s, end_s : float
        First and last time used, on the clock of the log that holds the road speed. [s]
    lift_off_s : float
        When power fell away; the end of the log when it never did. [s]
    start_m_per_s, end_m_per_s : float
        Road speed at the two ends. [m/s]
    findings : tuple of Finding
        Hesitations, stretches left out, a log without lift-off.
    """

    start_s: float
    end_s: float
    lift_off_s: float
    start_m_per_s: float
    end_m_per_s: float
    findings: tuple[Finding, ...] = field(default_factory=tuple)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """A run on an even grid: what the window is found from."""

    time_s: FloatArray
    period_s: float
    speed: FloatArray
    rate: FloatArray
    load: FloatArray
    ratio: FloatArray | None


def find_pull(
    time_s: FloatArray,
    speed_m_per_s: FloatArray,
    load: FloatArray,
    place: str,
    engine_rev_per_s: FloatArray | None = None,
) -> PullWindow:
    """
    Find the full-load pull in a run.

    Parameters
    ----------
    time_s, speed_m_per_s : array, shape (n,)
        Increasing times and road speed. [s], [m/s]
    load : array, shape (n,)
        Wheel power, or the throttle where power was not measured. [W] or [-]
    place : str
        Run, for messages.
    engine_rev_per_s : array, shape (n,), optional
        Engine speed, by which a gear change is told from a hesitation. [rev/s]

    Returns
    -------
    PullWindow
        With the guard for a channel without lag; see `with_lag`.

    Raises
    ------
    InputError
        The log holds no pull.
    """
    course = _course(time_s, speed_m_per_s, load, engine_rev_per_s)
    if course is None:
        raise InputError.at(place, "the log holds too few samples of road speed and power.")
    full = float(np.percentile(course.load, 95.0))
    loaded = (course.load > 0.5 * full) & (course.rate > 0.0)
    if full <= 0.0 or not loaded.any():
        raise _no_pull(place, course)
    rate_needed = START_RATE_SHARE * float(np.median(course.rate[loaded]))
    findings: list[Finding] = []
    found = _stretches(course, rate_needed, 0.25 * full, place, findings)
    spans = [course.speed[stop] - course.speed[start] for start, stop, _ in found]
    if not spans or max(spans) < LEAST_SPAN_M_PER_S:
        raise _no_pull(place, course)
    best = int(np.argmax(spans))
    start, stop, lifted = found[best]
    _tell_others(findings, place, course, found, spans, best)
    if not lifted:
        findings.append(note(place, "the log ends before lift-off; its end is taken instead."))
    settled = _settled(course, start, stop)
    lift_off_s = float(course.time_s[stop])
    window = PullWindow(
        start_s=float(course.time_s[settled]),
        end_s=lift_off_s,
        lift_off_s=lift_off_s,
        start_m_per_s=float(course.speed[settled]),
        end_m_per_s=float(course.speed[stop]),
        findings=tuple(findings),
    )
    return with_lag(window, 0.0, time_s, speed_m_per_s)


def with_lag(
    window: PullWindow, lag_s: float, time_s: FloatArray, speed_m_per_s: FloatArray
) -> PullWindow:
    """
    Set the end of a pull by the guard for a lag.

    Parameters
    ----------
    window : PullWindow
        As found.
    lag_s : float
        Largest lag that is removed from a channel. [s]
    time_s, speed_m_per_s : array, shape (n,)
        Road speed, to give the speed at the new end. [s], [m/s]

    Returns
    -------
    PullWindow
        Ending the filter's length, the lag and 0.2 s before lift-off.
    """
    end_s = max(window.lift_off_s - (FILTER_S + abs(lag_s) + GUARD_S), window.start_s)
    finite = np.isfinite(speed_m_per_s)
    smooth = running_mean(
        speed_m_per_s[finite], half_samples(START_HOLD_S, sample_period(time_s[finite]))
    )
    return replace(window, end_s=end_s, end_m_per_s=float(np.interp(end_s, time_s[finite], smooth)))


def comparison_band(
    windows: Mapping[int, PullWindow], session: str
) -> tuple[float, float, tuple[Finding, ...]]:
    """
    Give the speed band that every run covers, 2 % trimmed from each end and rounded inward.

    Parameters
    ----------
    windows : mapping of int to PullWindow
        By run number.
    session : str
        Name of the session, for messages.

    Returns
    -------
    float, float
        Ends of the band. [m/s]
    tuple of Finding
        Named runs that narrow the band by more than a tenth.

    Raises
    ------
    InputError
        The runs have no band in common.
    """
    lows = {run: window.start_m_per_s for run, window in windows.items()}
    highs = {run: window.end_m_per_s for run, window in windows.items()}
    low, high = max(lows.values()), min(highs.values())
    if high - low < LEAST_SPAN_M_PER_S:
        named = ", ".join(f"run {run} {lows[run]:.1f} to {highs[run]:.1f} m/s" for run in windows)
        text = f"the runs have no common speed band of {LEAST_SPAN_M_PER_S} m/s or more: {named}."
        raise InputError.at(f"session {session}", text, "Exclude the short run with its reason.")
    findings = []
    for run in windows if len(windows) > 2 else ():
        others = [other for other in windows if other != run]
        without = min(highs[k] for k in others) - max(lows[k] for k in others)
        if high - low < 0.9 * without:
            text = f"this run alone narrows the band from {without:.1f} to {high - low:.1f} m/s."
            findings.append(warning(f"run {run}", text, "Repeat it over the whole sweep."))
    trim = BAND_TRIM_SHARE * (high - low)
    return _up(low + trim), -_up(trim - high), tuple(findings)


def _up(speed_m_per_s: float) -> float:
    """Round up to the band's step."""
    return math.ceil(round(speed_m_per_s / BAND_STEP_M_PER_S, 9)) * BAND_STEP_M_PER_S


def _course(
    time_s: FloatArray,
    speed: FloatArray,
    load: FloatArray,
    engine: FloatArray | None,
) -> _Course | None:
    """Put what the window needs on an even grid, smoothed; None when there is too little."""
    both = np.isfinite(speed) & np.isfinite(load)
    if both.sum() < 20:
        both = _read_in_turn(speed, load)
    if both.sum() < 20:
        return None
    period = sample_period(time_s[both])
    grid = np.arange(time_s[both][0], time_s[both][-1] + 0.5 * period, period)
    even_speed, _ = on_even_grid(time_s, speed, grid)
    even_load, _ = on_even_grid(time_s, load, grid)
    smooth_speed = running_mean(even_speed, max(half_samples(START_HOLD_S, period), 1))
    ratio = None
    if engine is not None and np.isfinite(engine).sum() > 20:
        even_engine, _ = on_even_grid(time_s, engine, grid)
        smooth_engine = running_mean(even_engine, max(half_samples(FILTER_S, period), 1))
        ratio = smooth_engine / np.maximum(smooth_speed, 0.1)
    return _Course(
        time_s=grid,
        period_s=period,
        speed=smooth_speed,
        rate=np.gradient(smooth_speed, period),
        load=running_mean(even_load, half_samples(FILTER_S, period)),
        ratio=ratio,
    )


def _read_in_turn(speed: FloatArray, load: FloatArray) -> BoolArray:
    """Mark the readings of speed while there are some of load, as on a bus: no row has both."""
    loaded = np.flatnonzero(np.isfinite(load))
    marked = np.isfinite(speed)
    if loaded.size < 20:
        return np.zeros(speed.size, dtype=np.bool_)
    marked[: loaded[0]] = False
    marked[loaded[-1] + 1 :] = False
    return marked


def _no_pull(place: str, course: _Course) -> FeedproofError:
    """Make the error for a log without a pull."""
    span = f"{course.speed.min():.1f} to {course.speed.max():.1f} m/s"
    text = f"no full-load pull found: road speed goes from {span} in {course.time_s.size} samples"
    remedy = f"A pull raises the speed by {LEAST_SPAN_M_PER_S} m/s or more under full load;"
    return InputError.at(place, f"{text}.", f"{remedy} exclude the run or attach the right log.")


def _stretches(
    course: _Course, rate_needed: float, load_needed: float, place: str, findings: list[Finding]
) -> list[tuple[int, int, bool]]:
    """List loaded stretches of rising speed as (start, stop, ended by lift-off)."""
    hold = max(round(START_HOLD_S / course.period_s), 1)
    rising = (course.rate > rate_needed) & (course.load > load_needed)
    steady = np.convolve(rising, np.ones(hold), mode="full")[hold - 1 :] >= hold
    top = trailing_max(course.load, max(round(LIFT_OFF_WINDOW_S / course.period_s), 1))
    fallen = course.load < LIFT_OFF_SHARE * top
    found: list[tuple[int, int, bool]] = []
    position = 0
    while True:
        starts = np.flatnonzero(steady[position:])
        if not starts.size:
            return found
        start = position + int(starts[0])
        stop, lifted = _lift_off(course, fallen, top, start, place, findings)
        found.append((start, stop, lifted))
        position = stop + 1


def _lift_off(
    course: _Course,
    fallen: BoolArray,
    top: FloatArray,
    start: int,
    place: str,
    findings: list[Finding],
) -> tuple[int, bool]:
    """Follow a stretch to where power falls away for good."""
    position = start
    while True:
        drops = np.flatnonzero(fallen[position:])
        if not drops.size:
            return course.time_s.size - 1, False
        drop = position + int(drops[0])
        back = _recovery(course, drop, float(top[drop]))
        if back is None:
            return drop, True
        depth = 100.0 * (1.0 - float(course.load[drop:back].min()) / float(top[drop]))
        span = f"{course.time_s[drop]:.2f} s to {course.time_s[back]:.2f} s"
        text = f"HESITATION: power fell by up to {depth:.0f} % from {span} and came back; kept."
        findings.append(warning(place, text, "Look whether it comes with one kit only."))
        position = back


def _recovery(course: _Course, drop: int, before: float) -> int | None:
    """Say where power is back after a short dip in the same gear; None when it is lift-off."""
    last = min(drop + round(HESITATION_LONGEST_S / course.period_s), course.time_s.size - 1)
    back = np.flatnonzero(course.load[drop : last + 1] >= LIFT_OFF_SHARE * before)
    if not back.size:
        return None
    end = drop + int(back[0])
    if float(course.load[drop : end + 1].min()) < HESITATION_DEEPEST_SHARE * before:
        return None
    if course.ratio is not None:
        ahead = min(end + round(HESITATION_LONGEST_S / course.period_s), course.time_s.size - 1)
        earlier = max(drop - round(LIFT_OFF_WINDOW_S / course.period_s), 0)
        change = abs(course.ratio[ahead] / course.ratio[earlier] - 1.0)
        if change > RATIO_CHANGE_SHARE:
            return None
    return end


def _settled(course: _Course, start: int, stop: int) -> int:
    """Give the sample from which the load's rate of change is back to the pull's usual one."""
    part = slice(start, stop + 1)
    half = max(half_samples(START_HOLD_S, course.period_s), 1)
    rate = running_mean(np.gradient(course.load[part], course.period_s), half)
    hold = max(round(START_HOLD_S / course.period_s), 1)
    if rate.size < 4 * hold:
        return start
    tolerance = SETTLED_SDS * robust_sd(rate)
    tolerance = max(tolerance, 0.01 * float(course.load[part].max()))
    calm = np.abs(rate - np.median(rate)) <= tolerance
    early = rate[: max(rate.size * 2 // 5, hold)]
    peak = int(np.argmax(early))
    if calm[peak]:
        return start
    after = np.convolve(calm[peak:], np.ones(hold), mode="full")[hold - 1 :] >= hold
    places = np.flatnonzero(after)
    return start + peak + int(places[0]) if places.size else start


def _tell_others(
    findings: list[Finding],
    place: str,
    course: _Course,
    found: list[tuple[int, int, bool]],
    spans: list[float],
    best: int,
) -> None:
    """Name other loaded stretches, such as lower gears, that are left out."""
    for number, (start, stop, _) in enumerate(found):
        if number != best and spans[number] > 0.1 * spans[best]:
            span = f"{course.time_s[start]:.2f} s to {course.time_s[stop]:.2f} s"
            text = f"another loaded stretch from {span} is left out (gear change or second try)."
            findings.append(note(place, text))
