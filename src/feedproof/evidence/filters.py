"""
Running means, medians and maxima, and the band-passed derivative that lags are found with.

All windows are centred and shrink alike on both sides near an end, so that a straight line
passes unchanged: a window that shrinks on one side only bends the ends of a sweep.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

ROBUST_SD_PER_MAD = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution. [-]"""

END_FIT_S = 1.0
"""Length of the lines that a channel is reflected about at its ends. [s]"""


def sample_period(time_s: FloatArray) -> float:
    """
    Give the usual time between samples.

    Parameters
    ----------
    time_s : array, shape (n,)
        Times of the samples, increasing. [s]

    Returns
    -------
    float
        Median step; NaN for fewer than two samples. [s]
    """
    return float(np.median(np.diff(time_s))) if time_s.size > 1 else float("nan")


def running_mean(values: FloatArray, half_width: int) -> FloatArray:
    """
    Average over a centred window, passing over NaN.

    Parameters
    ----------
    values : array, shape (n,)
        Samples. [any]
    half_width : int
        Samples to either side. [-]

    Returns
    -------
    array, shape (n,)
        Means; NaN where the window holds no number. [any]
    """
    finite = np.isfinite(values)
    total = np.concatenate(([0.0], np.cumsum(np.where(finite, values, 0.0))))
    count = np.concatenate(([0], np.cumsum(finite)))
    index = np.arange(values.size)
    reach = np.minimum(np.minimum(index, values.size - 1 - index), half_width)
    held = count[index + reach + 1] - count[index - reach]
    summed = total[index + reach + 1] - total[index - reach]
    return np.where(held > 0, summed / np.maximum(held, 1), np.nan)


def running_median(values: FloatArray, half_width: int) -> FloatArray:
    """
    Take the median over a centred window.

    Parameters
    ----------
    values : array, shape (n,)
        Samples without NaN. [any]
    half_width : int
        Samples to either side. [-]

    Returns
    -------
    array, shape (n,)
        Medians. [any]
    """
    count = values.size
    result = np.empty(count)
    width = min(half_width, (count - 1) // 2) if count else 0
    if count > 2 * width:
        windows = sliding_window_view(values, 2 * width + 1)
        result[width : count - width] = np.median(windows, axis=1)
    for place in range(width):
        result[place] = np.median(values[: 2 * place + 1])
        result[count - 1 - place] = np.median(values[count - 1 - 2 * place :])
    return result


def trailing_max(values: FloatArray, width: int) -> FloatArray:
    """
    Give the largest of each sample and those just before it.

    Parameters
    ----------
    values : array, shape (n,)
        Samples. [any]
    width : int
        Samples in the window, the present one included. [-]

    Returns
    -------
    array, shape (n,)
        Running maxima. [any]
    """
    padded = np.concatenate((np.full(max(width, 1) - 1, -np.inf), values))
    return np.asarray(sliding_window_view(padded, max(width, 1)).max(axis=1), dtype=np.float64)


def robust_sd(values: FloatArray) -> float:
    """
    Estimate a standard deviation that a few wild samples cannot move.

    Parameters
    ----------
    values : array, shape (n,)
        Samples without NaN. [any]

    Returns
    -------
    float
        1.4826 times the median absolute deviation; 0 for no samples. [any]
    """
    if not values.size:
        return 0.0
    return float(ROBUST_SD_PER_MAD * np.median(np.abs(values - np.median(values))))


def half_samples(duration_s: float, period_s: float) -> int:
    """
    Change the length of a centred window to samples on either side.

    Parameters
    ----------
    duration_s, period_s : float
        Length of the window and time between samples. [s]

    Returns
    -------
    int
        At least 0. [-]
    """
    return max(round(0.5 * duration_s / period_s), 0)


def on_even_grid(
    time_s: FloatArray, values: FloatArray, grid_s: FloatArray
) -> tuple[FloatArray, BoolArray]:
    """
    Read a channel off at evenly spaced times.

    Parameters
    ----------
    time_s, values : array, shape (n,)
        Increasing times and samples; NaN samples are passed over. [s], [any]
    grid_s : array, shape (m,)
        Times wanted. [s]

    Returns
    -------
    array, shape (m,)
        Straight-line values. [any]
    array of bool, shape (m,)
        True outside the channel's own times: padding, no measurement.
    """
    finite = np.isfinite(values)
    if not finite.any():
        return np.full(grid_s.size, np.nan), np.ones(grid_s.size, dtype=np.bool_)
    times = time_s[finite]
    padding = (grid_s < times[0]) | (grid_s > times[-1])
    return np.interp(grid_s, times, values[finite]), padding


def band_passed_derivative(
    values: FloatArray, period_s: float, low_hz: float, high_hz: float
) -> FloatArray:
    """
    Differentiate a channel and keep a band of frequencies, without shifting it in time.

    Parameters
    ----------
    values : array, shape (n,)
        Evenly spaced samples without NaN. [any]
    period_s : float
        Time between samples. [s]
    low_hz, high_hz : float
        Ends of the band; the gain falls with the fourth power beyond them. [Hz]

    Returns
    -------
    array, shape (n,)
        Derivative. [any/s]
    """
    count = values.size
    # Odd reflection keeps value and slope continuous, so that the ends do not ring.  It turns
    # about a fitted level: about a single pulsating sample it would plant a step at both ends.
    reach = min(count - 1, round(3.0 / low_hz / period_s))
    fitted = max(min(count, round(END_FIT_S / period_s)), 2)
    before = 2.0 * _end_level(values[:fitted]) - values[reach:0:-1]
    after = 2.0 * _end_level(values[: -fitted - 1 : -1]) - values[-2 : -reach - 2 : -1]
    padded = np.concatenate((before, values, after))
    line = np.linspace(padded[0], padded[-1], padded.size)
    frequency = np.fft.rfftfreq(padded.size, period_s)
    high_gain = 1.0 / (1.0 + (frequency / high_hz) ** 8)
    low_gain = frequency**4 / (frequency**4 + low_hz**4)
    spectrum = np.fft.rfft(padded - line) * 2j * np.pi * frequency * high_gain * low_gain
    return np.asarray(np.fft.irfft(spectrum, padded.size)[reach : reach + count], dtype=np.float64)


def _end_level(values: FloatArray) -> float:
    """Give the first value of the straight line fitted to a few samples."""
    place = np.arange(values.size) - 0.5 * (values.size - 1)
    slope = float(place @ values) / float(place @ place)
    return float(values.mean() + slope * place[0])
