"""
A sample of the parameters after the runs, and how far it can be trusted.

Independence Metropolis: what is proposed is drawn around the mode by the covariance there, so all
proposals are asked of the model in one call.  Each round of proposals sets those of the next, which
takes the bend of the model in.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.evidence.fit.estimate import Estimate, Predicted

FloatArray = NDArray[np.float64]
LogDensity = Callable[[FloatArray], FloatArray]
"""Points, shape (m, p), to the logarithm of a density, shape (m,)."""

CHAINS, DRAWS = 4, 3000
ROUNDS, PILOT = 2, 4000
"""Rounds of proposals by which those of the chains are set, and their number."""
WIDE_SHARE, WIDE = 0.5, 1.15
"""Share of the proposals, and their width, that look beyond what the rounds before saw."""
LEAST_EFFECTIVE, GREATEST_R_HAT = 400.0, 1.02
"""What a sample must reach to be relied on: the project's own rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """
    Parameters after the runs as a sample.

    Parameters
    ----------
    whitened : array, shape (n, p)
        Draws, in prior standard deviations from what the case says; chain after chain.
    acceptance : float
        Share of the proposals taken. [-]
    effective : float
        Least number of independent draws that the sample is worth, over the parameters. [-]
    r_hat : float
        Largest ratio of the spread of all chains to that inside a chain. [-]
    approximate : bool
        True where the draws are of the normal law around the mode.
    """

    whitened: FloatArray
    acceptance: float
    effective: float
    r_hat: float
    approximate: bool = False

    @property
    def reliable(self) -> bool:
        """Say whether the sample is worth enough independent draws."""
        return self.effective >= LEAST_EFFECTIVE and self.r_hat <= GREATEST_R_HAT


@dataclass(frozen=True, slots=True, kw_only=True)
class _Proposal:
    """A normal law with a wider one mixed in."""

    centre: FloatArray
    lower: FloatArray

    def draw(self, rng: np.random.Generator, count: int) -> FloatArray:
        """Draw points."""
        wide = np.where(rng.random(count) < WIDE_SHARE, WIDE, 1.0)
        standard = rng.normal(size=(count, self.centre.size)) * wide[:, None]
        drawn: FloatArray = self.centre + standard @ self.lower.T
        return drawn

    def log_density(self, points: FloatArray) -> FloatArray:
        """Give its logarithm, without what is the same for all points."""
        standard = np.linalg.solve(self.lower, (points - self.centre).T)
        square = np.einsum("ij,ij->j", standard, standard)
        narrow: FloatArray = math.log(1.0 - WIDE_SHARE) - 0.5 * square
        wide = math.log(WIDE_SHARE) - self.centre.size * math.log(WIDE) - 0.5 * square / WIDE**2
        mixed: FloatArray = np.logaddexp(narrow, wide)
        return mixed


def sample(
    predicted: Predicted,
    measured: FloatArray,
    covariance: FloatArray,
    found: Estimate,
    *,
    seed: int = 1,
    draws: int = DRAWS,
    pilot: int = PILOT,
) -> Posterior:
    """
    Sample the parameters after the runs.

    Parameters
    ----------
    predicted, measured, covariance
        As for `feedproof.evidence.fit.estimate.estimate`.
    found : Estimate
        Mode and covariance, around which is proposed.
    seed : int
        Of the draws.
    draws, pilot : int
        Of each chain, and of each round before.

    Returns
    -------
    Posterior
        Parameters that no reading depends on are drawn from their prior.
    """
    whitening = np.linalg.inv(np.linalg.cholesky(covariance))
    active = np.flatnonzero(found.touched)
    rng = np.random.default_rng(seed)

    def log_density(points: FloatArray) -> FloatArray:
        full = np.zeros((points.shape[0], len(found.parameters)))
        full[:, active] = points
        off = whitening @ (predicted(full) - measured).T
        square = np.einsum("ij,ij->j", off, off) + np.einsum("ij,ij->i", points, points)
        return np.where(np.isfinite(square), -0.5 * square, -np.inf)

    spread: FloatArray = found.covariance[np.ix_(active, active)]
    proposal = _Proposal(centre=found.whitened[active], lower=_root(spread))
    for _ in range(ROUNDS):
        points = proposal.draw(rng, pilot)
        proposal = _learnt(proposal, points, log_density(points))
    chains, acceptance = _walk(proposal, log_density, rng, draws)
    whitened = rng.normal(size=(CHAINS * draws, len(found.parameters)))
    whitened[:, active] = chains.reshape(CHAINS * draws, active.size)
    return Posterior(
        whitened=whitened,
        acceptance=acceptance,
        effective=effective_draws(chains),
        r_hat=r_hat(chains),
    )


def normal_sample(found: Estimate, *, seed: int = 1, draws: int) -> Posterior:
    """
    Draw from the normal law around the mode, where a line is too slow to be asked for each draw.

    Parameters
    ----------
    found : Estimate
        Mode and covariance.
    seed : int
        Of the draws.
    draws : int
        How many.

    Returns
    -------
    Posterior
        Independent draws of an approximation: the bend of the line is not in it.
    """
    rng = np.random.default_rng(seed)
    standard = rng.normal(size=(draws, len(found.parameters)))
    return Posterior(
        whitened=found.whitened + standard @ _root(found.covariance).T,
        acceptance=1.0,
        effective=float(draws),
        r_hat=1.0,
        approximate=True,
    )


def _learnt(proposal: _Proposal, points: FloatArray, log_density: FloatArray) -> _Proposal:
    """Move and turn the proposal to what the first round weighs most."""
    weights = log_density - proposal.log_density(points)
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    if 1.0 / float(weights @ weights) < 5.0 * proposal.centre.size:
        return proposal  # too few points count: their covariance would be a chance one
    centre = weights @ points
    off = points - centre
    spread = (off * weights[:, None]).T @ off
    return _Proposal(centre=centre, lower=_root(spread))


def _root(spread: FloatArray) -> FloatArray:
    """Give the lower root of a covariance."""
    return np.asarray(np.linalg.cholesky(spread), dtype=np.float64)


def _walk(
    proposal: _Proposal, log_density: LogDensity, rng: np.random.Generator, draws: int
) -> tuple[FloatArray, float]:
    """Take or leave the proposals, chain by chain."""
    points = proposal.draw(rng, CHAINS * (draws + 1))
    weights = (log_density(points) - proposal.log_density(points)).reshape(CHAINS, draws + 1)
    points = points.reshape(CHAINS, draws + 1, -1)
    chances = np.log(rng.random((CHAINS, draws + 1)))
    chains = np.empty((CHAINS, draws, points.shape[2]))
    taken = 0
    for chain in range(CHAINS):
        at = 0
        for step in range(1, draws + 1):
            if chances[chain, step] < weights[chain, step] - weights[chain, at]:
                at = step
                taken += 1
            chains[chain, step - 1] = points[chain, at]
    return chains, taken / (CHAINS * draws)


def r_hat(chains: FloatArray) -> float:
    """
    Compare the spread of all chains with that inside each half of a chain.

    Parameters
    ----------
    chains : array, shape (n_chains, n_draws, p)
        Draws.

    Returns
    -------
    float
        The largest over the parameters; 1 when the chains say the same.

    Notes
    -----
    Split R-hat of Gelman and Rubin (Gelman et al., Bayesian Data Analysis, 3rd ed., 11.4: memory).
    """
    half = chains.shape[1] // 2
    parts = np.concatenate([chains[:, :half], chains[:, half : 2 * half]])
    inside = parts.var(axis=1, ddof=1).mean(axis=0)
    between = half * parts.mean(axis=1).var(axis=0, ddof=1)
    ratio = np.sqrt(((half - 1) / half * inside + between / half) / np.maximum(inside, 1e-300))
    return float(ratio.max()) if ratio.size else 1.0


def effective_draws(chains: FloatArray) -> float:
    """
    Count the independent draws that chains are worth.

    Parameters
    ----------
    chains : array, shape (n_chains, n_draws, p)
        Draws.

    Returns
    -------
    float
        The least over the parameters.

    Notes
    -----
    Autocorrelations summed in pairs until a pair falls below 0 (Geyer 1992: memory).
    """
    count, length, parameters = chains.shape
    if parameters == 0:
        return float(count * length)
    off = chains - chains.mean(axis=1, keepdims=True)
    size = 2 ** math.ceil(math.log2(2 * length))
    spectrum = np.fft.rfft(off, n=size, axis=1)
    covariances = np.fft.irfft(spectrum * spectrum.conj(), n=size, axis=1)[:, :length] / length
    mean = covariances.mean(axis=0)
    correlations = mean / np.maximum(mean[0], 1e-300)
    pairs = correlations[: length - length % 2].reshape(-1, 2, parameters).sum(axis=1)
    counted = np.cumprod(pairs > 0.0, axis=0)
    time = np.maximum(2.0 * (pairs * counted).sum(axis=0) - 1.0, 1.0 / length)
    return float((count * length / np.maximum(time, 1.0)).min())
