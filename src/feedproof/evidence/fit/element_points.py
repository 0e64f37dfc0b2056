"""
Runs of points with errors in both coordinates, and what a step of a fit needs of each.

The model is told in `element_core`: a true abscissa for each point, and for each run errors that
all its points share.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from feedproof.evidence.fit.element_solve import Matrix, factor

FloatArray = NDArray[np.float64]

OFFSET, SCALE, FACTOR = range(3)


@dataclass(frozen=True, slots=True)
class CurveAt:
    """
    A curve and its derivatives at the points of one run.

    Parameters
    ----------
    value, slope : array, shape (n,)
        Curve and its derivative by the abscissa.
    columns : tuple of array, each shape (n,)
        Derivatives by the parameters.
    by_factor : array, shape (n,)
        Derivative by the run's relative error of its factor.
    """

    value: FloatArray
    slope: FloatArray
    columns: tuple[FloatArray, ...]
    by_factor: FloatArray


class Curve(Protocol):
    """A curve with parameters, which may differ from run to run by known factors."""

    def at(
        self, parameters: Sequence[float], run: int, x: FloatArray, factor_error: float
    ) -> CurveAt:
        """
        Evaluate the curve of a run.

        Parameters
        ----------
        parameters : sequence of float
            Of the curve.
        run : int
            Place of the run. [-]
        x : array, shape (n,)
            Abscissae.
        factor_error : float
            Relative error of the run's own factor. [-]

        Returns
        -------
        CurveAt
            Value and derivatives.
        """
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """
    The points of one run, in any units that the curve shares.

    Parameters
    ----------
    x, y : array, shape (n,)
        As measured.
    u_x, u_y : array, shape (n,)
        Standard uncertainties of each point by itself; u_y above 0, u_x 0 or more.
    u_offset : float
        Standard uncertainty of what all points share in y; 0 for none, infinite for an unknown.
    u_scale, u_factor : float
        Relative standard uncertainties that all points share; 0 for none. [-]
    """

    x: FloatArray
    y: FloatArray
    u_x: FloatArray
    u_y: FloatArray
    u_offset: float = 0.0
    u_scale: float = 0.0
    u_factor: float = 0.0

    @property
    def shared(self) -> tuple[float, float, float]:
        """Give the uncertainties of the shared errors."""
        return self.u_offset, self.u_scale, self.u_factor


@dataclass(slots=True)
class State:
    """
    Where a fit stands.

    Parameters
    ----------
    parameters : list of float
        Of the curve.
    true_x : list of array
        True abscissae, run by run.
    errors : list of list of float
        Offset, scale and factor of each run.
    at : list of CurveAt
        The curve at the true abscissae, run by run.
    objective : float
        Sum of all squared errors, each over its variance. [-]
    """

    parameters: list[float]
    true_x: list[FloatArray]
    errors: list[list[float]]
    at: list[CurveAt]
    objective: float


@dataclass(slots=True)
class LinearRun:
    """
    One run, linearised, its true abscissae eliminated.

    Parameters
    ----------
    kinds : list of int
        Shared errors that the run has: `OFFSET`, `SCALE`, `FACTOR`.
    priors : list of float
        Their declared precisions; 0 for a free one.
    variance, slope, rest_y, rest_x : array, shape (n,)
        Effective variance, slope by the measured abscissa, residuals of both coordinates.
    rows : array, shape (m, n)
        Directions of the curve's parameters, those of the shared errors, then the residual.
    sums : list of list of float, shape (m, m)
        Weighted products of the rows, the pull of the priors included.
    own : tuple or None
        Factored system of the shared errors; None where there are none.
    """

    kinds: list[int]
    priors: list[float]
    variance: FloatArray
    slope: FloatArray
    rest_y: FloatArray
    rest_x: FloatArray
    rows: FloatArray
    sums: Matrix
    own: tuple[list[float], Matrix] | None


def linearise(i: int, group: Group, state: State) -> LinearRun:
    """
    Put a run's residuals, variances and directions together.

    Parameters
    ----------
    i : int
        Place of the run. [-]
    group : Group
        The run.
    state : State
        Where the fit stands.

    Returns
    -------
    LinearRun
        The run, its true abscissae eliminated.

    Notes
    -----
    With s = f' / (1 + scale), the residual y - f - offset - s (x - q (1 + scale)) answers to
    parameters, offset and factor as the curve does, to the scale by -s q, and not at all to q;
    its variance is u_y^2 + s^2 u_x^2.
    """
    offset, scale, _ = state.errors[i]
    q, at = state.true_x[i], state.at[i]
    stretch = 1.0 + scale
    slope = at.slope / stretch
    rest_y = group.y - at.value - offset
    rest_x = group.x - q * stretch
    variance = group.u_y * group.u_y + slope * slope * (group.u_x * group.u_x)
    directions = (np.ones_like(q), -slope * q, at.by_factor)
    kinds = [kind for kind in range(3) if group.shared[kind] > 0.0]
    rows = np.stack([*at.columns, *(directions[k] for k in kinds), rest_y - slope * rest_x])
    weighted = rows / variance
    size = len(rows)
    sums = [[0.0] * size for _ in range(size)]
    for a in range(size):
        products = (rows[a] * weighted[: a + 1]).tolist()
        for b in range(a + 1):
            sums[a][b] = sums[b][a] = math.fsum(products[b])
    priors = [0.0 if math.isinf(u) else 1.0 / (u * u) for u in (group.shared[k] for k in kinds)]
    own = None
    if kinds:
        p = len(at.columns)
        own = factor(
            [
                [sums[p + a][p + b] + (priors[a] if a == b else 0.0) for b in range(len(kinds))]
                for a in range(len(kinds))
            ]
        )
        for a, kind in enumerate(kinds):
            pull = -priors[a] * state.errors[i][kind]
            sums[-1][p + a] += pull
            sums[p + a][-1] += pull
    return LinearRun(kinds, priors, variance, slope, rest_y, rest_x, rows, sums, own)


def stand(
    groups: Sequence[Group],
    curve: Curve,
    parameters: list[float],
    true_x: list[FloatArray],
    errors: list[list[float]],
) -> State:
    """
    Evaluate the curve and the sum of all squared errors, each over its variance.

    Parameters
    ----------
    groups : sequence of Group
        The runs.
    curve : Curve
        The curve.
    parameters, true_x, errors : list
        Where to stand.

    Returns
    -------
    State
        With an infinite sum where the curve is not finite.
    """
    at = [curve.at(parameters, i, q, errors[i][FACTOR]) for i, q in enumerate(true_x)]
    pieces: list[float] = []
    for group, q, here, (offset, scale, factor_error) in zip(
        groups, true_x, at, errors, strict=True
    ):
        rest_y = (group.y - here.value - offset) / group.u_y
        pieces += (rest_y * rest_y).tolist()
        uncertain = group.u_x > 0.0
        if np.any(uncertain):
            rest_x = (group.x - q * (1.0 + scale))[uncertain] / group.u_x[uncertain]
            pieces += (rest_x * rest_x).tolist()
        for error, u in zip((offset, scale, factor_error), group.shared, strict=True):
            if 0.0 < u < math.inf:
                pieces.append((error / u) ** 2)
    objective = math.fsum(pieces) if all(map(math.isfinite, pieces)) else math.inf
    return State(parameters, true_x, errors, at, objective)


def curve_rows(run: LinearRun) -> FloatArray:
    """
    Give the directions of the curve's parameters.

    Parameters
    ----------
    run : LinearRun
        A linearised run.

    Returns
    -------
    array, shape (p, n)
        Its first rows.
    """
    return run.rows[: len(run.rows) - len(run.kinds) - 1]
