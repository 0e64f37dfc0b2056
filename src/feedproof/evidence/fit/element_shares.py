"""Which kind of error puts how much into two fitted parameters."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedproof.evidence.fit.element_core import CoreFit
from feedproof.evidence.fit.element_points import (
    Curve,
    FloatArray,
    Group,
    LinearRun,
    curve_rows,
    linearise,
    stand,
)
from feedproof.evidence.fit.element_solve import solve


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """
    What one kind of error puts into two chosen parameters.

    Parameters
    ----------
    kind : str
        ``y``, ``x``, ``offset``, ``scale`` or ``factor``.
    run : int
        Run that it belongs to.
    covariance : tuple of float
        Variance of the first, covariance, variance of the second.
    """

    kind: str
    run: int
    covariance: tuple[float, float, float]


def shares(
    groups: Sequence[Group], curve: Curve, fit: CoreFit, first: int, second: int
) -> list[Share]:
    """
    Part the covariance of two parameters by the error that puts it there.

    Parameters
    ----------
    groups, curve
        As fitted.
    fit : CoreFit
        The fit.
    first, second : int
        Places of the two parameters.

    Returns
    -------
    list of Share
        Their covariances add up to that of the fit.

    Notes
    -----
    A settled fit is, near the data, a weighted sum of them: the weight of a point is the row of
    the inverse times its column, less what the run's own unknowns take up.
    """
    errors = [list(e) for e in fit.errors]
    state = stand(groups, curve, list(fit.parameters), list(fit.true_x), errors)
    found: list[Share] = []
    for i, group in enumerate(groups):
        run = linearise(i, group, state)
        weights = [_weights(run, fit.covariance[j]) for j in (first, second)]
        found.append(_share("y", i, weights, group.u_y))
        if np.any(group.u_x > 0.0):
            found.append(_share("x", i, weights, run.slope * group.u_x))
        for place, kind in enumerate(run.kinds):
            u = group.shared[kind]
            if math.isfinite(u):
                row = run.rows[len(curve_rows(run)) + place]
                a, b = (u * math.fsum((w * row).tolist()) for w in weights)
                found.append(
                    Share(kind=("offset", "scale", "factor")[kind], run=i,
                          covariance=(a * a, a * b, b * b))
                )  # fmt: skip
    return found


def _share(kind: str, run: int, weights: list[FloatArray], u: FloatArray) -> Share:
    """Sum the shares of independent errors of one kind."""
    a, b = (w * u for w in weights)
    sums = tuple(math.fsum((p * q).tolist()) for p, q in ((a, a), (a, b), (b, b)))
    return Share(kind=kind, run=run, covariance=(sums[0], sums[1], sums[2]))


def _weights(run: LinearRun, row: Sequence[float]) -> FloatArray:
    """Give the weights of a run's points in one parameter."""
    columns = curve_rows(run)
    direction = np.zeros_like(run.variance)
    for value, column in zip(row, columns, strict=True):
        direction = direction + value * column
    if run.own is not None:
        p = len(columns)
        taken = [
            math.fsum(row[j] * run.sums[p + k][j] for j in range(p)) for k in range(len(run.kinds))
        ]
        for value, column in zip(solve(run.own, taken), run.rows[p:-1], strict=True):
            direction = direction - value * column
    return direction / run.variance
