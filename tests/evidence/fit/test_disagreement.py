"""
Promise: runs are called apart from a prediction as often as chance says, and a wrong kit is named.

Sources: planted truths of `planted_line` (closed forms without the package), chi-square tables.
"""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.app.fit_words import misdescribed_sentence
from feedproof.evidence.fit.disagreement import (
    Standing,
    check_groups,
    chi_square_quantile,
    derivatives,
    misdescribed,
    readings_without,
)
from feedproof.evidence.fit.estimate import estimate
from feedproof.evidence.fit.runs_model import RunsModel
from feedproof.evidence.fit.scatter import Errors, covariance
from tests.evidence.fit import planted_line as planted

ERRORS = Errors(
    run_pa=250.0,
    setup_pa=0.0,
    point_pa=60.0,
    return_percent=1.0,
    return_common_percent=1e-6,
    model_share=0.0,
    temperature_k=0.0,
    level=0.0,
)


def planted_model(seed: int, **changes: float) -> tuple[RunsModel, np.ndarray]:
    """Plant a truth drawn from the priors, changed as told, and give its runs."""
    parameters = planted.parameters()
    rng = np.random.default_rng([41, seed])
    values = parameters.values(rng.normal(size=(1, len(parameters)))).at(0)
    values.update({name.replace("__", "."): value for name, value in changes.items()})
    runs = planted.runs(planted.PLAN, values, rng, 250.0, 60.0, 1.0)
    model = RunsModel(planted.case(), runs, parameters)
    return model, covariance(model, ERRORS)


def test_a_kit_as_described_is_seldom_suspected() -> None:
    """Two checks of eight looks at 5 % together: about 1 in 100; 5 of 80 are beyond chance."""
    named = sum(bool(misdescribed(*planted_model(seed))) for seed in range(80))

    assert named <= 4


@pytest.mark.parametrize(("factor", "side"), [(6.0, 1.0), (0.05, -1.0)])
def test_a_kit_that_is_not_as_described_is_named_with_its_direction(
    factor: float, side: float
) -> None:
    changes = {"kit__second__inertial": factor}
    if side < 0:
        changes["kit__second__viscous"] = 0.35
    for seed in range(6):
        found = misdescribed(*planted_model(seed, **changes))

        assert list(found) == ["second"]
        assert found["second"].difference * side > 0.0
        assert found["second"].standing is Standing.BEYOND


def test_the_sentence_names_all_kits_where_they_were_only_run_together() -> None:
    model, spread = planted_model(1, kit__second__inertial=6.0)
    check = misdescribed(model, spread)["second"]

    assert misdescribed_sentence("second", check).startswith("Kit second is not as described")
    together = replace(check, configuration="second+third")
    assert "or another of second+third" in misdescribed_sentence("second", together)


def test_its_depressions_leave_the_fit_and_its_catches_stay() -> None:
    model, _ = planted_model(0)
    kept = readings_without(model, frozenset({"second"}))
    out = np.setdiff1d(np.arange(model.measured.size), kept)

    assert {model.runs[i].configuration for i in model.of_run[out]} == {"second"}
    assert not model.is_return[out].any()
    assert model.is_return[kept].sum() == len(model.runs)


def test_differences_before_and_after_the_fit_have_the_size_that_is_said() -> None:
    """Mean square over the variance is 1: 60 truths, 8 differences, so 0.85 to 1.15."""
    squares: dict[str, list[float]] = {"before": [], "after": []}
    beyond = 0
    for seed in range(60):
        model, spread = planted_model(seed)
        slopes = derivatives(model, np.zeros(len(model.parameters)))
        before, overall = check_groups(model, spread, model.described(), slopes @ slopes.T)
        beyond += any(check.standing is Standing.BEYOND for check in before)
        squares["before"].append(overall.chi_square / overall.degrees_of_freedom)
        found = estimate(model.predicted, model.measured, spread, model.parameters)
        taken = found.derivatives @ found.covariance @ found.derivatives.T
        _, overall = check_groups(model, spread, found.predicted, -taken)
        squares["after"].append(overall.chi_square / overall.degrees_of_freedom)

    assert np.mean(squares["before"]) == pytest.approx(1.0, abs=0.2)
    assert np.mean(squares["after"]) == pytest.approx(1.0, abs=0.15)
    assert beyond <= 8


@pytest.mark.parametrize(
    ("freedom", "value"), [(1, 3.8415), (2, 5.9915), (10, 18.3070), (20, 31.4104)]
)
def test_chi_square_is_that_of_the_tables(freedom: int, value: float) -> None:
    """Printed tables of the chi-square law at 95 % (memory)."""
    assert chi_square_quantile(0.95, freedom) == pytest.approx(value, abs=1e-4)
