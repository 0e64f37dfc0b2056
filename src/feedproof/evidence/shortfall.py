"""Rail pressure inside the pull: largest shortfall held, and the longest time below demand."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.evidence.filters import half_samples, running_mean, sample_period

FloatArray = NDArray[np.float64]

RUNNING_MEAN_S = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class RailShortfall:
    """
    What the rail pressure lacked.

    Parameters
    ----------
    largest_pa : float
        Largest running mean over 0.2 s of demanded minus actual; not below 0. [Pa]
    longest_s : float
        Longest unbroken time with that mean above the limit. [s]
    """

    largest_pa: float
    longest_s: float


def rail_shortfall(
    time_s: FloatArray, deviation_pa: FloatArray, limit_pa: float
) -> RailShortfall | None:
    """
    Judge the rail pressure inside the pull.

    Parameters
    ----------
    time_s, deviation_pa : array, shape (n,)
        Times and demanded minus actual pressure inside the pull; NaN where unusable, which
        breaks a time above the limit. [s], [Pa]
    limit_pa : float
        Shortfall above which time counts. [Pa]

    Returns
    -------
    RailShortfall or None
        None when there are fewer than three numbers.
    """
    finite = np.isfinite(deviation_pa)
    if finite.sum() < 3:
        return None
    period = sample_period(time_s)
    smooth = running_mean(deviation_pa, half_samples(RUNNING_MEAN_S, period))
    # A gap of the clock must break a stretch as NaN does.
    joined = np.concatenate(([False], np.diff(time_s) <= 3.0 * period))
    above = finite & (smooth > limit_pa)
    longest, start = 0.0, 0
    for place in range(time_s.size):
        if not above[place]:
            continue
        if place == 0 or not (above[place - 1] and joined[place]):
            start = place
        # A stretch of n samples lasts n periods, or a lone sample would last no time at all.
        longest = max(longest, float(time_s[place] - time_s[start]) + period)
    return RailShortfall(largest_pa=max(float(np.max(smooth[finite])), 0.0), longest_s=longest)
