"""
Least squares with errors in both coordinates and errors that a whole run shares.

Each point has a true abscissa q that nobody knows.  Fitted together are the parameters of the
curve, every q, and for each run up to three errors that all its points share::

    y = f(q) + offset            + error of the point in y
    x = q (1 + scale)            + error of the point in x
    f is taken at (1 + factor) times the run's own factor

An offset may be free or have a declared uncertainty; scale and factor have declared ones.  What
is minimised is the sum of all squared errors, each over its variance.  For a straight line without
shared errors this is the fit of York (Earth Planet. Sci. Lett. 5, 1969, 320) and for curves the
orthogonal distance regression of Boggs, Byrd and Schnabel (SIAM J. Sci. Stat. Comput. 8, 1987,
1052): the variance of a residual is u_y^2 + (df/dq)^2 u_x^2 with the slope at the true abscissa,
and it is the true abscissa, not the measured one, that enters the curve.

The steps are those of Gauss and Newton.  Every q, then the errors of each run, are eliminated in
closed form; what is left is one small system.  Sums are exactly rounded: neither the order of the
points nor that of the runs changes a digit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feedproof.evidence.fit.element_points import (
    SCALE,
    Curve,
    FloatArray,
    Group,
    LinearRun,
    State,
    linearise,
    stand,
)
from feedproof.evidence.fit.element_solve import Matrix, factor, forward, inverse, solve

SMALL_STEP = 1e-11
"""A fit has settled when no parameter moves by more than this share of its uncertainty. [-]"""
MOST_STEPS = 200


class NotSettledError(ArithmeticError):
    """The steps did not come to rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreFit:
    """
    A fit that has settled.

    Parameters
    ----------
    parameters : tuple of float
        Of the curve.
    covariance : list of list of float
        Of the parameters, from the stated uncertainties alone.
    chi_square : float
        Sum of all squared errors, each over its variance. [-]
    degrees_of_freedom : int
        Points less parameters and free offsets. [-]
    true_x : tuple of array
        Fitted abscissae, run by run.
    errors : tuple of tuple of float
        Offset, scale and factor of each run.
    steps : int
        Steps taken.
    """

    parameters: tuple[float, ...]
    covariance: Matrix
    chi_square: float
    degrees_of_freedom: int
    true_x: tuple[FloatArray, ...]
    errors: tuple[tuple[float, float, float], ...]
    steps: int


def fit_curve(
    groups: Sequence[Group],
    curve: Curve,
    start: Sequence[float],
    *,
    begin: CoreFit | None = None,
    small_step: float = SMALL_STEP,
) -> CoreFit:
    """
    Fit a curve to runs with errors in both coordinates and errors that runs share.

    Parameters
    ----------
    groups : sequence of Group
        The runs.
    curve : Curve
        The curve.
    start : sequence of float
        Parameters to begin with; any will do where the curve is linear in them.
    begin : CoreFit, optional
        A like fit of the same runs, to begin with its abscissae and shared errors.
    small_step : float
        Share of its uncertainty by which no parameter may move any more. [-]

    Returns
    -------
    CoreFit
        The settled fit.

    Raises
    ------
    RankError
        A parameter that these points cannot tell from those before it.
    NotSettledError
        No rest after `MOST_STEPS` steps.
    """
    true_x = begin.true_x if begin is not None else tuple(group.x for group in groups)
    errors = begin.errors if begin is not None else ((0.0, 0.0, 0.0),) * len(groups)
    state = stand(groups, curve, list(start), list(true_x), [list(e) for e in errors])
    before = math.inf
    for step in range(1, MOST_STEPS + 1):
        runs = [linearise(i, group, state) for i, group in enumerate(groups)]
        normal, right = _normal(runs, len(start))
        factored = factor(normal)
        move = solve(factored, right)
        covariance = inverse(factored)
        size = max(abs(d) / math.sqrt(covariance[i][i]) for i, d in enumerate(move))
        own = [
            _own_move(run, group, state, i, move)
            for i, (run, group) in enumerate(zip(runs, groups, strict=True))
        ]
        trial = _take(groups, curve, state, move, own)
        resting = trial is None or size >= 0.5 * before
        if size <= small_step or (resting and size < 1e-7):
            return _settled(groups, trial or state, covariance, step)
        if trial is None:
            break
        state, before = trial, size
    raise NotSettledError(f"no rest after {step} steps")


