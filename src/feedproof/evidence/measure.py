"""One run's curves over the speed bins, and the numbers that the decision takes from them."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.fuel import Fuel
from feedproof.case.run import Channel, Run
from feedproof.core.findings import Finding, note, warning
from feedproof.evidence.air import full_load_fuel, power_factors
from feedproof.evidence.aliasing import nominal_engine_speed, warn_of_aliasing
from feedproof.evidence.assemble import Assembled, Trace, depression_trace
from feedproof.evidence.binner import Binner
from feedproof.evidence.bins import LEAST_SAMPLES, BinMeans
from feedproof.evidence.caught import return_at_15c, return_loss
from feedproof.evidence.corrections import (
    Correction,
    Sensitivity,
    State,
    as_depression,
    depression_correction,
    return_correction,
    sensor_head,
    sensor_zero,
)
from feedproof.evidence.lag import SessionLag
from feedproof.evidence.reduced import ReducedRun, Step
from feedproof.evidence.shortfall import RailShortfall, rail_shortfall
from feedproof.physics.fuel import linear_density
from feedproof.physics.power_correction import PowerStandard

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCurves:
    """
    Bin means of one run before it is brought to reference conditions.

    Parameters
    ----------
    run : Run
        The run.
    speed_m_per_s, wheel_power_w, engine_rev_per_s, depression_pa, rail_deviation_pa : array
        Bin centres and means, shape (n_bins,); the depression with zero and head taken off.
    fuel_rate_m3_per_s : array
        Logged fuel rate; NaN where it was not logged. [m3/s]
    depression_censored : bool
        True when the sensor was at its ceiling.
    depression_bound_pa : float or None
        Lower bound of the largest depression when censored. [Pa]
    rail : RailShortfall or None
        Shortfall inside the pull.
    fuel_temperature_k, fuel_level_fraction : float or None
        Means over the band. [K], [-]
    given_up : frozenset of str
        Measures with too few bins.
    steps, findings
        What was done and found.
    """

    run: Run
    speed_m_per_s: FloatArray
    wheel_power_w: FloatArray
    engine_rev_per_s: FloatArray
    depression_pa: FloatArray
    rail_deviation_pa: FloatArray
    fuel_rate_m3_per_s: FloatArray
    depression_censored: bool = False
    depression_bound_pa: float | None = None
    rail: RailShortfall | None = None
    fuel_temperature_k: float | None = None
    fuel_level_fraction: float | None = None
    given_up: frozenset[str] = frozenset()
    steps: tuple[Step, ...] = field(default_factory=tuple)
    findings: tuple[Finding, ...] = field(default_factory=tuple)


def run_curves(
    assembled: Assembled,
    lag: SessionLag,
    edges_m_per_s: FloatArray,
    case: Case,
    zero_limit_pa: float,
) -> RunCurves:
    """
    Average a run's channels in the session's speed bins.

    Parameters
    ----------
    assembled : Assembled
        The run on one clock.
    lag : SessionLag
        Lag of the depression to be removed, or its refusal. [s]
    edges_m_per_s : array, shape (n_bins + 1,)
        Edges of the bins. [m/s]
    case : Case
        Instruments, fuels, gearing and margins.
    zero_limit_pa : float
        Largest change of zero that is not flagged. [Pa]

    Returns
    -------
    RunCurves
        Bin means; NaN where not measured or refused.
    """
    run = assembled.run
    place = f"run {run.number}"
    findings, steps = list(assembled.findings), list(assembled.steps)
    centres = 0.5 * (edges_m_per_s[1:] + edges_m_per_s[:-1])
    nominal = nominal_engine_speed(case, centres)
    pump_rev_per_s = float(nominal[0]) * case.vehicle.pump.speed_ratio
    binner = Binner(assembled, edges_m_per_s, 1.0 / pump_rev_per_s)
    temperature = _band_mean(assembled, binner, Channel.FUEL_TEMPERATURE)
    engine = _channel(assembled, binner, Channel.ENGINE_SPEED, place, findings)
    curves = RunCurves(
        run=run,
        speed_m_per_s=centres,
        wheel_power_w=_channel(assembled, binner, Channel.WHEEL_POWER, place, findings),
        engine_rev_per_s=np.where(np.isfinite(engine), engine, nominal),
        depression_pa=np.full(centres.size, np.nan),
        rail_deviation_pa=np.full(centres.size, np.nan),
        fuel_rate_m3_per_s=_channel(assembled, binner, Channel.FUEL_RATE, place, findings),
        fuel_temperature_k=temperature,
        fuel_level_fraction=_band_mean(assembled, binner, Channel.FUEL_LEVEL),
    )
    trace = depression_trace(assembled)
    if trace is None:
        findings.append(note(f"{place}, depression", "not measured."))
    elif not lag.refused:
        shift = 0.0 if trace.lag_removed else lag.lag_s
        curves = _with_depression(
            curves, trace, shift, binner, case, zero_limit_pa, steps, findings
        )
        warn_of_aliasing(trace, pump_rev_per_s, place, findings)
    curves = _with_rail(curves, assembled, binner, case, place, findings)
    return replace(curves, steps=tuple(steps), findings=tuple(findings))


def _channel(
    assembled: Assembled,
    binner: Binner,
    channel: Channel,
    place: str,
    findings: list[Finding],
) -> FloatArray:
    """Average one channel as it is."""
    trace = assembled.traces.get(channel)
    if trace is None or not trace.checked.measured:
        if channel is Channel.WHEEL_POWER:
            findings.append(note(f"{place}, {channel}", "not measured."))
        return np.full(binner.edges.size - 1, np.nan)
    means = binner.means(trace.time_s, trace.checked.values, trace.checked.usable)
    _tell_thin_bins(means, f"{place}, {channel}", findings)
    return binner.uncut(trace.time_s, means.mean, trace.checked.saturated)


def _tell_thin_bins(means: BinMeans, place: str, findings: list[Finding]) -> None:
    """Say which bins hold too few samples, and how many are enough."""
    thin = np.flatnonzero(~np.isfinite(means.mean))
    if thin.size:
        named = ", ".join(f"{n + 1} ({means.used[n]} of {means.present[n]})" for n in thin)
        text = f"too few usable samples in speed bins {named}; enough is {LEAST_SAMPLES} and half"
        findings.append(warning(place, f"{text} of those in the bin, over one pulsation."))


def _band_mean(assembled: Assembled, binner: Binner, channel: Channel) -> float | None:
    """Average a slow channel over the comparison band."""
    trace = assembled.traces.get(channel)
    if trace is None or not trace.checked.measured:
        return None
    held = trace.checked.usable & binner.in_band(trace.time_s)
    return float(trace.checked.values[held].mean()) if held.any() else None


def _with_depression(
    curves: RunCurves,
    trace: Trace,
    lag_s: float,
    binner: Binner,
    case: Case,
    zero_limit_pa: float,
    steps: list[Step],
    findings: list[Finding],
) -> RunCurves:
    """Take off lag, zero and head, and average."""
    run = curves.run
    place = f"run {run.number}, depression"
    zero, told = sensor_zero(run.zero_before_pa, run.zero_after_pa, zero_limit_pa, place)
    findings.extend(told)
    head = _head(curves, trace, case, place, findings)
    steps.append(Step(name="zero and head", detail=f"{zero:.0f} Pa zero, {head:.0f} Pa head off"))
    values = as_depression(trace.channel, trace.checked.values, run.ambient_pressure_abs_pa)
    values = values - zero - head
    time_s = trace.time_s - lag_s
    means = binner.means(time_s, values, trace.checked.usable)
    _tell_thin_bins(means, place, findings)
    bound, curve = None, means.mean
    if trace.checked.censored:
        curve = binner.uncut(time_s, curve, trace.checked.saturated)
        bound = float(np.nanmax(values[trace.checked.saturated]))
        text = f"a lower bound only: at least {bound:.0f} Pa, zero and head taken off, not brought"
        findings.append(warning(place, f"{text} to reference conditions."))
    return replace(
        curves,
        depression_pa=curve,
        depression_censored=trace.checked.censored,
        depression_bound_pa=bound,
    )


def _head(
    curves: RunCurves, trace: Trace, case: Case, place: str, findings: list[Finding]
) -> float:
    """Give the head of the sensor's line."""
    instrument = case.instruments.get(trace.instrument)
    fuel = _fuel(case, curves.run)
    if instrument is None or fuel is None:
        text = "height of the sensor or fuel not declared: no head taken off."
        findings.append(warning(place, text, "Declare the instrument and the run's fuel."))
        return 0.0
    temperature = curves.fuel_temperature_k or curves.run.air_temperature_k
    return sensor_head(instrument, fuel, temperature)


