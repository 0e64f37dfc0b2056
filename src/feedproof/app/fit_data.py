"""From the reduced runs of a case to what its fit takes: readings at each run's own conditions."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feedproof.app.configurations import circuit_for, label
from feedproof.app.slopes import sensitivities
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.run import Run
from feedproof.core.findings import Finding, note
from feedproof.evidence.corrections import State, depression_correction
from feedproof.evidence.fit.runs_model import FitRun
from feedproof.evidence.reduced import ReducedRun
from feedproof.feedline.feed_circuit import NO_LOAD_FUEL_FRACTION
from feedproof.feedline.pull import engine_speeds

PULL_POINTS = 9
"""Speeds that a catch over the pull is taken at: equal times, since the sweep is steady."""


def fit_runs(
    case: Case, reduced: Sequence[ReducedRun]
) -> tuple[tuple[FitRun, ...], tuple[Finding, ...]]:
    """
    Take what each run read at its own conditions.

    Parameters
    ----------
    case : Case
        The case with its runs.
    reduced : sequence of ReducedRun
        All reduced runs; their bringing to the reference conditions is taken back, since the fit
        asks the line at each run's own.

    Returns
    -------
    tuple of FitRun
        Runs with a usable reading.
    tuple of Finding
        What was left out.
    """
    slopes = sensitivities(case)
    records = {run.number: run for run in case.runs}
    kept, findings = [], []
    for run in reduced:
        record = records[run.number]
        if run.fuel_temperature_k is None:
            text = "left out of the fit: its fuel temperature was not measured."
            findings.append(note(f"run {run.number}", text))
            continue
        conditions = _conditions(case, run, record)
        usable = np.isfinite(run.depression_pa) & (not run.depression_censored)
        if run.depression_censored:
            text = "its depression is a lower bound only and plays no part in the fit."
            findings.append(note(f"run {run.number}", text))
        moved = depression_correction(
            slopes.get(run.configuration),
            State(
                fuel_temperature_k=run.fuel_temperature_k,
                fuel_level_fraction=conditions.fuel_level_fraction,
                ambient_pressure_abs_pa=record.ambient_pressure_abs_pa,
            ),
            case.reference,
            run.speed_m_per_s,
            f"run {run.number}",
        )
        circuit = circuit_for(case, record.kits, conditions)
        bins = np.flatnonzero(usable)
        one = FitRun(
            number=run.number,
            session=run.session,
            setup=run.setup,
            configuration=label(record.kits, run.role),
            kits=record.kits,
            conditions=conditions,
            engine_speed_rev_per_s=engine_speeds(circuit, run.speed_m_per_s[bins]),
            depression_pa=(run.depression_pa - moved.added)[bins],
            bins=bins.astype(np.int64),
        )
        one = _with_return(case, one, run, record)
        if one.depression_pa.size or one.has_return:
            kept.append(one)
    return tuple(kept), tuple(findings)


def _conditions(case: Case, run: ReducedRun, record: Run) -> Conditions:
    """Give a run's own conditions."""
    assert run.fuel_temperature_k is not None
    level = run.fuel_level_fraction
    return replace(
        case.reference,
        fuel=record.fuel,
        fuel_temperature_k=run.fuel_temperature_k,
        ambient_pressure_abs_pa=record.ambient_pressure_abs_pa,
        fuel_level_fraction=record.fuel_level_fraction if level is None else level,
        road_pitch_rad=0.0,
        tank_depression_pa=0.0,
        tank_fuel_temperature_k=None,
        captured_mass_kg=dict(record.captured_mass_kg),
        name=f"run {run.number}",
    )


def _with_return(case: Case, one: FitRun, run: ReducedRun, record: Run) -> FitRun:
    """Add the caught return where there is one."""
    caught = record.caught_return
    if run.return_m3_per_s is None or caught is None:
        return one
    if caught.hold == "steady" and caught.engine_speed_rev_per_s is not None:
        speeds, load = np.array([caught.engine_speed_rev_per_s]), NO_LOAD_FUEL_FRACTION
    elif caught.hold == "pull":
        circuit = circuit_for(case, one.kits, one.conditions)
        along = np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, PULL_POINTS)
        speeds, load = engine_speeds(circuit, along), 1.0
    else:
        return one
    return replace(
        one,
        return_m3_per_s=run.return_m3_per_s,
        return_speed_rev_per_s=speeds,
        return_load_fraction=load,
    )
