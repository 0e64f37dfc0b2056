"""
Promise: the sample has the law it is drawn for, and its diagnostics notice when it has not.

Sources: the closed form of the linear Gaussian case; an autoregressive process, whose draws are
worth (1 - r) / (1 + r) each; a law with a bend, integrated on a grid.
"""

import numpy as np
import pytest

from feedproof.evidence.fit.estimate import estimate
from feedproof.evidence.fit.parameters import Parameter, Parameters
from feedproof.evidence.fit.posterior import Posterior, effective_draws, r_hat, sample


def plain(count: int) -> Parameters:
    """Give parameters without meaning."""
    return Parameters(
        each=tuple(
            Parameter(name=f"p{i}", meaning="", unit="1", standard_deviation=1.0, source="")
            for i in range(count)
        )
    )


def sampled(model, measured: np.ndarray, spread: np.ndarray, count: int, seed=1) -> Posterior:
    """Fit and sample."""
    found = estimate(model, measured, spread, plain(count))
    return sample(model, measured, spread, found, seed=seed)


def test_the_linear_case_has_mean_and_covariance_of_the_closed_form() -> None:
    rng = np.random.default_rng(2)
    design, root = rng.normal(size=(25, 5)), rng.normal(size=(25, 25))
    spread, measured = root @ root.T + np.eye(25), rng.normal(size=25)
    drawn = sampled(lambda z: z @ design.T, measured, spread, 5)
    information = design.T @ np.linalg.solve(spread, design) + np.eye(5)
    covariance = np.linalg.inv(information)
    mean = covariance @ design.T @ np.linalg.solve(spread, measured)
    sd = np.sqrt(np.diag(covariance))
    error = 5.0 / np.sqrt(drawn.effective)

    assert np.abs((drawn.whitened.mean(axis=0) - mean) / sd).max() < error
    found = np.cov(drawn.whitened.T) / np.outer(sd, sd)
    assert np.abs(found - covariance / np.outer(sd, sd)).max() < 1.5 * error
    assert drawn.reliable
    assert drawn.acceptance > 0.5


def test_a_bent_law_is_that_of_a_fine_grid() -> None:
    """One reading of exp(z): the law is integrated on a grid of 20001 points."""
    drawn = sampled(lambda z: np.exp(1.5 * z), np.array([2.0]), np.array([[1.0]]), 1)
    grid = np.linspace(-6.0, 4.0, 20001)
    weight = np.exp(-0.5 * grid**2 - 0.5 * (np.exp(1.5 * grid) - 2.0) ** 2)
    weight /= weight.sum()
    mean = float(weight @ grid)
    sd = float(np.sqrt(weight @ (grid - mean) ** 2))

    assert drawn.whitened.mean() == pytest.approx(mean, abs=0.05 * sd)
    assert drawn.whitened.std() == pytest.approx(sd, rel=0.05)
    low = grid[np.searchsorted(np.cumsum(weight), 0.05)]
    assert np.quantile(drawn.whitened, 0.05) == pytest.approx(low, abs=0.1 * sd)


def test_what_no_reading_touches_is_drawn_from_its_prior() -> None:
    drawn = sampled(lambda z: z[:, :1] + 0.0 * z[:, 1:], np.zeros(1), np.array([[0.01]]), 2)

    assert drawn.whitened[:, 1].mean() == pytest.approx(0.0, abs=0.05)
    assert drawn.whitened[:, 1].std() == pytest.approx(1.0, rel=0.03)
    assert drawn.whitened[:, 0].std() < 0.11


def test_the_same_seed_gives_the_same_draws() -> None:
    one, two, other = (
        sampled(lambda z: z, np.ones(2), np.eye(2), 2, seed=seed) for seed in (1, 1, 2)
    )

    assert np.array_equal(one.whitened, two.whitened)
    assert not np.array_equal(one.whitened, other.whitened)


@pytest.mark.parametrize("r", [0.0, 0.5, 0.9])
def test_effective_draws_of_an_autoregressive_process(r: float) -> None:
    rng = np.random.default_rng(4)
    chains = np.empty((4, 8000, 1))
    chains[:, 0, 0] = rng.normal(size=4)
    for step in range(1, 8000):
        fresh = np.sqrt(1.0 - r * r) * rng.normal(size=4)
        chains[:, step, 0] = r * chains[:, step - 1, 0] + fresh

    assert effective_draws(chains) == pytest.approx(32000 * (1 - r) / (1 + r), rel=0.25)


def test_chains_that_do_not_agree_are_noticed() -> None:
    rng = np.random.default_rng(8)
    chains = rng.normal(size=(4, 500, 2))
    agreed = r_hat(chains)
    chains[0, :, 1] += 3.0

    assert agreed < 1.02
    assert r_hat(chains) > 1.3
