"""The best parameters, how well each is known, and what the runs cannot tell apart."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.evidence.fit.least_squares import minimise
from feedproof.evidence.fit.parameters import Parameters

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Predicted = Callable[[FloatArray], FloatArray]
"""Whitened points, shape (m, p), to readings, shape (m, n)."""

LEARNED, NOT_LEARNED = 0.5, 0.9
"""Standard deviation after over before the runs, below and above which a parameter is called so."""
INSEPARABLE = 0.95
"""Correlation from which only a combination of two parameters is known."""
DERIVATIVE_STEP = 1e-3
"""Half width of a central difference in prior standard deviations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """
    Parameters after the runs, in prior standard deviations from what the case says.

    Parameters
    ----------
    parameters : Parameters
        What was fitted.
    whitened : array, shape (p,)
        Where prior and runs together are met best.
    covariance : array, shape (p, p)
        Of the same, after the runs; 1 on the diagonal before.
    derivatives : array, shape (n, p)
        Of the readings by the parameters, there. [reading]
    predicted : array, shape (n,)
        Readings there.
    touched : array of bool, shape (p,)
        Whether any reading depends on the parameter.
    steps : int
        Steps taken.
    """

    parameters: Parameters
    whitened: FloatArray
    covariance: FloatArray
    derivatives: FloatArray
    predicted: FloatArray
    touched: BoolArray
    steps: int

    @property
    def ratios(self) -> FloatArray:
        """Give the standard deviation after over before the runs, by parameter."""
        ratios: FloatArray = np.sqrt(np.diag(self.covariance))
        return ratios

    @property
    def correlations(self) -> FloatArray:
        """Give the correlations after the runs."""
        sd = self.ratios
        found: FloatArray = self.covariance / np.outer(sd, sd)
        return found


def estimate(
    predicted: Predicted,
    measured: FloatArray,
    covariance: FloatArray,
    parameters: Parameters,
) -> Estimate:
    """
    Find the parameters that meet readings and prior best.

    Parameters
    ----------
    predicted : callable
        The model.
    measured : array, shape (n,)
        Readings.
    covariance : array, shape (n, n)
        Of their errors.
    parameters : Parameters
        With their priors: independent, normal in the whitened scale.

    Returns
    -------
    Estimate
        Mode and covariance; a parameter that no reading depends on keeps its prior, exactly.

    Raises
    ------
    InputError
        No minimum was found.
    """
    lower = np.linalg.cholesky(covariance)
    whitening = np.linalg.inv(lower)
    touched = _touched(predicted, len(parameters), np.sqrt(np.diag(covariance)))
    active = np.flatnonzero(touched)

    def widened(points: FloatArray) -> FloatArray:
        full = np.zeros((points.shape[0], len(parameters)))
        full[:, active] = points
        return full

    def residuals(points: FloatArray) -> FloatArray:
        off = predicted(widened(points)) - measured
        return np.concatenate([off @ whitening.T, points], axis=1)

    start = np.zeros(active.size)
    least = minimise(residuals, start, scale=np.ones(active.size), step_share=DERIVATIVE_STEP)
    if not least.found:
        raise InputError.at(
            "fit",
            f"no best parameters were found in {least.steps} steps.",
            "Look at the runs whose depressions are far from the prediction.",
        )
    whitened = np.zeros(len(parameters))
    whitened[active] = least.parameters
    spread = np.eye(len(parameters))
    spread[np.ix_(active, active)] = least.covariance()
    derivatives = np.zeros((measured.size, len(parameters)))
    derivatives[:, active] = lower @ least.derivatives[: measured.size]
    return Estimate(
        parameters=parameters,
        whitened=whitened,
        covariance=spread,
        derivatives=derivatives,
        predicted=measured + lower @ least.residuals[: measured.size],
        touched=touched,
        steps=least.steps,
    )


def _touched(predicted: Predicted, count: int, sd: FloatArray) -> BoolArray:
    """Say which parameters move any reading by more than rounding."""
    points = np.concatenate([np.zeros((1, count)), np.eye(count)])
    found = predicted(points)
    moved = np.abs(found[1:] - found[0]) / sd
    touched: BoolArray = np.nan_to_num(moved, nan=np.inf).max(axis=1) > 1e-9
    return touched


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """
    What the runs say of one parameter.

    Parameters
    ----------
    name : str
        The parameter.
    ratio : float
        Standard deviation after over before the runs. [-]
    alone_ratio : float
        The same if all other parameters were known. [-]
    word : str
        ``learned``, ``partly``, ``only together`` or ``not learned``.
    partners : tuple of str
        Parameters that it cannot be told from, the nearest first.
    """

    name: str
    ratio: float
    alone_ratio: float
    word: str
    partners: tuple[str, ...]


def learned(found: Estimate) -> tuple[Learned, ...]:
    """
    Say of each parameter whether the runs teach it.

    Parameters
    ----------
    found : Estimate
        The fit.

    Returns
    -------
    tuple of Learned
        In the order of the parameters.  "Only together": the runs answer to it, yet others could
        have made the same readings.
    """
    information = np.linalg.inv(found.covariance)
    alone = 1.0 / np.sqrt(np.diag(information))
    correlations, names = found.correlations, found.parameters.names
    told = []
    for i, name in enumerate(names):
        ratio = float(found.ratios[i])
        near = np.abs(correlations[i])
        order = [j for j in np.argsort(-near) if j != i and near[j] > 0.3][:3]
        word = "partly"
        if ratio < LEARNED:
            word = "learned"
        elif alone[i] < LEARNED and order:
            word = "only together"
        elif ratio > NOT_LEARNED:
            word = "not learned"
        told.append(
            Learned(
                name=name,
                ratio=ratio,
                alone_ratio=float(alone[i]),
                word=word,
                partners=tuple(names[j] for j in order) if word == "only together" else (),
            )
        )
    return tuple(told)


def inseparable(found: Estimate) -> tuple[tuple[str, str, float], ...]:
    """
    List the pairs of which only a combination is known.

    Parameters
    ----------
    found : Estimate
        The fit.

    Returns
    -------
    tuple of (str, str, float)
        Two parameters and their correlation; below 0 their sum is known, above 0 their
        difference.
    """
    correlations, names = found.correlations, found.parameters.names
    return tuple(
        (names[i], names[j], float(correlations[i, j]))
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(correlations[i, j]) > INSEPARABLE
    )


def information_eigenvalues(found: Estimate) -> FloatArray:
    """
    Give how strongly the runs inform each independent combination of the parameters.

    Parameters
    ----------
    found : Estimate
        The fit.

    Returns
    -------
    array, shape (p,)
        Eigenvalues of the information of the readings in units of the prior's, the largest
        first; above 1 the runs say more than was believed before.
    """
    values = np.linalg.eigvalsh(found.covariance)
    gained: FloatArray = np.maximum(1.0 / values - 1.0, 0.0)
    return gained
