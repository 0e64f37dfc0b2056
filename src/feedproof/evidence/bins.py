"""
Bin means over road speed, and a smooth curve for drawing.

The decision uses bin means with equal weights: unbiased under pulsation, with a short memory.
Medians and smoothing chosen by cross-validation are not used: on a pulsating signal they are
worse (own simulation).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

LEAST_SAMPLES = 5
LEAST_SHARE = 0.5
LEAST_BINS_SHARE = 0.75
EDGE_SLACK_M_PER_S = 1e-9
"""
Below an edge by which a speed still counts as on it.  Edges lie on round speeds, where a log's own
steps fall too: the last digit of a change of units must not decide into which bin a sample goes.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BinMeans:
    """
    Means of a channel over speed bins.

    Parameters
    ----------
    mean : array, shape (n_bins,)
        NaN where there are too few samples. [channel's unit]
    used, present : array, shape (n_bins,)
        Samples used, and samples that fell in the bin. [-]
    """

    mean: FloatArray
    used: NDArray[np.int64]
    present: NDArray[np.int64]


def bin_edges(
    low_m_per_s: float,
    high_m_per_s: float,
    count: int = 8,
    width_m_per_s: float | None = None,
) -> FloatArray:
    """
    Divide the comparison band into equal bins.

    Parameters
    ----------
    low_m_per_s, high_m_per_s : float
        Ends of the band. [m/s]
    count : int
        Number of bins, unless a width is given. [-]
    width_m_per_s : float, optional
        Width to come near to, such as 2 km/h for curves. [m/s]

    Returns
    -------
    array, shape (n_bins + 1,)
        Edges. [m/s]
    """
    if width_m_per_s is not None:
        count = max(round((high_m_per_s - low_m_per_s) / width_m_per_s), 1)
    return np.linspace(low_m_per_s, high_m_per_s, count + 1)


def bin_means(
    time_s: FloatArray,
    speed_m_per_s: FloatArray,
    values: FloatArray,
    usable: BoolArray,
    edges_m_per_s: FloatArray,
    least_span_s: float = 0.0,
) -> BinMeans:
    """
    Average a channel in bins of road speed.

    Parameters
    ----------
    time_s, speed_m_per_s, values : array, shape (n,)
        Times, road speed at each, and samples. [s], [m/s], [channel's unit]
    usable : array of bool, shape (n,)
        Samples that may be used; those outside the pull are not "present" either when their
        speed is NaN.
    edges_m_per_s : array, shape (n_bins + 1,)
        Edges, increasing. [m/s]
    least_span_s : float
        Shortest time that a bin must span: one pulsation. [s]

    Returns
    -------
    BinMeans
        A bin needs five usable samples, half of those that fell in it, and the span.  Its
        mean is carried to the bin's centre along the bin's own slope, so that samples cut
        from one side of a bin do not move it.
    """
    count = edges_m_per_s.size - 1
    reached = edges_m_per_s - EDGE_SLACK_M_PER_S
    place = np.searchsorted(reached, speed_m_per_s, side="right") - 1
    place = np.where(np.isfinite(speed_m_per_s), place, -1)
    mean = np.full(count, np.nan)
    used = np.zeros(count, dtype=np.int64)
    present = np.zeros(count, dtype=np.int64)
    for number in range(count):
        inside = place == number
        held = inside & usable & np.isfinite(values)
        present[number], used[number] = inside.sum(), held.sum()
        if used[number] < max(LEAST_SAMPLES, LEAST_SHARE * present[number]):
            continue
        if np.ptp(time_s[held]) < least_span_s:
            continue
        centre = 0.5 * (edges_m_per_s[number] + edges_m_per_s[number + 1])
        mean[number] = _at_centre(speed_m_per_s[held], values[held], centre)
    return BinMeans(mean=mean, used=used, present=present)


def _at_centre(speed: FloatArray, values: FloatArray, centre: float) -> float:
    """Carry a mean along the least-squares slope to the centre of its bin."""
    offset = speed - speed.mean()
    spread = float(np.dot(offset, offset))
    slope = float(np.dot(offset, values)) / spread if spread > 0.0 else 0.0
    return float(values.mean() + slope * (centre - speed.mean()))


def common_bins(
    curves: Mapping[int, FloatArray],
) -> tuple[BoolArray, tuple[int, ...]]:
    """
    Find the bins that every run can be averaged over.

    Parameters
    ----------
    curves : mapping of int to array, shape (n_bins,)
        Bin means by run number; all-NaN curves were not measured and are passed over.

    Returns
    -------
    array of bool, shape (n_bins,)
        Bins that all runs kept have.
    tuple of int
        Runs given up because they lack more than a quarter of the bins.
    """
    measured = {run: np.isfinite(curve) for run, curve in curves.items() if _any(curve)}
    kept = {run: have for run, have in measured.items() if have.mean() >= LEAST_BINS_SHARE}
    given_up = tuple(run for run in measured if run not in kept)
    size = next(iter(curves.values())).size if curves else 0
    common = np.ones(size, dtype=np.bool_)
    for have in kept.values():
        common &= have
    return (common if kept else np.zeros(size, dtype=np.bool_)), given_up


def _any(curve: FloatArray) -> bool:
    """Say whether a curve holds a number."""
    return bool(np.isfinite(curve).any())


def local_linear(
    speed_m_per_s: FloatArray,
    values: FloatArray,
    at_m_per_s: FloatArray,
    half_width_m_per_s: float,
) -> FloatArray:
    """
    Draw a smooth curve: local straight lines with tricube weights.

    Parameters
    ----------
    speed_m_per_s, values : array, shape (n,)
        Usable samples. [m/s], [channel's unit]
    at_m_per_s : array, shape (m,)
        Speeds wanted. [m/s]
    half_width_m_per_s : float
        Reach of the weights to either side; 200 to 300 rpm in terms of road speed. [m/s]

    Returns
    -------
    array, shape (m,)
        Curve for drawing only; NaN with fewer than five samples in reach. [channel's unit]

    Notes
    -----
    Cleveland, J. Am. Stat. Assoc. 74 (1979) 829 (memory).
    """
    good = np.isfinite(speed_m_per_s) & np.isfinite(values)
    x, y = speed_m_per_s[good], values[good]
    curve = np.full(at_m_per_s.size, np.nan)
    for number, at in enumerate(at_m_per_s):
        distance = np.abs(x - at) / half_width_m_per_s
        near = distance < 1.0
        if near.sum() < LEAST_SAMPLES:
            continue
        weight = (1.0 - distance[near] ** 3) ** 3
        offset = x[near] - at
        total, first, second = weight.sum(), weight @ offset, weight @ offset**2
        level, slope = weight @ y[near], weight @ (offset * y[near])
        bend = total * second - first * first
        curve[number] = (second * level - first * slope) / bend if bend > 0.0 else level / total
    return curve
