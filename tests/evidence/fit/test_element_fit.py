"""The resistance of an added element: planted truth, limits, refusals, what cannot be learned."""

import dataclasses
import math

import numpy as np
import pytest

from feedproof.core.errors import InputError
from feedproof.evidence.fit.element_fit import fit_element
from feedproof.evidence.fit.element_limits import make_estimate
from feedproof.evidence.fit.element_plan import Constants
from feedproof.evidence.fit.element_result import Bound, ElementFit
from feedproof.evidence.fit.element_run import ElementRun, FuelState
from tests.evidence.fit.element_sets import (
    KPA,
    L_PER_H,
    LINE_A,
    LINE_B,
    LINE_C,
    TRUE_A,
    TRUE_B,
    Plant,
)

AT_120 = 120.0 * L_PER_H
ADDED_120 = 3120.0  # 2.4 + 0.72 kPa, by hand


def noise(number: int) -> np.random.Generator:
    return np.random.default_rng([2024, number])


def words(fit: ElementFit) -> str:
    return " ".join(map(str, fit.findings))


# --- planted truth ---------------------------------------------------------------------------


@pytest.mark.parametrize("constants", list(Constants))
def test_planted_truth_without_noise_comes_back(constants: Constants) -> None:
    fit = fit_element(Plant(order="ABBA").runs(None), constants=constants)

    assert fit.coefficients == pytest.approx((TRUE_A, TRUE_B), rel=1e-9)
    assert fit.added_depression(AT_120).added_pa.value == pytest.approx(ADDED_120, rel=1e-9)
    line = (fit.line_viscous_pa_s_per_m3, fit.line_inertial_pa_s2_per_m6)
    assert line == pytest.approx((LINE_A, LINE_B), rel=1e-9)
    if constants is Constants.SHARED:
        assert fit.line_constant_pa == pytest.approx(LINE_C, rel=1e-9)


def test_viscosity_and_density_of_each_run_bring_it_to_one_fuel() -> None:
    # Truth written out here: a follows nu rho, b follows rho.  Fuels 15 K apart.
    fuels = [(2.4e-6, 826.0), (3.3e-6, 832.0), (2.6e-6, 828.0), (3.0e-6, 831.0)]
    reference = FuelState(
        temperature_k=313.15, kinematic_viscosity_m2_per_s=2.8e-6, density_kg_per_m3=829.0
    )
    runs = []
    for run, (nu, rho), t in zip(
        Plant(order="ABBA").runs(None), fuels, (318.15, 303.15, 315.15, 308.15), strict=True
    ):
        m, d = nu * rho / (2.8e-6 * 829.0), rho / 829.0
        q, f = run.flow_m3_per_s, float(run.candidate)
        p = LINE_C + m * (LINE_A + f * TRUE_A) * q + d * (LINE_B + f * TRUE_B) * q**2
        runs.append(
            dataclasses.replace(
                run,
                depression_pa=p,
                fuel_temperature_k=t,
                kinematic_viscosity_m2_per_s=nu,
                density_kg_per_m3=rho,
            )
        )

    fit = fit_element(runs, fuel=reference)

    assert fit.coefficients == pytest.approx((TRUE_A, TRUE_B), rel=1e-9)
    assert fit.viscous_per_m3 == pytest.approx(TRUE_A / (2.8e-6 * 829.0), rel=1e-9)
    assert fit.inertial_per_m4 == pytest.approx(TRUE_B / 829.0, rel=1e-9)
    cold = FuelState(
        temperature_k=273.15, kinematic_viscosity_m2_per_s=8.4e-6, density_kg_per_m3=829.0
    )
    # Three times the viscosity: 3 x 2.4 + 0.72 kPa.
    assert fit.added_depression(AT_120, cold).added_pa.value == pytest.approx(7920.0, rel=1e-9)
    doubt = fit.added_depression(AT_120, cold, viscosity_relative_u=0.1)
    assert dict(doubt.budget)["viscosity at the stated fuel"] == pytest.approx(720.0, rel=1e-9)


