"""
What reduction promises: planted values come back, nothing is removed in silence, all runs alike.

All data are invented here with a planted truth; the tolerances are the project's own.
"""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.log import Log
from feedproof.case.run import CaughtReturn, Channel, Role, Run
from feedproof.core.errors import InputError
from feedproof.evidence.carried import refuse_depression
from feedproof.evidence.reduce import Options, reduce_session
from feedproof.evidence.reduced import ReducedRun
from tests.evidence.run_logs import (
    SENSITIVITIES,
    Plan,
    cell_log,
    logger_log,
    logs_of,
    make_case,
    make_run,
    sensitivity,
    true_depression,
    true_power,
)


def reduced(
    plans: list[Plan], kits: list[tuple[str, ...]] | None = None, **options: object
) -> tuple[ReducedRun, ...]:
    kits = kits or [()] * len(plans)
    runs = [make_run(k, plan, kits[k]) for k, plan in enumerate(plans)]
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    return reduce_session(runs, logs, make_case(), SENSITIVITIES, Options(**options))  # type: ignore[arg-type]


def told(run: ReducedRun, text: str) -> bool:
    return any(text in str(finding) for finding in run.findings)


def changed(log: Log, channel: Channel, values: np.ndarray) -> Log:
    return replace(log, values={**log.values, channel: values})


def test_the_planted_depression_comes_back_but_where_it_beats_with_the_sampling() -> None:
    plans = [Plan(seed=k, clock_ahead_s=1.3 * k - 2.0, zero_pa=100.0 * k) for k in range(3)]
    for run in reduced(plans):
        wanted = true_depression(run.speed_m_per_s)
        off = np.sort(np.abs(run.depression_pa - wanted))
        # Where the pulsation beats with the 50 Hz of the logger one bin is off by a share of its
        # 600 Pa, and no later filter repairs it: the finding says so.
        assert off[-2] < 100.0
        assert off[-1] < 300.0
        assert run.depression_mean_pa == pytest.approx(wanted.mean(), abs=80.0)


def test_the_planted_power_comes_back_within_a_quarter_percent() -> None:
    run = reduced([Plan(), Plan(seed=2)])[0]
    wanted = -100.0 * np.log(true_power(run.speed_m_per_s)).mean()
    assert run.power_loss_log_percent == pytest.approx(wanted, abs=0.25)


def test_a_planted_loss_of_three_percent_shows_as_3_05_log_percent() -> None:
    first, second = reduced([Plan(), Plan(power_factor=0.97)])
    assert first.power_loss_log_percent is not None
    assert second.power_loss_log_percent is not None
    assert second.power_loss_log_percent - first.power_loss_log_percent == pytest.approx(
        3.0459, abs=0.01
    )


def test_a_kit_run_6_k_warmer_is_corrected_to_within_300_pa() -> None:
    plans = [Plan(seed=1), Plan(seed=2, added_pa=3000.0, temperature_k=314.15)]
    base, kit = reduced(plans, [(), ("secondary",)])
    assert base.depression_mean_pa is not None
    assert kit.depression_mean_pa is not None
    assert kit.depression_mean_pa - base.depression_mean_pa == pytest.approx(3000.0, abs=300.0)
    assert kit.depression_correction_pa == pytest.approx(180.0 * 6.0, abs=20.0)


def test_without_the_correction_the_warmer_run_would_be_wrong_by_more_than_300_pa() -> None:
    plans = [Plan(seed=1), Plan(seed=2, added_pa=3000.0, temperature_k=314.15)]
    base, kit = reduced(plans, [(), ("secondary",)])
    raw = (kit.depression_pa - kit.depression_correction_pa) - (
        base.depression_pa - base.depression_correction_pa
    )
    assert abs(raw.mean() - 3000.0) > 300.0


def test_the_uncertainty_of_a_correction_covers_derivatives_that_are_30_percent_wrong() -> None:
    plan = Plan(temperature_k=314.15)
    runs, logs = [make_run(0, plan)], {0: logs_of(plan)}
    right = reduce_session(runs, logs, make_case(), {"baseline": sensitivity()})[0]
    wrong = reduce_session(runs, logs, make_case(), {"baseline": sensitivity(0.7)})[0]
    error = abs(right.depression_correction_pa - wrong.depression_correction_pa)
    assert error <= right.depression_correction_u_pa


