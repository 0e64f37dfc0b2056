"""Losses of power and return, measured against predicted: what the model explains."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.configurations import candidates, circuit_for, label
from feedproof.app.proof import LossAgainstModel
from feedproof.app.slopes import hold_of
from feedproof.app.spread import curve_u_pa
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome, Verdict
from feedproof.case.run import Role, Run
from feedproof.evidence.outcomes import plain_percent
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.students import student_quantile
from feedproof.feedline.pull import engine_speeds, roller_power
from feedproof.report.digits import decimal

FloatArray = NDArray[np.float64]

TWO_SIDED = 0.975
_LEAST_PERCENT = 0.05
"""Losses below this are not told apart from none by one decimal."""
_EDGES = ("laminar_late", "turbulent_early")
_WORDS = {Measure.WHEEL_POWER: "wheel power", Measure.CAUGHT_RETURN: "caught return"}


def losses_against_model(
    case: Case, reduced: Sequence[ReducedRun], verdicts: Sequence[Verdict]
) -> tuple[LossAgainstModel, ...]:
    """
    Hold the measured losses of power and return against those that the line predicts.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.
    verdicts : sequence of Verdict
        With the measured losses.

    Returns
    -------
    tuple of LossAgainstModel
        For power, at the mean conditions of the runs compared, and for a return that was caught at
        a steady speed, at the reference conditions, to which it was brought.
    """
    by_name = {label(kits, role): (kits, role) for kits, role in candidates(case)}
    found = []
    for verdict in verdicts:
        kits, _ = by_name[verdict.configuration]
        for outcome in verdict.outcomes:
            if outcome.measure in _WORDS and _has_limits(outcome):
                one = _against_model(case, reduced, verdict.configuration, kits, outcome)
                found += [one] if one is not None else []
    return tuple(found)


def _has_limits(outcome: Outcome) -> bool:
    """Say whether a loss was measured with an uncertainty."""
    known = outcome.estimate is not None and outcome.standard_uncertainty is not None
    return known and outcome.coverage_factor is not None


def _against_model(
    case: Case,
    reduced: Sequence[ReducedRun],
    configuration: str,
    kits: tuple[str, ...],
    outcome: Outcome,
) -> LossAgainstModel | None:
    """Compare one measure of one configuration with its prediction."""
    records = {run.number: run for run in case.runs}
    numbers = {number for each in outcome.runs.values() for number in each}
    runs = [run for run in reduced if run.number in numbers]
    loading = _loading(runs, records)
    if outcome.measure is Measure.CAUGHT_RETURN:
        steady = all(
            caught is not None and caught.hold == "steady"
            for caught in (records[run.number].caught_return for run in runs)
        )
        if not steady:
            return None
        conditions = replace(case.reference, captured_mass_kg=loading)
    else:
        conditions = replace(_mean_conditions(case, runs, records), captured_mass_kg=loading)
    speeds = runs[0].speed_m_per_s

    def loss(other: Case) -> FloatArray:
        figures = [_figure(other, each, conditions, outcome.measure, speeds) for each in (kits, ())]
        return np.array([figures[0] - figures[1]])

    centre = float(loss(case)[0])
    edges = [float(loss(replace(case, friction_rule=edge))[0]) for edge in _EDGES]
    wide = 2.0 * float(curve_u_pa(case, loss)[0])
    if not all(map(math.isfinite, (centre, wide, *edges))):
        return None
    return _judged(
        configuration, outcome, centre, min(centre, *edges) - wide, max(centre, *edges) + wide
    )


def _judged(
    configuration: str, outcome: Outcome, centre: float, low: float, high: float
) -> LossAgainstModel:
    """Put measured and predicted side by side."""
    estimate, u = outcome.estimate or 0.0, outcome.standard_uncertainty or 0.0
    dof = outcome.degrees_of_freedom
    expanded = u * student_quantile(TWO_SIDED, math.inf if dof is None else dof)
    agrees = low - expanded <= estimate <= high + expanded
    measured, predicted = plain_percent(estimate), plain_percent(centre)
    ends = plain_percent(low), plain_percent(high)
    what = _WORDS[outcome.measure]
    one, spread, other, low_end, high_end = (
        decimal(each, 1) for each in (measured, expanded, predicted, *ends)
    )
    modelled = f"{other} % ({low_end} to {high_end} %) predicted"
    if max(map(abs, (predicted, *ends))) < _LEAST_PERCENT:
        # "0.0 (0.0 to 0.0)" would read as known without doubt.
        modelled = (
            "below 0.1 % predicted over the ranges of the case, from the model alone: what it"
            " leaves out is not in this figure"
        )
    figures = f"{one} \u00b1 {spread} % loss of {what} measured, {modelled}"
    if agrees:
        sentence = f"Measured and predicted agree within what both can tell: {figures}."
    elif estimate > centre:
        sentence = (
            f"The model does not explain this loss: {figures}. Something costs {what} that the"
            " described line does not hold, or the description is wrong."
        )
    else:
        sentence = f"The model predicts a larger loss than there is: {figures}."
    return LossAgainstModel(
        measure=outcome.measure,
        configuration=configuration,
        measured_percent=measured,
        measured_expanded_percent=expanded,
        predicted_percent=predicted,
        predicted_low_percent=ends[0],
        predicted_high_percent=ends[1],
        agrees=agrees,
        sentence=sentence,
    )


def _figure(
    case: Case,
    kits: tuple[str, ...],
    conditions: Conditions,
    measure: Measure,
    speed_m_per_s: FloatArray,
) -> float:
    """Predict one configuration's figure on the scale of the losses; NaN where it stands still."""
    present = {element.id for element in case.line_with(kits).elements}
    held = {k: v for k, v in conditions.captured_mass_kg.items() if k in present}
    circuit = circuit_for(case, kits, replace(conditions, captured_mass_kg=held))
    if measure is Measure.CAUGHT_RETURN:
        values = np.array([circuit.held_without_load(hold_of(case)).return_m3_per_s])
    else:
        rotation = engine_speeds(circuit, speed_m_per_s)
        wanted_power, wanted_flow = circuit.full_load(rotation)
        states = circuit.at_many(rotation, wanted_flow)
        engine = wanted_power * states[:, 3] / wanted_flow
        values = roller_power(circuit, speed_m_per_s, engine, case.pull)
    return float(-100.0 * np.log(values).mean()) if (values > 0.0).all() else math.nan


def _mean_conditions(
    case: Case, runs: Sequence[ReducedRun], records: Mapping[int, Run]
) -> Conditions:
    """Give the mean conditions of runs; what was not measured is taken from the reference."""
    warm = [run.fuel_temperature_k for run in runs if run.fuel_temperature_k is not None]
    levels = [run.fuel_level_fraction for run in runs if run.fuel_level_fraction is not None]
    air = [records[run.number].ambient_pressure_abs_pa for run in runs]
    reference = case.reference
    return replace(
        reference,
        fuel_temperature_k=float(np.mean(warm)) if warm else reference.fuel_temperature_k,
        fuel_level_fraction=float(np.mean(levels)) if levels else reference.fuel_level_fraction,
        ambient_pressure_abs_pa=float(np.mean(air)),
    )


def _loading(runs: Sequence[ReducedRun], records: Mapping[int, Run]) -> dict[str, float]:
    """Give what the elements held in the runs with a loaded element."""
    return {
        part: mass
        for run in runs
        if run.role is Role.LOADED
        for part, mass in records[run.number].captured_mass_kg.items()
    }
