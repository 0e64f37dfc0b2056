"""
Promise: where pingouin has the method, the project's own functions give its figures to 1e-9.

The t and Welch tests, two one-sided tests, Holm, power of two samples, least squares with a drift
term.  Data are drawn with fixed seeds; F039 takes the library's own published data set.
"""

import math

import numpy as np
import pingouin
import pytest

from feedproof.evidence.comparison import compare, probability_beyond
from feedproof.evidence.designs import fit_design
from feedproof.evidence.multiplicity import holm_adjusted
from feedproof.evidence.planning import power
from feedproof.evidence.students import effective_degrees_of_freedom, student_survival
from tests.published.f_more_runners import mean_of
from tests.published.test_statistics_peers import CLOSE, SEEDS, at_one_place, two_samples


def value(table: object, column: str) -> float:
    """Take a figure out of the library's one-row table."""
    return float(table[column].iloc[0])  # type: ignore[index]


@pytest.mark.parametrize("seed", SEEDS)
def test_pooled_t(seed: int) -> None:
    bare, kit = two_samples(seed)
    ours = at_one_place(bare, kit)
    peer = pingouin.ttest(kit, bare, correction=False, alternative="greater")
    assert ours.estimate / ours.standard_uncertainty == pytest.approx(value(peer, "T"), rel=CLOSE)
    assert ours.degrees_of_freedom == pytest.approx(value(peer, "dof"), rel=CLOSE)
    assert 1.0 - probability_beyond(ours, 0.0) == pytest.approx(value(peer, "p_val"), rel=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_welch(seed: int) -> None:
    bare, kit = two_samples(seed)
    parts = [(float(x.std(ddof=1)) / math.sqrt(x.size), x.size - 1.0) for x in (bare, kit)]
    dof = effective_degrees_of_freedom(parts)
    t = float(kit.mean() - bare.mean()) / math.hypot(parts[0][0], parts[1][0])
    peer = pingouin.ttest(kit, bare, correction=True)
    assert t == pytest.approx(value(peer, "T"), rel=CLOSE)
    assert dof == pytest.approx(value(peer, "dof"), rel=CLOSE)
    assert 2.0 * student_survival(abs(t), dof) == pytest.approx(value(peer, "p_val"), rel=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_two_one_sided_tests(seed: int) -> None:
    bare, kit = two_samples(seed)
    ours = at_one_place(bare, kit)
    worse = max(1.0 - probability_beyond(ours, -2.0), probability_beyond(ours, 2.0))
    peer = pingouin.tost(kit, bare, bound=2.0, correction=False)
    assert worse == pytest.approx(value(peer, "pval"), rel=1e-8, abs=CLOSE)


@pytest.mark.parametrize("seed", SEEDS)
def test_holm(seed: int) -> None:
    p = np.random.default_rng([72, seed]).uniform(0.0, 0.2, 5)
    _, peer = pingouin.multicomp(p, method="holm")
    assert holm_adjusted(p.tolist()) == pytest.approx(peer.tolist(), rel=CLOSE)


@pytest.mark.parametrize(("n", "effect"), [(3, 1.0), (5, 0.3), (17, 2.0)])
def test_power_of_two_samples(n: int, effect: float) -> None:
    design = fit_design([False] * n + [True] * n, [0] * (2 * n))
    peer = pingouin.power_ttest(d=effect, n=n, alpha=0.05, alternative="greater")
    assert power(design, margin=effect, repeatability=1.0) == pytest.approx(peer, abs=CLOSE)


@pytest.mark.parametrize("order", ["ABBA", "ABABAB", "AAABBB"])
def test_least_squares_with_a_drift_term(order: str) -> None:
    rng = np.random.default_rng([73, len(order)])
    flags = np.array([letter == "B" for letter in order])
    places = np.cumsum(rng.uniform(0.5, 2.0, flags.size))
    y = rng.normal(size=flags.size) + 0.7 * flags + 0.3 * places
    ours = compare(y, flags, places, ["one"] * flags.size)
    peer = pingouin.linear_regression(np.column_stack([flags.astype(float), places]), y)
    assert ours.estimate == pytest.approx(float(peer["coef"].iloc[1]), rel=CLOSE)
    assert ours.drift_per_run == pytest.approx(float(peer["coef"].iloc[2]), rel=CLOSE)
    assert ours.standard_uncertainty == pytest.approx(float(peer["se"].iloc[1]), rel=CLOSE)


def test_f039_agreement_of_two_meters() -> None:
    # Giavarina 2015, 30 pairs, from the library: bias, scatter, limits of agreement (1.96 s).
    pairs = pingouin.read_dataset("blandaltman")
    bias, scatter, _ = mean_of([float(a - b) for a, b in zip(pairs["A"], pairs["B"], strict=True)])
    found = (bias, scatter, bias - 1.96 * scatter, bias + 1.96 * scatter)
    assert found == pytest.approx((-27.166667, 34.805948, -95.386325, 41.052992), rel=1e-6)
