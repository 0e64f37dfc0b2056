"""
How much later one channel is than another, and how far apart the clocks of two logs are.

Source of the method: normalised cross-correlation of band-passed derivatives with a parabola
through the peak (common practice in signal alignment).  Its limits, refused rather than
passed, are the project's own, set by own simulation.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.filters import band_passed_derivative, on_even_grid, sample_period

FloatArray = NDArray[np.float64]

BAND_HZ = (0.1, 3.0)
LAG_BANDS_HZ = (BAND_HZ, (0.1, 1.0))
"""The second band is for short or gently driven pulls, in which little moves above 1 Hz."""
LEAST_CORRELATION = 0.4
LARGEST_SPREAD_S = 0.1
_SHORTEST_PERIOD_S = 0.005
_LONGEST_PERIOD_S = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Lag:
    """
    Lag of one channel behind another.

    Parameters
    ----------
    lag_s : float
        Positive when the second channel is the later; NaN when it cannot be told. [s]
    correlation : float
        Normalised cross-correlation at the peak. [-]
    """

    lag_s: float
    correlation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLag:
    """
    The one lag that is removed from every run of a session.

    Parameters
    ----------
    lag_s : float
        Median over the runs; 0 when refused. [s]
    refused : bool
        True when the channel may not be used.
    spread_s : float
        Largest less smallest lag of the runs. [s]
    findings : tuple of Finding
        Why it was refused, or what it rests on.
    """

    lag_s: float
    refused: bool
    spread_s: float
    findings: tuple[Finding, ...]


def find_lag(
    time_a_s: FloatArray,
    values_a: FloatArray,
    time_b_s: FloatArray,
    values_b: FloatArray,
    largest_lag_s: float = 1.0,
    band_hz: tuple[float, float] = BAND_HZ,
) -> Lag:
    """
    Find by how much channel b is later than channel a.

    Parameters
    ----------
    time_a_s, values_a : array, shape (n,)
        First channel. [s], [any]
    time_b_s, values_b : array, shape (m,)
        Second channel, on its own times. [s], [any]
    largest_lag_s : float
        Lags up to this on either side are tried. [s]
    band_hz : tuple of float
        Ends of the band kept; the upper one gives way to a slow sampling rate. [Hz]

    Returns
    -------
    Lag
        With a NaN lag when a channel is too short or does not move.
    """
    period = _common_period(time_a_s, values_a, time_b_s, values_b)
    if not np.isfinite(period):
        return Lag(lag_s=float("nan"), correlation=0.0)
    signal_a = _moving_part(time_a_s, values_a, period, band_hz)
    signal_b = _moving_part(time_b_s, values_b, period, band_hz)
    start_shift = _first_time(time_b_s, values_b) - _first_time(time_a_s, values_a)
    lags, correlation = _correlate(signal_a, signal_b)
    lag_s = lags * period + start_shift
    correlation = np.where(np.abs(lag_s) <= largest_lag_s + 1e-9, correlation, -np.inf)
    peak = int(np.argmax(correlation))
    if not np.isfinite(correlation[peak]) or correlation[peak] <= 0.0:
        return Lag(lag_s=float("nan"), correlation=0.0)
    shift = _parabola(correlation, peak)
    return Lag(lag_s=float(lag_s[peak] + shift * period), correlation=float(correlation[peak]))


def session_lag(lags: Mapping[int, Lag], session: str, pair: str) -> SessionLag:
    """
    Settle one lag for a session and a pair of channels, or refuse the channel.

    Parameters
    ----------
    lags : mapping of int to Lag
        By run number.
    session, pair : str
        Name of the session and of the two channels, for messages.

    Returns
    -------
    SessionLag
        Refused when a run's peak correlation is below 0.4 or the runs differ by more than
        0.1 s: an unremoved lag cancels between configurations only when it is alike in all.
    """
    place = f"session {session}, {pair}"
    if not lags:
        return SessionLag(lag_s=0.0, refused=False, spread_s=0.0, findings=())
    weak = [run for run, lag in lags.items() if lag.correlation < LEAST_CORRELATION]
    found = np.array([lag.lag_s for lag in lags.values() if np.isfinite(lag.lag_s)])
    spread = float(np.ptp(found)) if found.size else float("nan")
    remedy = "Check the damping and the line to the sensor; log at 10 Hz or more, from before the"
    remedy += " pull to after lift-off."
    if weak:
        named = ", ".join(f"run {run} ({lags[run].correlation:.2f})" for run in weak)
        text = f"lag not found: peak correlation below {LEAST_CORRELATION} in {named};"
        finding = warning(place, f"{text} the channel is refused.", remedy)
        return SessionLag(lag_s=0.0, refused=True, spread_s=spread, findings=(finding,))
    if spread > LARGEST_SPREAD_S:
        named = ", ".join(f"run {run} {lag.lag_s:.3f} s" for run, lag in lags.items())
        text = f"lag differs between runs by {spread:.3f} s, more than {LARGEST_SPREAD_S} s"
        finding = warning(place, f"{text} ({named}); the channel is refused.", remedy)
        return SessionLag(lag_s=0.0, refused=True, spread_s=spread, findings=(finding,))
    lag_s = float(np.median(found))
    text = f"lag {lag_s:.3f} s (median of {found.size} runs, spread {spread:.3f} s) removed."
    return SessionLag(lag_s=lag_s, refused=False, spread_s=spread, findings=(note(place, text),))


def find_clock_offset(
    time_a_s: FloatArray, values_a: FloatArray, time_b_s: FloatArray, values_b: FloatArray
) -> Lag:
    """
    Find what must be added to log b's clock to put it on log a's.

    Parameters
    ----------
    time_a_s, values_a : array, shape (n,)
        A quantity in the log whose clock is kept. [s], [any]
    time_b_s, values_b : array, shape (m,)
        The same quantity in the other log, on that log's clock; clocks may start anywhere.
        [s], [any]

    Returns
    -------
    Lag
        ``lag_s`` is the offset to add to the times of b; NaN when it cannot be told.
    """
    start_a, start_b = _first_time(time_a_s, values_a), _first_time(time_b_s, values_b)
    if not (np.isfinite(start_a) and np.isfinite(start_b)):
        return Lag(lag_s=float("nan"), correlation=0.0)
    for band_hz in LAG_BANDS_HZ:
        found = find_lag(
            time_a_s - start_a,
            values_a,
            time_b_s - start_b,
            values_b,
            largest_lag_s=float("inf"),
            band_hz=band_hz,
        )
        if found.correlation >= LEAST_CORRELATION:
            break
    return Lag(lag_s=start_a - start_b - found.lag_s, correlation=found.correlation)


def _first_time(time_s: FloatArray, values: FloatArray) -> float:
    """Give the time of the first sample that is a number."""
    finite = np.flatnonzero(np.isfinite(values))
    return float(time_s[finite[0]]) if finite.size else float("nan")


def _common_period(
    time_a_s: FloatArray, values_a: FloatArray, time_b_s: FloatArray, values_b: FloatArray
) -> float:
    """Choose a grid as fine as the finer channel; NaN when a channel is too short or is still."""
    periods = []
    for time_s, values in ((time_a_s, values_a), (time_b_s, values_b)):
        finite = np.isfinite(values)
        if finite.sum() < 20 or np.ptp(values[finite]) == 0.0:
            return float("nan")
        periods.append(sample_period(time_s[finite]))
    return float(np.clip(min(periods), _SHORTEST_PERIOD_S, _LONGEST_PERIOD_S))


def _moving_part(
    time_s: FloatArray, values: FloatArray, period_s: float, band_hz: tuple[float, float]
) -> FloatArray:
    """Put a channel on an even grid from its first number on and keep what moves in the band."""
    finite = np.isfinite(values)
    times = time_s[finite]
    grid = np.arange(times[0], times[-1] + 0.5 * period_s, period_s)
    even, _ = on_even_grid(times, values[finite], grid)
    return band_passed_derivative(even, period_s, *band_hz)


def _correlate(signal_a: FloatArray, signal_b: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Correlate at every shift of b, each normalised by the energies that overlap there."""
    count_a, count_b = signal_a.size, signal_b.size
    size = 1 << (count_a + count_b - 1).bit_length()
    product = np.conj(np.fft.rfft(signal_a, size)) * np.fft.rfft(signal_b, size)
    circular = np.fft.irfft(product, size)
    lags = np.arange(-(count_a - 1), count_b)
    raw = circular[lags % size]
    energy_a = np.concatenate(([0.0], np.cumsum(signal_a**2)))
    energy_b = np.concatenate(([0.0], np.cumsum(signal_b**2)))
    first_a = np.maximum(-lags, 0)
    last_a = np.minimum(count_b - lags, count_a)
    held_a = energy_a[last_a] - energy_a[first_a]
    held_b = energy_b[last_a + lags] - energy_b[first_a + lags]
    # An overlap of two quiet ends can correlate perfectly by chance: half of the movement of
    # the shorter channel must lie inside.
    enough = (held_a >= 0.5 * energy_a[-1]) | (held_b >= 0.5 * energy_b[-1])
    scale = np.sqrt(np.maximum(held_a * held_b, 1e-300))
    return lags.astype(np.float64), np.where(enough, raw / scale, -np.inf)


def _parabola(correlation: FloatArray, peak: int) -> float:
    """Give the vertex of the parabola through a peak and its neighbours, in samples."""
    if peak == 0 or peak == correlation.size - 1:
        return 0.0
    left, top, right = correlation[peak - 1 : peak + 2]
    bend = left - 2.0 * top + right
    if not np.isfinite(bend) or bend >= 0.0:
        return 0.0
    return float(0.5 * (left - right) / bend)
