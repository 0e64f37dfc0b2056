"""What must not change a fitted element, whatever the runs: drawn by hypothesis."""

import dataclasses
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.evidence.fit.element_fit import fit_element
from feedproof.evidence.fit.element_result import ElementFit
from feedproof.evidence.fit.element_run import ElementRun
from tests.evidence.fit.element_sets import L_PER_H, TRUE_A, TRUE_B, Plant

AT_120 = 120.0 * L_PER_H
FEW = settings(max_examples=25, deadline=None)

seeds = st.integers(0, 2**31)
plants = st.builds(
    Plant,
    order=st.sampled_from(["AB", "ABA", "ABBA", "ABABAB"]),
    points=st.integers(6, 14),
    flow_sd=st.floats(0.1, 2.0),
    depression_sd=st.floats(0.02, 0.2),
    scale_sd=st.sampled_from([0.0, 0.02]),
    offset_sd=st.sampled_from([0.0, 0.1]),
)


def scaled(run: ElementRun, flow: float, pressure: float) -> ElementRun:
    """Write a run in other units."""
    return dataclasses.replace(
        run,
        flow_m3_per_s=run.flow_m3_per_s * flow,
        flow_u_m3_per_s=run.flow_u * flow,
        depression_pa=run.depression_pa * pressure,
        depression_u_pa=run.depression_u * pressure,
        depression_offset_u_pa=run.depression_offset_u_pa * pressure,
    )


def shuffled(run: ElementRun, draw: random.Random) -> ElementRun:
    """Put a run's points in another order."""
    order = list(range(len(run.flow_m3_per_s)))
    draw.shuffle(order)
    return dataclasses.replace(
        run, flow_m3_per_s=run.flow_m3_per_s[order], depression_pa=run.depression_pa[order]
    )


def limits(fit: ElementFit) -> tuple[float, ...]:
    added = fit.added_depression(AT_120).added_pa
    return (added.value, added.low, added.high)


@FEW
@given(plant=plants, seed=seeds, flow=st.floats(0.01, 100.0), pressure=st.floats(0.01, 100.0))
def test_units_scale_through(plant: Plant, seed: int, flow: float, pressure: float) -> None:
    runs = plant.runs(np.random.default_rng(seed))

    one = fit_element(runs)
    two = fit_element([scaled(run, flow, pressure) for run in runs])

    assert two.bound is one.bound
    floor = 1e-9 * pressure * TRUE_A / flow
    assert two.coefficients[0] == pytest.approx(
        one.coefficients[0] * pressure / flow, rel=1e-8, abs=floor
    )
    u = [f.covariance for f in (one, two)]
    assert u[1][0][0] == pytest.approx(u[0][0][0] * (pressure / flow) ** 2, rel=1e-7)
    added = two.added_depression(AT_120 * flow).added_pa
    expected = tuple(value * pressure for value in limits(one))
    assert (added.value, added.low, added.high) == pytest.approx(expected, rel=1e-8)


@FEW
@given(plant=plants, seed=seeds)
def test_the_order_of_runs_and_points_changes_no_digit(plant: Plant, seed: int) -> None:
    runs = plant.runs(np.random.default_rng(seed))
    draw = random.Random(seed)
    other = [shuffled(run, draw) for run in runs]
    draw.shuffle(other)

    one, two = fit_element(runs), fit_element(other)

    assert two.coefficients == one.coefficients
    assert two.covariance == one.covariance
    assert limits(two) == limits(one)


@FEW
@given(plant=plants, seed=seeds, bias=st.floats(-2e4, 2e4))
def test_a_constant_bias_of_the_gauge_changes_neither_part(
    plant: Plant, seed: int, bias: float
) -> None:
    runs = plant.runs(np.random.default_rng(seed))
    biased = [dataclasses.replace(run, depression_pa=run.depression_pa + bias) for run in runs]

    one, two = fit_element(runs), fit_element(biased)

    assert two.coefficients[0] == pytest.approx(one.coefficients[0], rel=1e-7, abs=1e-7 * TRUE_A)
    assert two.coefficients[1] == pytest.approx(one.coefficients[1], rel=1e-7, abs=1e-7 * TRUE_B)
    assert one.line_constant_pa is not None
    assert two.line_constant_pa == pytest.approx(one.line_constant_pa + bias, abs=1e-4)


@FEW
@given(
    plant=plants,
    a=st.floats(0.1, 10.0).map(lambda share: share * TRUE_A),
    b=st.floats(0.1, 10.0).map(lambda share: share * TRUE_B),
)
def test_planted_truth_without_noise_comes_back(plant: Plant, a: float, b: float) -> None:
    fit = fit_element(dataclasses.replace(plant, a=a, b=b).runs(None))

    assert fit.coefficients == pytest.approx((a, b), rel=1e-9)


@FEW
@given(plant=plants, seed=seeds, more=st.floats(1.0, 5.0))
def test_more_uncertainty_never_narrows(plant: Plant, seed: int, more: float) -> None:
    # A scale shared by all runs comes on top: it can widen only.
    runs = plant.runs(np.random.default_rng(seed))

    one = fit_element(runs, shared_flow_scale_u=0.01)
    two = fit_element(runs, shared_flow_scale_u=0.01 * more)

    widths = [f.added_depression(AT_120).added_pa for f in (one, two)]
    assert widths[1].high - widths[1].low >= (widths[0].high - widths[0].low) * (1.0 - 1e-12)