def test_a_and_b_are_strongly_anticorrelated_and_their_sum_is_known_better() -> None:
    # The method's simulation has -0.97; a range that starts near no flow gives less.
    fit = fit_element(Plant(lowest=60.0, highest=150.0, points=20).runs(noise(1)))

    assert fit.correlation == pytest.approx(-0.97, abs=0.02)
    a, b = fit.viscous_pa_s_per_m3, fit.inertial_pa_s2_per_m6
    assert a is not None
    assert b is not None
    added = fit.added_depression(AT_120).added_pa
    assert added.standard_uncertainty < 0.3 * AT_120 * a.standard_uncertainty
    assert added.standard_uncertainty < 0.5 * AT_120**2 * b.standard_uncertainty


# --- errors that a run, or all runs, share ---------------------------------------------------


def test_more_points_do_not_average_a_runs_flow_scale_down() -> None:
    few, many = (
        fit_element(Plant(order="AB", points=n, scale_sd=0.03).runs(None)) for n in (12, 1200)
    )

    scale = [dict(f.added_depression(AT_120).budget)["flow scale of each run"] for f in (few, many)]
    assert scale[1] == pytest.approx(scale[0], rel=0.05)
    points = [dict(f.added_depression(AT_120).budget)["flow of each point"] for f in (few, many)]
    assert points[1] == pytest.approx(points[0] / 10.0, rel=0.05)


def test_the_scale_of_two_runs_is_the_closed_form_of_two_slopes() -> None:
    # With exact points the added loss is p_B(Q) - p_A(Q); a scale error of u moves each by
    # u Q dp/dQ of its own curve, and both runs have their own: root sum of squares, by hand.
    plant = Plant(order="AB", points=40, flow_sd=1e-3, depression_sd=1e-4, scale_sd=0.02)

    budget = dict(fit_element(plant.runs(None)).added_depression(AT_120).budget)

    slopes = [
        AT_120 * (LINE_A + f * TRUE_A + 2.0 * (LINE_B + f * TRUE_B) * AT_120) for f in (0.0, 1.0)
    ]
    # Shared constant: the curves must meet at no flow, which both scale errors leave as it is.
    assert budget["flow scale of each run"] == pytest.approx(0.02 * math.hypot(*slopes), rel=1e-3)


def test_a_scale_shared_by_all_runs_puts_u_into_a_and_two_u_into_b() -> None:
    fit = fit_element(Plant().runs(None), shared_flow_scale_u=0.01)

    cause = next(c for c in fit.causes if "shared by all" in c.name)
    assert math.sqrt(cause.viscous_variance) == pytest.approx(0.01 * TRUE_A, rel=1e-9)
    assert math.sqrt(cause.inertial_variance) == pytest.approx(0.02 * TRUE_B, rel=1e-9)
    budget = dict(fit.added_depression(AT_120).budget)
    assert budget[cause.name] == pytest.approx(0.01 * 2400.0 + 0.02 * 720.0, rel=1e-9)


def test_a_shared_scale_error_moves_the_fit_by_just_that() -> None:
    plain = fit_element(Plant(order="ABBA").runs(noise(4)))
    runs = [
        dataclasses.replace(
            run, flow_m3_per_s=run.flow_m3_per_s * 1.02, flow_u_m3_per_s=run.flow_u * 1.02
        )
        for run in Plant(order="ABBA").runs(noise(4))
    ]

    moved = fit_element(runs)

    assert moved.coefficients[0] == pytest.approx(plain.coefficients[0] / 1.02, rel=1e-9)
    assert moved.coefficients[1] == pytest.approx(plain.coefficients[1] / 1.02**2, rel=1e-9)


def test_the_budget_adds_up_to_the_uncertainty() -> None:
    plant = Plant(order="ABBA", scale_sd=0.02, offset_sd=0.1)
    fit = fit_element(plant.runs(noise(2)), shared_flow_scale_u=0.01)

    added = fit.added_depression(AT_120)

    assert fit.expansion == 1.0
    total = math.sqrt(math.fsum(u * u for _, u in added.budget))
    assert added.added_pa.standard_uncertainty == pytest.approx(total, rel=1e-12)
    assert [name for name, _ in added.budget] == [
        "depression of each point",
        "flow of each point",
        "depression offset of each run",
        "flow scale of each run",
        "flow scale shared by all runs",
    ]


