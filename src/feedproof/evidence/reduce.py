"""
From the logs of a session's runs to one number per run and measure.

Blind: nothing here asks which configuration a run is, but for the derivatives that its
correction needs; all settings are the same for every run, and every step is named.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.run import CaughtReturn, Channel, Role, Run
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.assemble import Assembled, Trace, assemble_run, depression_trace
from feedproof.evidence.bins import bin_edges, common_bins
from feedproof.evidence.caught import unlike_catches
from feedproof.evidence.corrections import Sensitivity
from feedproof.evidence.lag import (
    LAG_BANDS_HZ,
    LEAST_CORRELATION,
    Lag,
    SessionLag,
    find_lag,
    session_lag,
)
from feedproof.evidence.measure import RunCurves, measure_run, run_curves
from feedproof.evidence.reduced import ReducedRun, Step
from feedproof.evidence.window import comparison_band, with_lag
from feedproof.physics.power_correction import PowerStandard

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """
    Settings of the reduction, the same for every run of a session.

    Parameters
    ----------
    bin_count : int
        Speed bins of the decision. [-]
    bin_width_m_per_s : float or None
        Width of finer bins for curves, such as 2 km/h; it takes the place of the count. [m/s]
    zero_change_limit_pa : float
        Largest change of the sensor's zero over a run that is not flagged. [Pa]
    power_standard : PowerStandard
        Text by which the corrected power is given; the others stand in the steps.
    declared_lag_s : mapping of str to float
        Lag of the depression channel by instrument, where it was measured by a step test; it
        takes the place of the lag found from the logs. [s]
    """

    bin_count: int = 8
    bin_width_m_per_s: float | None = None
    zero_change_limit_pa: float = 200.0
    power_standard: PowerStandard = PowerStandard.ISO_1585
    declared_lag_s: Mapping[str, float] = field(default_factory=dict)


def reduce_session(
    runs: Sequence[Run],
    logs: Mapping[int, Sequence[Log]],
    case: Case,
    sensitivities: Mapping[str, Sensitivity],
    options: Options | None = None,
) -> tuple[ReducedRun, ...]:
    """
    Clean the runs of one session and reduce each to what it has to say.

    Parameters
    ----------
    runs : sequence of Run
        Runs of one session, in any order; warm-ups and excluded runs are left out and named.
    logs : mapping of int to sequence of Log
        Logs by run number.
    case : Case
        Vehicle, fuels, instruments, margins and reference conditions.
    sensitivities : mapping of str to Sensitivity
        Derivatives by configuration.
    options : Options, optional
        Settings.

    Returns
    -------
    tuple of ReducedRun
        In the order of the runs.  ``position`` counts excluded runs too, for drift went on
        while they were driven.

    Raises
    ------
    InputError
        Runs of more than one session, logs without a pull or with a broken clock (all of
        them at once), or runs without a common speed band.
    """
    options = options or Options()
    session = _session(runs)
    placed, left_out = _in_order(runs)
    if not placed:
        text = "no run is left to compare."
        raise InputError.at(f"session {session}", f"{text} {left_out.detail}")
    assembled = _assemble_all(placed, logs, case)
    lag = _depression_lag(assembled, session, options)
    assembled = {number: _with_guard(one, lag.lag_s) for number, one in assembled.items()}
    windows = {number: one.window for number, one in assembled.items()}
    low, high, told = comparison_band(windows, session)
    edges = bin_edges(low, high, options.bin_count, options.bin_width_m_per_s)
    told += lag.findings
    odd, odd_told = unlike_catches(_catches(placed), session)
    told += odd_told
    curves = {
        number: run_curves(one, lag, edges, case, options.zero_change_limit_pa)
        for number, one in assembled.items()
    }
    curves = {number: _without_odd_catch(one, number in odd) for number, one in curves.items()}
    common, curves, band_step = _common_to_all(curves, session)
    shared = (left_out, _lag_step(lag), _band_step(low, high, edges.size - 1), band_step)
    return tuple(
        _finish(curves[run.number], position, common, case, sensitivities, options, shared, told)
        for run, position in placed
    )


def _session(runs: Sequence[Run]) -> str:
    """Give the one session of the runs, or refuse."""
    names = sorted({run.session for run in runs})
    if len(names) != 1:
        text = f"runs of {len(names)} sessions given: {', '.join(names) or 'none'}."
        raise InputError.at("sessions", text, "Runs are compared inside one session.")
    return names[0]


def _in_order(runs: Sequence[Run]) -> tuple[list[tuple[Run, float]], Step]:
    """Put runs in the order of their start, leaving out and naming warm-ups and excluded ones."""
    placed: list[tuple[Run, float]] = []
    out: list[str] = []
    position = 0
    for run in sorted(runs, key=lambda one: (one.started, one.number)):
        if run.role is Role.WARM_UP:
            out.append(f"run {run.number} (warm-up)")
            continue
        if run.excluded:
            out.append(f"run {run.number} (excluded: {run.excluded})")
        else:
            placed.append((run, float(position)))
        position += 1
    return placed, Step(name="runs left out", detail=", ".join(out) or "none")


def _assemble_all(
    placed: Sequence[tuple[Run, float]], logs: Mapping[int, Sequence[Log]], case: Case
) -> dict[int, Assembled]:
    """Assemble every run, collecting the mistakes of all."""
    done: dict[int, Assembled] = {}
    errors: list[Finding] = []
    for run, _ in placed:
        try:
            done[run.number] = assemble_run(run, logs.get(run.number, ()), case)
        except FeedproofError as fault:
            errors.extend(fault.findings)
    if errors:
        raise InputError(errors)
    return done


def _depression_lag(
    assembled: Mapping[int, Assembled], session: str, options: Options
) -> SessionLag:
    """Settle the lag of the depression behind the engine speed for the whole session."""
    traces = {number: depression_trace(one) for number, one in assembled.items()}
    usable = {
        n: trace for n, trace in traces.items() if trace is not None and not trace.lag_removed
    }
    instruments = {trace.instrument for trace in usable.values()}
    declared = [options.declared_lag_s.get(name) for name in sorted(instruments)]
    known = [lag for lag in declared if lag is not None]
    if known and len(known) == len(declared) and len(set(known)) == 1:
        text = f"declared lag of {known[0]:.3f} s removed."
        told = (note(f"session {session}, depression", text),)
        return SessionLag(lag_s=known[0], refused=False, spread_s=0.0, findings=told)
    result = SessionLag(lag_s=0.0, refused=False, spread_s=0.0, findings=())
    for band in LAG_BANDS_HZ:
        lags = {n: _lag_of(assembled[n], trace, band) for n, trace in usable.items()}
        result = session_lag(lags, session, f"depression behind engine speed, {band[1]:g} Hz")
        if all(lag.correlation >= LEAST_CORRELATION for lag in lags.values()):
            break
    return result


def _lag_of(assembled: Assembled, trace: Trace, band_hz: tuple[float, float]) -> Lag:
    """Find one run's lag of the depression behind the engine speed, or the road speed."""
    reference = assembled.numbers(Channel.ENGINE_SPEED) or assembled.numbers(Channel.ROAD_SPEED)
    assert reference is not None
    sign = 1.0 if trace.channel is Channel.INLET_DEPRESSION else -1.0
    checked = trace.checked
    # Outside the pull nothing was checked; inside it faulty samples would make false edges.
    bad = checked.stuck | checked.dropout
    values = np.where(bad, np.nan, sign * trace.raw)
    return find_lag(*reference, trace.time_s, values, band_hz=band_hz)


