"""
Simulated sessions of whole curves, decided bin by bin for many sessions at once.

Held against `feedproof.evidence.curve.compare_curve` one by one in `test_harness.py`.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.evidence.rates.harness import (
    LIMIT,
    Decided,
    Declared,
    Method,
    columns_of,
    decide,
    flags_of,
    student,
)

FloatArray = NDArray[np.float64]
BINS = 8
ARCHIVE_DOF = 8
DRAWN = 1.0 - (1.0 - LIMIT) / (2 * BINS)
LOCATED = 1.0 - (1.0 - LIMIT) / BINS
DISTANCE = np.abs(np.subtract.outer(np.arange(BINS), np.arange(BINS)))
SHAPES: dict[str, FloatArray] = {
    "short": 0.3**DISTANCE,
    "long": 0.9**DISTANCE,
    "common": np.where(DISTANCE == 0, 1.0, 0.8),
}
"""Correlation of the bins of one run: neighbours only, far along the curve, one common offset."""


@dataclass(frozen=True, kw_only=True)
class Curves:
    """Losses by session, run and bin, with an archive by session and bin."""

    order: str
    losses: FloatArray
    s0: FloatArray


def draw_curves(
    rng: np.random.Generator,
    order: str,
    shape: FloatArray,
    repeats: int,
    loss: FloatArray | float = 0.0,
    drift: float = 0.5,
) -> Curves:
    """Draw sessions of curves with drift, and archives whose bins hang together in the same way."""
    root = np.linalg.cholesky(shape)
    noise = rng.standard_normal((repeats, len(order), BINS)) @ root.T
    fixed = np.outer(flags_of(order), np.broadcast_to(loss, BINS))
    earlier = rng.standard_normal((repeats, ARCHIVE_DOF, BINS)) @ root.T
    return Curves(
        order=order,
        losses=noise + fixed + drift * np.arange(len(order))[:, None],
        s0=np.sqrt((earlier**2).mean(axis=1)),
    )


def with_archives(curves: Curves, confidence: float) -> Decided:
    """Decide every bin by itself with its archive; arrays have one row for each session."""
    repeats = curves.losses.shape[0]
    flat = np.swapaxes(curves.losses, 1, 2).reshape(repeats * BINS, -1)
    found = decide(
        flat,
        curves.order,
        Declared(s0=curves.s0.ravel(), nu0=float(ARCHIVE_DOF)),
        Method(confidence=confidence),
    )
    shape = (repeats, BINS)
    return Decided(
        estimate=found.estimate.reshape(shape),
        lower=found.lower.reshape(shape),
        upper=found.upper.reshape(shape),
        scatter=found.scatter.reshape(shape),
        degrees=found.degrees.reshape(shape),
        dropped=found.dropped.reshape(shape),
    )


def pooled(
    curves: Curves,
    confidence: float,
    degrees: Callable[[float, FloatArray], FloatArray] | None = None,
) -> Decided:
    """Decide every bin with the scatter pooled over the bins; ``degrees`` may spoil its rule."""
    x = columns_of(curves.order)
    inverse = np.linalg.pinv(x)
    beta = np.einsum("pn,rnj->rpj", inverse, curves.losses)
    residual = curves.losses - np.einsum("np,rpj->rnj", x, beta)
    nu = float(x.shape[0] - x.shape[1])
    products = np.einsum("rnj,rnk->rjk", residual, residual)
    squares = np.einsum("rjj->rj", products)
    correlation = products / np.sqrt(squares[:, :, None] * squares[:, None, :])
    dof = (degrees or pooled_degrees)(nu, correlation)
    scatter = np.sqrt(squares.sum(axis=1) / (nu * BINS))
    half = student(confidence, dof) * scatter * np.sqrt((inverse[1] ** 2).sum())
    estimate = beta[:, 1]
    return Decided(
        estimate=estimate,
        lower=estimate - half[:, None],
        upper=estimate + half[:, None],
        scatter=scatter,
        degrees=dof,
        dropped=np.zeros(dof.shape, dtype=bool),
    )


def pooled_degrees(nu: float, correlation: FloatArray) -> FloatArray:
    """Give nu J^2 / sum R^2 for each session."""
    return np.asarray(nu * BINS**2 / (correlation**2).sum(axis=(1, 2)))


def as_if_independent(nu: float, correlation: FloatArray) -> FloatArray:
    """Give nu J: wrong for bins that move together."""
    return np.full(correlation.shape[0], nu * BINS)


def holds(found: Decided, truth: FloatArray | float) -> NDArray[np.bool_]:
    """Say in which sessions the band holds the whole curve."""
    return np.asarray(((found.lower < truth) & (found.upper > truth)).all(axis=1))