def test_limits_are_those_of_t_and_never_narrower_than_a_part() -> None:
    # t table: 1.860 and 2.306 at 8 degrees of freedom.
    estimate = make_estimate(10.0, [(2.0, 8.0)])
    assert estimate.upper == pytest.approx(10.0 + 1.8595 * 2.0, abs=1e-3)
    assert estimate.low == pytest.approx(10.0 - 2.3060 * 2.0, abs=1e-3)
    wider = make_estimate(10.0, [(2.0, 1.0), (1.0, math.inf)])
    assert wider.upper >= make_estimate(10.0, [(2.0, 1.0)]).upper


# --- scatter beyond what was declared --------------------------------------------------------


def test_points_that_scatter_more_than_declared_widen_the_uncertainty() -> None:
    runs = Plant(order="ABBA", depression_sd=0.3, flow_sd=0.1).runs(noise(5))
    honest = fit_element(runs)
    hopeful = fit_element([dataclasses.replace(r, depression_u_pa=0.1 * KPA) for r in runs])

    assert honest.expansion == 1.0
    assert hopeful.expansion == pytest.approx(3.0, rel=0.25)
    assert "uncertainties widened" in words(hopeful)
    u = [f.added_depression(AT_120).added_pa.standard_uncertainty for f in (honest, hopeful)]
    assert u[1] == pytest.approx(u[0], rel=0.25)
    dof = hopeful.added_depression(AT_120).added_pa.degrees_of_freedom
    assert dof == pytest.approx(hopeful.degrees_of_freedom)


def test_few_runs_that_disagree_are_found_among_many_points() -> None:
    plant = Plant(order="ABBAAB", points=40, offset_sd=0.4)
    runs = [dataclasses.replace(r, depression_offset_u_pa=0.0) for r in plant.runs(noise(6))]

    fit = fit_element(runs)

    assert "the runs differ from each other" in words(fit)
    # Six runs, one constant: five degrees of freedom, not 235.
    assert fit.added_depression(AT_120).added_pa.degrees_of_freedom == pytest.approx(5.0)
    assert fit_element(plant.runs(noise(6))).expansion == 1.0


def test_a_declared_scale_of_few_degrees_of_freedom_widens_the_limits() -> None:
    runs = Plant(order="ABBA", scale_sd=0.03).runs(noise(7))

    sure, unsure = fit_element(runs), fit_element(runs, flow_scale_dof=3.0)

    one, two = (f.added_depression(AT_120).added_pa for f in (sure, unsure))
    assert one.standard_uncertainty == two.standard_uncertainty
    assert two.degrees_of_freedom < 4.0
    assert two.high - two.low > 1.4 * (one.high - one.low)


# --- bounds ----------------------------------------------------------------------------------


def test_a_negative_inertial_part_is_set_to_zero_and_said() -> None:
    fit = fit_element(Plant(b=-2.0e-5 * KPA / L_PER_H**2).runs(None))

    assert fit.bound is Bound.NO_INERTIAL
    assert fit.free_coefficients[1] < 0.0
    assert fit.coefficients[1] == 0.0
    assert fit.coefficients[0] > 0.0
    assert "inertial part came out negative and was set to 0" in words(fit)


def test_a_negative_viscous_part_is_set_to_zero_and_said() -> None:
    fit = fit_element(Plant(a=-0.2 * TRUE_A, b=4.0 * TRUE_B).runs(None))

    assert fit.bound is Bound.NO_VISCOUS
    assert fit.coefficients[0] == 0.0
    assert fit.coefficients[1] > 0.0
    assert "viscous part came out negative" in words(fit)


def test_the_refit_is_the_fit_without_the_column() -> None:
    # A purely viscous truth: noise makes b negative in about half of all sets.
    fits = [fit_element(Plant(b=0.0).runs(noise(10 + i))) for i in range(12)]

    bound = [f for f in fits if f.bound is Bound.NO_INERTIAL]
    assert 2 <= len(bound) <= 10
    for fit in bound:
        # The added loss at the middle of the range hardly moves, b does.
        free = fit.free_coefficients[0] * AT_120 + fit.free_coefficients[1] * AT_120**2
        added = fit.added_depression(AT_120).added_pa
        assert abs(added.value - free) < 2.0 * added.standard_uncertainty


