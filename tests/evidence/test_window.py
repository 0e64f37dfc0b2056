"""What the pull window promises: it begins settled, ends before lift-off, and hides no dip."""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.run import Channel
from feedproof.core.errors import InputError
from feedproof.evidence.window import PullWindow, comparison_band, find_pull, with_lag
from tests.evidence.run_logs import KMH, Plan, cell_log

TIP_IN_S = 9.0
SETTLED_S = 10.2
LIFT_OFF_S = 9.0 + 65.0 / 4.5


def found(plan: Plan, with_engine: bool = True) -> PullWindow:
    log = cell_log(plan)
    engine = log.values[Channel.ENGINE_SPEED] if with_engine else None
    speed, power = log.values[Channel.ROAD_SPEED], log.values[Channel.WHEEL_POWER]
    return find_pull(log.time_s, speed, power, "run 1", engine)


def messages(window: PullWindow) -> str:
    return " ".join(finding.message for finding in window.findings)


def test_the_pull_begins_when_power_has_settled_and_ends_before_lift_off() -> None:
    for seed in range(20):
        window = found(Plan(seed=seed))
        assert TIP_IN_S + 0.5 < window.start_s < SETTLED_S + 1.5
        assert window.lift_off_s == pytest.approx(LIFT_OFF_S, abs=0.25)
        assert window.end_s == pytest.approx(window.lift_off_s - 0.4)
        assert not window.findings


def test_the_guard_grows_by_the_lag() -> None:
    log, window = cell_log(Plan()), found(Plan())
    later = with_lag(window, 0.25, log.time_s, log.values[Channel.ROAD_SPEED])
    assert window.end_s - later.end_s == pytest.approx(0.25)
    assert later.end_m_per_s < window.end_m_per_s


def test_a_log_without_lift_off_uses_its_end_and_says_so() -> None:
    window = found(Plan(lift_off=False))
    assert "ends before lift-off" in messages(window)
    assert window.end_m_per_s > 105.0 * KMH


def test_a_hesitation_stays_in_the_pull_and_is_told() -> None:
    window = found(Plan(hesitation=True))
    assert window.lift_off_s == pytest.approx(LIFT_OFF_S, abs=0.25)
    assert "HESITATION" in messages(window)


@pytest.mark.parametrize("with_engine", [True, False])
def test_a_stretch_in_a_lower_gear_is_left_out_and_named(with_engine: bool) -> None:
    window = found(Plan(lower_gear=True), with_engine)
    assert window.start_s > TIP_IN_S
    assert window.lift_off_s == pytest.approx(LIFT_OFF_S, abs=0.25)
    assert "another loaded stretch" in messages(window)


def test_a_short_shift_under_power_ends_the_pull_though_power_comes_back() -> None:
    log = cell_log(Plan())
    engine = log.values[Channel.ENGINE_SPEED].copy()
    power = log.values[Channel.WHEEL_POWER].copy()
    shift = (log.time_s > 17.0) & (log.time_s < 17.5)
    power[shift] *= 0.6
    engine[log.time_s > 17.2] *= 0.75
    speed = log.values[Channel.ROAD_SPEED]
    window = find_pull(log.time_s, speed, power, "run 1", engine)
    assert window.lift_off_s == pytest.approx(17.0, abs=0.2)
    kept = find_pull(log.time_s, speed, power, "run 1", log.values[Channel.ENGINE_SPEED])
    assert kept.lift_off_s == pytest.approx(LIFT_OFF_S, abs=0.25)


@pytest.mark.parametrize("what", ["standing", "coasting", "empty"])
def test_a_log_without_a_pull_names_the_run(what: str) -> None:
    time_s = np.arange(0.0, 30.0, 0.04)
    speed = {"standing": 0.0 * time_s, "coasting": 30.0 - 0.5 * time_s, "empty": 0.0 * time_s}[what]
    power = np.full(time_s.size, np.nan) if what == "empty" else np.full(time_s.size, 500.0)
    with pytest.raises(InputError) as caught:
        find_pull(time_s, speed, power, "run 7")
    assert caught.value.findings[0].place == "run 7"
    assert caught.value.exit_code == 2


def test_the_window_hardly_moves_with_the_sampling_rate() -> None:
    windows = [found(Plan(cell_hz=rate)) for rate in (10.0, 25.0, 100.0)]
    assert np.ptp([window.lift_off_s for window in windows]) < 0.25
    assert np.ptp([window.start_s for window in windows]) < 1.0


def plain(low: float, high: float) -> PullWindow:
    return PullWindow(start_s=0.0, end_s=1.0, lift_off_s=1.0, start_m_per_s=low, end_m_per_s=high)


def test_the_band_is_what_all_cover_less_2_percent_rounded_inward_to_2_km_h() -> None:
    low, high, findings = comparison_band({1: plain(14.0, 30.0), 2: plain(15.0, 31.0)}, "one")
    # 15 to 30 m/s, trimmed to 15.3 to 29.7 m/s, is 55.08 to 106.92 km/h.
    assert (low, high) == pytest.approx((56.0 * KMH, 106.0 * KMH))
    assert not findings


def test_the_one_run_that_narrows_the_band_is_named() -> None:
    windows = {k: plain(14.0, 31.0) for k in range(4)}
    windows[2] = replace(windows[2], end_m_per_s=24.0)
    findings = comparison_band(windows, "one")[2]
    assert [finding.place for finding in findings] == ["run 2"]


def test_runs_without_a_common_band_are_refused() -> None:
    with pytest.raises(InputError, match="no common speed band"):
        comparison_band({1: plain(14.0, 20.0), 2: plain(21.0, 30.0)}, "one")


def test_speed_and_load_that_never_share_a_row_give_the_same_pull() -> None:
    log = cell_log(Plan(cell_hz=50.0))
    speed, load = (log.values[c].copy() for c in (Channel.ROAD_SPEED, Channel.WHEEL_POWER))
    joint = find_pull(log.time_s[::2], speed[::2], load[::2], "run 1")
    speed[1::2] = np.nan
    load[::2] = np.nan
    in_turn = find_pull(log.time_s, speed, load, "run 1")
    assert in_turn.start_s == pytest.approx(joint.start_s, abs=0.1)
    assert in_turn.lift_off_s == pytest.approx(joint.lift_off_s, abs=0.05)
    with pytest.raises(InputError, match="too few samples"):
        find_pull(log.time_s, speed, np.full(load.size, np.nan), "run 1")