def test_unequal_conditions_beyond_ten_kelvin_are_refused() -> None:
    plans = [Plan(seed=1), Plan(seed=2, temperature_k=319.15)]
    base, kit = reduced(plans, [(), ("secondary",)])
    assert refuse_depression([base], [kit]) is not None
    assert refuse_depression([base], [base]) is None


def test_without_fuel_temperature_the_comparison_of_depression_is_refused() -> None:
    plan = Plan()
    log = logger_log(plan)
    blank = changed(log, Channel.FUEL_TEMPERATURE, np.full(log.time_s.size, np.nan))
    run = reduce_session(
        [make_run(0, plan)], {0: [cell_log(plan), blank]}, make_case(), SENSITIVITIES
    )[0]
    assert run.fuel_temperature_k is None
    assert told(run, "fuel_temperature: not measured")
    assert refuse_depression([run], [run]) is not None


def test_a_constant_bias_of_the_gauge_changes_no_difference() -> None:
    kits: list[tuple[str, ...]] = [(), ("secondary",)]
    plain = reduced([Plan(), Plan(seed=2, added_pa=3000.0)], kits)
    biased = reduced([Plan(bias_pa=400.0), Plan(seed=2, added_pa=3000.0, bias_pa=400.0)], kits)
    difference = [b.depression_pa - a.depression_pa for a, b in (plain, biased)]
    assert difference[0] == pytest.approx(difference[1], abs=1e-6)
    assert biased[0].depression_pa - plain[0].depression_pa == pytest.approx(400.0, abs=1e-6)


@pytest.mark.parametrize("rate_hz", [30.0, 50.0, 100.0, 200.0])
def test_the_sampling_rate_moves_the_depression_by_less_than_60_pa(rate_hz: float) -> None:
    run = reduced([Plan(sampling_hz=rate_hz, cell_hz=rate_hz / 2.0), Plan(seed=2)])[0]
    wanted = true_depression(run.speed_m_per_s).mean()
    assert run.depression_mean_pa == pytest.approx(wanted, abs=60.0)


def test_absolute_gauge_and_depression_channels_give_the_same_depression() -> None:
    plan = Plan(zero_pa=0.0, ceiling_pa=1e6)
    log = logger_log(plan)
    samples = log.values[Channel.INLET_DEPRESSION]
    rest = {c: v for c, v in log.values.items() if c is not Channel.INLET_DEPRESSION}
    forms = {
        Channel.INLET_DEPRESSION: samples,
        Channel.INLET_PRESSURE_GAUGE: -samples,
        Channel.INLET_PRESSURE_ABS: 91000.0 - samples,
    }
    found = []
    for channel, values in forms.items():
        form = replace(log, values={**rest, channel: values})
        run = make_run(0, plan, zero_before_pa=0.0, zero_after_pa=0.0)
        logs = {0: [cell_log(plan), form]}
        found.append(reduce_session([run], logs, make_case(), SENSITIVITIES)[0].depression_pa)
    assert found[1] == pytest.approx(found[0], abs=1e-6)
    assert found[2] == pytest.approx(found[0], abs=1e-6)


def test_a_saturated_sensor_gives_a_lower_bound_and_no_mean() -> None:
    case = make_case(ceiling_pa=17000.0)
    plan = Plan(ceiling_pa=17000.0)
    run = reduce_session([make_run(0, plan)], {0: logs_of(plan)}, case, SENSITIVITIES)
    top = true_depression(run[0].speed_m_per_s).max()
    assert run[0].depression_censored
    assert run[0].depression_mean_pa is None
    assert run[0].depression_max_pa is not None
    assert run[0].depression_max_pa < top + 300.0
    assert told(run[0], "lower bound")


def test_a_bin_that_lost_its_crests_to_the_ceiling_has_no_mean() -> None:
    plan = Plan(ceiling_pa=17000.0)
    case = make_case(ceiling_pa=17000.0)
    run = reduce_session([make_run(0, plan)], {0: logs_of(plan)}, case, SENSITIVITIES)[0]
    left = np.isfinite(run.depression_pa)
    assert not left[-1]
    wanted = true_depression(run.speed_m_per_s)
    assert np.abs(run.depression_pa - wanted)[left].max() < 100.0


