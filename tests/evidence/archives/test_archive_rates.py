"""
An archive built by this code keeps the decision's promise; one that keeps the drift does not.

Simulated workshops: eight sessions of three baseline runs each (8 degrees of freedom, drawn anew
for every trial) on a rig that drifts, then one trial whose true loss is the margin.  The band is
that of the method's own simulation, 0.045 to 0.054 in 40000 trials, widened by four standard
errors of these 20000.
"""

import math
from functools import cache

import numpy as np
import pytest

from feedproof.evidence.archive import Archive, pooled_archive
from feedproof.evidence.archives.repeats import Spread, spread_of_repeats
from feedproof.evidence.comparison import compare

TRIALS = 20000
MARGIN = 2.0
ALLOWANCE = 4.0 * math.sqrt(0.05 * 0.95 / TRIALS)
BAND = (0.045 - ALLOWANCE, 0.054 + ALLOWANCE)
PASSES = ("no_loss_within_margin", "small_loss_inside_margin")


@cache
def archives(drift: float, *, keep_drift: bool = False) -> tuple[Archive, ...]:
    """Build archives of 8 sessions of 3 runs of unit scatter."""
    rng = np.random.default_rng(8)
    draws = rng.normal(size=(TRIALS, 8, 3)) + drift * np.arange(3.0)
    built = []
    for sessions in draws.tolist():
        if keep_drift:
            s = [float(np.std(values, ddof=1)) for values in sessions]
            built.append(pooled_archive(s, [1] * 8))
            continue
        found = [spread_of_repeats(values, (0, 1, 2), ("loop",) * 3) for values in sessions]
        spreads = [each for each in found if isinstance(each, Spread)]
        assert len(spreads) == 8
        built.append(
            pooled_archive(
                [each.standard_deviation for each in spreads],
                [each.degrees_of_freedom for each in spreads],
            )
        )
    return tuple(built)


def false_accepts(order: str, drift: float, built: tuple[Archive, ...]) -> float:
    """Give the share of trials that pass a loss of the margin."""
    rng = np.random.default_rng(len(order))
    flags = np.array([letter == "B" for letter in order])
    places = np.arange(float(len(order)))
    losses = MARGIN * flags + drift * places + rng.normal(size=(TRIALS, len(order)))
    found = [
        compare(y, flags, places, ["loop"] * len(order), archive=archive, margin=MARGIN)
        for y, archive in zip(losses, built, strict=True)
    ]
    return sum(each.answer.value in PASSES for each in found) / TRIALS


@pytest.mark.parametrize("order", ["ABA", "ABBA"])
@pytest.mark.parametrize("drift", [0.0, 1.0])
def test_a_loss_of_the_margin_passes_once_in_twenty(order: str, drift: float) -> None:
    assert BAND[0] <= false_accepts(order, drift, archives(drift)) <= BAND[1]


def test_the_built_archive_is_unbiased() -> None:
    """Mean of the pooled variance is 1 within four standard errors (sd of chi2_8/8 is 0.5)."""
    mean = np.mean([each.standard_deviation**2 for each in archives(1.0)])

    assert mean == pytest.approx(1.0, abs=4 * 0.5 / math.sqrt(TRIALS))


@pytest.mark.parametrize("order", ["ABA", "ABBA"])
def test_an_archive_that_keeps_the_drift_is_seen_to_be_wrong(order: str) -> None:
    """A drift of 1 a run doubles the variance of three repeats, and the rate leaves the band."""
    built = archives(1.0, keep_drift=True)

    # Drift in its pooled variance: 1 + 1 (variance of places 0, 1, 2).
    assert np.mean([each.standard_deviation**2 for each in built]) > 1.9
    assert false_accepts(order, 1.0, built) < BAND[0]
