"""
Well known wrong ways to say "no loss beyond the margin", for tests only: none may be ours.

They work on samples inside the runs (autocorrelated, sharing their run's offset) or on run means.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import signal, stats

from tests.evidence.rates.harness import flags_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
SAMPLES, SD_INSIDE, AUTOCORRELATION = 300, 0.8, 0.9
Z95 = 1.6448536269514722
RESAMPLES = 1000


@dataclass(frozen=True, kw_only=True)
class Sampled:
    """Run means of many sessions, with the scatter inside each run."""

    candidate: NDArray[np.bool_]
    mean: FloatArray
    variance_inside: FloatArray
    lag_one: FloatArray

    def sides(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give baseline and candidate."""
        return values[:, ~self.candidate], values[:, self.candidate]

    @property
    def difference(self) -> FloatArray:
        """Give candidate less baseline."""
        bare, kit = self.sides(self.mean)
        return np.asarray(kit.mean(axis=1) - bare.mean(axis=1))


def sampled(rng: np.random.Generator, order: str, runs: FloatArray) -> Sampled:
    """Put autocorrelated samples into the runs, and reduce them session by session."""
    means, inside, lags = [], [], []
    fresh = SD_INSIDE * np.sqrt(1.0 - AUTOCORRELATION**2)
    for part in np.array_split(runs, max(1, runs.size // 4000)):
        start = rng.normal(0.0, SD_INSIDE, (*part.shape, 1))
        noise = fresh * rng.standard_normal((*part.shape, SAMPLES))
        x = signal.lfilter([1.0], [1.0, -AUTOCORRELATION], noise, zi=AUTOCORRELATION * start)[0]
        mean = x.mean(axis=-1)
        x -= mean[..., None]
        squares = (x * x).sum(axis=-1)
        means.append(part + mean)
        inside.append(squares / (SAMPLES - 1))
        lags.append((x[..., 1:] * x[..., :-1]).sum(axis=-1) / squares)
    return Sampled(
        candidate=flags_of(order) == 1.0,
        mean=np.concatenate(means),
        variance_inside=np.concatenate(inside),
        lag_one=np.concatenate(lags),
    )


def samples_as_replicates(s: Sampled, margin: float) -> BoolArray:
    """Take every sample for a repeat: scatter inside the runs over the root of all samples."""
    u = _from_inside(s, np.full(s.mean.shape, float(SAMPLES)))
    return s.difference + Z95 * u < margin


def samples_by_effective_number(s: Sampled, margin: float) -> BoolArray:
    """Correct the number of samples for their autocorrelation: they still share the offset."""
    u = _from_inside(s, SAMPLES * (1.0 - s.lag_one) / (1.0 + s.lag_one))
    return s.difference + Z95 * u < margin


def point_estimate(s: Sampled, margin: float) -> BoolArray:
    """Hold the best estimate against the margin, without a guard."""
    return s.difference < margin


def best_against_best(s: Sampled, margin: float) -> BoolArray:
    """Compare the best run of each."""
    bare, kit = s.sides(s.mean)
    return np.asarray(kit.min(axis=1) - bare.min(axis=1) < margin)


def not_significant(s: Sampled, margin: float) -> BoolArray:
    """Take "no significant difference" for "no loss"; the margin plays no part."""
    del margin
    bare, kit = s.sides(s.mean)
    return np.asarray(stats.ttest_ind(kit, bare, axis=1).pvalue > 0.05)


def bootstrap_of_runs(s: Sampled, margin: float) -> BoolArray:
    """Draw runs again and again and take the 95th percentile of the difference."""
    rng = np.random.default_rng(77)
    bare, kit = s.sides(s.mean)
    n = bare.shape[1]
    first, second = (rng.multinomial(n, np.full(n, 1.0 / n), RESAMPLES) / n for _ in range(2))
    upper = [
        np.quantile(k @ second.T - b @ first.T, 0.95, axis=1)
        for b, k in zip(np.array_split(bare, 20), np.array_split(kit, 20), strict=True)
    ]
    return np.concatenate(upper) < margin


def run_means_with_z(s: Sampled, margin: float) -> BoolArray:
    """Take the normal law's factor whatever the number of runs, and no drift."""
    return s.difference + Z95 * _from_runs(s) < margin


def run_means_without_drift(s: Sampled, margin: float) -> BoolArray:
    """Take Student's factor, but leave the drift out."""
    factor = float(stats.t.ppf(0.95, s.mean.shape[1] - 2))
    return s.difference + factor * _from_runs(s) < margin


WAYS: dict[str, Callable[[Sampled, float], BoolArray]] = {
    "samples as replicates": samples_as_replicates,
    "samples by effective number": samples_by_effective_number,
    "point estimate": point_estimate,
    "best against best": best_against_best,
    "not significant": not_significant,
    "bootstrap of runs": bootstrap_of_runs,
    "run means with z": run_means_with_z,
    "run means without drift": run_means_without_drift,
}


def _from_inside(s: Sampled, number: FloatArray) -> FloatArray:
    """Give the standard error of the difference from scatter inside the runs alone."""
    n = s.mean.shape[1] / 2
    return np.asarray(np.sqrt((s.variance_inside / number).sum(axis=1)) / n)


def _from_runs(s: Sampled) -> FloatArray:
    """Give the standard error of the difference from the pooled scatter of run means."""
    bare, kit = s.sides(s.mean)
    n = bare.shape[1]
    pooled = 0.5 * (bare.var(axis=1, ddof=1) + kit.var(axis=1, ddof=1))
    return np.asarray(np.sqrt(2.0 * pooled / n))
