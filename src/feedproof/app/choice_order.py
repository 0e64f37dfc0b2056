"""What rated candidates are held against: limits and wishes, each other, and the printed rule."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedproof.app.choice_result import RatedKit, Wishes

FloatArray = NDArray[np.float64]

SAME_SCORE = 0.1
"""Halvings of the exposure in whose steps scores are taken as equal: the project's own rule. [-]"""


def broken(kit: RatedKit, wishes: Wishes) -> tuple[str, ...]:
    """
    Say which limits and wishes a candidate breaks.

    Parameters
    ----------
    kit : RatedKit
        A rated candidate.
    wishes : Wishes
        What is asked.

    Returns
    -------
    tuple of str
        Each by its name; empty when none.
    """
    rules = (
        ("limit when clean", kit.clean_slack < 0.0),
        ("limit at the end of its interval", kit.clean_slack >= 0.0 > kit.end_slack + 1e-9),
        ("least interval", wishes.at_least_m is not None and kit.interval_m < wishes.at_least_m),
        ("wish for water", wishes.water and not kit.takes_water),
        ("room there is", wishes.most_space_m3 is not None and kit.space_m3 > wishes.most_space_m3),
        ("cost that is borne", wishes.most_cost is not None and kit.whole_cost > wishes.most_cost),
    )
    return tuple(name for name, breaks in rules if breaks)


def objectives_of(kits: Sequence[RatedKit]) -> FloatArray:
    """
    Give what the front is made of.

    Parameters
    ----------
    kits : sequence of RatedKit
        Rated candidates.

    Returns
    -------
    array, shape (n, 5)
        Exposure, particles injected, slack, interval and cost, all to be small.
    """
    return np.array(
        [
            (each.exposure, each.injected_per_l, -each.end_slack, -each.interval_m, each.whole_cost)
            for each in kits
        ]
    ).reshape(len(kits), 5)


def place_of(kit: RatedKit, wishes: Wishes) -> tuple[bool, float, float, float, str]:
    """
    Give what candidates are ordered by.

    Parameters
    ----------
    kit : RatedKit
        A rated candidate.
    wishes : Wishes
        For the worth of a halving.

    Returns
    -------
    tuple
        Breaking nothing first; then the score in steps of `SAME_SCORE` halvings; in one step the
        one with most restriction left; then the score itself, and the name.
    """
    step = SAME_SCORE * wishes.halving_worth
    finite = step > 0.0 and math.isfinite(kit.score)
    coarse = math.floor(kit.score / step) if finite else kit.score
    return bool(kit.why_not), coarse, -kit.end_slack, kit.score, kit.id
