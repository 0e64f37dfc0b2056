"""
What the fault rules promise: planted faults are found, clean channels are left alone.

The bars of 50 out of 50 and no false alarm are taken from the project's own simulation.
"""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.core.findings import Level
from feedproof.evidence.faults import (
    CheckedChannel,
    SensorRange,
    check_channel,
    check_clock,
    inferred_resolution,
)

FloatArray = NDArray[np.float64]

DECLARED = SensorRange(ceiling=40000.0, floor=-2000.0, resolution=20.0)
UNDECLARED = SensorRange()
SEEDS = range(50)


def pulsating(
    seed: int, rate_hz: float = 100.0, amplitude_pa: float = 2000.0
) -> tuple[FloatArray, FloatArray]:
    """Make 14 s of a rising depression with a large pulsation."""
    noise = np.random.default_rng(seed)
    time_s = np.arange(0.0, 14.0, 1.0 / rate_hz)
    turns = np.cumsum(14.0 + time_s) / rate_hz
    values = 9000.0 + 700.0 * time_s
    values = values + amplitude_pa * np.sin(2.0 * np.pi * turns + noise.uniform(0.0, 6.0))
    values = values + 80.0 * noise.standard_normal(time_s.size)
    return time_s, np.round(values / 20.0) * 20.0


def checked(
    time_s: FloatArray,
    values: FloatArray,
    sensor: SensorRange = DECLARED,
    channel: Channel = Channel.INLET_DEPRESSION,
) -> CheckedChannel:
    inside = np.ones(time_s.size, dtype=np.bool_)
    return check_channel(channel, time_s, values, inside, sensor, "run 1, channel")


def told(channel: CheckedChannel, text: str) -> bool:
    return any(text in finding.message for finding in channel.findings)


@pytest.mark.parametrize("sensor", [DECLARED, UNDECLARED])
def test_clean_pulsating_channels_raise_no_alarm(sensor: SensorRange) -> None:
    for seed in SEEDS:
        found = checked(*pulsating(seed), sensor)
        marks = found.saturated | found.stuck | found.dropout | found.outlier
        assert not marks.any(), f"seed {seed}"


def test_clean_channels_of_every_lively_kind_raise_no_alarm() -> None:
    time_s = np.arange(0.0, 14.0, 0.04)
    for seed in SEEDS:
        noise = np.random.default_rng(seed).standard_normal(time_s.size)
        speed = np.round(14.0 + 1.25 * time_s + 0.02 * noise, 3)
        engine = np.round((30.0 + 2.0 * time_s + 0.05 * noise) * 60.0) / 60.0
        power = 60000.0 + 2500.0 * time_s + 600.0 * noise
        for channel, values in (
            (Channel.ROAD_SPEED, speed),
            (Channel.ENGINE_SPEED, engine),
            (Channel.WHEEL_POWER, power),
        ):
            found = checked(time_s, values, UNDECLARED, channel)
            marks = found.saturated | found.stuck | found.dropout | found.outlier
            assert not marks.any(), f"seed {seed}, {channel}"


def test_every_stuck_stretch_of_0_4_s_is_found() -> None:
    for seed in SEEDS:
        time_s, values = pulsating(seed)
        start = 200 + 15 * seed
        values[start : start + 40] = values[start]
        found = checked(time_s, values)
        assert found.stuck[start : start + 40].all(), f"seed {seed}"
        assert found.stuck.sum() <= 42
        assert told(found, "STUCK")


def test_a_long_stuck_stretch_does_not_excuse_a_short_one_as_usual() -> None:
    time_s, values = pulsating(1)
    values[300:940] = values[300]
    values[1100:1122] = values[1100]
    found = checked(time_s, values)
    assert found.stuck[300:940].all()
    assert found.stuck[1100:1122].all()


def test_a_logger_that_holds_each_reading_for_a_quarter_second_is_not_called_stuck() -> None:
    time_s, values = pulsating(1)
    held = np.repeat(values[::25], 25)[: values.size]
    assert not checked(time_s, held).stuck.any()


def test_a_demand_that_stands_still_is_not_called_stuck() -> None:
    time_s = np.arange(0.0, 14.0, 0.02)
    values = np.full(time_s.size, 1.6e8)
    values[0] = 1.59e8
    assert not checked(time_s, values, UNDECLARED, Channel.RAIL_PRESSURE_DEMAND).stuck.any()


@pytest.mark.parametrize("ceiling_declared", [True, False])
def test_every_saturated_channel_is_found(ceiling_declared: bool) -> None:
    sensor = DECLARED if ceiling_declared else SensorRange(floor=-2000.0, resolution=20.0)
    sensor = replace(sensor, ceiling=17000.0) if ceiling_declared else sensor
    for seed in SEEDS:
        time_s, values = pulsating(seed)
        found = checked(time_s, np.minimum(values, 17000.0), sensor)
        assert found.censored, f"seed {seed}"
        assert not found.usable[found.saturated].any()


def test_a_sensor_that_ends_below_its_declared_ceiling_is_saturated_and_not_merely_stuck() -> None:
    for seed in SEEDS:
        time_s, values = pulsating(seed, amplitude_pa=600.0)
        found = checked(time_s, np.minimum(values, 17000.0))
        assert found.censored, f"seed {seed}"
        assert told(found, "below the declared ceiling")


