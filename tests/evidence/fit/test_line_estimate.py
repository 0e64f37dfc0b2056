"""
Promise: the fit finds planted parameters, knows how well, and says what runs cannot teach.

Sources: the closed forms of `planted_line` (handbook laws written down without the package), exact
algebra of the linear Gaussian case, and statsmodels' generalised least squares.
"""

from functools import cache

import numpy as np
import pytest
import statsmodels.api as sm

from feedproof.core.errors import MissingError
from feedproof.evidence.archive import Archive
from feedproof.evidence.fit.estimate import (
    Estimate,
    Learned,
    estimate,
    information_eigenvalues,
    inseparable,
    learned,
)
from feedproof.evidence.fit.parameters import Parameter, Parameters
from feedproof.evidence.fit.runs_model import RunsModel
from feedproof.evidence.fit.scatter import Errors, covariance, errors_of_runs
from tests.evidence.fit import planted_line as planted

RUN_PA, POINT_PA, RETURN_PERCENT = 250.0, 60.0, 1.0
ERRORS = Errors(
    run_pa=RUN_PA,
    setup_pa=0.0,
    point_pa=POINT_PA,
    return_percent=RETURN_PERCENT,
    return_common_percent=1e-6,
    model_share=0.0,
    temperature_k=0.0,
    level=0.0,
)


def fitted(model: RunsModel, measured: np.ndarray, spread: np.ndarray) -> Estimate:
    """Fit readings."""
    return estimate(model.predicted, measured, spread, model.parameters)


def said(found: Estimate) -> dict[str, Learned]:
    """Give what was said of each parameter."""
    return {one.name: one for one in learned(found)}


def plain(count: int) -> Parameters:
    """Give parameters without meaning: their whitened scale is their own."""
    return Parameters(
        each=tuple(
            Parameter(name=f"p{i}", meaning="", unit="1", standard_deviation=1.0, source="")
            for i in range(count)
        )
    )


def test_the_described_line_is_that_of_the_closed_forms() -> None:
    model = RunsModel(
        planted.case(), planted.runs(planted.PLAN, planted.described(), None), planted.parameters()
    )

    assert model.described() == pytest.approx(model.measured, rel=1e-9)


def test_each_parameter_moves_the_readings_as_the_closed_forms_say() -> None:
    case, parameters = planted.case(), planted.parameters()
    model = RunsModel(
        case, planted.runs(planted.PLAN, planted.described(), None), planted.parameters()
    )
    for i, one in enumerate(parameters.each):
        whitened = np.zeros((1, len(parameters)))
        whitened[0, i] = 0.7
        moved = {**planted.described(), one.name: one.value(0.7)}
        truth = RunsModel(case, planted.runs(planted.PLAN, moved, None), parameters).measured

        assert model.predicted(whitened)[0] == pytest.approx(truth, rel=1e-9), one.name


@cache
def drawn() -> tuple[RunsModel, np.ndarray, list[tuple[np.ndarray, np.ndarray]]]:
    """Give a model, the covariance, and 200 planted truths with their readings."""
    case, parameters = planted.case(), planted.parameters()
    model = RunsModel(
        case, planted.runs(planted.PLAN, planted.described(), None), planted.parameters()
    )
    cases = []
    for seed in range(200):
        rng = np.random.default_rng([17, seed])
        whitened = rng.normal(size=len(parameters))
        values = parameters.values(whitened[None]).at(0)
        runs = planted.runs(planted.PLAN, values, rng, RUN_PA, POINT_PA, RETURN_PERCENT)
        cases.append((whitened, RunsModel(case, runs, parameters).measured))
    return model, covariance(model, ERRORS), cases


def coverage(spread: np.ndarray, k: float) -> np.ndarray:
    """Give how often the interval of k standard deviations holds the truth, by parameter."""
    model, _, cases = drawn()
    inside = []
    for truth, measured in cases:
        found = fitted(model, measured, spread)
        inside.append(np.abs(found.whitened - truth) <= k * found.ratios)
    return np.mean(inside, axis=0)


def test_intervals_hold_the_planted_truth_as_often_as_they_say() -> None:
    """95 % over 200 cases: standard error 1.5 % for one parameter, so 0.90 to 0.99."""
    held = coverage(drawn()[1], 1.959964)

    assert held.min() > 0.895
    assert held.max() < 0.995
    assert held.mean() == pytest.approx(0.95, abs=0.015)


def test_samples_taken_for_replicates_would_be_far_too_sure() -> None:
    """The wrong method: the same variance of each reading, all readings independent."""
    wrong = np.diag(np.diag(drawn()[1]))
    held = dict(zip(planted.parameters().names, coverage(wrong, 1.959964), strict=True))

    assert held["kit.second.viscous"] < 0.87
    assert held["line.inertial"] < 0.80


def test_without_noise_the_planted_parameters_come_back_where_they_can() -> None:
    case, parameters = planted.case(), planted.parameters()
    values = {**planted.described(), "line.inertial": 1.5, "kit.second.inertial": 0.7}
    model = RunsModel(case, planted.runs(planted.PLAN, values, None), parameters)
    small = Errors(
        run_pa=0.5, setup_pa=0.0, point_pa=0.5, return_percent=0.001, return_common_percent=1e-6,
        model_share=0.0, temperature_k=0.0, level=0.0,
    )  # fmt: skip
    found = fitted(model, model.measured, covariance(model, small))
    best = parameters.values(found.whitened[None]).at(0)

    assert best["line.inertial"] == pytest.approx(1.5, rel=2e-3)
    assert best["kit.second.inertial"] == pytest.approx(0.7, rel=2e-3)