def _fuel(case: Case, run: Run) -> Fuel | None:
    """Give the run's fuel where the case knows it."""
    return case.fuels.get(run.fuel)


def _with_rail(
    curves: RunCurves,
    assembled: Assembled,
    binner: Binner,
    case: Case,
    place: str,
    findings: list[Finding],
) -> RunCurves:
    """Add the rail pressure's deviation from demand."""
    actual = assembled.traces.get(Channel.RAIL_PRESSURE)
    demand = assembled.traces.get(Channel.RAIL_PRESSURE_DEMAND)
    if actual is None or demand is None:
        findings.append(note(f"{place}, rail pressure", "demand and actual not both logged."))
        return curves
    if not (actual.checked.measured and demand.checked.measured):
        findings.append(note(f"{place}, rail pressure", "not measured."))
        return curves
    good = demand.checked.usable
    wanted = np.interp(actual.time_s, demand.time_s[good], demand.checked.values[good])
    usable = actual.checked.usable
    deviation = np.where(usable, wanted - actual.checked.values, np.nan)
    means = binner.means(actual.time_s, deviation, usable)
    inside = np.isfinite(binner.speeds(actual.time_s))
    limit = case.margins.rail_deviation_pa
    shortfall = rail_shortfall(actual.time_s[inside], deviation[inside], limit)
    return replace(curves, rail_deviation_pa=means.mean, rail=shortfall)


