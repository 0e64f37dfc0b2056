"""Channels with times of their own: the rows they need, and whether they are fast enough."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.core.findings import Finding, warning
from feedproof.records.logs.sparse import rate_hz
from feedproof.records.logs.times import SLOWEST_HZ

FloatArray = NDArray[np.float64]

# What moves within a sweep; temperatures, level and the air of the cell may rightly be slow.
_LIVELY = frozenset(
    {
        Channel.ROAD_SPEED,
        Channel.ENGINE_SPEED,
        Channel.WHEEL_POWER,
        Channel.INLET_DEPRESSION,
        Channel.INLET_PRESSURE_ABS,
        Channel.INLET_PRESSURE_GAUGE,
        Channel.RAIL_PRESSURE,
        Channel.RAIL_PRESSURE_DEMAND,
        Channel.THROTTLE,
    }
)


def rows_with_readings(
    time_s: FloatArray, values: Mapping[Channel, FloatArray]
) -> tuple[FloatArray, dict[Channel, FloatArray]]:
    """
    Leave out the rows in which no channel has a reading.

    Parameters
    ----------
    time_s : array, shape (n,)
        [s]
    values : mapping of Channel to array, shape (n,)
        NaN for not measured.

    Returns
    -------
    time_s : array, shape (m,)
        [s]
    values : dict of Channel to array, shape (m,)
        The same readings.
    """
    some = np.zeros(time_s.size, dtype=np.bool_)
    for readings in values.values():
        some |= np.isfinite(readings)
    if some.all() or not some.any():
        return time_s, dict(values)
    return time_s[some], {channel: readings[some] for channel, readings in values.items()}


def slow_findings(
    place: str, time_s: FloatArray, values: Mapping[Channel, FloatArray]
) -> list[Finding]:
    """
    Warn of channels that are read too seldom for a sweep.

    Parameters
    ----------
    place : str
        Name of the log, for the messages.
    time_s : array, shape (n,)
        [s]
    values : mapping of Channel to array, shape (n,)
        NaN for not measured.

    Returns
    -------
    list of Finding
        One for each.
    """
    told = []
    for channel, readings in values.items():
        rate = rate_hz(time_s[np.isfinite(readings)])
        if channel in _LIVELY and rate < SLOWEST_HZ * (1 - 1e-6):
            told.append(
                warning(
                    f"{place}, channel {channel}",
                    f"sampled at {rate:.3g} Hz; below {SLOWEST_HZ:g} Hz pulsation is aliased and a"
                    " sweep has few points.",
                    "Ask for fewer parameters, so that each comes more often, or take the channel"
                    " from a faster instrument.",
                )
            )
    return told
