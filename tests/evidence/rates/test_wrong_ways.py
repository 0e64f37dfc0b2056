"""
Well known wrong ways fail as the method's own simulation says: so ours is none of them.

Each cell lies within half a printed unit and four binomial standard errors of both simulations
(3000 sessions there, 4000 here): at most 0.05 at a rate of one half, 0.017 at 0.05.
"""

import numpy as np
import pytest

from tests.evidence.rates.draws import sessions
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.wrong import SAMPLES, SD_INSIDE, WAYS, sampled
from tests.evidence.rates.wrong_figures import MARGIN, TABLE, WRONG_FIGURES

REPEATS = 80_000


def false_accept(way: str, order: str, drift: float, repeats: int = 4000) -> float:
    """Give how often a wrong way passes a loss of the margin."""
    rng = np.random.default_rng(41)
    runs = sessions(rng, order, repeats, loss=MARGIN, drift=drift)
    return float(WAYS[way](sampled(rng, order, runs), MARGIN).mean())


@pytest.mark.parametrize("figure", WRONG_FIGURES, ids=lambda figure: figure.name)
def test_a_wrong_way_fails_as_the_table_says(figure: Figure) -> None:
    found, repeats = figure.measure(REPEATS)
    assert abs(found - figure.printed) <= figure.allowance(repeats), figure.explain(found, repeats)


@pytest.mark.parametrize("way", [way for way in WAYS if way != "run means without drift"])
def test_a_wrong_way_passes_a_real_loss_far_too_often(way: str) -> None:
    assert false_accept(way, "ABBA", 0.0) > 0.1


@pytest.mark.parametrize("way", [way for way in WAYS if way != "not significant"])
def test_in_blocks_with_drift_the_wrong_ways_pass_nearly_everything(way: str) -> None:
    assert false_accept(way, "AAAAABBBBB", -1.0, 1000) > 0.99


def test_samples_as_replicates_pass_as_often_as_calculated() -> None:
    """Closed form: the standard error is 22 times too small, so Phi(-1.645/22.08) = 0.470."""
    spread = np.sqrt(1.0 + SD_INSIDE**2 * 19.0 / SAMPLES)
    ratio = spread / (SD_INSIDE / np.sqrt(SAMPLES))
    assert ratio == pytest.approx(22.0, abs=0.1)
    assert false_accept("samples as replicates", "ABBA", 0.0) == pytest.approx(0.470, abs=0.032)


def test_every_wrong_way_of_the_table_is_tried() -> None:
    assert set(TABLE) == set(WAYS)
