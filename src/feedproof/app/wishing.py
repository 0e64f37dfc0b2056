"""Wishes as words become wishes, all mistakes told at once."""

import math

from feedproof.app.choice_result import (
    BASELINE_SHARE,
    CHANGE_COST,
    HALVING_WORTH,
    JOINT_COST,
    Wishes,
)
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.records.quantity import Quantity, read_number

DISTANCE = Quantity("length", "100 km", "1000000 km")
SPACE = Quantity("volume", "0.1 L", "200 L")
SHARE = Quantity("fraction", "1 %", "100 %")
LONGEST_WORD = 12


def wishes_of(
    *,
    at_least: str | None = None,
    water: bool = False,
    space: str | None = None,
    most_cost: float | None = None,
    joint_cost: float | None = None,
    change_cost: float | None = None,
    halving_worth: float | None = None,
    baseline_share: str | None = None,
    currency: str | None = None,
    leave_out: tuple[str, ...] = (),
) -> Wishes:
    """
    Read wishes.

    Parameters
    ----------
    at_least, space, baseline_share : str, optional
        Distance, volume and fraction with their units.
    water : bool
        Free water must be taken out.
    most_cost, joint_cost, change_cost, halving_worth : float, optional
        Costs, 0 or more.
    currency : str, optional
        Word behind costs.
    leave_out : tuple of str
        Items of the catalogue.

    Returns
    -------
    Wishes
        With the names of what is assumed.

    Raises
    ------
    InputError
        With every mistake.
    """
    faults: list[Finding] = []

    def read(name: str, text: str | None, quantity: Quantity) -> float | None:
        if text is None:
            return None
        problems = quantity.problems_of(text)
        faults.extend(error(name, each.message, each.remedy) for each in problems)
        return None if problems else read_number(text, quantity.kind)

    for name, value in (
        ("--most-cost", most_cost),
        ("--joint-cost", joint_cost),
        ("--change-cost", change_cost),
        ("--halving-worth", halving_worth),
    ):
        if value is not None and not 0.0 <= value < math.inf:
            faults.append(error(name, f"{value:g} is no cost; allowed is 0 or more."))
    if currency is not None and not (currency.isprintable() and 0 < len(currency) <= LONGEST_WORD):
        faults.append(error("--currency", f"a word of 1 to {LONGEST_WORD} letters is wanted."))
    at_least_m = read("--at-least", at_least, DISTANCE)
    space_m3 = read("--space", space, SPACE)
    share = read("--baseline-share", baseline_share, SHARE)
    if faults:
        raise InputError(faults)
    worths = {
        "joint cost": joint_cost,
        "change cost": change_cost,
        "worth of a halving": halving_worth,
    }
    return Wishes(
        at_least_m=at_least_m,
        water=water,
        most_space_m3=space_m3,
        most_cost=most_cost,
        joint_cost=JOINT_COST if joint_cost is None else joint_cost,
        change_cost=CHANGE_COST if change_cost is None else change_cost,
        halving_worth=HALVING_WORTH if halving_worth is None else halving_worth,
        baseline_share=BASELINE_SHARE if share is None else share,
        currency=currency or "cost",
        left_out=tuple(sorted(leave_out)),
        assumed=tuple(name for name, value in worths.items() if value is None),
    )
