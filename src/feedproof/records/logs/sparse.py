"""
Channels that each have times of their own, on one clock without a number made up.

Every reading keeps its own time and stands in the row of that time; where another channel has no
reading, its cell is empty, which means not measured.  No reading is held, repeated or drawn out
between two others: a held one looks like a stuck sensor and lags by half a period.  Whoever needs
a value between two readings draws a line there, as for any channel that is written more seldom
than the rows.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.records.logs.frames import MOST_CELLS

FloatArray = NDArray[np.float64]

TIME = "time"
GAP_PERIODS = 3.0
"""A pause of more of a channel's own periods is told as a gap: as in the check of channels."""
HOW_JOINED = (
    "each reading stands in a row of its own time; no value is held or drawn between readings:"
    " an empty cell is not measured"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """
    Readings of one channel at their own times.

    Parameters
    ----------
    name : str
        Of the column.
    unit : str
        As the file says it; empty for none.
    times : array, shape (n,)
        Not decreasing. [s]
    values : array of numbers or of texts, shape (n,)
        In the unit.
    remark : str
        What is said of it besides its rate.
    """

    name: str
    unit: str
    times: FloatArray
    values: NDArray[np.float64] | NDArray[np.str_]
    remark: str = ""


def on_one_clock(channels: Sequence[Series], start_s: float) -> tuple[pl.DataFrame, list[str]]:
    """
    Put channels on one clock.

    Parameters
    ----------
    channels : sequence of Series
        With different names.
    start_s : float
        Time that becomes 0. [s]

    Returns
    -------
    polars.DataFrame
        Column ``time``, then one for each channel; null where it has no reading.
    list of str
        How it was done, and rate and gaps of each channel.

    Raises
    ------
    InputError
        More cells than are read.
    """
    clock = np.unique(np.concatenate([each.times for each in channels] or [np.empty(0)]))
    if clock.size * (1 + len(channels)) > MOST_CELLS:
        raise InputError.at(
            "table",
            f"{clock.size} times of {len(channels)} channels; at most {MOST_CELLS:,} cells are"
            " read.",
            "Cut the log into one file for each pull, or export fewer channels.",
        )
    columns = {TIME: pl.Series(TIME, clock - start_s)}
    notes = [HOW_JOINED]
    for each in channels:
        rows = np.searchsorted(clock, each.times)
        repeated = each.times.size - np.unique(rows).size
        columns[each.name] = _column(each, rows, clock.size)
        notes.append(_described(each, repeated))
    return pl.DataFrame(list(columns.values())), notes


def _column(channel: Series, rows: NDArray[np.intp], height: int) -> pl.Series:
    """Place the readings; of several at one time the last one stays."""
    if channel.values.dtype.kind in "US":
        texts = np.full(height, None, dtype=object)
        texts[rows] = channel.values
        return pl.Series(channel.name, texts.tolist(), dtype=pl.String)
    numbers = np.full(height, np.nan)
    numbers[rows] = channel.values
    return pl.Series(channel.name, numbers, nan_to_null=True)


def rate_hz(times: FloatArray) -> float:
    """
    Give the usual rate of a channel.

    Parameters
    ----------
    times : array, shape (n,)
        Of its readings. [s]

    Returns
    -------
    float
        One over the middle step; NaN for fewer than two readings. [Hz]
    """
    steps = np.diff(times)
    steps = steps[steps > 0.0]
    return 1.0 / float(np.median(steps)) if steps.size else float("nan")


def _described(channel: Series, repeated: int) -> str:
    """Say how often a channel was read, and where it paused."""
    parts = [f"{channel.times.size} readings"]
    rate = rate_hz(channel.times)
    if np.isfinite(rate):
        steps = np.diff(channel.times)
        gaps = int(np.count_nonzero(steps > GAP_PERIODS / rate * (1 + 1e-9)))
        parts.append(f"{rate:.3g} Hz")
        if gaps:
            parts.append(f"{gaps} gaps, the longest {steps.max():.3g} s")
    if repeated:
        parts.append(f"{repeated} at the time of another, of which the last counts")
    if channel.remark:
        parts.append(channel.remark)
    return f"{channel.name}: {', '.join(parts)}"
