"""
What the lag room promises: planted lags and clock offsets come back, doubtful ones are refused.

The tolerances come from the project's own simulation: 0, 0.10, 0.25 and 0.50 s came back as
0.001, 0.094, 0.253 and 0.503 s with standard deviations up to 0.063 s.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.evidence.lag import Lag, find_clock_offset, find_lag, session_lag
from tests.evidence.run_logs import Plan, cell_log, logger_log

FloatArray = NDArray[np.float64]


def found(plan: Plan) -> Lag:
    log = logger_log(plan)
    return find_lag(
        log.time_s,
        log.values[Channel.ENGINE_SPEED],
        log.time_s,
        log.values[Channel.INLET_DEPRESSION],
    )


@pytest.mark.parametrize("planted_s", [0.0, 0.10, 0.25, 0.50])
def test_a_planted_lag_comes_back(planted_s: float) -> None:
    lags = [found(Plan(seed=k, lag_s=planted_s, sampling_hz=100.0)) for k in range(20)]
    values = np.array([lag.lag_s for lag in lags])
    assert min(lag.correlation for lag in lags) > 0.4
    assert abs(np.median(values) - planted_s) < 0.03
    assert values.std() < 0.07


def test_a_lag_of_half_a_sample_is_resolved() -> None:
    time_s = np.arange(0.0, 30.0, 0.05)
    one = np.exp(-(((time_s - 15.0) / 0.8) ** 2))
    other = np.exp(-(((time_s - 15.025) / 0.8) ** 2))
    assert find_lag(time_s, one, time_s, other).lag_s == pytest.approx(0.025, abs=0.002)


def test_swapping_the_channels_turns_the_sign() -> None:
    log = logger_log(Plan())
    engine, depression = (
        log.values[Channel.ENGINE_SPEED],
        log.values[Channel.INLET_DEPRESSION],
    )
    there = find_lag(log.time_s, engine, log.time_s, depression).lag_s
    back = find_lag(log.time_s, depression, log.time_s, engine).lag_s
    assert there == pytest.approx(-back, abs=1e-6)


@pytest.mark.parametrize("ahead_s", [-3.17, 0.12, 41.3, 1.7e9])
def test_the_clock_offset_is_found_to_10_ms_wherever_the_clock_starts(ahead_s: float) -> None:
    plan = Plan(clock_ahead_s=ahead_s)
    cell, logger = cell_log(plan), logger_log(plan)
    offset = find_clock_offset(
        cell.time_s,
        cell.values[Channel.ENGINE_SPEED],
        logger.time_s,
        logger.values[Channel.ENGINE_SPEED],
    )
    assert offset.lag_s == pytest.approx(-ahead_s, abs=0.01)


def test_a_logger_started_five_seconds_later_is_still_aligned() -> None:
    plan = Plan()
    cell, logger = cell_log(plan), logger_log(plan)
    late = logger.time_s > logger.time_s[0] + 5.0
    offset = find_clock_offset(
        cell.time_s,
        cell.values[Channel.ENGINE_SPEED],
        logger.time_s[late],
        logger.values[Channel.ENGINE_SPEED][late],
    )
    assert offset.lag_s == pytest.approx(-plan.clock_ahead_s, abs=0.02)


def test_two_channels_that_have_nothing_in_common_correlate_below_0_4() -> None:
    noise = np.random.default_rng(1)
    time_s = np.arange(0.0, 30.0, 0.02)
    one, other = noise.standard_normal((2, time_s.size))
    assert find_lag(time_s, one, time_s, other).correlation < 0.4


def test_a_channel_that_never_moves_has_no_lag() -> None:
    time_s = np.arange(0.0, 30.0, 0.02)
    lag = find_lag(time_s, np.sin(time_s), time_s, np.ones(time_s.size))
    assert np.isnan(lag.lag_s)
    assert lag.correlation == 0.0


def test_the_session_takes_the_median() -> None:
    lags = {k: Lag(lag_s=lag, correlation=0.9) for k, lag in enumerate((0.24, 0.25, 0.30))}
    result = session_lag(lags, "one", "pair")
    assert not result.refused
    assert result.lag_s == 0.25


def test_a_weak_peak_refuses_the_channel_and_names_the_run() -> None:
    lags = {1: Lag(lag_s=0.2, correlation=0.9), 2: Lag(lag_s=0.2, correlation=0.39)}
    result = session_lag(lags, "one", "pair")
    assert result.refused
    assert "run 2" in result.findings[0].message


def test_runs_that_differ_by_more_than_0_1_s_refuse_the_channel() -> None:
    lags = {1: Lag(lag_s=0.2, correlation=0.9), 2: Lag(lag_s=0.31, correlation=0.9)}
    assert session_lag(lags, "one", "pair").refused
