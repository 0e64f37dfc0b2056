"""
The comparison promises: difference, scatter and limits of a linear model with drift.

Outside judge: ordinary least squares of statsmodels, Student's t of scipy.stats.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from feedproof.case.margin import Measure, Repeatability
from feedproof.case.outcome import Answer
from feedproof.core.errors import InputError
from feedproof.evidence.archive import Archive, archive_of, pooled_archive
from feedproof.evidence.comparison import Comparison, compare, probability_beyond
from feedproof.evidence.limits import classify, coverage

FloatArray = NDArray[np.float64]
ARCHIVE = Archive(standard_deviation=1.0, degrees_of_freedom=8.0, source="repeats of 2024")
LOSSES = st.floats(-50.0, 50.0).map(lambda x: round(x, 3))


def run(order: str, losses: list[float] | FloatArray, **settings_: object) -> Comparison:
    """Compare runs driven in an order, all with one plumbing."""
    given_ = {"setup": ["one"] * len(order), **settings_}
    return compare(
        np.asarray(losses, dtype=np.float64),
        np.array([letter == "B" for letter in order]),
        np.arange(float(len(order))),
        **given_,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("order", ["ABBA", "ABAB", "AABB", "ABABAB", "ABBABAAB", "ABABABABAB"])
def test_difference_scatter_and_limits_are_those_of_a_general_regression(order: str) -> None:
    rng = np.random.default_rng(len(order))
    n = len(order)
    b = np.array([letter == "B" for letter in order], dtype=float)
    y = -1170.0 + 0.8 * b + 0.3 * np.arange(n) + rng.normal(0.0, 1.0, n)
    found = run(order, y)
    model = sm.OLS(y, np.column_stack([np.ones(n), b, np.arange(n) - (n - 1) / 2])).fit()
    assert found.estimate == pytest.approx(model.params[1], rel=1e-9)
    assert found.drift_per_run == pytest.approx(model.params[2], rel=1e-9)
    assert found.repeatability == pytest.approx(math.sqrt(model.mse_resid), rel=1e-9)
    assert found.standard_uncertainty == pytest.approx(model.bse[1], rel=1e-9)
    low, high = model.conf_int(alpha=0.10)[1]
    assert (found.lower, found.upper) == pytest.approx((low, high), rel=1e-9)


def test_runs_and_archive_are_pooled_by_their_degrees_of_freedom() -> None:
    found = run("ABBA", [0.0, 1.0, 1.6, 0.4], archive=ARCHIVE)
    alone = run("ABBA", [0.0, 1.0, 1.6, 0.4])
    assert alone.repeatability is not None
    expected = math.sqrt((8.0 * 1.0 + alone.repeatability**2) / 9.0)
    assert found.repeatability == pytest.approx(expected, rel=1e-12)
    assert found.degrees_of_freedom == pytest.approx(9.0)
    assert found.tags == ()


def test_an_archive_that_the_runs_contradict_is_dropped_and_said_so() -> None:
    # F(1, 8) has its 95 % point at 5.318 (any F table): scatter of 2.306 of the declared one.
    below, above = 2.30 * 2.0, 2.31 * 2.0
    kept = run("ABBA", _zigzag(below), archive=ARCHIVE)
    dropped = run("ABBA", _zigzag(above), archive=ARCHIVE)
    assert "archive_dropped" not in kept.tags
    assert "archive_dropped" in dropped.tags
    assert dropped.repeatability == pytest.approx(2.31)
    assert dropped.degrees_of_freedom == pytest.approx(1.0)


def _zigzag(size: float) -> FloatArray:
    """Give ABBA losses whose residual standard deviation is half the size."""
    # (1, -3, 3, -1) is orthogonal to level, candidate and drift in ABBA.
    pattern = np.array([1.0, -3.0, 3.0, -1.0])
    return pattern / math.sqrt(20.0) * size / 2.0


def test_a_single_pair_leans_openly_on_what_was_declared() -> None:
    found = run("AB", [0.0, 0.5], archive=ARCHIVE, drift_per_run=0.2, margin=4.0)
    assert found.answer is Answer.NO_LOSS_WITHIN
    assert {"rests_on_declared_repeatability", "drift_declared"} <= set(found.tags)
    assert "repeats of 2024" in found.reasons[0]
    assert found.u_drift == pytest.approx(0.2)


@pytest.mark.parametrize(
    "declared",
    [
        {},
        {"archive": ARCHIVE},
        {"drift_per_run": 0.2},
        {"archive": ARCHIVE, "drift_per_run": 0.0},
    ],
)
def test_a_single_pair_cannot_tell_when_anything_is_undeclared(declared: dict[str, object]) -> None:
    found = run("AB", [0.0, 0.0], margin=100.0, **declared)
    assert found.answer is Answer.CANNOT_TELL
    assert (found.lower, found.upper) == (-math.inf, math.inf)
    assert found.reasons


def test_three_runs_without_a_declared_repeatability_cannot_tell() -> None:
    found = run("ABA", [0.0, 0.1, 0.0], margin=100.0)
    assert found.answer is Answer.CANNOT_TELL
    assert "repeatability_unknown" in found.tags


def test_runs_that_repeat_to_the_last_digit_are_no_repeatability() -> None:
    found = run("ABBA", [1170.0] * 4, margin=2.0)
    assert found.answer is Answer.CANNOT_TELL
    assert "repeatability_unknown" in found.tags


def test_a_hard_bound_on_drift_is_added_as_it_is() -> None:
    one = run("AB", [0.0, 0.5], archive=ARCHIVE, drift_per_run=1e-9)
    two = run("AB", [0.0, 0.5], archive=ARCHIVE, drift_bound_per_run=0.7)
    assert two.upper - one.upper == pytest.approx(0.7, abs=1e-6)
    assert one.lower - two.lower == pytest.approx(0.7, abs=1e-6)


def test_opening_the_plumbing_for_the_kit_costs_what_its_scatter_says() -> None:
    settings_ = {"setup": ["a", "k", "k", "a"], "archive": ARCHIVE, "setup_sd": 0.5}
    found = run("ABBA", [0.0, 1.0, 1.6, 0.4], **settings_)
    assert found.u_setup == pytest.approx(0.5 * math.sqrt(2.0))
    u = math.hypot(found.u_repeatability, found.u_setup)
    dof = u**4 / (found.u_repeatability**4 / 9.0)
    assert found.degrees_of_freedom == pytest.approx(dof)
    assert found.upper == pytest.approx(found.estimate + stats.t.ppf(0.95, dof) * u)


@pytest.mark.parametrize(
    ("lower", "upper", "answer"),
    [
        (-0.5, 1.9, Answer.NO_LOSS_WITHIN),
        (0.1, 1.9, Answer.SMALL_LOSS),
        (2.1, 3.0, Answer.LOSS_BEYOND),
        (0.1, 2.0, Answer.LOSS_UNSETTLED),
        (2.0, 3.0, Answer.LOSS_UNSETTLED),
        (0.0, 2.0, Answer.CANNOT_TELL),
        (-9.0, 9.0, Answer.CANNOT_TELL),
        (0.0, 1.9, Answer.NO_LOSS_WITHIN),
    ],
)
def test_two_limits_give_one_of_five_answers(lower: float, upper: float, answer: Answer) -> None:
    assert classify(lower, upper, 2.0) is answer


def test_a_gain_is_flagged_and_not_believed() -> None:
    found = run("ABBA", [5.0, 0.0, 0.1, 5.2], archive=ARCHIVE, margin=2.0)
    assert "apparent_gain" in found.tags


@pytest.mark.parametrize(
    ("losses", "margin"),
    [
        ([0.0, 0.5, 0.6, 0.3], 4.0),
        ([0.0, 4.0, 4.2, 0.3], 9.0),
        ([0.0, 9.0, 9.2, 0.3], 2.0),
        ([0.0, 3.0, 3.2, 0.3], 2.5),
        ([0.0, 0.5, 0.6, 0.3], 1.9),
    ],
)
def test_the_answer_flips_at_the_flip_repeatability(losses: list[float], margin: float) -> None:
    found = run("ABBA", losses, archive=ARCHIVE, type_b_u=0.2, margin=margin)
    flip = found.flip_repeatability
    assert flip is not None
    answers = []
    for s in (flip * (1 - 1e-6), flip * (1 + 1e-6)):
        half = coverage(s * math.sqrt(found.design.variance_factor), 9.0, 0.2)[0]
        answers.append(classify(found.estimate - half, found.estimate + half, margin))
    told, other = answers if found.answer is not Answer.CANNOT_TELL else answers[::-1]
    assert told is found.answer
    assert other is not found.answer


def test_with_a_declared_repeatability_alone_the_flip_is_in_closed_form() -> None:
    found = run("ABA", [0.0, 0.5, 0.0], archive=ARCHIVE, margin=4.0)
    expected = (4.0 - 0.5) / (stats.t.ppf(0.95, 8) * math.sqrt(1.5))
    assert found.flip_repeatability == pytest.approx(expected, rel=1e-9)


def test_the_flat_posterior_is_that_of_two_hundred_thousand_draws() -> None:
    found = run("ABA", [0.0, 0.5, 0.0], archive=ARCHIVE, margin=2.5)
    rng = np.random.default_rng(5)
    sigma = np.sqrt(8.0 / rng.chisquare(8.0, 200_000))
    draws = 0.5 + sigma * math.sqrt(1.5) * rng.normal(size=200_000)
    assert probability_beyond(found, 2.5) == pytest.approx((draws > 2.5).mean(), abs=0.002)


def test_the_margin_test_the_limit_and_the_posterior_agree() -> None:
    found = run("ABABAB", [0.0, 0.5, -0.1, 0.9, 0.4, 0.3], archive=ARCHIVE)
    assert probability_beyond(found, found.upper) == pytest.approx(0.05, abs=1e-9)


def test_an_added_uncertainty_never_narrows_the_limits_at_one_degree_of_freedom() -> None:
    # Welch-Satterthwaite alone would: k u falls from 6.31 to 3.01 when an equal, well known
    # uncertainty joins one with a single degree of freedom.
    widths = [coverage(1.0, 1.0, u)[0] for u in np.linspace(0.0, 8.0, 81)]
    assert all(b >= a for a, b in pairwise(widths))
    assert widths[-1] > widths[0]


@given(st.floats(0.0, 5.0), st.floats(0.3, 30.0), st.floats(0.0, 10.0), st.floats(0.0, 5.0))
def test_more_uncertainty_never_narrows_a_limit(
    u: float, dof: float, other: float, more: float
) -> None:
    assert coverage(u, dof, math.hypot(other, more))[0] >= coverage(u, dof, other)[0] * (1 - 1e-12)
    assert coverage(u + more, dof, other)[0] >= coverage(u, dof, other)[0] * (1 - 1e-9)


ORDERS = st.text("AB", min_size=4, max_size=10).filter(lambda s: {"A", "B"} <= set(s))


@settings(max_examples=60)
@given(st.data(), ORDERS)
def test_the_order_of_storage_changes_no_digit(data: st.DataObject, order: str) -> None:
    n = len(order)
    losses = np.array(data.draw(st.lists(LOSSES, min_size=n, max_size=n)))
    shuffled = data.draw(st.permutations(range(n)))
    setup = np.array([f"s{i % 3}" for i in range(n)])
    flags = np.array([letter == "B" for letter in order])
    places = np.arange(float(n))
    index = np.array(shuffled)
    one = compare(losses, flags, places, setup.tolist(), archive=ARCHIVE, setup_sd=0.3, margin=2.0)
    two = compare(
        losses[index],
        flags[index],
        places[index],
        setup[index].tolist(),
        archive=ARCHIVE,
        setup_sd=0.3,
        margin=2.0,
    )
    assert one == two


@settings(max_examples=60)
@given(st.data(), ORDERS, st.floats(1e-3, 1e4))
def test_a_change_of_unit_changes_no_answer(data: st.DataObject, order: str, factor: float) -> None:
    n = len(order)
    losses = np.array(data.draw(st.lists(LOSSES, min_size=n, max_size=n)))
    scaled = Archive(standard_deviation=factor, degrees_of_freedom=8.0)
    one = run(order, losses, archive=ARCHIVE, margin=2.0)
    two = run(order, losses * factor, archive=scaled, margin=2.0 * factor)
    assert two.estimate == pytest.approx(one.estimate * factor, rel=1e-9, abs=1e-9 * factor)
    if one.tags == two.tags:
        assert two.upper == pytest.approx(one.upper * factor, rel=1e-9, abs=1e-9 * factor)


@settings(max_examples=60)
@given(st.data(), ORDERS, st.floats(-2000.0, 2000.0))
def test_a_constant_in_all_runs_changes_no_difference(
    data: st.DataObject, order: str, constant: float
) -> None:
    n = len(order)
    losses = np.array(data.draw(st.lists(LOSSES, min_size=n, max_size=n)))
    one, two = run(order, losses, archive=ARCHIVE), run(order, losses + constant, archive=ARCHIVE)
    assert two.estimate == pytest.approx(one.estimate, abs=1e-8)
    assert two.data_sd == pytest.approx(one.data_sd, abs=1e-8)


@given(st.floats(-20.0, 20.0), st.lists(LOSSES, min_size=4, max_size=4))
def test_a_straight_drift_cancels_in_abba(drift: float, losses: list[float]) -> None:
    one = run("ABBA", losses, archive=ARCHIVE)
    two = run("ABBA", np.array(losses) + drift * np.arange(4.0), archive=ARCHIVE)
    assert two.estimate == pytest.approx(one.estimate, abs=1e-9)
    assert two.data_sd == pytest.approx(one.data_sd, abs=1e-9)
    assert two.drift_per_run == pytest.approx((one.drift_per_run or 0.0) + drift, abs=1e-9)


def test_swapping_the_names_turns_the_difference_round() -> None:
    losses = [0.3, 1.7, 0.1, 2.2, 0.9, 1.1]
    one, two = run("ABABAB", losses), run("BABABA", losses)
    assert two.estimate == pytest.approx(-one.estimate, rel=1e-12)
    assert two.upper == pytest.approx(-one.lower, rel=1e-12)


def test_a_judged_repeatability_counts_for_four_degrees_at_most() -> None:
    judged = Repeatability(
        measure=Measure.WHEEL_POWER,
        standard_deviation=1.0,
        degrees_of_freedom=30.0,
        source="judged by the operator",
    )
    found = archive_of(judged)
    assert found is not None
    assert found.degrees_of_freedom == 4.0


def test_pooling_archives_weighs_by_degrees_of_freedom() -> None:
    pooled = pooled_archive([1.0, 2.0], [6, 2])
    assert pooled.standard_deviation == pytest.approx(math.sqrt((6 + 8) / 8))
    assert pooled.degrees_of_freedom == 8.0


def test_figures_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="not a finite number"):
        run("ABBA", [0.0, math.nan, 1.0, 2.0])
    with pytest.raises(InputError, match="different length"):
        run("ABBA", [0.0, 1.0, 2.0])
    with pytest.raises(InputError, match="none may be negative"):
        run("ABBA", [0.0, 1.0, 2.0, 1.0], type_b_u=-0.1)
    with pytest.raises(InputError, match="must be above 0"):
        Archive(standard_deviation=0.0, degrees_of_freedom=8.0)
