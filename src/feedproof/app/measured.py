"""Measured against predicted: bias, and the worst conditions moved by the bias."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.bands import predict_band
from feedproof.app.case_budgets import gauge_budgets
from feedproof.app.configurations import candidates, circuit_for, label, top_state
from feedproof.app.proof import Bias, WorstPrediction
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.margin import Measure
from feedproof.case.run import Role, Run
from feedproof.evidence.archive import archive_of
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.students import student_quantile
from feedproof.evidence.trial import BASELINE

FloatArray = NDArray[np.float64]


def biases(case: Case, reduced: Sequence[ReducedRun]) -> tuple[Bias, ...]:
    """
    Hold measured depression against predicted, configuration by configuration.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.

    Returns
    -------
    tuple of Bias
        One for each configuration of each session that has a usable depression.
    """
    found = []
    groups: dict[tuple[str, tuple[str, ...], Role], list[ReducedRun]] = {}
    records = {run.number: run for run in case.runs}
    for run in reduced:
        record = records[run.number]
        usable = run.depression_mean_pa is not None and not run.depression_censored
        if usable and np.isfinite(run.depression_pa).any():
            groups.setdefault((run.session, record.kits, record.role), []).append(run)
    for (session, kits, role), runs in groups.items():
        found.append(_bias(case, session, kits, role, runs, records))
    return tuple(found)


def _bias(
    case: Case,
    session: str,
    kits: tuple[str, ...],
    role: Role,
    runs: list[ReducedRun],
    records: Mapping[int, Run],
) -> Bias:
    """Compare one configuration of one session with its prediction."""
    curves = np.array([run.depression_pa for run in runs])
    bins = np.isfinite(curves).all(axis=0)
    speeds = runs[0].speed_m_per_s[bins]
    loading = {k: v for run in runs for k, v in records[run.number].captured_mass_kg.items()}
    conditions = replace(case.reference, captured_mass_kg=loading)
    predicted, low, high = (
        float(np.mean(each)) for each in predict_band(case, kits, speeds, conditions)
    )
    means = curves[:, bins].mean(axis=1)
    measured = float(means.mean())
    u_pa, dof = _mean_u(case, means, runs)
    expanded = student_quantile(0.975, dof) * u_pa
    bias = measured - predicted
    agrees = low - expanded <= measured <= high + expanded
    return Bias(
        configuration=label(kits, role),
        session=session,
        runs=tuple(run.number for run in runs),
        measured_pa=measured,
        predicted_pa=predicted,
        predicted_low_pa=low,
        predicted_high_pa=high,
        bias_pa=bias,
        expanded_u_pa=expanded,
        agrees=agrees,
        sentence=_bias_sentence(bias, expanded, predicted, agrees=agrees),
    )


def _mean_u(case: Case, means: FloatArray, runs: list[ReducedRun]) -> tuple[float, float]:
    """Give the standard uncertainty of a measured mean and its degrees of freedom."""
    declared = archive_of(case.repeatability.get(Measure.INLET_DEPRESSION))
    n = len(means)
    if declared is not None:
        scatter, dof = declared.standard_deviation, declared.degrees_of_freedom
    else:
        scatter, dof = (float(means.std(ddof=1)), n - 1.0) if n > 1 else (math.inf, 1.0)
    budgets = gauge_budgets(case, 0.0, n)
    absolute = budgets[0].standard_uncertainty if budgets else 0.0
    correction = max(run.depression_correction_u_pa for run in runs)
    return math.sqrt(scatter**2 / n + absolute**2 + correction**2), dof


def _bias_sentence(bias: float, expanded: float, predicted: float, *, agrees: bool) -> str:
    """Say what a bias means."""
    size = f"{abs(bias) / 1e3:.1f} kPa ({100 * abs(bias) / predicted:.0f} %)"
    side = "more" if bias > 0 else "less"
    if not math.isfinite(expanded):
        return (
            f"Measured and predicted differ by {size}; no repeatability is known, so nobody can say"
            " what that means."
        )
    if abs(bias) <= expanded:
        return f"Measured and predicted differ by {size}, less than the measurement can tell."
    if agrees:
        return (
            f"The line restricts {size} {side} than predicted; with their uncertainties the ranges"
            " of measurement and prediction overlap."
        )
    return (
        f"The line restricts {size} {side} than predicted, and the ranges do not meet: something"
        " in the line is not as described. Measure bores and fittings before relying on the"
        " prediction."
    )


def worst_predictions(case: Case, found: Sequence[Bias]) -> tuple[WorstPrediction, ...]:
    """
    Predict the inlet pressure at the declared worst conditions, moved by what the test showed.

    Parameters
    ----------
    case : Case
        The case.
    found : sequence of Bias
        Measured against predicted.

    Returns
    -------
    tuple of WorstPrediction
        For the baseline and every configuration that was run.

    Notes
    -----
    The measured bias is carried in proportion to the flow losses.  That proportion is a guess
    until the line is fitted, so half of the move is taken as its standard uncertainty.
    """
    results: list[WorstPrediction] = []
    sets = dict.fromkeys([(), *(kits for kits, role in candidates(case))])
    for kits in sets:
        if any(case.kits[kit_id].control for kit_id in kits):
            continue
        name = "+".join(kits) if kits else BASELINE
        ratios = [
            each.bias_pa / each.predicted_pa
            for wanted in (name, BASELINE)
            for each in found
            if each.configuration == wanted
        ]
        own = [each for each in found if each.configuration == name]
        # Without a usable reading of its own a kit is moved as the bare line is.
        ratio = float(np.mean(ratios[: len(own)] or ratios)) if ratios else 0.0
        results.extend(
            _worst_prediction(case, kits, name, condition, ratio) for condition in case.worst
        )
    return tuple(results)


def _worst_prediction(
    case: Case, kits: tuple[str, ...], name: str, condition: Conditions, ratio: float
) -> WorstPrediction:
    """Predict one configuration at one worst condition."""
    state, _ = top_state(case, circuit_for(case, kits, condition))
    top = np.array([case.pull.stop_m_per_s])
    _, low, high = (float(each[0]) for each in predict_band(case, kits, top, condition))
    circuit = circuit_for(case, kits, condition)
    moved = ratio * (state.depression_pa - circuit.static_pa)
    spread = (high - low) / 4.0
    return WorstPrediction(
        configuration=name,
        condition=condition.name,
        predicted_abs_pa=state.pressure_abs_pa,
        moved_abs_pa=state.pressure_abs_pa - moved,
        u_pa=math.hypot(spread, moved / 2.0),
    )
