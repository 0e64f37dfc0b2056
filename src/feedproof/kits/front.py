"""The trade-off front, the score that picks from it, and how sure the order of two is."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

HORIZON_M = 1e8
"""Distance over which the cost of element changes is counted, 100 000 km: the project's own
rule. [m]"""
CANNOT_TELL = (0.4, 0.6)
"""Probabilities between which the order of two candidates is not told: the project's own rule."""


def front_of(objectives: FloatArray) -> BoolArray:
    """
    Find what nothing else dominates.

    Parameters
    ----------
    objectives : array, shape (n, m)
        One row each, all to be small. [-]

    Returns
    -------
    array of bool, shape (n,)
        False where some other row is nowhere larger and somewhere smaller.
    """
    kept = np.ones(objectives.shape[0], dtype=np.bool_)
    for row in range(objectives.shape[0]):
        no_larger = np.all(objectives <= objectives[row], axis=1)
        smaller = np.any(objectives < objectives[row], axis=1)
        kept[row] = not bool(np.any(no_larger & smaller))
    return kept


def whole_cost(
    bought: float,
    joints: int,
    joint_cost: float,
    element_cost: float,
    change_cost: float,
    interval_m: float,
) -> float:
    """
    Give what a candidate costs over the horizon.

    Parameters
    ----------
    bought : float
        Cost of parts. [-]
    joints : int
        Joints under depression that are added. [-]
    joint_cost : float
        What the risk of air at one of them is taken to cost. [-]
    element_cost : float
        Cost of a set of the added elements. [-]
    change_cost : float
        Cost of a visit for the change, with or without added elements. [-]
    interval_m : float
        Distance between changes. [m]

    Returns
    -------
    float
        Parts, risk of air, and changes over `HORIZON_M`; the first elements come with the
        parts, and a share of a change counts as a share. The factory element is in nobody's
        cost. Infinite where there is no interval. [-]
    """
    if interval_m <= 0.0:
        return math.inf
    changes = max(HORIZON_M / interval_m - 1.0, 0.0)
    return bought + joints * joint_cost + (element_cost + change_cost) * changes


def score(cost: float, exposure_ratio: float, halving_worth: float) -> float:
    """
    Bring cost and protection to one figure.

    Parameters
    ----------
    cost : float
        As of `whole_cost`. [-]
    exposure_ratio : float
        Exposure of the clearance band over that without a kit, above 0. [-]
    halving_worth : float
        What each halving of the exposure is worth, a declared figure. [-]

    Returns
    -------
    float
        Smaller is better. [-]
    """
    return cost + halving_worth * math.log2(exposure_ratio)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """
    How sure it is that one of two comes before the other.

    Parameters
    ----------
    probability : float
        Share of draws in which it does, ties by halves. [-]
    standard_error : float
        Of that share, from the number of draws. [-]
    draws : int
        How many.
    """

    probability: float
    standard_error: float
    draws: int

    @property
    def told(self) -> bool:
        """Say whether the order can be told."""
        return not CANNOT_TELL[0] <= self.probability <= CANNOT_TELL[1]


def order_of(first: FloatArray, second: FloatArray) -> Order:
    """
    Compare the scores of two candidates draw by draw.

    Parameters
    ----------
    first, second : array, shape (n,)
        Scores in the same draws; infinite where a candidate breaks a limit. [-]

    Returns
    -------
    Order
        Probability that the first one's score is the smaller.
    """
    draws = first.size
    share = float(np.mean(first < second) + 0.5 * np.mean(first == second))
    return Order(
        probability=share,
        standard_error=math.sqrt(share * (1.0 - share) / draws),
        draws=draws,
    )
