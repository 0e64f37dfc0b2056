"""
Promise: the front holds what nothing dominates, and the order of two is as sure as it is said.

Outside check: dominance by three plain loops over the definition; the probability that one of two
normal scores is the smaller, and one of two lognormal exposures in a linear score, in closed form
by the normal distribution of SciPy; cost by hand.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from hypothesis.extra.numpy import arrays
from scipy.stats import norm

from feedproof.kits.front import front_of, order_of, score, whole_cost


def dominated(rows: list[list[float]], mine: int) -> bool:
    """Say whether any other row is nowhere larger and somewhere smaller."""
    for other in range(len(rows)):
        no_larger, smaller = True, False
        for a, b in zip(rows[other], rows[mine], strict=True):
            no_larger = no_larger and a <= b
            smaller = smaller or a < b
        if no_larger and smaller:
            return True
    return False


@given(
    arrays(
        np.float64,
        some.tuples(some.integers(1, 14), some.integers(1, 5)),
        elements=some.integers(0, 4).map(float),
    )
)
def test_the_front_is_what_the_definition_says(rows: np.ndarray) -> None:
    found = front_of(rows).tolist()
    assert found == [not dominated(rows.tolist(), row) for row in range(len(rows))]
    assert any(found)


def test_an_empty_field_has_an_empty_front() -> None:
    assert front_of(np.empty((0, 5))).size == 0


@pytest.mark.parametrize("shift", [-2.0, -0.3, 0.0, 0.7])
def test_the_probability_of_an_order_is_that_of_two_normal_scores(shift: float) -> None:
    rng = np.random.default_rng(7)
    draws = 40_000
    # Common draws cancel: only the difference N(shift, 1.5) decides.
    common, own = 30.0 * rng.standard_normal(draws), 1.5 * rng.standard_normal(draws)
    order = order_of(common + shift + own, common)
    exact = float(norm.cdf(-shift / 1.5))
    assert order.probability == pytest.approx(exact, abs=4.0 * order.standard_error + 1e-9)
    assert order.standard_error == pytest.approx(math.sqrt(exact * (1 - exact) / draws), rel=0.05)
    assert order.told == (not 0.4 <= order.probability <= 0.6)


def test_lognormal_exposures_in_a_linear_score_have_the_closed_form() -> None:
    # score = cost + W log2(exposure) is linear in ln(exposure): its difference is normal.
    rng = np.random.default_rng(8)
    sigma, worth, dearer = 0.6, 100.0, 40.0
    first = [score(dearer, each, worth) for each in np.exp(sigma * rng.standard_normal(20_000) - 1)]
    second = [score(0.0, each, worth) for each in np.exp(sigma * rng.standard_normal(20_000))]
    mean = dearer - worth / math.log(2.0)
    spread = worth / math.log(2.0) * sigma * math.sqrt(2.0)
    order = order_of(np.array(first), np.array(second))
    assert order.probability == pytest.approx(norm.cdf(-mean / spread), abs=0.012)


def test_ties_count_by_halves_and_what_breaks_a_limit_comes_last() -> None:
    one, other = np.array([1.0, 1.0, math.inf, 2.0]), np.array([1.0, 2.0, 5.0, math.inf])
    assert order_of(one, other).probability == pytest.approx((0.5 + 1 + 0 + 1) / 4)
    same = order_of(np.full(3, math.inf), np.full(3, math.inf))
    assert same.probability == 0.5
    assert not same.told


def test_costs_add_up_by_hand() -> None:
    # 128 of parts, 5 joints at 5, and 100/40 - 1 = 1.5 changes of 44 + 30.
    assert whole_cost(128.0, 5, 5.0, 44.0, 30.0, 4e7) == pytest.approx(128 + 25 + 1.5 * 74)
    # What lasts beyond the horizon is never changed in it, and gives nothing back.
    assert whole_cost(128.0, 5, 5.0, 44.0, 30.0, 3e8) == pytest.approx(153.0)


def test_a_halving_is_worth_what_was_declared() -> None:
    assert score(90.0, 0.25, 150.0) == pytest.approx(90.0 - 300.0)