def _with_guard(assembled: Assembled, lag_s: float) -> Assembled:
    """End the pull earlier by the lag that is removed."""
    speed = assembled.traces[Channel.ROAD_SPEED]
    return replace(assembled, window=with_lag(assembled.window, lag_s, speed.time_s, speed.raw))


def _catches(placed: Sequence[tuple[Run, float]]) -> dict[int, CaughtReturn]:
    """List the caught returns by run."""
    return {run.number: run.caught_return for run, _ in placed if run.caught_return is not None}


def _without_odd_catch(curves: RunCurves, odd: bool) -> RunCurves:
    """Take out a return that was caught in another way than the others."""
    return replace(curves, run=replace(curves.run, caught_return=None)) if odd else curves


def _common_to_all(
    curves: Mapping[int, RunCurves], session: str
) -> tuple[dict[str, BoolArray], dict[int, RunCurves], Step]:
    """Find, for each measure, the bins that all runs can be averaged over."""
    common: dict[str, BoolArray] = {}
    result = dict(curves)
    parts = []
    for measure in ("wheel_power_w", "depression_pa"):
        # A censored depression is a lower bound in any case: it must not cost others a bin.
        series = {
            number: getattr(one, measure)
            for number, one in result.items()
            if not (measure == "depression_pa" and one.depression_censored)
        }
        common[measure], given_up = common_bins(series)
        for number in given_up:
            text = f"{measure}: more than a quarter of the speed bins hold too few samples."
            finding = warning(f"run {number}", text, "Repeat the run.")
            one = replace(result[number], findings=(*result[number].findings, finding))
            result[number] = replace(one, given_up=one.given_up | {measure})
        used = int(common[measure].sum())
        parts.append(f"{measure}: {used} of {common[measure].size} bins usable in every run")
    step = Step(name="bins averaged", detail=f"session {session}: " + "; ".join(parts))
    return common, result, step


def _lag_step(lag: SessionLag) -> Step:
    """Write down the lag of the depression."""
    if lag.refused:
        return Step(name="lag", detail="depression refused: " + lag.findings[0].message)
    return Step(name="lag", detail=f"{lag.lag_s:.3f} s taken from the depression's times")


def _band_step(low: float, high: float, count: int) -> Step:
    """Write down the comparison band."""
    detail = f"{low * 3.6:.2f} to {high * 3.6:.2f} km/h in {count} bins, 2 % trimmed at each end"
    return Step(name="comparison band", detail=detail)


def _finish(
    curves: RunCurves,
    position: float,
    common: Mapping[str, BoolArray],
    case: Case,
    sensitivities: Mapping[str, Sensitivity],
    options: Options,
    shared: tuple[Step, ...],
    told: tuple[Finding, ...],
) -> ReducedRun:
    """Measure one run and add what was done to all."""
    reduced = measure_run(
        curves,
        position,
        common,
        case,
        sensitivities.get(curves.run.configuration),
        options.power_standard,
    )
    mine = f"run {reduced.number}"
    about = tuple(
        finding for finding in told if not finding.place.startswith("run ") or finding.place == mine
    )
    return replace(reduced, steps=(*shared, *reduced.steps), findings=(*about, *reduced.findings))
