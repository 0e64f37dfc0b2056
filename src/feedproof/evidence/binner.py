"""Road speed of a run, by which any of its channels is put into bins."""

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.evidence.assemble import Assembled
from feedproof.evidence.bins import EDGE_SLACK_M_PER_S, BinMeans, bin_means

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


class Binner:
    """
    Road speed of a run, by which any of its channels is put into bins.

    Parameters
    ----------
    assembled : Assembled
        The run.
    edges : array, shape (n_bins + 1,)
        Ends of the bins. [m/s]
    least_span_s : float
        Least time that a bin's samples must span. [s]
    """

    def __init__(self, assembled: Assembled, edges: FloatArray, least_span_s: float) -> None:
        speed = assembled.traces[Channel.ROAD_SPEED]
        # Outside the pull nothing was checked; any number will do there.
        bad = speed.checked.stuck | (speed.checked.dropout & ~speed.checked.usable)
        good = np.isfinite(speed.checked.values) & ~bad
        self.time_s, self.speed = speed.time_s[good], speed.checked.values[good]
        self.window = assembled.window
        self.edges = edges
        self.least_span_s = least_span_s

    def speeds(self, time_s: FloatArray) -> FloatArray:
        """Give the road speed at times; NaN outside the pull."""
        inside = (time_s >= self.window.start_s) & (time_s <= self.window.end_s)
        return np.where(inside, np.interp(time_s, self.time_s, self.speed), np.nan)

    def means(self, time_s: FloatArray, values: FloatArray, usable: BoolArray) -> BinMeans:
        """Average samples in bins."""
        return bin_means(time_s, self.speeds(time_s), values, usable, self.edges, self.least_span_s)

    def uncut(self, time_s: FloatArray, mean: FloatArray, saturated: BoolArray) -> FloatArray:
        """Take the mean off bins that lost samples to the ceiling: what is left is too low."""
        if not saturated.any():
            return mean
        cut = self.means(time_s, saturated.astype(float), saturated)
        return np.where(cut.used > 0, np.nan, mean)

    def in_band(self, time_s: FloatArray) -> BoolArray:
        """Mark times inside the pull and the comparison band."""
        speed = self.speeds(time_s)
        low, high = self.edges[0] - EDGE_SLACK_M_PER_S, self.edges[-1] + EDGE_SLACK_M_PER_S
        held: BoolArray = (speed >= low) & (speed <= high)
        return held
