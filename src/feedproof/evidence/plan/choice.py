"""
Which order to drive: the least work with which every measure that can be settled is settled.

Alternating is the least hurt by drift that is no straight line; where every change-over opens the
line, the order with the fewest change-overs costs least.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from feedproof.case.margin import Measure
from feedproof.evidence.plan.measure_plan import Footing, chances
from feedproof.evidence.plan.orders import TOO_GOOD, Order, describe_order, planned_orders
from feedproof.evidence.planning import MOST_RUNS_EACH

_HALF_PERCENT = 0.005
"""A chance is asked for in whole percent. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """
    What one measure needs.

    Parameters
    ----------
    measure : Measure
        Of what.
    order : str or None
        The least order that reaches the chance; None when none does or nothing is known.
    runs_each : int or None
        Its runs of each. [-]
    reason : str
        Why there is none.
    """

    measure: Measure
    order: str | None
    runs_each: int | None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """
    The order to drive.

    Parameters
    ----------
    order : Order
        The order.
    needs : tuple of Need
        What each measure would need by itself.
    reasons : tuple of str
        Why this order.
    chance_of_all : float or None
        At least this chance that all margins that can be excluded are, when there is no loss;
        None when nothing can be said. [-]
    """

    order: Order
    needs: tuple[Need, ...]
    reasons: tuple[str, ...]
    chance_of_all: float | None


def choose_order(
    footings: Sequence[Footing], chance: float, runs_each: int | None = None
) -> Choice:
    """
    Choose the order to drive.

    Parameters
    ----------
    footings : sequence of Footing
        One for each measure, at least one.
    chance : float
        Wanted for each measure. [-]
    runs_each : int, optional
        Runs of each that somebody decided on; chosen when left out. [-]

    Returns
    -------
    Choice
        The order with its reasons.
    """
    replumbed = footings[0].replumbed
    needs = tuple(_need(footing, chance) for footing in footings)
    if runs_each is not None:
        order = describe_order(planned_orders(runs_each)[-1 if replumbed else 0])
        reasons = [f"{runs_each} runs of each were asked for."]
    else:
        asked = [describe_order(need.order) for need in needs if need.order is not None]
        order = max(asked or [describe_order("ABABAB")], key=_work(replumbed=replumbed))
        reasons = [_why_so_many(order, needs, chance)]
    reasons += [need.reason for need in needs if need.reason]
    reasons += _why_this_order(order, replumbed=replumbed)
    return Choice(
        order=order,
        needs=needs,
        reasons=tuple(reasons),
        chance_of_all=_chance_of_all(footings, order, needs),
    )


def _work(*, replumbed: bool) -> Callable[[Order], tuple[int, int]]:
    """Give what an order costs: runs first, or change-overs first where each opens the line."""
    if replumbed:
        return lambda order: (order.changes, len(order.order))
    return lambda order: (len(order.order), order.changes)


def _need(footing: Footing, chance: float) -> Need:
    """Find the least order with which a measure reaches the chance."""
    name = footing.measure.value.replace("_", " ")
    if footing.margin is None:
        return Need(measure=footing.measure, order=None, runs_each=None)
    if footing.scatter is None:
        return Need(
            measure=footing.measure,
            order=None,
            runs_each=None,
            reason=f"No repeatability of {name} is declared, so nobody can say what it takes.",
        )
    tried = [
        describe_order(order)
        for n in range(1, MOST_RUNS_EACH + 1)
        for order in (planned_orders(n) if footing.replumbed else planned_orders(n)[:1])
    ]
    for order in sorted(tried, key=_work(replumbed=footing.replumbed)):
        if min(chances(footing, order)) >= chance - _HALF_PERCENT:
            return Need(measure=footing.measure, order=order.order, runs_each=order.runs_each)
    return Need(
        measure=footing.measure,
        order=None,
        runs_each=None,
        reason=(
            f"The margin of {name} cannot be excluded with a chance of {100 * chance:.0f}\u00a0% in"
            f" {MOST_RUNS_EACH} runs of each: improve the step that is named first."
        ),
    )


def _why_so_many(order: Order, needs: Sequence[Need], chance: float) -> str:
    """Say what decides the number of runs."""
    names = [need.measure.value.replace("_", " ") for need in needs if need.order == order.order]
    if not names:
        return (
            "No number of runs can be worked out; three of each are the least with which the runs"
            " show their own scatter well enough to be of use."
        )
    return (
        f"{order.order} is the least with which {' and '.join(names)} can be settled with a chance"
        f" of {100 * chance:.0f}\u00a0%."
    )


def _why_this_order(order: Order, *, replumbed: bool) -> list[str]:
    """Say what speaks for the order and what hurts it."""
    reasons = []
    if replumbed and order.runs_each > 1:
        reasons.append(
            f"Every change-over opens the line, so the order with few of them ({order.changes})"
            " is taken."
        )
    elif order.runs_each == 1:
        reasons.append(
            "The baseline stands on both sides of the kit, so that a straight drift cancels; the"
            " runs show nothing of their own scatter, and all rests on the declared repeatability."
        )
    elif order.runs_each == 2:
        reasons.append(
            "ABBA has less variance than ABAB and bears a jump half-way; ABAB bears a bent drift"
            " and an odd first or last run better."
        )
    else:
        reasons.append(
            "Alternating from three runs of each on is the least hurt by drift that is no straight"
            " line."
        )
    optimistic = TOO_GOOD.get(order.order)
    if optimistic is not None:
        reasons.append(
            "Were the true repeatability twice the declared one, a loss of exactly the margin would"
            f" pass with {optimistic:.2g} where 0.05 is meant (simulated)"
            + ("; no run would show it." if order.runs_each == 1 else ".")
        )
    if order.hurts is not None:
        h = order.hurts
        figures = {
            "a jump of two repeatabilities half-way": h.jump,
            "an odd first or last run": h.odd_end,
            "a warm-up curve": h.warm_up,
            "a bent drift": h.quadratic,
        }
        told = ", ".join(f"{name} {value:.2g}" for name, value in figures.items() if value)
        reasons.append(
            f"Simulated for {order.order}, where 0.05 is meant, a loss of exactly the margin passes"
            f" with: {told}."
        )
    else:
        reasons.append(
            "Drift that is no straight line was simulated for shorter orders only; of them"
            " ABABAB, which alternates as well, is at worst 0.09 where 0.05 is meant."
        )
    return reasons


def _chance_of_all(
    footings: Sequence[Footing], order: Order, needs: Sequence[Need]
) -> float | None:
    """Give the least chance that all margins that can be excluded are (Bonferroni's bound)."""
    settled = {need.measure for need in needs if need.order is not None}
    found = [min(chances(footing, order)) for footing in footings if footing.measure in settled]
    if not found:
        return None
    return max(0.0, 1.0 - math.fsum(1.0 - each for each in found))
