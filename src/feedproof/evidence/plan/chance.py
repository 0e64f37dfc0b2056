"""
The chance that a session excludes a margin, with everything that the decision does.

`feedproof.evidence.planning.power` is the textbook figure.  The decision also drops a declared
repeatability that the runs contradict, which happens once in twenty sessions by chance, and it
weighs the degrees of freedom of scatter and instruments; both are integrated over here.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, fdtri, ndtr, stdtrit

from feedproof.evidence.designs import Design
from feedproof.evidence.students import CONFIDENCE

FloatArray = NDArray[np.float64]
_NODES = 1025
CONFLICT = 0.05
"""Probability at which the decision drops a declared repeatability (`settle_scatter`). [-]"""
_POINTS = 200
"""Of each of the two integrals: the chance changes by less than 0.001 when they are doubled."""


def chance_of_excluding(
    design: Design,
    *,
    margin: float,
    repeatability: float,
    archive_dof: float = 0.0,
    true_loss: float = 0.0,
    u_other: float = 0.0,
    confidence: float = CONFIDENCE,
) -> float:
    """
    Give the chance that the upper limit of a session falls below the margin.

    Parameters
    ----------
    design : Design
        Order of runs.
    margin : float
        Agreed margin, on the scale of the losses.
    repeatability : float
        True run-to-run standard deviation, on the same scale.
    archive_dof : float
        Degrees of freedom of the declared repeatability, which is taken as an estimate of the
        true one; 0 without one. [-]
    true_loss : float
        Loss that the candidate really has, on the same scale.
    u_other : float
        Standard uncertainty that more runs do not lower, on the same scale.
    confidence : float
        One-sided. [-]

    Returns
    -------
    float
        Probability; 0 when no degree of freedom is left. [-]

    Notes
    -----
    Given the two estimates of the scatter, declared and of the runs, the difference is normal
    and independent of both; the rest is a double integral over two chi-square laws.

    Examples
    --------
    >>> from feedproof.evidence.designs import design_of_order
    >>> round(chance_of_excluding(
    ...     design_of_order("ABBA"), margin=2.0203, repeatability=1.0, archive_dof=8), 2)
    0.56
    """
    runs, dof = _scatter(float(design.degrees_of_freedom), archive_dof)
    if runs is None or dof is None:
        return 0.0
    u_runs = math.sqrt(design.variance_factor) * repeatability * runs
    half = _half_width(u_runs, dof, u_other, confidence)
    spread = math.sqrt(design.variance_factor * repeatability**2 + u_other**2)
    return float(np.mean(ndtr((margin - true_loss - half) / spread)))


def _scatter(runs_dof: float, archive_dof: float) -> tuple[FloatArray | None, FloatArray | None]:
    """Give the scatter that a decision settles on, over the true one, and its dof, on a grid."""
    own = _chi_over_root(runs_dof) if runs_dof > 0.0 else None
    declared = _chi_over_root(archive_dof) if archive_dof > 0.0 else None
    if own is None or declared is None:
        alone = declared if own is None else own
        if alone is None:
            return None, None
        return alone, np.full(alone.size, runs_dof + archive_dof)
    s, s0 = (each.ravel() for each in np.meshgrid(own, declared))
    # The law of F keeps its digits with this many degrees of freedom, and takes no infinite ones.
    many = min(archive_dof, 1e8)
    dropped = (s / s0) ** 2 > fdtri(runs_dof, many, 1.0 - CONFLICT)
    total = runs_dof + archive_dof
    share = runs_dof / total if math.isfinite(total) else 0.0
    pooled = np.sqrt(share * s**2 + (1.0 - share) * s0**2)
    return np.where(dropped, s, pooled), np.where(dropped, runs_dof, total)


def _chi_over_root(dof: float) -> FloatArray:
    """Give equally likely values of an estimated over a true standard deviation."""
    if math.isinf(dof):
        return np.ones(1)
    beyond = 1.0 - (np.arange(_POINTS) + 0.5) / _POINTS
    return np.asarray(np.sqrt(chdtri(dof, beyond) / dof), dtype=np.float64)


def _half_width(
    u_runs: FloatArray, dof: FloatArray, u_other: float, confidence: float
) -> FloatArray:
    """Give the half-width of the limit as `feedproof.evidence.limits.coverage` does."""
    alone = _quantiles(dof, confidence) * u_runs
    if u_other <= 0.0:
        return alone
    u = np.hypot(u_runs, u_other)
    effective = u**4 / (u_runs**4 / dof)
    return np.maximum(_quantiles(effective, confidence) * u, alone)


def _quantiles(dof: FloatArray, confidence: float) -> FloatArray:
    """Give Student's quantiles from a table that is fine enough for 5 digits."""
    inverse = 1.0 / dof
    nodes = np.linspace(0.0, float(inverse.max()), _NODES)
    # The law with 1e12 degrees of freedom stands for the normal one, which is its limit.
    table = stdtrit(1.0 / np.maximum(nodes, 1e-12), confidence)
    return np.asarray(np.interp(inverse, nodes, table), dtype=np.float64)
