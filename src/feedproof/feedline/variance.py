"""
Variance-based sensitivity: how much of an outcome's variance each uncertain input brings.

A model of independent inputs is asked at two sets of points of a scrambled Sobol' sequence, and
once more for each input with that input alone taken from the second set.  What an input brings by
itself is its first-order index; its total index adds what it does together with others.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.stats import qmc

from feedproof.core.errors import InputError

FloatArray = NDArray[np.float64]
BatchModel = Callable[[FloatArray], FloatArray]
"""From points of the unit cube, shape (n, n_inputs), to outcomes, shape (n, n_outputs)."""

LEAST_SAMPLES, MOST_SAMPLES = 16, 2**16
RESAMPLES = 1000
CONFIDENCE = 0.95
# An outcome that moves by less than this part of itself is taken as constant: solvers leave 1e-13.
CONSTANT = 1e-11
_RESAMPLES_AT_A_TIME = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceIndices:
    """
    Sobol' indices with their intervals; not a number for an outcome that nothing moves.

    Parameters
    ----------
    first, first_low, first_high : array, shape (n_outputs, n_inputs)
        Share of the variance that an input brings by itself: what would be gone, on average, if
        it were known; and its bootstrap interval. [-]
    total, total_low, total_high : array, shape (n_outputs, n_inputs)
        Share that an input brings by itself and together with others: what would be left if all
        others were known; and its interval. [-]
    first_sum, first_sum_low, first_sum_high : array, shape (n_outputs,)
        Sum of the first-order indices, 1 where no inputs act together, and its interval. [-]
    total_sum, total_sum_low, total_sum_high : array, shape (n_outputs,)
        Sum of the total indices, 1 where no inputs act together, and its interval; its excess
        over 1 is at least the share of what inputs do together. [-]
    outcomes : array, shape (2 base_samples, n_outputs)
        Outcomes at the two sets of points, which are a sample of the model's distribution.
    points : array, shape (2 base_samples, n_inputs)
        Those points in the unit cube. [-]
    """

    first: FloatArray
    first_low: FloatArray
    first_high: FloatArray
    total: FloatArray
    total_low: FloatArray
    total_high: FloatArray
    first_sum: FloatArray
    first_sum_low: FloatArray
    first_sum_high: FloatArray
    total_sum: FloatArray
    total_sum_low: FloatArray
    total_sum_high: FloatArray
    outcomes: FloatArray
    points: FloatArray


def variance_indices(
    model: BatchModel,
    inputs: int,
    *,
    base_samples: int = 1024,
    seed: int = 1,
    resamples: int = RESAMPLES,
) -> VarianceIndices:
    """
    Estimate first-order and total Sobol' indices of a model.

    Parameters
    ----------
    model : callable
        From points of the unit cube, shape (n, n_inputs), to outcomes, shape (n, n_outputs); it is
        called with base_samples points, n_inputs + 2 times.  The inputs are independent.
    inputs : int
        Number of inputs, 1 or more.
    base_samples : int
        Points in each of the two sets, a power of 2.
    seed : int
        Seed of the scrambling and of the bootstrap; equal seeds give equal results.
    resamples : int
        Resamples of the bootstrap.

    Returns
    -------
    VarianceIndices
        With 95 % intervals of the percentile bootstrap over the points.  The bootstrap takes the
        points as drawn at random; those of a Sobol' sequence spread better, so it errs to the
        wide side.

    Raises
    ------
    InputError
        A number of samples that the sequence cannot balance, or an outcome that is not finite.

    Notes
    -----
    Estimators of Saltelli et al., Comput. Phys. Commun. 181 (2010) 259-270, table 2 (b) and (f),
    as `scipy.stats.sobol_indices` computes them.

    Examples
    --------
    >>> found = variance_indices(lambda x: x @ np.array([[3.0], [1.0]]), 2, base_samples=256)
    >>> np.round(found.total[0], 2).tolist()
    [0.9, 0.1]
    """
    check_samples(base_samples, "base_samples")
    sampling, resampling = np.random.SeedSequence(seed).spawn(2)
    sequence = qmc.Sobol(2 * inputs, rng=np.random.default_rng(sampling), bits=64)
    both = sequence.random(base_samples)
    first, second = both[:, :inputs], both[:, inputs:]
    f_a, f_b = _finite(model(first)), _finite(model(second))
    pages = []
    for column in range(inputs):
        mixed = first.copy()
        mixed[:, column] = second[:, column]
        pages.append(_finite(model(mixed)))
    f_ab = np.stack(pages)

    # Where nothing moves an outcome its indices are 0/0; they are told as not a number below.
    with np.errstate(divide="ignore", invalid="ignore"):
        found = stats.sobol_indices(
            func={"f_A": f_a.T, "f_B": f_b.T, "f_AB": np.moveaxis(f_ab, 1, 2)}, n=base_samples
        )
    shape = (f_a.shape[1], inputs)
    first_order = np.reshape(found.first_order, shape)
    total_order = np.reshape(found.total_order, shape)
    spread = _bootstrap(f_a, f_b, f_ab, resamples, np.random.default_rng(resampling))
    outcomes = np.concatenate([f_a, f_b])
    still = np.ptp(outcomes, axis=0) <= CONSTANT * np.max(np.abs(outcomes), axis=0)

    def told(values: FloatArray) -> FloatArray:
        return np.where(still if values.ndim == 1 else still[:, None], np.nan, values)

    return VarianceIndices(
        first=told(first_order),
        first_low=told(spread[0][0]),
        first_high=told(spread[0][1]),
        total=told(total_order),
        total_low=told(spread[1][0]),
        total_high=told(spread[1][1]),
        first_sum=told(np.sum(first_order, axis=1)),
        first_sum_low=told(spread[2][0]),
        first_sum_high=told(spread[2][1]),
        total_sum=told(np.sum(total_order, axis=1)),
        total_sum_low=told(spread[3][0]),
        total_sum_high=told(spread[3][1]),
        outcomes=outcomes,
        points=np.concatenate([first, second]),
    )


def check_samples(samples: int, place: str) -> None:
    """
    Refuse a number of samples that a Sobol' sequence cannot balance.

    Parameters
    ----------
    samples : int
        Points in each set.
    place : str
        Where it was given, for the message.

    Raises
    ------
    InputError
        No power of 2, too few to say anything, or too many to wait for.
    """
    if samples & (samples - 1) == 0 and LEAST_SAMPLES <= samples <= MOST_SAMPLES:
        return
    raise InputError.at(
        place,
        f"{samples} is no number of samples that the sequence can balance.",
        f"Give a power of 2 from {LEAST_SAMPLES} to {MOST_SAMPLES}, such as 1024.",
    )


def _finite(outcomes: FloatArray) -> FloatArray:
    """Refuse outcomes that are no numbers: a mean over the others would be a guess."""
    found = np.asarray(outcomes, dtype=np.float64)
    bad = int(np.count_nonzero(~np.isfinite(found)))
    if bad:
        raise InputError.at(
            "model",
            f"{bad} of {found.size} outcomes are not finite numbers.",
            "Narrow the ranges of the inputs to where the model has an answer.",
        )
    return found


def _bootstrap(
    f_a: FloatArray, f_b: FloatArray, f_ab: FloatArray, resamples: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """
    Give intervals of first, total and the sums of both: each with its two ends in front.

    Resampling the points with replacement gives each a count; every estimate is then a weighted
    mean, so all resamples are a few products of matrices.
    """
    samples, outputs = f_a.shape
    inputs = f_ab.shape[0]
    middle = np.mean(np.concatenate([f_a, f_b]), axis=0)
    a, b, ab = f_a - middle, f_b - middle, np.moveaxis(f_ab - middle, 0, 2)
    moved = ab - a[:, :, None]
    product = (b[:, :, None] * moved).reshape(samples, -1)
    square = (moved**2).reshape(samples, -1)
    flat = moved.reshape(samples, -1)
    firsts, totals = [], []
    even = np.full(samples, 1.0 / samples)
    for start in range(0, resamples, _RESAMPLES_AT_A_TIME):
        count = min(_RESAMPLES_AT_A_TIME, resamples - start)
        weight = rng.multinomial(samples, even, size=count) / samples
        mean = weight @ (a + b) / 2.0
        variance = (weight @ (a**2 + b**2) / 2.0 - mean**2)[:, :, None]
        shape = (count, outputs, inputs)
        # A resample has a mean of its own, and the outcomes of the second set are taken from it.
        centred = (weight @ product).reshape(shape) - mean[:, :, None] * (weight @ flat).reshape(
            shape
        )
        safe = np.where(variance > 0.0, variance, np.nan)
        firsts.append(centred / safe)
        totals.append((weight @ square).reshape(shape) / (2.0 * safe))
    first, total = np.concatenate(firsts), np.concatenate(totals)
    ends = [0.5 - CONFIDENCE / 2.0, 0.5 + CONFIDENCE / 2.0]
    return (
        np.quantile(first, ends, axis=0),
        np.quantile(total, ends, axis=0),
        np.quantile(np.sum(first, axis=2), ends, axis=0),
        np.quantile(np.sum(total, axis=2), ends, axis=0),
    )
