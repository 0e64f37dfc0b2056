"""
The plan of runs promises: what each order costs in variance, exactly.

The fractions are those of ordinary least squares for the stated orders; the independent check
against a general regression library stands in ``test_comparison``.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedproof.core.errors import InputError
from feedproof.evidence.designs import design_of_order, fit_design, recommended_order

TABLE = {
    "ABA": (Fraction(3, 2), 0),
    "AABB": (Fraction(5), 1),
    "ABAB": (Fraction(5, 4), 1),
    "ABBA": (Fraction(1), 1),
    "AAABBB": (Fraction(35, 12), 3),
    "ABABAB": (Fraction(35, 48), 3),
    "ABBAAB": (Fraction(35, 52), 3),
    "ABBABAAB": (Fraction(1, 2), 5),
    "ABABABABAB": (Fraction(33, 80), 7),
}


def by_fractions(order: str) -> Fraction:
    """Work out the variance factor of d in exact fractions, as the inverse normal matrix has it."""
    n = len(order)
    b = [Fraction(letter == "B") for letter in order]
    t = [Fraction(i) for i in range(n)]
    b = [x - sum(b) / n for x in b]
    t = [x - sum(t) / n for x in t]
    bb = sum(x * x for x in b)
    bt = sum(x * y for x, y in zip(b, t, strict=True))
    tt = sum(x * x for x in t)
    return tt / (bb * tt - bt * bt)


@pytest.mark.parametrize("order", TABLE)
def test_the_table_of_variance_factors_and_degrees_of_freedom_is_exact(order: str) -> None:
    factor, dof = TABLE[order]
    design = design_of_order(order)
    assert by_fractions(order) == factor
    assert design.variance_factor == pytest.approx(float(factor), rel=1e-15)
    assert design.degrees_of_freedom == dof
    assert design.drift_fitted


def test_drift_cannot_be_told_from_the_candidate_in_two_runs() -> None:
    design = design_of_order("AB")
    assert not design.drift_fitted
    assert design.variance_factor_with_drift == float("inf")
    assert (design.variance_factor, design.mean_gap, design.degrees_of_freedom) == (2.0, 1.0, 0)


def test_a_shared_plumbing_cancels_and_a_new_one_for_the_kit_does_not() -> None:
    design = design_of_order("ABBA")
    assert design.setup_factor(["one"] * 4) == 0.0
    assert design.setup_factor(["a", "k", "k", "a"]) == pytest.approx(2.0)
    assert design.setup_factor(["a", "k", "k", "b"]) == pytest.approx(1.5)
    assert design.setup_factor(list("abcd")) == pytest.approx(design.variance_factor)


@given(st.text("AB", min_size=3, max_size=12).filter(lambda s: {"A", "B"} <= set(s)))
def test_weights_take_a_step_of_one_and_nothing_of_level_or_drift(order: str) -> None:
    design = design_of_order(order)
    b = [float(letter == "B") for letter in order]
    assert sum(design.weights) == pytest.approx(0.0, abs=1e-9)
    assert sum(c * x for c, x in zip(design.weights, b, strict=True)) == pytest.approx(1.0)
    if design.drift_fitted:
        drift = sum(c * i for i, c in enumerate(design.weights))
        assert drift == pytest.approx(0.0, abs=1e-8)
    squares = sum(c * c for c in design.weights)
    assert design.variance_factor == pytest.approx(squares, rel=1e-9)


def test_an_order_with_one_configuration_is_refused() -> None:
    with pytest.raises(InputError, match="both need at least 1"):
        design_of_order("AAA")


def test_other_letters_are_named() -> None:
    with pytest.raises(InputError, match="holds C"):
        design_of_order("ABC")


def test_lists_of_different_length_are_refused() -> None:
    with pytest.raises(InputError, match="2 runs but 3 places"):
        fit_design([True, False], [0, 1, 2])


def test_the_recommended_order_can_always_fit_drift() -> None:
    assert all(design_of_order(recommended_order(n)).drift_fitted for n in range(1, 12))