def test_a_parameter_that_no_run_touches_keeps_its_prior_exactly_and_says_so() -> None:
    model, spread, cases = drawn()
    found = fitted(model, cases[0][1], spread)
    place = found.parameters.names.index("fuel.winter.viscosity")

    assert found.whitened[place] == 0.0
    assert found.covariance[place, place] == 1.0
    assert np.count_nonzero(found.covariance[place]) == 1
    assert said(found)["fuel.winter.viscosity"].word == "not learned"


def test_viscosity_cannot_be_told_from_the_resistances_that_it_multiplies() -> None:
    """Only mu times a resistance is seen (exact); with the resistances known mu is learned."""
    case = planted.case()
    names = ("line_viscous", "line_element", "kit_second_viscous")
    words = []
    for known in (False, True):
        wide = planted.parameters(
            fuel_summer_viscosity=0.3, **dict.fromkeys(names, 1e-4 if known else 0.3)
        )
        model = RunsModel(case, planted.runs(planted.WARM, planted.described(), None), wide)
        found = fitted(model, model.measured, covariance(model, ERRORS))
        words.append(said(found)["fuel.summer.viscosity"])

    assert words[0].word == "only together"
    assert set(words[0].partners) & {"line.viscous", "line.element", "kit.second.viscous"}
    assert words[1].word == "learned"


def test_a_pair_of_which_only_the_sum_is_seen_is_named() -> None:
    """Readings of p0 + p1 alone: both keep half their variance, correlation near -1 (exact)."""
    n = 12
    found = estimate(
        lambda z: np.repeat(z[:, :1] + z[:, 1:2], n, axis=1) + 0.0 * z[:, 2:],
        np.ones(n),
        np.eye(n) * 0.04,
        plain(3),
    )
    ((first, second, correlation),) = inseparable(found)
    words = said(found)

    assert (first, second) == ("p0", "p1")
    assert correlation == pytest.approx(-1.0, abs=0.01)
    assert words["p0"].word == "only together"
    assert words["p0"].partners == ("p1",)
    assert words["p2"].word == "not learned"
    # Information of the sum: (1, 1) J'J (1, 1)' / 2 = 2 n / 0.04, all other combinations 0.
    assert information_eigenvalues(found) == pytest.approx([2 * n / 0.04, 0.0, 0.0], abs=1e-6)


def test_the_linear_case_is_generalised_least_squares_with_the_prior_as_readings() -> None:
    rng = np.random.default_rng(5)
    design, root = rng.normal(size=(30, 4)), rng.normal(size=(30, 30))
    spread = root @ root.T + np.eye(30)
    measured = rng.normal(size=30)
    found = estimate(lambda z: z @ design.T, measured, spread, plain(4))
    rows = np.concatenate([design, np.eye(4)])
    whole = np.zeros((34, 34))
    whole[:30, :30], whole[30:, 30:] = spread, np.eye(4)
    peer = sm.GLS(np.concatenate([measured, np.zeros(4)]), rows, sigma=whole).fit()

    assert found.whitened == pytest.approx(peer.params, abs=1e-9)
    assert found.covariance == pytest.approx(peer.normalized_cov_params, rel=1e-9, abs=1e-12)


def test_runs_of_one_configuration_give_run_and_point_scatter_back() -> None:
    case, parameters = planted.case(), planted.parameters()
    found = []
    for seed in range(40):
        rng = np.random.default_rng([23, seed])
        runs = planted.runs(planted.PLAN, planted.described(), rng, RUN_PA, POINT_PA, 1.0)
        model = RunsModel(case, runs, parameters)
        found.append(errors_of_runs(model, depression=None, returns=None))
    # 8 degrees of freedom of runs, so the variance is widened by 8 / 6; see `scatter`.
    runs_var = np.mean([each.run_pa**2 for each in found]) * 6.0 / 8.0
    points_var = np.mean([each.point_pa**2 for each in found])

    # A run's mean holds its points' noise too: 250^2 + 60^2 / 8.
    assert runs_var == pytest.approx(RUN_PA**2 + POINT_PA**2 / 8.0, rel=0.15)
    assert points_var == pytest.approx(POINT_PA**2, rel=0.10)


def test_without_repeats_and_without_a_declaration_nothing_is_fitted() -> None:
    runs = planted.runs(planted.PLAN[:1], planted.described(), None)
    model = RunsModel(planted.case(), runs, planted.parameters())

    with pytest.raises(MissingError, match="repeat"):
        errors_of_runs(model, depression=None, returns=None)
    declared = Archive(standard_deviation=250.0, degrees_of_freedom=8.0)
    assert errors_of_runs(model, depression=declared, returns=declared).run_pa > 250.0


def test_the_order_of_the_runs_changes_nothing() -> None:
    model, spread, cases = drawn()
    found = fitted(model, cases[1][1], spread)
    values = planted.parameters().values(cases[1][0][None]).at(0)
    runs = planted.runs(planted.PLAN, values, None)
    turned = RunsModel(planted.case(), runs[::-1], planted.parameters())
    # The same readings, handed over in the other order of runs.
    order = np.concatenate([np.flatnonzero(model.of_run == i) for i in range(len(runs))[::-1]])
    again = fitted(turned, cases[1][1][order], covariance(turned, ERRORS))

    assert again.whitened == pytest.approx(found.whitened, abs=1e-6)
