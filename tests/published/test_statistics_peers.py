"""
Promise: where statsmodels has the method, the project's own functions give its figures to 1e-9.

The t and Welch tests, two one-sided tests, Holm, power, least squares with a drift term, and
weighted least squares.  Data are drawn with fixed seeds.
"""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import TTestIndPower
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW, ttost_ind

from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import Comparison, compare, probability_beyond
from feedproof.evidence.designs import fit_design
from feedproof.evidence.multiplicity import holm_adjusted
from feedproof.evidence.planning import power
from feedproof.evidence.students import effective_degrees_of_freedom, student_survival

CLOSE = 1e-9
SEEDS = range(6)


def two_samples(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw a baseline and a candidate sample."""
    rng = np.random.default_rng([71, seed])
    sizes = rng.integers(3, 12, 2)
    return rng.normal(10.0, 1.0, sizes[0]), rng.normal(10.8, 2.0, sizes[1])


def at_one_place(bare: np.ndarray, kit: np.ndarray) -> Comparison:
    """Compare without an order, so that there is no drift to fit."""
    n = bare.size + kit.size
    flags = np.array([False] * bare.size + [True] * kit.size)
    return compare(np.concatenate([bare, kit]), flags, np.zeros(n), ["one"] * n, margin=2.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_pooled_t_limits_and_probability(seed: int) -> None:
    bare, kit = two_samples(seed)
    ours = at_one_place(bare, kit)
    peer = CompareMeans(DescrStatsW(kit), DescrStatsW(bare))
    t, p, dof = peer.ttest_ind(alternative="larger")
    assert ours.estimate / ours.standard_uncertainty == pytest.approx(t, rel=CLOSE)
    assert probability_beyond(ours, 0.0) == pytest.approx(1.0 - p, rel=CLOSE)
    assert ours.degrees_of_freedom == pytest.approx(dof, rel=CLOSE)
    low, high = peer.tconfint_diff(alpha=0.10)
    assert (ours.lower, ours.upper) == pytest.approx((low, high), rel=CLOSE, abs=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_welch_by_the_effective_degrees_of_freedom(seed: int) -> None:
    bare, kit = two_samples(seed)
    t, p, dof = CompareMeans(DescrStatsW(kit), DescrStatsW(bare)).ttest_ind(usevar="unequal")
    parts = [(float(x.std(ddof=1)) / math.sqrt(x.size), x.size - 1.0) for x in (bare, kit)]
    effective = effective_degrees_of_freedom(parts)
    u = math.hypot(parts[0][0], parts[1][0])
    ours = float(kit.mean() - bare.mean()) / u
    assert ours == pytest.approx(t, rel=CLOSE)
    assert effective == pytest.approx(dof, rel=CLOSE)
    assert 2.0 * student_survival(abs(ours), effective) == pytest.approx(p, rel=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_two_one_sided_tests_are_the_two_limits(seed: int) -> None:
    bare, kit = two_samples(seed)
    ours = at_one_place(bare, kit)
    worse, low, high = ttost_ind(kit, bare, -2.0, 2.0, usevar="pooled")
    below = 1.0 - probability_beyond(ours, -2.0)
    above = probability_beyond(ours, 2.0)
    assert below == pytest.approx(low[1], rel=1e-8, abs=CLOSE)
    assert above == pytest.approx(high[1], rel=CLOSE, abs=CLOSE)
    # Both tests at 5 % pass exactly where both limits lie inside the bounds.
    assert (ours.lower > -2.0 and ours.upper < 2.0) == (worse < 0.05)


@pytest.mark.parametrize("seed", SEEDS)
def test_holm(seed: int) -> None:
    p = np.random.default_rng([72, seed]).uniform(0.0, 0.2, 5)
    assert holm_adjusted(p.tolist()) == pytest.approx(multipletests(p, method="holm")[1].tolist())


@pytest.mark.parametrize("n", [3, 5, 17])
@pytest.mark.parametrize("effect", [0.3, 1.0, 2.0])
def test_power_of_two_samples(n: int, effect: float) -> None:
    design = fit_design([False] * n + [True] * n, [0] * (2 * n))
    peer = TTestIndPower().power(effect, n, 0.05, alternative="larger")
    assert power(design, margin=effect, repeatability=1.0) == pytest.approx(peer, abs=CLOSE)


@pytest.mark.parametrize("order", ["ABBA", "AABB", "ABABAB", "ABBABAAB", "AAABBB"])
def test_least_squares_with_a_drift_term(order: str) -> None:
    rng = np.random.default_rng([73, len(order)])
    flags = np.array([letter == "B" for letter in order])
    places = np.cumsum(rng.uniform(0.5, 2.0, flags.size))
    y = rng.normal(size=flags.size) + 0.7 * flags + 0.3 * places
    ours = compare(y, flags, places, ["one"] * flags.size)
    x = sm.add_constant(np.column_stack([flags.astype(float), places]))
    peer = sm.OLS(y, x).fit()
    assert ours.estimate == pytest.approx(peer.params[1], rel=CLOSE)
    assert ours.drift_per_run == pytest.approx(peer.params[2], rel=CLOSE)
    assert ours.standard_uncertainty == pytest.approx(peer.bse[1], rel=CLOSE)
    assert ours.data_sd == pytest.approx(math.sqrt(peer.mse_resid), rel=CLOSE)
    low, high = peer.conf_int(alpha=0.10)[1]
    assert (ours.lower, ours.upper) == pytest.approx((low, high), rel=CLOSE, abs=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_weighted_least_squares_pools_runs_of_unlike_number(seed: int) -> None:
    """Means of m repeats with weight m are the repeats themselves, but for their own scatter."""
    rng = np.random.default_rng([74, seed])
    repeats = rng.integers(1, 5, 8)
    flags = np.array([False, True] * 4)
    means = rng.normal(size=8) + flags
    whole, kit = np.repeat(means, repeats), np.repeat(flags, repeats)
    places = np.repeat(np.arange(8.0), repeats)
    ours = compare(whole, kit, places, ["one"] * whole.size)
    x = sm.add_constant(np.column_stack([flags.astype(float), np.arange(8.0)]))
    peer = sm.WLS(means, x, weights=repeats).fit()
    assert ours.estimate == pytest.approx(peer.params[1], rel=CLOSE)
    assert ours.drift_per_run == pytest.approx(peer.params[2], rel=CLOSE)
    # Both scale the same sum of squares, by their own degrees of freedom.
    scaled = peer.bse[1] * math.sqrt(peer.df_resid / (whole.size - 3.0))
    assert ours.standard_uncertainty == pytest.approx(scaled, rel=CLOSE)


def test_an_archive_is_a_prior_sample_of_its_own() -> None:
    """Pooling by degrees of freedom: the residual sum of the archive beside that of the runs."""
    y, flags = np.array([0.1, 1.2, 0.9, 0.2]), np.array([False, True, True, False])
    archive = Archive(standard_deviation=0.4, degrees_of_freedom=8.0)
    ours = compare(y, flags, np.arange(4.0), ["one"] * 4, archive=archive)
    peer = sm.OLS(y, sm.add_constant(np.column_stack([flags.astype(float), np.arange(4.0)]))).fit()
    pooled = math.sqrt((8.0 * 0.4**2 + peer.ssr) / 9.0)
    assert ours.repeatability == pytest.approx(pooled, rel=CLOSE)
