"""
Variance-based indices: closed forms, an outside library on the very same samples, the seed.

Closed forms: the Ishigami function as in Saltelli et al., Global Sensitivity Analysis: The Primer,
Wiley 2008, section 4.9 (its partial variances are worked out below from the integrals, so memory
plays no part); the additive linear model, whose variances add up; and a product of two inputs.
SALib is a general-purpose library of its own.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from SALib.analyze import sobol as salib_sobol

from feedproof.core.errors import InputError
from feedproof.feedline.variance import VarianceIndices, variance_indices

FloatArray = NDArray[np.float64]

SLOPES = np.array([4.0, 2.0, 1.0, 0.0])
"""Of the additive model; the last input does nothing."""


def _ishigami(unit: FloatArray) -> FloatArray:
    """Give sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 with x uniform from -pi to pi."""
    x = math.pi * (2.0 * unit - 1.0)
    value = np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    return value[:, None]


def _ishigami_truth() -> tuple[FloatArray, FloatArray]:
    """
    Work out first and total indices by integration.

    By itself x1 brings (1 + b E[x3^4]) sin x1, x2 brings a sin^2 x2, x3 nothing; together x1 and
    x3 bring b (x3^4 - E[x3^4]) sin x1.  E[x^4] = pi^4/5, E[x^8] = pi^8/9, var sin = 1/2,
    var sin^2 = 1/8.
    """
    a, b = 7.0, 0.1
    fourth, eighth = math.pi**4 / 5.0, math.pi**8 / 9.0
    first = np.array([0.5 * (1.0 + b * fourth) ** 2, a * a / 8.0, 0.0])
    together = 0.5 * b * b * (eighth - fourth**2)
    total = first + np.array([together, 0.0, together])
    return first / (first.sum() + together), total / (first.sum() + together)


def _additive(unit: FloatArray) -> FloatArray:
    """Give a weighted sum, whose variance is the sum of (slope squared)/12."""
    return (unit @ SLOPES)[:, None] + 30.0


def _product(unit: FloatArray) -> FloatArray:
    """Give (1 + u1)(1 + 2 u2), and something that only the first input moves."""
    return np.stack([(1.0 + unit[:, 0]) * (1.0 + 2.0 * unit[:, 1]), unit[:, 0] ** 3], axis=1)


def test_the_truth_of_the_ishigami_function_is_the_published_one() -> None:
    """Saltelli et al. 2008 print 0.3139, 0.4424, 0 and 0.5576, 0.4424, 0.2437 (memory)."""
    first, total = _ishigami_truth()

    assert first == pytest.approx([0.3139, 0.4424, 0.0], abs=5e-5)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=5e-5)


def test_the_ishigami_function_is_split_as_in_closed_form() -> None:
    first, total = _ishigami_truth()
    found = variance_indices(_ishigami, 3, base_samples=2**13)

    assert found.first[0] == pytest.approx(first, abs=0.01)
    assert found.total[0] == pytest.approx(total, abs=0.01)
    assert found.first_sum[0] == pytest.approx(first.sum(), abs=0.01)


def test_an_additive_model_is_split_by_its_squared_slopes() -> None:
    truth = SLOPES**2 / np.sum(SLOPES**2)
    found = variance_indices(_additive, 4, base_samples=1024)

    assert found.first[0] == pytest.approx(truth, abs=0.01)
    assert found.total[0] == pytest.approx(truth, abs=0.005)
    assert found.first_sum_low[0] < 1.0 < found.first_sum_high[0]


def test_a_product_is_split_as_in_closed_form() -> None:
    """For independent f and g, var fg = var f (E g)^2 + (E f)^2 var g + var f var g."""
    var_f, var_g, mean_f, mean_g = 1.0 / 12.0, 4.0 / 12.0, 1.5, 2.0
    alone = np.array([var_f * mean_g**2, mean_f**2 * var_g])
    variance = alone.sum() + var_f * var_g
    found = variance_indices(_product, 2, base_samples=2**12)

    assert found.first[0] == pytest.approx(alone / variance, abs=0.005)
    assert found.total[0] == pytest.approx((alone + var_f * var_g) / variance, abs=0.005)
    assert np.var(found.outcomes[:, 0]) == pytest.approx(variance, rel=0.005)


def test_an_input_without_effect_has_no_share_at_all() -> None:
    found = variance_indices(_additive, 4, base_samples=256)

    for values in (found.first, found.first_low, found.first_high, found.total, found.total_high):
        assert values[0, 3] == 0.0


def test_each_outcome_is_split_as_if_it_were_alone() -> None:
    together = variance_indices(_product, 2, base_samples=512)
    alone = variance_indices(lambda unit: _product(unit)[:, 1:], 2, base_samples=512)

    assert together.first[1] == pytest.approx(alone.first[0], abs=1e-12)
    assert together.total_high[1] == pytest.approx(alone.total_high[0], abs=1e-12)


def _interleaved(model, found: VarianceIndices) -> tuple[FloatArray, FloatArray]:
    """Ask the model at the same points again, in the order of SALib: A, AB_1..AB_k, B a row."""
    half = len(found.points) // 2
    first, second = found.points[:half], found.points[half:]
    columns = [model(first)[:, 0]]
    for column in range(first.shape[1]):
        mixed = first.copy()
        mixed[:, column] = second[:, column]
        columns.append(model(mixed)[:, 0])
    columns.append(model(second)[:, 0])
    rows = np.stack(columns, axis=1)
    return rows, rows.ravel()


@pytest.mark.parametrize(("model", "inputs"), [(_ishigami, 3), (_additive, 4), (_product, 2)])
def test_salib_gives_the_same_indices_from_the_same_samples(model, inputs: int) -> None:
    """
    SALib has the same estimators but takes the mean of all points away, not that of A and B.

    That moves a first-order index by (difference of the means) x mean(AB - A)/variance, which is
    added back; then both agree to rounding.  Without it they agree to 0.002 here.
    """
    found = variance_indices(model, inputs, base_samples=1024)
    rows, interleaved = _interleaved(model, found)
    problem = {
        "num_vars": inputs,
        "names": [f"x{i}" for i in range(inputs)],
        "bounds": [[0.0, 1.0]] * inputs,
    }
    outside = salib_sobol.analyze(problem, interleaved, calc_second_order=False, seed=1)
    ends = rows[:, [0, -1]]
    moved = np.mean(rows[:, 1:-1] - rows[:, [0]], axis=0)
    shift = (rows.mean() - ends.mean()) * moved / ends.var()

    assert np.ptp(rows) > 0.0
    assert found.first[0] == pytest.approx(outside["S1"], abs=2e-3)
    assert found.first[0] == pytest.approx(outside["S1"] + shift, abs=1e-9)
    assert found.total[0] == pytest.approx(outside["ST"], abs=1e-9)


def test_the_intervals_are_as_wide_as_those_of_salib() -> None:
    """Its half width is 1.96 standard deviations of its own 100 resamples, so 30 % are allowed."""
    found = variance_indices(_ishigami, 3, base_samples=1024)
    _, interleaved = _interleaved(_ishigami, found)
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0.0, 1.0]] * 3}
    outside = salib_sobol.analyze(
        problem, interleaved, calc_second_order=False, seed=1, num_resamples=400
    )

    assert (found.first_high - found.first_low)[0] / 2.0 == pytest.approx(
        outside["S1_conf"], rel=0.3
    )
    assert (found.total_high - found.total_low)[0] / 2.0 == pytest.approx(
        outside["ST_conf"], rel=0.3
    )


def test_the_intervals_cover_the_truth_and_are_no_wider_than_needed() -> None:
    """
    Planted truth, 40 seeds.

    The bootstrap takes the points as random while they spread evenly, so more than 95 % of the
    intervals hold the truth; fewer than 93 % of the 240 would be a fault.
    """
    first, total = _ishigami_truth()
    held, widths = [], []
    for seed in range(40):
        found = variance_indices(_ishigami, 3, base_samples=512, seed=seed, resamples=400)
        held.append((found.first_low[0] <= first) & (first <= found.first_high[0]))
        held.append((found.total_low[0] <= total) & (total <= found.total_high[0]))
        widths.append(found.total_high[0] - found.total_low[0])

    assert np.mean(held) > 0.93
    assert np.max(widths) < 0.4


def test_four_times_the_samples_halve_the_intervals() -> None:
    few = variance_indices(_ishigami, 3, base_samples=512)
    many = variance_indices(_ishigami, 3, base_samples=2048)
    ratio = (many.total_high - many.total_low) / (few.total_high - few.total_low)

    assert ratio[0] == pytest.approx([0.5, 0.5, 0.5], abs=0.12)


def test_equal_seeds_give_equal_results_and_others_do_not() -> None:
    one, same, other = (variance_indices(_ishigami, 3, base_samples=64, seed=s) for s in (5, 5, 6))

    assert np.array_equal(one.first, same.first)
    assert np.array_equal(one.total_high, same.total_high)
    assert not np.array_equal(one.first, other.first)


def test_exchanged_inputs_exchange_their_indices() -> None:
    """Other columns of the sequence, so to the width of the intervals only."""
    found = variance_indices(_ishigami, 3)
    turned = variance_indices(lambda unit: _ishigami(unit[:, ::-1]), 3)

    assert np.all(turned.total[0, ::-1] >= found.total_low[0])
    assert np.all(turned.total[0, ::-1] <= found.total_high[0])


def test_an_outcome_that_nothing_moves_has_no_indices() -> None:
    found = variance_indices(lambda unit: np.full((len(unit), 1), 7.0), 2, base_samples=64)

    for values in (found.first, found.total, found.first_low, found.total_high, found.first_sum):
        assert np.isnan(values).all()


@pytest.mark.parametrize("samples", [0, 8, 1000, 2**17])
def test_a_number_of_samples_that_is_no_power_of_two_is_refused(samples: int) -> None:
    with pytest.raises(InputError, match="power of 2"):
        variance_indices(_ishigami, 3, base_samples=samples)


def test_an_outcome_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError, match="not finite"):
        variance_indices(lambda unit: np.where(unit > 0.99, np.inf, unit), 1)
