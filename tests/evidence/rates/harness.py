"""
The decision for many simulated sessions at once, and the ways in which it can be spoilt.

A twin of `feedproof.evidence.comparison.compare` that works on arrays.  It is trusted only because
`test_harness.py` holds it against `compare`, one by one, on hundreds of random cases of every kind.
The weights come from a pseudo-inverse, not from the package's closed forms.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, ndtri, stdtrit

FloatArray = NDArray[np.float64]
CONFLICT = 0.05
LIMIT = 0.95


@dataclass(frozen=True, kw_only=True)
class Method:
    """The method, or one of its mutants: what is changed must take a rate out of its band."""

    factor: float | None = None
    more_degrees: float = 0.0
    drift_term: bool = True
    conflict_check: bool = True
    confidence: float = LIMIT


OURS = Method()


@dataclass(frozen=True, kw_only=True)
class Declared:
    """What is declared about a session; ``s0`` holds one archive for each session, or is None."""

    s0: FloatArray | None = None
    nu0: float = 0.0
    setup: Sequence[str] | None = None
    setup_sd: float = 0.0
    drift_per_run: float = 0.0
    drift_bound_per_run: float = 0.0
    type_b_u: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Decided:
    """Limits of every session, with the scatter that they rest on."""

    estimate: FloatArray
    lower: FloatArray
    upper: FloatArray
    scatter: FloatArray
    degrees: FloatArray
    dropped: NDArray[np.bool_]

    def passes(self, margin: float) -> NDArray[np.bool_]:
        """Say in which sessions a loss of the margin is excluded."""
        return self.upper < margin

    def shows_loss(self) -> NDArray[np.bool_]:
        """Say in which sessions a loss is shown."""
        return self.lower > 0.0


def flags_of(order: str) -> FloatArray:
    """Give 1 for a candidate's run, 0 for a baseline's."""
    return np.array([float(letter == "B") for letter in order])


def columns_of(order: str, *, drift_term: bool = True) -> FloatArray:
    """Give the design's columns; drift is fitted from three runs on where it can be told apart."""
    n = len(order)
    plain = np.column_stack([np.ones(n), flags_of(order)])
    place = np.arange(n) - (n - 1) / 2
    full = np.column_stack([plain, place])
    return full if drift_term and n >= 3 and np.linalg.matrix_rank(full) == 3 else plain


def decide(losses: FloatArray, order: str, declared: Declared, method: Method = OURS) -> Decided:
    """Decide every session (one row of ``losses`` each) by the method or one of its mutants."""
    x = columns_of(order, drift_term=method.drift_term)
    inverse = np.linalg.pinv(x)
    weights = inverse[1]
    nu = float(len(order) - x.shape[1])
    beta = losses @ inverse.T
    rss = ((losses - beta @ x.T) ** 2).sum(axis=1)
    scatter, degrees, dropped = _settle(rss, nu, declared, method)
    u_a = scatter * np.sqrt((weights**2).sum())
    drift_fitted = x.shape[1] == 3
    gap = 0.0 if drift_fitted else abs(_gap(order))
    setup_factor = _setup_factor(weights, declared.setup)
    u_other = np.sqrt(
        declared.setup_sd**2 * setup_factor
        + (declared.drift_per_run * gap) ** 2
        + declared.type_b_u**2
    )
    half = half_width(u_a, degrees, float(u_other), method) + declared.drift_bound_per_run * gap
    estimate = beta[:, 1]
    return Decided(
        estimate=estimate,
        lower=estimate - half,
        upper=estimate + half,
        scatter=scatter,
        degrees=degrees,
        dropped=dropped,
    )


def half_width(u_a: FloatArray, degrees: FloatArray, u_other: float, method: Method) -> FloatArray:
    """Give the half-width of a limit: never less than that of the scatter alone."""
    u = np.hypot(u_a, u_other)
    if method.factor is not None:
        return method.factor * u
    counted = degrees + method.more_degrees
    effective = counted if u_other == 0.0 else counted * (u / u_a) ** 4
    half = student(method.confidence, effective) * u
    return np.maximum(half, student(method.confidence, counted) * u_a)


def student(probability: float, degrees: FloatArray) -> FloatArray:
    """Give Student's quantile, once for each number of degrees of freedom that occurs."""
    different, where = np.unique(degrees, return_inverse=True)
    normal = np.full(different.shape, ndtri(probability))
    finite = np.isfinite(different)
    normal[finite] = stdtrit(different[finite], probability)
    return normal[where]


def _settle(
    rss: FloatArray, nu: float, declared: Declared, method: Method
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Settle the scatter: declared, the runs' own, or both pooled unless they contradict."""
    kept = np.zeros(rss.shape, dtype=bool)
    if declared.s0 is None:
        return np.sqrt(rss / nu), np.full(rss.shape, nu), kept
    s0 = np.broadcast_to(declared.s0, rss.shape)
    if nu == 0.0:
        return s0, np.full(rss.shape, declared.nu0), kept
    own = rss / nu
    contradicted = fdtrc(nu, declared.nu0, own / s0**2) < CONFLICT
    dropped = contradicted if method.conflict_check else kept
    both = declared.nu0 + nu
    pooled = (declared.nu0 * s0**2 + rss) / both
    variance = np.where(dropped, own, pooled)
    return np.sqrt(variance), np.where(dropped, nu, both), dropped


def _gap(order: str) -> float:
    """Give the mean place of the candidate's runs less that of the baseline's."""
    flags = flags_of(order)
    place = np.arange(len(order))
    return float(place[flags == 1].mean() - place[flags == 0].mean())


def _setup_factor(weights: FloatArray, setup: Sequence[str] | None) -> float:
    """Give the factor on the variance of a set-up that its runs share."""
    if setup is None:
        return 0.0
    return sum(
        float(weights[[name == each for each in setup]].sum()) ** 2 for name in dict.fromkeys(setup)
    )