def test_a_ceiling_reached_only_just_before_lift_off_censors_the_run() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    at_s = logger.time_s - plan.clock_ahead_s
    values = logger.values[Channel.INLET_DEPRESSION].copy()
    values[(at_s > 23.0) & (at_s < 23.4)] = 20400.0
    logs = {0: [cell, changed(logger, Channel.INLET_DEPRESSION, values)]}
    case = make_case(ceiling_pa=20400.0)
    run = reduce_session([make_run(0, plan)], logs, case, SENSITIVITIES)[0]
    assert run.depression_censored


def test_warm_up_and_excluded_runs_stay_out_by_name_and_the_order_goes_on() -> None:
    plans = [Plan(seed=k) for k in range(4)]
    runs = [make_run(k, plan) for k, plan in enumerate(plans)]
    runs[0] = replace(runs[0], role=Role.WARM_UP)
    runs[2] = replace(runs[2], excluded="strap slipped")
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    out = reduce_session(runs, logs, make_case(), SENSITIVITIES)
    assert [(run.number, run.position) for run in out] == [(1, 0.0), (3, 2.0)]
    step = next(step for step in out[0].steps if step.name == "runs left out")
    assert "run 0 (warm-up)" in step.detail
    assert "strap slipped" in step.detail


def test_the_names_of_the_configurations_change_no_number() -> None:
    plans = [Plan(seed=1), Plan(seed=2)]
    as_named = reduced(plans, [(), ("secondary",)])
    swapped = reduced(plans, [("secondary",), ()])
    for one, other in zip(as_named, swapped, strict=True):
        assert one.power_loss_log_percent == other.power_loss_log_percent
        assert one.depression_mean_pa == other.depression_mean_pa


def test_the_order_in_which_runs_are_given_changes_nothing() -> None:
    plans = [Plan(seed=k) for k in range(3)]
    runs = [make_run(k, plan) for k, plan in enumerate(plans)]
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    forward = reduce_session(runs, logs, make_case(), SENSITIVITIES)
    backward = reduce_session(runs[::-1], logs, make_case(), SENSITIVITIES)
    assert [r.power_loss_log_percent for r in forward] == [
        r.power_loss_log_percent for r in backward
    ]


def test_permuted_samples_are_refused_before_reduction() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    order = np.random.default_rng(3).permutation(cell.time_s.size)
    mixed = replace(
        cell,
        time_s=cell.time_s[order],
        values={channel: values[order] for channel, values in cell.values.items()},
    )
    with pytest.raises(InputError, match="time runs backward"):
        reduce_session([make_run(0, plan)], {0: [mixed, logger]}, make_case(), SENSITIVITIES)


def test_duplicated_rows_are_refused_before_reduction() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    doubled = replace(
        cell,
        time_s=np.repeat(cell.time_s, 2),
        values={channel: np.repeat(values, 2) for channel, values in cell.values.items()},
    )
    with pytest.raises(InputError, match="repeat a time"):
        reduce_session([make_run(0, plan)], {0: [doubled, logger]}, make_case(), SENSITIVITIES)


def test_samples_held_over_a_stretch_are_called_stuck() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    values = logger.values[Channel.INLET_DEPRESSION].copy()
    values[700:760] = values[700]
    logs = {0: [cell, changed(logger, Channel.INLET_DEPRESSION, values)]}
    run = reduce_session([make_run(0, plan)], logs, make_case(), SENSITIVITIES)[0]
    assert told(run, "STUCK")


def test_a_bin_lost_in_one_run_is_lost_in_all_and_named() -> None:
    plans = [Plan(seed=1), Plan(seed=2)]
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    values = logs[1][1].values[Channel.INLET_DEPRESSION].copy()
    values[700:760] = values[700]
    logs[1][1] = changed(logs[1][1], Channel.INLET_DEPRESSION, values)
    runs = [make_run(k, plan) for k, plan in enumerate(plans)]
    out = reduce_session(runs, logs, make_case(), SENSITIVITIES)
    lost = np.isnan(out[1].depression_pa)
    assert lost.sum() == 1
    assert out[0].depression_mean_pa == pytest.approx(out[0].depression_pa[~lost].mean())
    assert "7 of 8" in next(s.detail for s in out[0].steps if s.name == "bins averaged")


def test_a_channel_of_nan_only_is_not_measured_and_costs_nothing_else() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    blank = changed(logger, Channel.INLET_DEPRESSION, np.full(logger.time_s.size, np.nan))
    run = reduce_session([make_run(0, plan)], {0: [cell, blank]}, make_case(), SENSITIVITIES)[0]
    assert run.depression_mean_pa is None
    assert np.isnan(run.depression_pa).all()
    assert told(run, "not measured")
    assert run.power_loss_log_percent is not None


