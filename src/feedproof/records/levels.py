"""Fuel levels and optional quantities on their way into the case."""

from dataclasses import replace

from feedproof.core.values import SourcedValue
from feedproof.records.quantity import LevelValue


def si(value: SourcedValue | None) -> float | None:
    """
    Give the SI number of a quantity that may be absent.

    Parameters
    ----------
    value : SourcedValue or None
        As read.

    Returns
    -------
    float or None
        None where it is absent.
    """
    return None if value is None else value.value


def fraction_of(level: LevelValue, capacity_m3: float) -> SourcedValue:
    """
    Bring a level to a fraction of the tank.

    Parameters
    ----------
    level : LevelValue
        As read.
    capacity_m3 : float
        Of the tank. [m3]

    Returns
    -------
    SourcedValue
        Fraction, with its range.
    """
    if not level.is_volume:
        return level.sourced
    low, high = level.sourced.low, level.sourced.high
    return replace(
        level.sourced,
        value=level.sourced.value / capacity_m3,
        low=None if low is None else low / capacity_m3,
        high=None if high is None else high / capacity_m3,
    )
