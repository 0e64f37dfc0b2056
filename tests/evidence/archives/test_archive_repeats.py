"""
The scatter of one session's repeats.

Held against statsmodels' regression on place (and on the plumbing), and against planted scatter.
"""

import math

import numpy as np
import pytest
import statsmodels.api as sm

from feedproof.core.errors import InputError
from feedproof.evidence.archives.repeats import Spread, spread_of_repeats


@pytest.fixture
def rng() -> np.random.Generator:
    """Give each test the same draws, whichever tests run before it."""
    return np.random.default_rng(20260302)


def spread(values, places, setups) -> Spread:
    """Give a spread that must be there."""
    found = spread_of_repeats(values, places, setups)
    assert isinstance(found, Spread), found
    return found


@pytest.mark.parametrize("places", [(0, 1, 2), (0, 2, 4), (0, 3, 4, 7), (1, 2, 3, 5, 8, 13)])
@pytest.mark.parametrize("replumbed", [False, True])
def test_it_is_the_residual_scatter_of_a_straight_line(rng, places, replumbed: bool) -> None:
    """Statsmodels OLS on [1, place]: root of its residual mean square and its residual dof."""
    n = len(places)
    values = rng.normal(size=n) + 100.0
    setups = [f"s{i}" for i in range(n)] if replumbed else ["s"] * n
    found = spread(values.tolist(), places, setups)
    peer = sm.OLS(values, sm.add_constant(np.array(places, dtype=float))).fit()

    assert found.standard_deviation == pytest.approx(math.sqrt(peer.mse_resid), rel=1e-9)
    assert found.degrees_of_freedom == peer.df_resid == n - 2
    assert found.drift_per_run == pytest.approx(peer.params[1], rel=1e-9)
    assert found.replumbed is replumbed


def test_shared_plumbings_have_a_mean_each(rng) -> None:
    """Statsmodels OLS on [a mean for each plumbing, place]; opening the line is not inside."""
    setups = ["a", "a", "b", "b", "b", "c", "c"]
    places = np.arange(7.0)
    values = rng.normal(size=7) + np.array([0, 0, 50, 50, 50, -90, -90])
    dummies = np.array([[name == each for each in "abc"] for name in setups], dtype=float)
    peer = sm.OLS(values, np.column_stack([dummies, places])).fit()
    found = spread(values.tolist(), places.tolist(), setups)

    assert found.standard_deviation == pytest.approx(math.sqrt(peer.mse_resid), rel=1e-9)
    assert found.degrees_of_freedom == peer.df_resid == 3
    assert not found.replumbed


@pytest.mark.parametrize("slope", [-3.0, 0.0, 10.0])
def test_a_straight_drift_changes_nothing(slope: float) -> None:
    places = [0.0, 2.0, 4.0, 5.0]
    still = [0.3, -0.1, 0.4, 0.0]
    moved = [y + slope * t + 7.0 for y, t in zip(still, places, strict=True)]

    assert spread(moved, places, ["a"] * 4).standard_deviation == pytest.approx(
        spread(still, places, ["a"] * 4).standard_deviation, rel=1e-12
    )


def test_the_order_of_storage_changes_no_digit() -> None:
    values, places = [0.31, -0.17, 0.43, 0.02], [0.0, 2.0, 4.0, 5.0]
    back = spread(values[::-1], places[::-1], ["a"] * 4)

    assert back.standard_deviation == spread(values, places, ["a"] * 4).standard_deviation


@pytest.mark.parametrize(
    ("values", "places", "setups", "words"),
    [
        ([], [], [], "0 baseline runs"),
        ([1.0], [0], ["a"], "1 baseline run:"),
        ([1.0, 2.0], [0, 1], ["a", "a"], "2 baseline runs: drift cannot be told"),
        ([1.0, 2.0, 3.0], [0, 1, 2], ["a", "a", "b"], "in 2 plumbings"),
        ([1.0, 2.0, 4.0], [1, 1, 1], ["a"] * 3, "one place"),
        ([1.0, 1.0, 1.0], [0, 1, 2], ["a"] * 3, "last digit"),
        ([1.0, 2.0, 3.0], [0, 1, 2], ["a"] * 3, "last digit"),
    ],
)
def test_what_says_nothing_says_why(values, places, setups, words: str) -> None:
    found = spread_of_repeats(values, places, setups)

    assert isinstance(found, str)
    assert words in found


@pytest.mark.parametrize(
    ("values", "places"), [([1.0, math.nan, 2.0], [0, 1, 2]), ([1.0, 2.0, 3.0], [0, 1])]
)
def test_rubbish_is_refused(values, places) -> None:
    with pytest.raises(InputError):
        spread_of_repeats(values, places, ["a"] * 3)
