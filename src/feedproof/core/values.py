"""
Sourced values: a number with its range and where it comes from.

Calculations receive plain floats.  The book of values stands beside them, keyed by the path of
each value in the case, so that a sampler can replace values by path and a report can print the
source of every number.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SourcedValue:
    """
    A number in SI with its range and source.

    Parameters
    ----------
    value : float
        The value used, in SI.
    low, high : float or None
        Range in which the true value is believed to lie, in SI; None when none was given.
    source : str
        Where the value comes from; empty when the case does not say.
    text : str
        As it was written in the case, with its unit.
    """

    value: float
    low: float | None = None
    high: float | None = None
    source: str = ""
    text: str = ""
