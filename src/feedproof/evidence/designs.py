"""
Orders of runs: how much an order of baseline (A) and candidate (B) costs in variance.

The model of a session is y = mu + d b + gamma (t - mean t) + e, with b = 1 for the candidate and
t the place in the order.  The estimate of d is a weighted sum of the runs; the sum of the squared
weights, ``variance_factor``, times the run-to-run variance is the variance of d.  Everything is
in closed form with exactly rounded sums: the digits are the same on every machine and for every
order of storage.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.core.errors import InputError

# Below this share of its largest possible value the determinant is rounding: drift and candidate
# cannot be told apart.
_CONFOUNDED = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """
    What an order of runs makes of the difference B - A.

    Parameters
    ----------
    weights : tuple of float
        Weight of each run in the difference. [-]
    drift_weights : tuple of float
        Weight of each run in the drift per place; all 0 where drift is not fitted. [-]
    variance_factor : float
        Sum of the squared weights. [-]
    degrees_of_freedom : int
        Runs less fitted constants. [-]
    drift_fitted : bool
        False where drift and candidate cannot be told apart.
    mean_gap : float
        Mean place of the candidate's runs less that of the baseline's. [-]
    """

    weights: tuple[float, ...]
    drift_weights: tuple[float, ...]
    variance_factor: float
    degrees_of_freedom: int
    drift_fitted: bool
    mean_gap: float

    @property
    def variance_factor_with_drift(self) -> float:
        """Give the factor when drift is an unknown: infinite where it cannot be fitted."""
        return self.variance_factor if self.drift_fitted else math.inf

    def setup_factor(self, setup: Sequence[str]) -> float:
        """
        Give the factor on the variance of a set-up that its runs share.

        Parameters
        ----------
        setup : sequence of str, length n
            Plumbing of each run.

        Returns
        -------
        float
            Sum over set-ups of the squared sum of the weights inside. [-]

        Examples
        --------
        >>> design_of_order("ABBA").setup_factor(["a", "b", "b", "c"])
        1.5
        """
        groups: dict[str, list[float]] = {}
        for name, weight in zip(setup, self.weights, strict=True):
            groups.setdefault(name, []).append(weight)
        return math.fsum(math.fsum(inside) ** 2 for inside in groups.values())


def fit_design(candidate: Sequence[bool], position: Sequence[float]) -> Design:
    """
    Work out the weights of a set of runs.

    Parameters
    ----------
    candidate : sequence of bool, length n
        True for a run of the candidate.
    position : sequence of float, length n
        Place in the session's order. [-]

    Returns
    -------
    Design
        Weights, variance factor and degrees of freedom.

    Raises
    ------
    InputError
        No run of one of the two, or lists of different length.

    Notes
    -----
    Drift is fitted from three runs on, unless it is confounded with the candidate or all places
    are equal (then there is nothing to fit, and the fit is the ordinary two-sample one).

    Examples
    --------
    >>> fit_design([False, True, True, False], [0, 1, 2, 3]).variance_factor
    1.0
    """
    n = len(candidate)
    if len(position) != n:
        raise InputError.at("order", f"{n} runs but {len(position)} places in the order")
    n_candidate = sum(1 for b in candidate if b)
    if n_candidate in (0, n):
        raise InputError.at(
            "order",
            f"{n - n_candidate} baseline and {n_candidate} candidate runs: both need at least 1",
            "Add runs of the one that is missing.",
        )
    # Deviations times n are whole numbers for whole places, so the table's fractions come out
    # exactly.
    total = math.fsum(position)
    t = [n * float(place) - total for place in position]
    b = [float(n * bool(flag) - n_candidate) for flag in candidate]
    s_bb = math.fsum(x * x for x in b)
    s_bt = math.fsum(x * y for x, y in zip(b, t, strict=True))
    s_tt = math.fsum(x * x for x in t)
    determinant = s_bb * s_tt - s_bt * s_bt
    fitted = n >= 3 and s_tt > 0.0 and determinant > _CONFOUNDED * s_bb * s_tt
    if fitted:
        weights = [n * (s_tt * x - s_bt * y) / determinant for x, y in zip(b, t, strict=True)]
        drift = [n * (s_bb * y - s_bt * x) / determinant for x, y in zip(b, t, strict=True)]
    else:
        weights = [n * x / s_bb for x in b]
        drift = [0.0] * n
    return Design(
        weights=tuple(weights),
        drift_weights=tuple(drift),
        variance_factor=n * n * (s_tt / determinant if fitted else 1.0 / s_bb),
        degrees_of_freedom=n - (3 if fitted else 2),
        drift_fitted=fitted,
        mean_gap=s_bt / s_bb,
    )


def design_of_order(order: str) -> Design:
    """
    Work out the weights of an order such as ``ABBA``.

    Parameters
    ----------
    order : str
        A for a baseline run, B for a candidate run, in the order driven.

    Returns
    -------
    Design
        Weights, variance factor and degrees of freedom.

    Raises
    ------
    InputError
        Other letters, or one of the two missing.

    Examples
    --------
    >>> design_of_order("ABA").variance_factor, design_of_order("ABA").degrees_of_freedom
    (1.5, 0)
    """
    wrong = sorted(set(order) - {"A", "B"})
    if wrong:
        raise InputError.at(
            "order", f"{order!r} holds {', '.join(wrong)}: only A (baseline) and B (candidate)"
        )
    return fit_design([letter == "B" for letter in order], range(len(order)))


def recommended_order(runs_each: int) -> str:
    """
    Give the order to drive for a number of runs of each.

    Parameters
    ----------
    runs_each : int
        Runs of the candidate, 1 or more. [-]

    Returns
    -------
    str
        A-B-A for one (so that drift can be fitted), ABBA for two, alternating from three on:
        alternating is the least hurt by drift that is not a straight line.

    Raises
    ------
    ValueError
        Fewer than one run.

    Examples
    --------
    >>> [recommended_order(n) for n in (1, 2, 3)]
    ['ABA', 'ABBA', 'ABABAB']
    """
    if runs_each < 1:
        raise ValueError(f"{runs_each} runs: at least 1")
    return {1: "ABA", 2: "ABBA"}.get(runs_each, "AB" * runs_each)


def order_words(runs_each: int) -> str:
    """
    Write the order to drive for a number of runs of each.

    Parameters
    ----------
    runs_each : int
        Runs of the candidate, 1 or more. [-]

    Returns
    -------
    str
        The letters of `recommended_order`, in short where they would be many.

    Raises
    ------
    ValueError
        Fewer than one run.

    Examples
    --------
    >>> order_words(1), order_words(8)
    ('A-B-A', 'A-B eight times over')
    """
    names = dict(enumerate(("five", "six", "seven", "eight", "nine", "ten"), start=5))
    if runs_each < min(names):
        return "-".join(recommended_order(runs_each))
    return f"A-B {names.get(runs_each, runs_each)} times over"


def session_words(runs_each: int) -> str:
    """
    Say which runs to drive, and in which order, for a number of runs of each.

    Parameters
    ----------
    runs_each : int
        Runs of the candidate, 1 or more. [-]

    Returns
    -------
    str
        How many runs in all, their order, and what its letters mean.

    Raises
    ------
    ValueError
        Fewer than one run.

    Examples
    --------
    >>> session_words(1)
    '3 runs in one new session, order A-B-A (A without, B with)'
    """
    count = len(recommended_order(runs_each))
    return f"{count} runs in one new session, order {order_words(runs_each)} (A without, B with)"
