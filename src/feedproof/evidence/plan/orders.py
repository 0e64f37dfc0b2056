"""
Candidate orders of baseline (A) and candidate (B), what each costs and what each suffers from.

The program fits drift as a straight line.  What a drift that is no straight line does to an order
was simulated: how often a loss of exactly the margin is then passed, where 5 % is meant, at the
worst sign.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

from feedproof.evidence.designs import Design, design_of_order, recommended_order

WORTH_DRIVING = ("ABA", "ABBA", "ABAB", "ABABAB", "ABBAAB", "ABBABAAB", "ABBABAABAB")
TRAPS = {
    "AB": "drift cannot be told from the kit: any warming up is taken for the kit's doing",
    "AABB": "in blocks drift is nearly the same as the kit: five times the variance of ABBA",
    "AAABBB": "in blocks drift is nearly the same as the kit: four times the variance of ABABAB",
}
"""Orders that are driven because they are handy, and why not to."""
HURTS_SOURCE = (
    "simulated: share of sessions in which a loss of exactly the margin passes, where 5 % is meant"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftHurts:
    """
    How often a loss of the margin passes under a drift that is no straight line.

    Parameters
    ----------
    jump : float
        A jump of 2 repeatabilities half-way through the session. [-]
    odd_end : float or None
        First or last run off by 2 repeatabilities. [-]
    warm_up : float or None
        A warm-up curve that flattens. [-]
    quadratic : float or None
        A bent drift. [-]
    """

    jump: float
    odd_end: float | None = None
    warm_up: float | None = None
    quadratic: float | None = None

    @property
    def worst(self) -> float:
        """Give the largest of the figures that are known."""
        known = (self.jump, self.odd_end, self.warm_up, self.quadratic)
        return max(each for each in known if each is not None)


HURTS = {
    "ABA": DriftHurts(jump=0.19, odd_end=0.19, warm_up=0.07, quadratic=0.14),
    "ABAB": DriftHurts(jump=0.20, odd_end=0.085, warm_up=0.05, quadratic=0.045),
    "ABBA": DriftHurts(jump=0.04, odd_end=0.22, warm_up=0.09, quadratic=0.14),
    "ABABAB": DriftHurts(jump=0.056, odd_end=0.09, warm_up=0.05, quadratic=0.045),
    "ABBAAB": DriftHurts(jump=0.23),
    "ABBABAAB": DriftHurts(jump=0.038),
}
"""Simulated with the method of this program, archive of 8 degrees of freedom."""

TOO_GOOD = {"ABA": 0.178, "ABBA": 0.132, "ABBAAB": 0.098, "ABABABABAB": 0.073}
"""
How often a loss of the margin passes when the declared repeatability, of 8 degrees of freedom, is
half the true one (simulated).
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """
    An order of runs and what it makes of a difference.

    Parameters
    ----------
    order : str
        Such as ``ABBA``.
    runs_each : int
        Runs of the candidate. [-]
    changes : int
        Change-overs between the two. [-]
    design : Design
        Weights, variance factor, degrees of freedom.
    setup_factor : float
        On the variance of opening the line, when every change-over opens it. [-]
    trap : str
        Why not to drive it; empty for one that is worth driving.
    hurts : DriftHurts or None
        What it suffers from a drift that is no straight line; None where it was not simulated.
    """

    order: str
    runs_each: int
    changes: int
    design: Design
    setup_factor: float
    trap: str = ""
    hurts: DriftHurts | None = None


def describe_order(order: str) -> Order:
    """
    Describe an order.

    Parameters
    ----------
    order : str
        A for a baseline run, B for a candidate run.

    Returns
    -------
    Order
        With the set-up factor of a line that is opened at every change.

    Raises
    ------
    InputError
        Other letters, or one of the two missing.

    Examples
    --------
    >>> abba = describe_order("ABBA")
    >>> abba.runs_each, abba.changes, abba.design.variance_factor, abba.setup_factor
    (2, 2, 1.0, 1.5)
    """
    design = design_of_order(order)
    return Order(
        order=order,
        runs_each=order.count("B"),
        changes=sum(1 for one, two in pairwise(order) if one != two),
        design=design,
        setup_factor=design.setup_factor(plumbings(order)),
        trap=TRAPS.get(order, ""),
        hurts=HURTS.get(order),
    )


def plumbings(order: str) -> tuple[str, ...]:
    """
    Name the plumbing of each run when every change-over opens the line.

    Parameters
    ----------
    order : str
        Such as ``ABBA``.

    Returns
    -------
    tuple of str
        One name a run; neighbours of one kind share it.

    Examples
    --------
    >>> plumbings("ABBA")
    ('1', '2', '2', '3')
    """
    names = [1]
    for one, two in pairwise(order):
        names.append(names[-1] + (one != two))
    return tuple(str(name) for name in names)


def candidate_orders(runs_each: int) -> tuple[Order, ...]:
    """
    Give the orders to set side by side.

    Parameters
    ----------
    runs_each : int
        Runs of each that are planned: their order is listed too. [-]

    Returns
    -------
    tuple of Order
        Those worth driving by their number of runs, then the traps.
    """
    names = {*WORTH_DRIVING, *planned_orders(runs_each)}
    good = sorted(names, key=lambda name: (len(name), describe_order(name).changes, name))
    return tuple(describe_order(name) for name in (*good, *TRAPS))


def planned_orders(runs_each: int) -> tuple[str, ...]:
    """
    Give the orders that may be planned for a number of runs of each.

    Parameters
    ----------
    runs_each : int
        Runs of the candidate. [-]

    Returns
    -------
    tuple of str
        First the one for a change-over that costs nothing, then, where there is another, the one
        with the fewest change-overs that still tells drift from the kit.

    Examples
    --------
    >>> [planned_orders(n) for n in (1, 2, 3, 4)]
    [('ABA',), ('ABBA',), ('ABABAB', 'ABBAAB'), ('ABABABAB', 'ABBAABBA')]
    """
    usual = recommended_order(runs_each)
    pairs, odd = divmod(runs_each, 2)
    sparing = "ABBA" * pairs + "AB" * odd
    return (usual,) if runs_each < 3 else (usual, sparing)


def variance_ratio(order: Order, other: Order) -> float:
    """
    Compare the variances of two orders.

    Parameters
    ----------
    order, other : Order
        Two orders.

    Returns
    -------
    float
        Of the first over the second; infinite where the first cannot tell drift from the
        kit. [-]
    """
    mine = order.design.variance_factor_with_drift
    return mine / other.design.variance_factor if math.isfinite(mine) else math.inf
