"""
Monte Carlo beside the linear budget, after JCGM 101:2008.

Trials are made in blocks until four figures (mean, standard uncertainty, both ends of the
interval) are stable to the stated digits (7.9), and the linear interval is then held against
that of the simulation (clause 8).
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from feedproof.evidence.budget.measurand import CONFIDENCE, Budget, Measurand, linear_budget
from feedproof.evidence.budget.simulated import Agreement, MonteCarlo

FloatArray = NDArray[np.float64]

SEED = 20080101
DIGITS = 2
MOST_TRIALS = 1_000_000
_CLOSER = 0.2
_BLOCK = 10_000
"""Least trials of a block: max(J, 10^4), J at least 100 / (1 - p) (JCGM 101, 7.9.4)."""
_LEAST_BLOCKS = 10
"""Asked for beyond the text, which is content with two: a scatter of two blocks is luck."""


def numerical_tolerance(standard_uncertainty: float, digits: int = DIGITS) -> float:
    """
    Give half a unit of the last stated digit of a standard uncertainty.

    Parameters
    ----------
    standard_uncertainty : float
        Above 0, in any unit.
    digits : int
        Digits of it that mean something, 1 or 2 as a rule. [-]

    Returns
    -------
    float
        In the same unit.

    Raises
    ------
    ValueError
        No uncertainty above 0, or no digit.

    Notes
    -----
    JCGM 101:2008, 7.9.2.

    Examples
    --------
    >>> numerical_tolerance(0.35, 2), numerical_tolerance(35.0, 1)
    (0.005, 5.0)
    """
    if not (standard_uncertainty > 0.0 and math.isfinite(standard_uncertainty)):
        raise ValueError(f"standard uncertainty {standard_uncertainty} must be finite and above 0")
    if digits < 1:
        raise ValueError(f"{digits} digits are none")
    return 0.5 * 10.0 ** (math.floor(math.log10(standard_uncertainty)) - digits + 1)


@lru_cache(maxsize=128)
def simulate(
    measurand: Measurand,
    *,
    seed: int = SEED,
    digits: int = DIGITS,
    confidence: float = CONFIDENCE,
    most_trials: int = MOST_TRIALS,
    tolerance_share: float = 1.0,
) -> MonteCarlo:
    """
    Propagate the distributions of the inputs through the model.

    Parameters
    ----------
    measurand : Measurand
        Model and inputs.
    seed : int
        Start of the generator: the same seed gives the same digits.
    digits : int
        Digits of the standard uncertainty that must be stable. [-]
    confidence : float
        Of both intervals. [-]
    most_trials : int
        Cap; where it comes first the result is marked as not stable and says so. [-]
    tolerance_share : float
        Share of the numerical tolerance within which the figures must be stable; a fifth is
        advised where a linear result is held against them (8.2). [-]

    Returns
    -------
    MonteCarlo
        Mean, standard uncertainty, both intervals.

    Raises
    ------
    ValueError
        No room for ten blocks below the cap; a model that gives a figure that is not finite.
    """
    block = max(_BLOCK, math.ceil(100.0 / (1.0 - confidence)))
    if most_trials < _LEAST_BLOCKS * block:
        raise ValueError(
            f"a cap of {most_trials} trials is below {_LEAST_BLOCKS} blocks of {block}"
        )
    random = np.random.default_rng(seed)
    blocks: list[FloatArray] = []
    figures: list[tuple[float, float, float, float]] = []
    stable, tolerance, spread = False, 0.0, 0.0
    while not stable and (len(blocks) + 1) * block <= most_trials:
        drawn = _block(measurand, random, block)
        blocks.append(drawn)
        low, high = _symmetric(np.sort(drawn), confidence)
        figures.append((float(drawn.mean()), float(drawn.std(ddof=1)), low, high))
        if len(blocks) >= _LEAST_BLOCKS:
            # The mean of the blocks' uncertainties gives the digits, as all trials would.
            u = float(np.mean([each[1] for each in figures]))
            tolerance = _tolerance(u, digits)
            spread = _spread(figures)
            stable = spread <= tolerance_share * tolerance
    trials = np.sort(np.concatenate(blocks))
    low, high = _symmetric(trials, confidence)
    shortest = _shortest(trials, confidence)
    # Asked for a share of the tolerance and stopped between: the digits are stable all the same.
    stable = spread <= tolerance
    text = f"stopped at {trials.size} trials, before {digits} digits were stable"
    return MonteCarlo(
        trials=trials.size,
        seed=seed,
        digits=digits,
        tolerance=tolerance,
        doubt=spread,
        stable=stable,
        finding="" if stable else text,
        mean=float(trials.mean()),
        standard_uncertainty=float(trials.std(ddof=1)),
        symmetric_low=low,
        symmetric_high=high,
        shortest_low=shortest[0],
        shortest_high=shortest[1],
    )


def full_budget(measurand: Measurand, *, digits: int = DIGITS, seed: int = SEED) -> Budget:
    """
    Give the linear budget with the simulation beside it.

    Parameters
    ----------
    measurand : Measurand
        Model and inputs.
    digits : int
        Digits of the standard uncertainty that both are compared to. [-]
    seed : int
        Of the simulation.

    Returns
    -------
    Budget
        With simulation and whether both agree.
    """
    budget = linear_budget(measurand)
    found = simulate(measurand, digits=digits, seed=seed, confidence=budget.confidence)
    if agreement(budget, found) is Agreement.CANNOT_TELL:
        found = simulate(
            measurand,
            digits=digits,
            seed=seed,
            confidence=budget.confidence,
            tolerance_share=_CLOSER,
        )
    return replace(budget, monte_carlo=found, agreement=agreement(budget, found))


def agreement(budget: Budget, found: MonteCarlo) -> Agreement:
    """
    Hold the linear interval against that of the simulation.

    Parameters
    ----------
    budget : Budget
        The linear one.
    found : MonteCarlo
        The simulation.

    Returns
    -------
    Agreement
        ``agrees`` when both ends differ by no more than the numerical tolerance (JCGM 101:2008,
        8.1); ``cannot_tell`` when that hangs on the doubt of the simulation itself, and that is
        above a fifth of the tolerance.

    Notes
    -----
    Where they differ the simulation's interval is the right one.
    """
    if budget.standard_uncertainty == 0.0:
        return Agreement.AGREES
    tolerance = numerical_tolerance(budget.standard_uncertainty, found.digits)
    low = budget.value - budget.expanded_uncertainty - found.symmetric_low
    high = budget.value + budget.expanded_uncertainty - found.symmetric_high
    distance = max(abs(low), abs(high))
    if distance - found.doubt > tolerance:
        return Agreement.DIFFERS
    if distance + found.doubt <= tolerance:
        return Agreement.AGREES
    if found.doubt > _CLOSER * tolerance:
        return Agreement.CANNOT_TELL
    return Agreement.AGREES if distance <= tolerance else Agreement.DIFFERS


def _tolerance(standard_uncertainty: float, digits: int) -> float:
    """Give the numerical tolerance; nothing varies where no input is in doubt."""
    return numerical_tolerance(standard_uncertainty, digits) if standard_uncertainty > 0.0 else 0.0


def _block(measurand: Measurand, random: np.random.Generator, trials: int) -> FloatArray:
    """Make one block of trials."""
    drawn = {source.symbol: source.draw(random, trials) for source in measurand.sources}
    with np.errstate(all="ignore"):  # what is not finite is refused below, in words
        result = np.asarray(measurand.at(**drawn), dtype=np.float64)
    values = np.broadcast_to(result, (trials,))
    if not np.isfinite(values).all():
        raise ValueError(
            f"{measurand.quantity}: the model gives no finite figure for some of the inputs that"
            " their distributions allow"
        )
    return np.array(values)


def _spread(figures: Sequence[tuple[float, float, float, float]]) -> float:
    """Give twice the largest standard deviation of the mean over blocks (JCGM 101, 7.9.4)."""
    each = np.array(figures)
    return float(2.0 * np.max(each.std(axis=0, ddof=1)) / math.sqrt(len(figures)))


def _covered(size: int, confidence: float) -> int:
    """Give how many of the sorted trials an interval spans (JCGM 101, 7.7.1)."""
    return int(confidence * size + 0.5)


def _symmetric(ordered: FloatArray, confidence: float) -> tuple[float, float]:
    """Give the interval that leaves as many below as above (JCGM 101, 7.7.2)."""
    spanned = _covered(ordered.size, confidence)
    first = (ordered.size - spanned) // 2
    return float(ordered[first]), float(ordered[first + spanned - 1])


def _shortest(ordered: FloatArray, confidence: float) -> tuple[float, float]:
    """Give the shortest interval (JCGM 101, 7.7.3 and 5.3.4)."""
    spanned = _covered(ordered.size, confidence)
    widths = ordered[spanned - 1 :] - ordered[: ordered.size - spanned + 1]
    first = int(np.argmin(widths))
    return float(ordered[first]), float(ordered[first + spanned - 1])