def test_limits_hold_the_free_fit_too_where_a_part_was_set_to_zero() -> None:
    fit = fit_element(Plant(b=-2.0e-5 * KPA / L_PER_H**2).runs(None))

    for q in (60.0 * L_PER_H, AT_120, 150.0 * L_PER_H):
        added = fit.added_depression(q).added_pa
        free = fit.free_coefficients[0] * q + fit.free_coefficients[1] * q * q
        u = added.standard_uncertainty
        ends = (added.value, free)
        # 1.645 and 1.960: normal quantiles, since every uncertainty here is declared.
        assert added.lower == pytest.approx(min(ends) - 1.644854 * u, rel=1e-6)
        assert added.high == pytest.approx(max(ends) + 1.959964 * u, rel=1e-6)


def test_an_element_that_lowers_the_depression_is_no_result() -> None:
    fit = fit_element(Plant(a=-TRUE_A, b=-TRUE_B).runs(None))

    assert fit.bound is Bound.GAIN
    assert fit.added_depression(AT_120).added_pa.value == pytest.approx(-ADDED_120, rel=1e-9)
    assert "no element does that" in words(fit)


# --- what cannot be learned ------------------------------------------------------------------


def holds(flows_a: list[float], flows_b: list[float], **more: float) -> list[ElementRun]:
    """Make noiseless steady holds at flows in L/h."""
    runs = []
    for fitted, flows in ((False, flows_a), (True, flows_b)):
        q = np.array(flows) * L_PER_H
        f = float(fitted)
        runs.append(
            ElementRun(
                name="B" if fitted else "A",
                candidate=fitted,
                flow_m3_per_s=q,
                depression_pa=(LINE_A + f * TRUE_A) * q + (LINE_B + f * TRUE_B) * q**2 + LINE_C,
                flow_u_m3_per_s=1.0 * L_PER_H,
                depression_u_pa=100.0,
                fuel_temperature_k=313.15,
                **more,
            )
        )
    return runs


def test_one_flow_gives_the_loss_at_that_flow_and_nothing_else() -> None:
    fit = fit_element(holds([120.0] * 4, [120.0] * 4))

    assert fit.only_flow_m3_per_s == pytest.approx(AT_120)
    assert not fit.separable
    assert fit.viscous_pa_s_per_m3 is None
    assert fit.inertial_pa_s2_per_m6 is None
    assert fit.correlation is None
    assert "cannot be told apart" in words(fit)
    added = fit.added_depression()
    assert added.added_pa.value == pytest.approx(ADDED_120, rel=1e-9)
    with pytest.raises(InputError, match="known at 120 L/h only"):
        fit.added_depression(100.0 * L_PER_H)


def test_one_flow_that_differs_a_little_is_corrected_along_the_line_with_its_doubt() -> None:
    fit = fit_element(holds([120.0] * 4, [123.0] * 4))

    added = fit.added_depression()

    truth = TRUE_A * added.flow_m3_per_s + TRUE_B * added.flow_m3_per_s**2
    assert abs(added.added_pa.value - truth) < 2.0 * added.added_pa.standard_uncertainty
    assert "the line's curve between its flows" in dict(added.budget)
    raw = float(
        np.mean(holds([1.0], [123.0])[1].depression_pa)
        - np.mean(holds([120.0], [1.0])[0].depression_pa)
    )
    assert abs(added.added_pa.value - truth) < 0.5 * abs(raw - truth)


def test_beside_the_one_flow_the_loss_may_be_straight_or_a_square() -> None:
    fit = fit_element(holds([120.0] * 4, [120.0] * 4))

    added = fit.added_depression(1.03 * AT_120)

    # Between 3.12 x 1.03 and 3.12 x 1.03^2 kPa, rectangular: by hand.
    assert added.added_pa.value == pytest.approx(3120.0 * 0.5 * (1.03 + 1.0609), rel=1e-9)
    share = dict(added.budget)["share of the viscous part"]
    assert share == pytest.approx(3120.0 * (1.0609 - 1.03) / math.sqrt(12.0), rel=1e-9)


