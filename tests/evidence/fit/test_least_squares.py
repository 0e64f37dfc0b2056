"""
Promise: the least-squares core finds certified minima and known derivatives.

Sources: NIST Statistical Reference Datasets (certified values, see `tests.published`), SciPy's
least_squares, and the closed form of a straight line.
"""

import numpy as np
import pytest
from scipy.optimize import least_squares

from feedproof.evidence.fit.least_squares import minimise
from tests.published import nist_nonlinear as nist


@pytest.mark.parametrize("start", nist.MISRA_STARTS)
def test_misra1a_is_found_from_both_starts(start: tuple[float, float]) -> None:
    found = minimise(nist.misra, np.array(start))

    assert found.found
    assert found.parameters == pytest.approx([238.94212918, 5.5015643181e-4], rel=1e-8)
    assert found.sum_of_squares == pytest.approx(1.2455138894e-1, rel=1e-8)


@pytest.mark.parametrize("start", nist.DANWOOD_STARTS)
def test_danwood_is_found_from_both_starts(start: tuple[float, float]) -> None:
    found = minimise(nist.danwood, np.array(start))

    assert found.found
    assert found.parameters == pytest.approx([0.76886226176, 3.8604055871], rel=1e-8)
    assert found.sum_of_squares == pytest.approx(4.3173084083e-3, rel=1e-8)


def test_a_valley_that_bends_is_followed_as_scipy_follows_it() -> None:
    """Rosenbrock's valley: minimum 0 at (1, 1), exact."""

    def valley(points: np.ndarray) -> np.ndarray:
        x, y = points[:, 0], points[:, 1]
        return np.stack([10.0 * (y - x * x), 1.0 - x], axis=1)

    found = minimise(valley, np.array([-1.2, 1.0]), scale=np.ones(2))
    peer = least_squares(lambda x: valley(x[None])[0], [-1.2, 1.0], xtol=1e-12)

    assert found.parameters == pytest.approx([1.0, 1.0], abs=1e-6)
    assert found.parameters == pytest.approx(peer.x, abs=1e-6)


def test_a_straight_line_has_the_covariance_of_the_closed_form() -> None:
    x = np.array([0.0, 1.0, 2.0, 5.0])
    found = minimise(
        lambda points: points[:, :1] + points[:, 1:] * x - np.array([1.0, 2.1, 2.9, 6.2]),
        np.zeros(2),
        scale=np.ones(2),
    )
    design = np.stack([np.ones(4), x], axis=1)

    assert found.covariance() == pytest.approx(np.linalg.inv(design.T @ design), rel=1e-8)


def test_a_place_without_a_number_is_left_again() -> None:
    """Logarithm of a parameter that a long step makes negative."""

    def lost(points: np.ndarray) -> np.ndarray:
        positive = points[:, :1] > 0.0
        return np.where(positive, np.log(np.where(positive, points[:, :1], 1.0)) + 3.0, np.nan)

    found = minimise(lost, np.array([5.0]))

    assert found.found
    assert found.parameters[0] == pytest.approx(np.exp(-3.0), rel=1e-8)