def measure_run(
    curves: RunCurves,
    position: float,
    common: Mapping[str, BoolArray],
    case: Case,
    sensitivity: Sensitivity | None,
    standard: PowerStandard,
) -> ReducedRun:
    """
    Turn a run's curves into the numbers of the decision.

    Parameters
    ----------
    curves : RunCurves
        Bin means.
    position : float
        Place in the session's order. [-]
    common : mapping of str to array of bool, shape (n_bins,)
        Bins averaged, by measure.
    case : Case
        Engine, fuels and reference conditions.
    sensitivity : Sensitivity or None
        Derivatives of the run's configuration.
    standard : PowerStandard
        Text by which the corrected power is given.

    Returns
    -------
    ReducedRun
        The run, with this room's steps and findings.
    """
    run, place = curves.run, f"run {curves.run.number}"
    steps, findings = list(curves.steps), list(curves.findings)
    corrected = _corrected_power(curves, case, standard, place, steps, findings)
    level = curves.fuel_level_fraction
    state = State(
        fuel_temperature_k=curves.fuel_temperature_k,
        fuel_level_fraction=run.fuel_level_fraction if level is None else level,
        ambient_pressure_abs_pa=run.ambient_pressure_abs_pa,
    )
    added = _depression_added(curves, state, sensitivity, case, place, steps, findings)
    depression = curves.depression_pa + added.added
    mean, largest = _depression_numbers(curves, depression, common["depression_pa"])
    used = common["wheel_power_w"]
    keep_power = "wheel_power_w" not in curves.given_up
    flow, loss, moved = _returned(run, state, sensitivity, case, place, steps, findings)
    return ReducedRun(
        number=run.number,
        configuration=run.configuration,
        session=run.session,
        setup=run.setup,
        role=run.role,
        position=position,
        speed_m_per_s=curves.speed_m_per_s,
        wheel_power_w=curves.wheel_power_w,
        corrected_power_w=corrected,
        depression_pa=depression,
        rail_deviation_pa=curves.rail_deviation_pa,
        power_loss_log_percent=_log_loss(curves.wheel_power_w, used) if keep_power else None,
        corrected_power_loss_log_percent=_log_loss(corrected, used) if keep_power else None,
        depression_mean_pa=mean,
        depression_max_pa=largest,
        depression_measured_max_pa=_depression_numbers(
            curves, curves.depression_pa, common["depression_pa"]
        )[1],
        depression_censored=curves.depression_censored,
        depression_correction_pa=added.mean,
        depression_correction_u_pa=added.standard_uncertainty,
        return_m3_per_s=flow,
        return_loss_log_percent=loss,
        return_correction_log_percent=moved.mean,
        return_correction_u_log_percent=moved.standard_uncertainty,
        depression_doubts=added.doubts,
        return_doubts=moved.doubts,
        rail_shortfall_pa=curves.rail.largest_pa if curves.rail else None,
        rail_shortfall_s=curves.rail.longest_s if curves.rail else None,
        fuel_temperature_k=curves.fuel_temperature_k,
        fuel_level_fraction=state.fuel_level_fraction,
        steps=tuple(steps),
        findings=tuple(findings),
    )