def test_at_one_flow_another_fuel_leaves_the_viscous_share_in_doubt() -> None:
    runs = holds(
        [120.0] * 4, [120.0] * 4, kinematic_viscosity_m2_per_s=3.3e-6, density_kg_per_m3=830.0
    )
    state = FuelState(kinematic_viscosity_m2_per_s=3.0e-6, density_kg_per_m3=830.0)

    fit = fit_element(runs, fuel=state)

    # Wholly viscous it would be 3.12/1.1 kPa, wholly inertial 3.12: that much doubt over root 3.
    added = fit.added_depression()
    viscous = 3120.0 / 1.1
    assert added.added_pa.value == pytest.approx(viscous, rel=1e-9)
    assert dict(added.budget)["share of the viscous part"] == pytest.approx(
        (3120.0 - viscous) / math.sqrt(3.0), rel=1e-9
    )
    with pytest.raises(InputError, match="no other fuel can be told"):
        fit.added_depression(
            None, FuelState(kinematic_viscosity_m2_per_s=4.0e-6, density_kg_per_m3=830.0)
        )


def test_two_single_flows_that_differ_are_refused() -> None:
    with pytest.raises(InputError, match="another one with it"):
        fit_element(holds([80.0] * 3, [120.0] * 3))


def test_one_flow_with_and_a_range_without_the_element() -> None:
    fit = fit_element(holds([60.0, 80.0, 100.0, 120.0, 140.0], [120.0] * 3))

    assert fit.only_flow_m3_per_s == pytest.approx(AT_120)
    assert fit.added_depression().added_pa.value == pytest.approx(ADDED_120, rel=1e-9)
    assert "outside" not in words(fit)
    beyond = fit_element(holds([60.0, 70.0, 80.0, 90.0, 100.0], [120.0] * 3))
    assert "outside the other configuration's" in words(beyond)


def test_a_steady_hold_for_each_run_is_enough() -> None:
    runs = [
        dataclasses.replace(run, name=f"{run.name}{q:.0f}", flow_scale_u=0.02)
        for q in (50.0, 75.0, 100.0, 125.0, 150.0)
        for run in holds([q], [q])
    ]

    fit = fit_element(runs)

    assert (fit.runs_without, fit.runs_with, fit.points) == (5, 5, 10)
    assert fit.added_depression(AT_120).added_pa.value == pytest.approx(ADDED_120, rel=1e-9)
    # Ten scales now: what single runs share averages over runs, though not within them.
    budget = dict(fit.added_depression(AT_120).budget)
    two = dict(
        fit_element(Plant(order="AB", scale_sd=0.02).runs(None)).added_depression(AT_120).budget
    )
    assert budget["flow scale of each run"] < 0.8 * two["flow scale of each run"]


def test_two_flows_bracket_the_lines_curve() -> None:
    fit = fit_element(holds([60.0, 60.0, 120.0, 120.0], [60.0, 60.0, 120.0, 120.0]))

    assert fit.separable
    assert fit.line_viscous_pa_s_per_m3 is None
    assert "taken as straight and as a square in turn" in words(fit)
    assert fit.added_depression(AT_120).added_pa.value == pytest.approx(ADDED_120, rel=1e-6)


def test_a_constant_for_each_run_needs_three_flows() -> None:
    with pytest.raises(InputError, match="needs 3 of each"):
        fit_element(holds([60.0, 120.0], [60.0, 120.0]), constants=Constants.RUN)


def test_a_narrow_range_is_said_with_the_interval_of_the_inertial_part() -> None:
    fit = fit_element(Plant(lowest=100.0, highest=130.0).runs(noise(20)))

    b = fit.inertial_pa_s2_per_m6
    assert b is not None
    assert b.low < 0.0 < b.high
    assert f"known as {b.low:.3g} to {b.high:.3g}" in words(fit)
    # At a flow inside the runs the added loss is known all the same.
    added = fit.added_depression(115.0 * L_PER_H).added_pa
    assert added.standard_uncertainty < 0.1 * added.value


def test_a_flow_outside_the_runs_is_said() -> None:
    fit = fit_element(Plant().runs(None))

    assert not fit.added_depression(AT_120).findings
    assert "outside the runs" in str(fit.added_depression(200.0 * L_PER_H).findings[0])


