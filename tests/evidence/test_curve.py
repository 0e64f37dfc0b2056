"""
The curve promises: "nowhere more" only if every bin says so, and a band that holds the whole curve.

Simulated with a fixed seed.  The rule for the degrees of freedom of pooled bins is shown to
matter: taking every bin as independent lets too much through.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from feedproof.core.errors import InputError
from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import compare
from feedproof.evidence.curve import CurveComparison, compare_curve, pooled_degrees_of_freedom

FloatArray = NDArray[np.float64]
BINS = 8
REPEATS = 1500


def curve(order: str, losses: FloatArray, **settings: object) -> CurveComparison:
    """Compare curves of one plumbing."""
    return compare_curve(
        losses,
        np.array([letter == "B" for letter in order]),
        np.arange(float(len(order))),
        ["one"] * len(order),
        **settings,  # type: ignore[arg-type]
    )


def root(correlation: float) -> FloatArray:
    """Give a root of a correlation that falls with the distance between bins."""
    distance = np.abs(np.subtract.outer(np.arange(BINS), np.arange(BINS)))
    return np.linalg.cholesky(correlation**distance)


def draw(rng: np.random.Generator, order: str, loss: FloatArray, mix: FloatArray) -> FloatArray:
    """Draw a session of curves with drift."""
    b = np.array([letter == "B" for letter in order], dtype=float)
    noise = rng.normal(size=(len(order), BINS)) @ mix.T
    return np.outer(b, loss) + 0.5 * np.arange(len(order))[:, None] + noise


def test_each_bin_is_the_plain_comparison_when_it_has_its_archive() -> None:
    rng = np.random.default_rng(2)
    losses = draw(rng, "ABABAB", np.zeros(BINS), np.eye(BINS))
    archives = [
        Archive(standard_deviation=1.0 + 0.1 * j, degrees_of_freedom=8) for j in range(BINS)
    ]
    found = curve("ABABAB", losses, archives=archives, margin=2.0)
    for j in range(BINS):
        alone = compare(
            losses[:, j],
            np.array([letter == "B" for letter in "ABABAB"]),
            np.arange(6.0),
            ["one"] * 6,
            archive=archives[j],
            margin=2.0,
        )
        assert (found.lower[j], found.upper[j]) == pytest.approx((alone.lower, alone.upper))
        assert found.answers[j] is alone.answer


def test_one_bin_over_the_margin_takes_the_whole_claim() -> None:
    archives = [Archive(standard_deviation=0.2, degrees_of_freedom=20)] * BINS
    rng = np.random.default_rng(3)
    flat = draw(rng, "ABABAB", np.zeros(BINS), 0.2 * np.eye(BINS))
    dip = np.zeros(BINS)
    dip[5] = 2.5
    dipped = flat + np.outer([0, 1, 0, 1, 0, 1], dip)
    average = compare(
        dipped.mean(axis=1),
        np.array([False, True] * 3),
        np.arange(6.0),
        ["one"] * 6,
        archive=archives[0],
        margin=2.0,
    )
    assert average.upper < 2.0  # the average alone hides it
    assert curve("ABABAB", flat, archives=archives, margin=2.0).nowhere_more
    found = curve("ABABAB", dipped, archives=archives, margin=2.0)
    assert not found.nowhere_more
    assert found.located.tolist() == [j == 5 for j in range(BINS)]


def test_pooled_degrees_of_freedom_lie_between_one_bin_and_all() -> None:
    for correlation in (0.0, 0.5, 0.9, 1.0):
        distance = np.abs(np.subtract.outer(np.arange(BINS), np.arange(BINS)))
        dof = pooled_degrees_of_freedom(3.0, correlation**distance)
        assert 3.0 <= dof <= 24.0


def test_pooled_scatter_is_the_root_mean_square_of_the_bins() -> None:
    rng = np.random.default_rng(4)
    losses = draw(rng, "ABABAB", np.zeros(BINS), root(0.6))
    found = curve("ABABAB", losses)
    design = np.column_stack([np.ones(6), [0, 1] * 3, np.arange(6.0)])
    residual = losses - design @ np.linalg.lstsq(design, losses, rcond=None)[0]
    s = math.sqrt((residual**2).sum() / (3 * BINS))
    dof = pooled_degrees_of_freedom(3.0, np.corrcoef(residual.T))
    half = stats.t.ppf(0.95, dof) * s * math.sqrt(35 / 48)
    assert found.upper - found.estimate == pytest.approx(np.full(BINS, half), rel=1e-9)
    assert "scatter_pooled_over_bins" in found.tags


def claims(order: str, loss: FloatArray, mix: FloatArray, *, independent: bool = False) -> float:
    """Give how often a curve claims to be nowhere above a margin of 2."""
    rng = np.random.default_rng(8)
    made = 0
    for _ in range(REPEATS):
        found = curve(order, draw(rng, order, loss, mix), margin=2.0)
        if independent:
            half = found.upper - found.estimate
            nu = len(order) - 3
            narrower = stats.t.ppf(0.95, nu * BINS) / stats.t.ppf(0.95, found.degrees_of_freedom)
            made += bool((found.estimate + half * narrower < 2.0).all())
        else:
            made += found.nowhere_more
    return made / REPEATS


def test_a_loss_of_the_margin_in_one_bin_passes_once_in_twenty_at_most() -> None:
    loss = np.full(BINS, -20.0)
    loss[3] = 2.0
    # Standard error 0.0056.
    assert 0.02 < claims("ABABAB", loss, root(0.9)) < 0.068


def test_bins_that_move_together_taken_as_independent_pass_too_much() -> None:
    loss = np.full(BINS, -20.0)
    loss[3] = 2.0
    assert claims("ABABAB", loss, root(0.995), independent=True) > 0.068
    assert claims("ABABAB", loss, root(0.995)) < 0.068


@pytest.mark.parametrize("correlation", [0.3, 0.9])
def test_the_drawn_band_holds_the_whole_curve(correlation: float) -> None:
    rng = np.random.default_rng(11)
    mix = root(correlation)
    held = 0
    for _ in range(REPEATS):
        losses = draw(rng, "ABABAB", np.zeros(BINS), mix)
        s0 = math.sqrt(rng.chisquare(8) / 8)
        archives = [Archive(standard_deviation=s0, degrees_of_freedom=8)] * BINS
        found = curve("ABABAB", losses, archives=archives)
        held += bool(((found.drawn_lower < 0.0) & (found.drawn_upper > 0.0)).all())
    assert 0.93 < held / REPEATS < 0.99


def test_a_single_pair_draws_no_band() -> None:
    found = curve("AB", np.zeros((2, BINS)) + np.arange(BINS), margin=2.0)
    assert np.isinf(found.drawn_upper).all()
    assert not found.nowhere_more
    assert not found.located.any()


def test_archives_must_be_one_for_each_bin() -> None:
    with pytest.raises(InputError, match="1 archives for 8 speed bins"):
        curve(
            "ABBA",
            np.zeros((4, BINS)),
            archives=[Archive(standard_deviation=1.0, degrees_of_freedom=8)],
        )