def _log_loss(power_w: FloatArray, used: BoolArray) -> float | None:
    """Give -100 mean ln(P / 1 W) over bins; None when a bin is missing or not positive."""
    held = power_w[used]
    if not held.size or not np.isfinite(held).all() or (held <= 0.0).any():
        return None
    return float(-100.0 * np.log(held).mean())


def _corrected_power(
    curves: RunCurves,
    case: Case,
    standard: PowerStandard,
    place: str,
    steps: list[Step],
    findings: list[Finding],
) -> FloatArray:
    """Correct the power to reference air by the chosen text, naming the others."""
    if not np.isfinite(curves.wheel_power_w).any():
        return np.full(curves.wheel_power_w.size, np.nan)
    engine, fuel = case.vehicle.engine, _fuel(case, curves.run)
    burnt, origin = full_load_fuel(engine, curves.engine_rev_per_s), "the engine's full-load curve"
    if np.isfinite(curves.fuel_rate_m3_per_s).all() and fuel is not None:
        temperature = curves.fuel_temperature_k or curves.run.air_temperature_k
        density = linear_density(fuel.density_15c_kg_per_m3, fuel.expansion_per_k, temperature)
        burnt, origin = curves.fuel_rate_m3_per_s * density, "the logged fuel rate"
    factors = power_factors(curves.run, engine, curves.engine_rev_per_s, burnt, place)
    findings.extend(factors.findings)
    detail = f"{factors.describe()}; dry pressure {factors.dry_pressure_abs_pa / 1000.0:.2f} kPa,"
    steps.append(Step(name="power correction", detail=f"{detail} fuel from {origin}"))
    if factors.findings:
        # Outside its validity the factor judges nothing; its figure stands in the step above.
        return np.full(curves.wheel_power_w.size, np.nan)
    return curves.wheel_power_w * factors.factors[standard]


def _depression_added(
    curves: RunCurves,
    state: State,
    sensitivity: Sensitivity | None,
    case: Case,
    place: str,
    steps: list[Step],
    findings: list[Finding],
) -> Correction:
    """Give the correction of the depression, or none where there is no depression."""
    if not np.isfinite(curves.depression_pa).any():
        nothing = np.zeros(curves.speed_m_per_s.size)
        return Correction(added=nothing, mean=0.0, standard_uncertainty=0.0)
    added = depression_correction(
        sensitivity, state, case.reference, curves.speed_m_per_s, f"{place}, depression"
    )
    findings.extend(added.findings)
    _tell_correction(added, "depression to reference", "Pa", steps)
    return added


def _tell_correction(added: Correction, name: str, unit: str, steps: list[Step]) -> None:
    """Write down a correction, or that there was none."""
    detail = f"{added.mean:+.3g} {unit}, standard uncertainty {added.standard_uncertainty:.2g}"
    if not np.isfinite(added.standard_uncertainty):
        detail = "not made; its uncertainty is unknown"
    steps.append(Step(name=name, detail=detail))


def _depression_numbers(
    curves: RunCurves, depression_pa: FloatArray, used: BoolArray
) -> tuple[float | None, float | None]:
    """Give mean and largest depression over the band; of a censored one only the bound."""
    if curves.depression_censored:
        return None, curves.depression_bound_pa
    held = depression_pa[used]
    if "depression_pa" in curves.given_up or not held.size or not np.isfinite(held).all():
        return None, None
    return float(held.mean()), float(held.max())


def _returned(
    run: Run,
    state: State,
    sensitivity: Sensitivity | None,
    case: Case,
    place: str,
    steps: list[Step],
    findings: list[Finding],
) -> tuple[float | None, float | None, Correction]:
    """Give return flow at 15 degC, its loss at reference conditions, and the correction."""
    none = Correction(added=np.zeros(1), mean=0.0, standard_uncertainty=0.0)
    fuel, caught = _fuel(case, run), run.caught_return
    if caught is None:
        return None, None, none
    if fuel is None or not caught.amount > 0.0 or caught.duration_s <= 0.0:
        text = "caught return cannot be used: fuel unknown, or amount or duration not above 0."
        findings.append(warning(f"{place}, return", text, "Mend the run sheet."))
        return None, None, none
    flow = return_at_15c(caught, fuel)
    moved = return_correction(sensitivity, state, case.reference, f"{place}, return")
    findings.extend(moved.findings)
    _tell_correction(moved, "return to reference", "log-percent", steps)
    return flow, return_loss(flow) + moved.mean, moved