def test_clocks_are_matched_by_road_speed_with_a_warning_where_one_log_has_no_engine() -> None:
    run = reduced([Plan(engine_in_logger=False), Plan(seed=2, engine_in_logger=False)])[0]
    assert told(run, "clock matched by inlet depression")
    wanted = true_depression(run.speed_m_per_s).mean()
    assert run.depression_mean_pa == pytest.approx(wanted, abs=150.0)


def test_all_runs_without_a_pull_are_named_at_once() -> None:
    plans = [Plan(), Plan(seed=2)]
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    for k in logs:
        still = np.full(logs[k][0].time_s.size, 14.0)
        logs[k][0] = changed(logs[k][0], Channel.ROAD_SPEED, still)
    runs = [make_run(k, plan) for k, plan in enumerate(plans)]
    with pytest.raises(InputError) as caught:
        reduce_session(runs, logs, make_case(), SENSITIVITIES)
    assert [finding.place for finding in caught.value.findings] == ["run 0", "run 1"]


def test_the_return_is_brought_to_15_degrees_by_the_fuels_expansion() -> None:
    # V15 = V (1 - beta (T - 15 degC)): 2.40 L at 45 degC in 120 s with beta 0.00083 is
    # 70.207 L/h; arithmetic, not a published figure.
    caught = CaughtReturn(volume_m3=2.4e-3, duration_s=120.0, temperature_k=318.15)
    plan = Plan()
    run = make_run(0, plan, caught_return=caught)
    out = reduce_session([run], {0: logs_of(plan)}, make_case(), SENSITIVITIES)[0]
    assert out.return_m3_per_s is not None
    assert out.return_m3_per_s * 3.6e6 == pytest.approx(70.2072, abs=1e-4)
    assert out.return_loss_log_percent == pytest.approx(
        -100.0 * np.log(out.return_m3_per_s) + out.return_correction_log_percent
    )


def test_a_return_caught_in_another_way_is_not_compared() -> None:
    plans = [Plan(seed=k) for k in range(3)]
    runs: list[Run] = [make_run(k, plan) for k, plan in enumerate(plans)]
    pull = CaughtReturn(volume_m3=3e-4, duration_s=14.0, temperature_k=318.15, hold="pull")
    runs[1] = replace(runs[1], caught_return=pull)
    logs = {k: logs_of(plan) for k, plan in enumerate(plans)}
    out = reduce_session(runs, logs, make_case(), SENSITIVITIES)
    assert out[1].return_loss_log_percent is None
    assert out[0].return_loss_log_percent is not None
    assert told(out[1], "run 1")


def test_a_planted_rail_shortfall_is_measured_in_depth_and_time() -> None:
    plan = Plan()
    cell, logger = logs_of(plan)
    rail = logger.values[Channel.RAIL_PRESSURE].copy()
    rail[800:900] -= 7.0e6
    logs = {0: [cell, changed(logger, Channel.RAIL_PRESSURE, rail)]}
    run = reduce_session([make_run(0, plan)], logs, make_case(), SENSITIVITIES)[0]
    assert run.rail_shortfall_pa == pytest.approx(7.0e6, abs=4.0e5)
    assert run.rail_shortfall_s == pytest.approx(2.0, abs=0.15)


def test_narrow_bins_for_curves_follow_the_same_truth() -> None:
    run = reduced([Plan(), Plan(seed=2)], bin_width_m_per_s=2.0 / 3.6)[0]
    assert run.depression_pa.size > 20
    off = np.sort(np.abs(run.depression_pa - true_depression(run.speed_m_per_s)))
    assert off[int(0.9 * off.size) - 1] < 150.0
    assert off[-1] < 600.0


def test_runs_of_two_sessions_are_refused() -> None:
    plan = Plan()
    runs = [make_run(0, plan), make_run(1, plan, session="two")]
    with pytest.raises(InputError, match="one, two"):
        reduce_session(runs, {0: logs_of(plan), 1: logs_of(plan)}, make_case(), SENSITIVITIES)


def test_a_declared_lag_takes_the_place_of_the_one_found() -> None:
    run = reduced([Plan(), Plan(seed=2)], declared_lag_s={"logger": 0.25})[0]
    assert told(run, "declared lag of 0.250 s")