def test_ranges_that_do_not_meet_are_said() -> None:
    fit = fit_element(holds([40.0, 60.0, 80.0], [100.0, 120.0, 140.0]))

    assert "share no range of flow" in words(fit)


# --- fuel ------------------------------------------------------------------------------------


def with_temperatures(*kelvin: float | None) -> list[ElementRun]:
    runs = Plant(order="ABBA").runs(None)
    return [dataclasses.replace(r, fuel_temperature_k=k) for r, k in zip(runs, kelvin, strict=True)]


def test_temperatures_more_than_5_k_apart_are_refused_without_viscosity() -> None:
    with pytest.raises(InputError, match=r"6\.0 K apart and no viscosity is given; allowed 5 K"):
        fit_element(with_temperatures(310.0, 313.0, 316.0, 313.0))
    with pytest.raises(InputError, match=r"7\.0 K apart"):
        fit_element(with_temperatures(*[313.0] * 4), fuel=FuelState(temperature_k=320.0))


def test_temperatures_a_little_apart_leave_a_doubt() -> None:
    alike = fit_element(with_temperatures(*[313.0] * 4))
    apart = fit_element(with_temperatures(311.0, 315.0, 315.0, 311.0))

    assert "were not corrected for" in words(apart)
    u = [f.added_depression(AT_120).added_pa.standard_uncertainty for f in (alike, apart)]
    # 2 K at 3 %/K over root 3 is 3.5 % of the line's viscous part of 4.8 kPa, in two pairs.
    assert u[1] > 1.5 * u[0]


def test_a_temperature_not_logged_is_said_and_counts() -> None:
    fit = fit_element(with_temperatures(313.0, None, 313.0, 313.0))

    assert "fuel temperature was not logged" in words(fit)
    assert any(cause.name == "viscosity of each run" for cause in fit.causes)


def test_a_viscosity_for_some_runs_only_is_refused() -> None:
    runs = Plant(order="AB").runs(None)
    runs[0] = dataclasses.replace(
        runs[0], kinematic_viscosity_m2_per_s=2.8e-6, density_kg_per_m3=829.0
    )

    with pytest.raises(InputError, match="run 2B: viscosity or density of the fuel is missing"):
        fit_element(runs)


def test_a_fuel_that_is_not_known_cannot_be_asked_for() -> None:
    fit = fit_element(Plant().runs(None))

    with pytest.raises(InputError, match="viscosity or density is not known"):
        fit.added_depression(AT_120, FuelState(temperature_k=280.0))


# --- refusals --------------------------------------------------------------------------------


def test_all_mistakes_are_told_at_once() -> None:
    runs = Plant(order="AA").runs(None)
    flow = runs[0].flow_m3_per_s.copy()
    flow[0] = -1.0
    runs[0] = dataclasses.replace(
        runs[0], flow_m3_per_s=flow, depression_u_pa=0.0, flow_scale_u=0.9
    )
    runs[1] = dataclasses.replace(runs[1], depression_pa=np.array([1.0]))

    with pytest.raises(InputError) as caught:
        fit_element(runs)

    text = str(caught.value)
    for part in (
        "each must be above 0",
        "no gauge is without error",
        "flow_scale_u is 0.9",
        "one list of equal length",
        "no run with the added element",
    ):
        assert part in text


@pytest.mark.parametrize("more", [{"shared_flow_scale_u": -0.1}, {"flow_scale_dof": 0.0}])
def test_shared_figures_out_of_range_are_refused(more: dict[str, float]) -> None:
    with pytest.raises(InputError, match="allowed"):
        fit_element(Plant().runs(None), **more)  # type: ignore[arg-type]


def test_a_flow_as_uncertain_as_its_range_counts_as_one_flow() -> None:
    fit = fit_element(Plant(lowest=118.0, highest=122.0, flow_sd=10.0).runs(noise(30)))

    assert not fit.separable


def test_a_flow_must_be_stated_where_there_is_a_range() -> None:
    fit = fit_element(Plant().runs(None))

    with pytest.raises(InputError, match="no flow given"):
        fit.added_depression()
    with pytest.raises(InputError, match="allowed above 0"):
        fit.added_depression(math.nan)
