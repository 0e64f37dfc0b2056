"""
Damped least squares: the minimum of a sum of squares, with the derivatives at it.

All points that a derivative needs are asked for in one call, since the model that this is written
for answers many points for little more than the price of one.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Residuals = Callable[[FloatArray], FloatArray]
"""Points, shape (m, n_parameters), to residuals, shape (m, n_residuals)."""

STEP_SHARE = 6e-6
"""Half width of a central difference over a parameter's scale: the third root of rounding."""
MOST_STEPS = 200
FIRST_DAMPING, EASING, RAISING = 1e-3, 0.2, 8.0
LEAST_GAIN = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Minimum:
    """
    Where a sum of squares is least.

    Parameters
    ----------
    parameters : array, shape (p,)
        There.
    residuals : array, shape (n,)
        There.
    derivatives : array, shape (n, p)
        Of the residuals.
    steps : int
        Steps taken.
    found : bool
        False when the steps ran out before nothing could be gained any more.
    """

    parameters: FloatArray
    residuals: FloatArray
    derivatives: FloatArray
    steps: int
    found: bool

    @property
    def sum_of_squares(self) -> float:
        """Give the sum of squares."""
        return float(self.residuals @ self.residuals)

    def covariance(self) -> FloatArray:
        """
        Give the inverse of the information, for residuals of unit variance.

        Returns
        -------
        array, shape (p, p)
            (J'J)^-1.
        """
        scale = np.sqrt(np.einsum("ij,ij->j", self.derivatives, self.derivatives))
        scaled = self.derivatives / scale
        inverse: FloatArray = np.linalg.inv(scaled.T @ scaled) / np.outer(scale, scale)
        return inverse


def minimise(
    residuals: Residuals,
    start: FloatArray,
    *,
    scale: FloatArray | None = None,
    step_share: float = STEP_SHARE,
) -> Minimum:
    """
    Find the least sum of squares from a start.

    Parameters
    ----------
    residuals : callable
        Gives the residuals at many points at once.
    start : array, shape (p,)
        Where to begin.
    scale : array, shape (p,), optional
        Typical size of a change of each parameter; their own size when left out.
    step_share : float
        Half width of a central difference over the scale. [-]

    Returns
    -------
    Minimum
        The minimum; ``found`` says whether it is one.

    Notes
    -----
    Levenberg and Marquardt's method with the scaling of More 1978 (memory): the damping is eased
    after a step that gained, raised after one that did not.
    """
    at = np.array(start, dtype=np.float64)
    held, slopes = _linearised(residuals, at, scale, step_share)
    damping = FIRST_DAMPING
    for step in range(MOST_STEPS):
        gradient, information = slopes.T @ held, slopes.T @ slopes
        diagonal = np.maximum(np.diag(information), 1e-300)
        move = -np.linalg.solve(information + damping * np.diag(diagonal), gradient)
        before = float(held @ held)
        promised = -float(move @ gradient) + damping * float(move @ (diagonal * move))
        if promised <= 1e-15 * before:
            return _minimum(at, held, slopes, step, found=True)
        tried = residuals((at + move)[None, :])[0]
        gained = before - float(tried @ tried)
        if not gained > LEAST_GAIN * promised:  # also where the model gives no number
            damping *= RAISING
            if damping > 1e16:
                return _minimum(at, held, slopes, step, found=promised <= 1e-9 * before)
            continue
        at = at + move
        damping *= EASING
        held, slopes = _linearised(residuals, at, scale, step_share)
    return _minimum(at, held, slopes, MOST_STEPS, found=False)


def _minimum(
    at: FloatArray, held: FloatArray, slopes: FloatArray, steps: int, *, found: bool
) -> Minimum:
    """Put the answer together."""
    return Minimum(parameters=at, residuals=held, derivatives=slopes, steps=steps, found=found)


def _linearised(
    residuals: Residuals, at: FloatArray, scale: FloatArray | None, step_share: float
) -> tuple[FloatArray, FloatArray]:
    """Give residuals and derivatives at a point, all asked for in one call."""
    size = np.maximum(np.abs(at), 1e-12) if scale is None else scale
    steps = step_share * size
    points = np.concatenate([at[None, :], at + np.diag(steps), at - np.diag(steps)])
    found = residuals(points)
    count = at.size
    slopes = (found[1 : count + 1] - found[count + 1 :]) / (2.0 * steps[:, None])
    return found[0], np.ascontiguousarray(slopes.T)