def _normal(runs: Sequence[LinearRun], p: int) -> tuple[Matrix, list[float]]:
    """Add the runs' systems for the parameters, each run's own unknowns eliminated."""
    # Lower triangle, then the right-hand side as one more row.
    pieces: list[list[list[float]]] = [[[] for _ in range(min(a, p - 1) + 1)] for a in range(p + 1)]
    for run in runs:
        rows = [*run.sums[:p], run.sums[-1]]
        halves: list[list[float]] = []
        if run.own is not None:
            halves = [forward(run.own, row[p:-1]) for row in rows]
        for a, row in enumerate(rows):
            for b, piece in enumerate(pieces[a]):
                piece.append(row[b])
                if halves:
                    piece += [-u * v for u, v in zip(halves[a], halves[b], strict=True)]
    summed = [[math.fsum(piece) for piece in row] for row in pieces]
    return summed[:p], summed[p]


def _own_move(
    run: LinearRun, group: Group, state: State, i: int, move: Sequence[float]
) -> tuple[list[float], FloatArray]:
    """Give the steps of a run's shared errors and of its true abscissae."""
    p = len(move)
    shared = [0.0] * 3
    y_step = np.zeros_like(run.variance)
    for value, row in zip(move, run.rows[:p], strict=True):
        y_step = y_step + value * row
    if run.own is not None:
        right = [
            run.sums[p + k][-1] - math.fsum(move[j] * run.sums[p + k][j] for j in range(p))
            for k in range(len(run.kinds))
        ]
        for place, (kind, value) in enumerate(zip(run.kinds, solve(run.own, right), strict=True)):
            shared[kind] = value
            if kind != SCALE:
                y_step = y_step + value * run.rows[p + place]
    stretch = 1.0 + state.errors[i][SCALE]
    rest_y = run.rest_y - y_step
    rest_x = run.rest_x - state.true_x[i] * shared[SCALE]
    # In terms of the curve's slope by the true abscissa, which is stretch times run.slope.
    weight_y, weight_x = group.u_x * group.u_x, group.u_y * group.u_y
    step = (run.slope * weight_y * rest_y + weight_x * rest_x) / (stretch * run.variance)
    return shared, step


def _take(
    groups: Sequence[Group],
    curve: Curve,
    state: State,
    move: Sequence[float],
    own: Sequence[tuple[list[float], FloatArray]],
) -> State | None:
    """Take the step, halved until the sum of squares does not grow; None when it always does."""
    length = 1.0
    for _ in range(40):
        errors = [
            [e + length * d for e, d in zip(old, new, strict=True)]
            for old, (new, _) in zip(state.errors, own, strict=True)
        ]
        if all(e[SCALE] > -1.0 for e in errors):
            true_x = [
                np.where(g.u_x > 0.0, q + length * step, g.x / (1.0 + e[SCALE]))
                for g, q, (_, step), e in zip(groups, state.true_x, own, errors, strict=True)
            ]
            parameters = [v + length * d for v, d in zip(state.parameters, move, strict=True)]
            trial = stand(groups, curve, parameters, true_x, errors)
            if trial.objective <= state.objective * (1.0 + 1e-13) + 1e-20:
                return trial
        length *= 0.5
    return None


def _settled(groups: Sequence[Group], state: State, covariance: Matrix, steps: int) -> CoreFit:
    """Write the settled fit down."""
    free = sum(math.isinf(g.u_offset) for g in groups)
    points = sum(len(g.x) for g in groups)
    return CoreFit(
        parameters=tuple(state.parameters),
        covariance=covariance,
        chi_square=state.objective,
        degrees_of_freedom=points - len(state.parameters) - free,
        true_x=tuple(state.true_x),
        errors=tuple((e[0], e[1], e[2]) for e in state.errors),
        steps=steps,
    )