def test_nine_samples_at_the_ceiling_are_told_and_ten_are_saturation() -> None:
    time_s, values = pulsating(1)
    for count, censored in ((9, False), (10, True)):
        touched = values.copy()
        touched[100 : 100 + 40 * count : 40] = 40000.0
        found = checked(time_s, touched)
        assert found.censored is censored
        assert told(found, "SATURATED" if censored else "touch the ceiling")


def test_without_a_declared_ceiling_it_is_said_that_only_repeated_maxima_can_tell() -> None:
    found = checked(*pulsating(1), UNDECLARED)
    assert told(found, "no ceiling declared")
    assert told(found, "smallest step in the log is 20")


def test_every_dropout_of_0_12_s_to_the_floor_is_found() -> None:
    for seed in SEEDS:
        time_s, values = pulsating(seed)
        start = 200 + 15 * seed
        values[start : start + 12] = -2000.0
        found = checked(time_s, values)
        assert found.dropout[start : start + 12].all(), f"seed {seed}"
        assert not found.usable[start : start + 12].any()
        assert told(found, "DROPOUT")


def test_dead_zeros_are_found_without_a_declared_floor() -> None:
    for seed in SEEDS:
        time_s, values = pulsating(seed)
        values[300:312] = 0.0
        assert checked(time_s, values, UNDECLARED).dropout[300:312].all()


def test_a_gap_below_0_1_s_is_bridged_and_a_longer_one_is_cut() -> None:
    time_s, values = pulsating(1, amplitude_pa=0.0)
    values[300:306] = np.nan
    values[500:530] = np.nan
    found = checked(time_s, values)
    assert found.usable[300:306].all()
    assert found.values[303] == pytest.approx(9000.0 + 700.0 * time_s[303], abs=300.0)
    assert not found.usable[500:530].any()
    assert np.isnan(found.values[500:530]).all()


def test_a_gap_of_the_clock_is_told() -> None:
    time_s, values = pulsating(1)
    keep = np.ones(time_s.size, dtype=np.bool_)
    keep[400:430] = False
    assert told(checked(time_s[keep], values[keep]), "1 gaps")


def test_a_slow_channel_between_blank_rows_is_no_dropout() -> None:
    time_s = np.arange(0.0, 14.0, 0.02)
    values = np.full(time_s.size, np.nan)
    values[::50] = 310.0 + 0.1 * np.arange(values[::50].size)
    found = checked(time_s, values, UNDECLARED, Channel.FUEL_TEMPERATURE)
    assert not told(found, "DROPOUT")
    assert found.usable[::50].all()


def test_spikes_are_marked_and_shown_but_stay_in_use() -> None:
    time_s, values = pulsating(1, amplitude_pa=200.0)
    values[[300, 600]] += 9000.0
    found = checked(time_s, values)
    assert set(np.flatnonzero(found.outlier)) == {300, 600}
    assert found.usable[[300, 600]].all()
    assert all(f.level is Level.NOTE for f in found.findings if "OUTLIER" in f.message)


def test_more_than_half_a_percent_of_spikes_flags_the_run() -> None:
    time_s, values = pulsating(1, amplitude_pa=200.0)
    values[100:1300:100] += 9000.0
    found = checked(time_s, values)
    assert any(f.level is Level.WARNING for f in found.findings if "OUTLIER" in f.message)


def test_padding_outside_the_pull_is_not_judged() -> None:
    time_s, values = pulsating(1)
    values[:200] = values[200]
    values[-50:] = 40000.0
    inside = np.zeros(time_s.size, dtype=np.bool_)
    inside[200:-50] = True
    found = check_channel(
        Channel.INLET_DEPRESSION, time_s, values, inside, DECLARED, "run 1, channel"
    )
    assert not (found.stuck | found.saturated | found.dropout | found.outlier).any()
    assert not found.usable[~inside].any()


def test_a_ceiling_reached_between_the_guard_and_lift_off_still_censors() -> None:
    time_s, values = pulsating(1)
    values[-60:-20] = 40000.0
    inside, full_load = time_s < time_s[-70], time_s < time_s[-20]
    found = check_channel(
        Channel.INLET_DEPRESSION, time_s, values, inside, DECLARED, "run 1", full_load
    )
    assert found.censored


def test_a_channel_of_nan_only_is_not_measured() -> None:
    time_s = np.arange(0.0, 5.0, 0.02)
    found = checked(time_s, np.full(time_s.size, np.nan))
    assert not found.measured
    assert told(found, "not measured")


def test_a_clock_that_runs_backward_is_an_error_and_one_repeat_a_warning() -> None:
    time_s = np.arange(0.0, 20.0, 0.02)
    back = time_s.copy()
    back[[100, 101]] = back[[101, 100]]
    assert check_clock(back, "log")[1][0].level is Level.ERROR
    twice = time_s.copy()
    twice[101] = twice[100]
    keep, findings = check_clock(twice, "log")
    assert findings[0].level is Level.WARNING
    assert not keep[101]
    assert keep.sum() == time_s.size - 1


def test_decimal_text_does_not_hide_the_step_of_the_readings() -> None:
    values = np.array([7.1, 7.2, 7.3, 7.4, 7.1 + 1e-15]) * 1000.0
    assert inferred_resolution(values) == pytest.approx(100.0)
