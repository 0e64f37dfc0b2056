"""
The whole curve: "nowhere more than the margin", where a loss is, and the band to draw.

An average can hide a local loss, so the claim over the curve tests every speed bin at 5 % and
holds only if all pass (an intersection of tests: no correction is due).  To say *where* a loss is,
and to draw a band, all bins are looked at together and Bonferroni's correction is taken.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.outcome import Answer
from feedproof.core.errors import InputError
from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import Comparison, compare
from feedproof.evidence.limits import classify, coverage
from feedproof.evidence.students import CONFIDENCE

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveComparison:
    """
    Differences in every speed bin.

    Parameters
    ----------
    estimate : array, shape (n_bins,)
        Candidate less baseline, on the scale of the losses.
    lower, upper : array, shape (n_bins,)
        One-sided 95 % limits of each bin by itself.
    drawn_lower, drawn_upper : array, shape (n_bins,)
        Band that holds the whole curve with 95 %.
    answers : tuple of Answer
        Of each bin by itself.
    nowhere_more : bool
        True when every bin excludes the margin.
    located : array of bool, shape (n_bins,)
        True where a loss is shown, all bins looked at together.
    degrees_of_freedom : tuple of float
        Of the scatter used in each bin. [-]
    tags : tuple of str
        Tags of any bin.
    """

    estimate: FloatArray
    lower: FloatArray
    upper: FloatArray
    drawn_lower: FloatArray
    drawn_upper: FloatArray
    answers: tuple[Answer, ...]
    nowhere_more: bool
    located: NDArray[np.bool_]
    degrees_of_freedom: tuple[float, ...]
    tags: tuple[str, ...]


def pooled_degrees_of_freedom(degrees_of_freedom: float, correlation: FloatArray) -> float:
    """
    Give the degrees of freedom of a variance pooled over correlated bins.

    Parameters
    ----------
    degrees_of_freedom : float
        Of one bin. [-]
    correlation : array, shape (n_bins, n_bins)
        Correlation of the residuals between bins. [-]

    Returns
    -------
    float
        nu J^2 / sum(R^2): nu for bins that move together, nu J only for independent ones. [-]

    Examples
    --------
    >>> pooled_degrees_of_freedom(3.0, np.eye(8)), pooled_degrees_of_freedom(3.0, np.ones((8, 8)))
    (24.0, 3.0)
    """
    squares = math.fsum((correlation**2).ravel().tolist())
    return float(degrees_of_freedom * correlation.shape[0] ** 2 / squares)


def compare_curve(
    losses: FloatArray,
    candidate: NDArray[np.bool_],
    position: FloatArray,
    setup: Sequence[str],
    *,
    archives: Sequence[Archive] | None = None,
    setup_sd: float = 0.0,
    drift_per_run: float | None = None,
    type_b_u: float = 0.0,
    drift_bound_per_run: float | None = None,
    margin: FloatArray | float | None = None,
    confidence: float = CONFIDENCE,
) -> CurveComparison:
    """
    Compare the runs of one session in every speed bin.

    Parameters
    ----------
    losses : array, shape (n, n_bins)
        One row for each run.
    candidate : array of bool, shape (n,)
        True for a run of the candidate.
    position : array, shape (n,)
        Place in the order. [-]
    setup : sequence of str, length n
        Plumbing of each run.
    archives : sequence of Archive or None
        One for each bin; without them the scatter is pooled over the bins.
    setup_sd, drift_per_run, type_b_u, drift_bound_per_run : float
        As in `compare`, for every bin.
    margin : array, shape (n_bins,), or float, or None
        Agreed margin.
    confidence : float
        One-sided, of each bin's limits by itself; the drawn band holds with 95 % in any case. [-]

    Returns
    -------
    CurveComparison
        Bins, claim over the whole curve, located loss, and the band to draw.

    Raises
    ------
    InputError
        A number of archives other than of bins, or what `compare` refuses.

    Notes
    -----
    The scatter of one bin from one or two degrees of freedom is useless.  Pooled over bins it has
    nu J^2 / sum(R^2) degrees of freedom with R from the residuals, never nu J; equal scatter in
    all bins is assumed.
    """
    n_bins = losses.shape[1]
    if archives is not None and len(archives) != n_bins:
        raise InputError.at("curve", f"{len(archives)} archives for {n_bins} speed bins")
    margins = [None] * n_bins if margin is None else np.broadcast_to(margin, n_bins).tolist()
    bins = [
        compare(
            np.ascontiguousarray(losses[:, j]),
            candidate,
            position,
            setup,
            archive=archives[j] if archives is not None else None,
            setup_sd=setup_sd,
            drift_per_run=drift_per_run,
            drift_bound_per_run=drift_bound_per_run,
            type_b_u=type_b_u,
            margin=margins[j],
        )
        for j in range(n_bins)
    ]
    if archives is None:
        scatter, dof = _pooled(bins, losses, candidate, position)
        scatters, dofs = [scatter] * n_bins, [dof] * n_bins
    else:
        scatters = [found.repeatability for found in bins]
        dofs = [found.repeatability_dof for found in bins]
    half = [_half(b, s, v, confidence) for b, s, v in zip(bins, scatters, dofs, strict=True)]
    # One-sided for "there is a loss here"; two-sided for the band that is drawn.
    each = 1.0 - (1.0 - confidence) / n_bins
    both = 1.0 - (1.0 - CONFIDENCE) / (2.0 * n_bins)
    local = [_half(b, s, v, each) for b, s, v in zip(bins, scatters, dofs, strict=True)]
    drawn = [_half(b, s, v, both) for b, s, v in zip(bins, scatters, dofs, strict=True)]
    estimate = np.array([found.estimate for found in bins])
    upper = estimate + np.array(half)
    answers = tuple(
        classify(found.estimate - h, found.estimate + h, m)
        for found, h, m in zip(bins, half, margins, strict=True)
    )
    return CurveComparison(
        estimate=estimate,
        lower=estimate - np.array(half),
        upper=upper,
        drawn_lower=estimate - np.array(drawn),
        drawn_upper=estimate + np.array(drawn),
        answers=answers,
        nowhere_more=all(a in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS) for a in answers),
        located=estimate - np.array(local) > 0.0,
        degrees_of_freedom=tuple(0.0 if v is None else v for v in dofs),
        tags=_tags(bins, pooled=archives is None),
    )


def _pooled(
    bins: Sequence[Comparison],
    losses: FloatArray,
    candidate: NDArray[np.bool_],
    position: FloatArray,
) -> tuple[float | None, float | None]:
    """Pool the scatter of all bins, with degrees of freedom that allow for their correlation."""
    nu = bins[0].design.degrees_of_freedom
    if nu == 0:
        return None, None
    n = losses.shape[0]
    b = candidate.astype(np.float64) - candidate.mean()
    t = position - position.mean()
    rows = [
        [
            losses[i, j]
            - math.fsum(losses[:, j].tolist()) / n
            - found.estimate * b[i]
            - (found.drift_per_run or 0.0) * t[i]
            for i in range(n)
        ]
        for j, found in enumerate(bins)
    ]
    products = np.array(
        [[math.fsum(x * y for x, y in zip(p, q, strict=True)) for q in rows] for p in rows]
    )
    diagonal = np.diag(products)
    if not (diagonal > 0.0).all():
        return None, None
    correlation = products / np.sqrt(np.outer(diagonal, diagonal))
    variance = math.fsum(diagonal.tolist()) / (nu * len(bins))
    return math.sqrt(variance), pooled_degrees_of_freedom(float(nu), correlation)


def _half(found: Comparison, scatter: float | None, dof: float | None, probability: float) -> float:
    """Give the half-width of one bin at a probability."""
    if scatter is None or dof is None or "drift_unknown" in found.tags:
        return math.inf
    u = scatter * math.sqrt(found.design.variance_factor)
    return coverage(u, dof, found.u_other, probability)[0] + found.drift_bound


def _tags(bins: Sequence[Comparison], *, pooled: bool) -> tuple[str, ...]:
    """Collect the tags of all bins once each."""
    tags = {tag for found in bins for tag in found.tags}
    if pooled:
        tags.discard("repeatability_unknown")
        tags.add("scatter_pooled_over_bins")
        if bins[0].design.degrees_of_freedom == 0:
            tags.add("repeatability_unknown")
    return tuple(sorted(tags))
