"""
Depression as a restriction: what the kit adds, what share of the room, and whether the limit holds.

Every kit adds some depression, so it is no loss to be excluded.  Two questions are kept apart:
how much is added (a difference: fixed instrument errors cancel), and whether the pump maker's
absolute limit still holds (an absolute pressure: they do not cancel).  Without a maker's limit the
second has no answer and nothing passes.  The vehicle without a kit is shown beside the kit.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from feedproof.case.margin import Measure, Repeatability
from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.answers import missing_outcome
from feedproof.evidence.carried import (
    carried_uncertainty,
    depression_corrected,
    refuse_depression,
)
from feedproof.evidence.comparison import Comparison
from feedproof.evidence.designs import fit_design
from feedproof.evidence.inlet_limit import (
    NO_WORST_TAG,
    VEHICLE_ITSELF_TAG,
    InletPressure,
    WorstCase,
    with_limit,
)
from feedproof.evidence.limits import coverage
from feedproof.evidence.outcomes import outcome_of
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.students import CONFIDENCE
from feedproof.evidence.trial import (
    Figure,
    Trial,
    notes_on_runs,
    refusal_reason,
    serial_tags,
    setup_tags,
)

_NO_UPPER_END = frozenset({"room_share_upper", "added_expanded_pa"})
_NO_BASELINE = frozenset({"added_pa", "added_at_worst_speed_pa", "room_share", "room_pa"})
"""Figures that runs of the kit, or of the baseline, at the sensor's ceiling leave unknown."""

__all__ = ["NO_WORST_TAG", "VEHICLE_ITSELF_TAG", "InletPressure", "WorstCase", "judge_restriction"]


def judge_restriction(
    trial: Trial,
    repeatability: Repeatability | None,
    *,
    type_b_difference_u_pa: float,
    type_b_absolute_u_pa: float,
    maker_limit_abs_pa: float | None,
    worst: Sequence[WorstCase] = (),
) -> Outcome:
    """
    Judge depression as a restriction.

    Parameters
    ----------
    trial : Trial
        Runs and records.
    repeatability : Repeatability or None
        As declared for depression. [Pa]
    type_b_difference_u_pa : float
        Standard uncertainty of a difference from the gauge; that of the correction to reference
        conditions is added here. [Pa]
    type_b_absolute_u_pa : float
        Standard uncertainty of one absolute depression from the gauge. [Pa]
    maker_limit_abs_pa : float or None
        Least inlet pressure that the pump's maker states. [Pa]
    worst : sequence of WorstCase
        Predicted at the declared worst conditions.

    Returns
    -------
    Outcome
        ``estimate`` is the added depression over the band and ``figures`` hold its two-sided
        95 % uncertainty (``added_expanded_pa``), the share of the remaining room and the
        pressures; within the limit, beyond it, cannot tell, or no limit known.

    Notes
    -----
    One session at a time, as elsewhere: the session whose kit runs read the lowest pressure
    stands for all.
    """
    sessions = trial.sessions(_depression)
    if not sessions:
        bound = _only_bounds(trial, maker_limit_abs_pa, type_b_absolute_u_pa)
        return bound or missing_outcome(trial, Measure.INLET_DEPRESSION, _depression)
    together = tuple(run for runs in sessions for run in runs)
    refused = refusal_reason(trial, together) or _unlike(trial, sessions)
    if refused:
        return Outcome(
            measure=Measure.INLET_DEPRESSION,
            answer=Answer.REFUSED,
            unit="Pa",
            runs=trial.used(together),
            reasons=(refused,),
        )
    runs = min(
        sessions,
        key=lambda held: _mean_pressure(trial, tuple(filter(trial.is_candidate, held))),
    )
    added = _compare(trial, runs, _depression, repeatability, type_b_difference_u_pa)
    largest = _compare(trial, runs, _largest, repeatability, type_b_difference_u_pa)
    kit = _inlet(trial, runs, True, largest, repeatability, type_b_absolute_u_pa)
    bare = _inlet(trial, runs, False, largest, repeatability, type_b_absolute_u_pa)
    outcome = replace(
        outcome_of(added, Measure.INLET_DEPRESSION, "Pa"),
        tags=(
            *added.tags,
            *serial_tags(trial, together),
            *setup_tags(trial, runs, repeatability),
        ),
        runs=trial.used(runs),
        margin=maker_limit_abs_pa,
        reasons=(*added.reasons, *notes_on_runs(trial, together)),
    )
    outcome = _with_figures(outcome, added, largest, kit, bare, maker_limit_abs_pa)
    outcome = _with_censoring(outcome, trial, _at_ceiling(trial, runs))
    bound = _only_bounds(trial, maker_limit_abs_pa, type_b_absolute_u_pa)
    if maker_limit_abs_pa is None:
        outcome = _with_bound(outcome, bound)
        return replace(
            outcome,
            answer=Answer.NO_LIMIT_KNOWN,
            reasons=(
                "No limit known: compared with its own baseline only.",
                *outcome.reasons,
            ),
        )
    censored = any(trial.is_candidate(run) for run in _at_ceiling(trial, runs))
    outcome = with_limit(outcome, censored, kit, bare, maker_limit_abs_pa, worst, trial.confidence)
    return _with_bound(outcome, bound)


def _at_ceiling(trial: Trial, runs: tuple[ReducedRun, ...]) -> tuple[ReducedRun, ...]:
    """Give the runs of the same sessions whose sensor was at its ceiling, usable or not."""
    sessions = {run.session for run in runs}
    return tuple(
        run for run in trial.counted() if run.session in sessions and run.depression_censored
    )


def _with_bound(outcome: Outcome, bound: Outcome | None) -> Outcome:
    """Let runs at the sensor's ceiling speak on the limit: they never show that it holds."""
    if bound is None:
        return outcome
    # Beyond the limit stays so; the figures are bounds in any case and must be marked as such.
    beyond = outcome.answer is Answer.BEYOND_LIMIT
    return replace(
        outcome,
        answer=outcome.answer if beyond else bound.answer,
        upper=None,
        figures={k: v for k, v in outcome.figures.items() if k not in _NO_UPPER_END},
        tags=tuple(dict.fromkeys((*outcome.tags, *bound.tags))),
        reasons=(*bound.reasons, *outcome.reasons),
    )


def _unlike(trial: Trial, sessions: Sequence[tuple[ReducedRun, ...]]) -> str:
    """Say why corrections cannot carry a comparison, or nothing."""
    for runs in sessions:
        kit = [run for run in runs if trial.is_candidate(run)]
        bare = [run for run in runs if not trial.is_candidate(run)]
        flags = [trial.is_candidate(run) for run in runs]
        weights = fit_design(flags, [run.position for run in runs]).weights
        # The same weights as the difference: what moves in a straight line with the order is
        # taken for drift there and has no part in it.
        ordered = [*zip(flags, weights, strict=True)]
        by_group = [w for wanted in (False, True) for flag, w in ordered if flag is wanted]
        finding = refuse_depression(bare, kit, by_group)
        if finding is not None:
            return f"{finding.message[:1].upper()}{finding.message[1:]} {finding.remedy}"
    return ""


def _only_bounds(trial: Trial, limit: float | None, u_pa: float) -> Outcome | None:
    """Say what those runs with the kit say whose sensor was at its ceiling."""
    censored = [
        run
        for run in trial.counted()
        if trial.is_candidate(run) and run.depression_censored and run.depression_max_pa is not None
    ]
    if not censored:
        return None
    numbers = tuple(run.number for run in censored)
    least = max(_value(run.depression_max_pa) for run in censored)
    highest = min(
        trial.record(run.number).ambient_pressure_abs_pa - _value(run.depression_max_pa)
        for run in censored
    )
    text = (
        f"The depression sensor was at its ceiling in runs {', '.join(map(str, numbers))} with the"
        f" kit: the depression is at least {least / 1e3:.1f} kPa and the inlet pressure at most"
        f" {highest / 1e3:.1f} kPa absolute."
    )
    if limit is None:
        answer = Answer.NO_LIMIT_KNOWN
    else:
        beyond = highest + coverage(0.0, math.inf, u_pa, trial.confidence)[0] < limit
        answer = Answer.BEYOND_LIMIT if beyond else Answer.CANNOT_TELL
    return Outcome(
        measure=Measure.INLET_DEPRESSION,
        answer=answer,
        unit="Pa",
        margin=limit,
        runs={trial.configuration: numbers},
        tags=("censored_lower_bound",),
        reasons=(text, "Measure again with a sensor of a larger range."),
    )


def _compare(
    trial: Trial,
    runs: tuple[ReducedRun, ...],
    figure: Figure,
    repeatability: Repeatability | None,
    type_b_u_pa: float,
) -> Comparison:
    """Compare a depression, with the uncertainty of the runs' corrections added."""
    first = trial.compare(runs, figure, repeatability, type_b_u=0.0, margin=None)
    u = carried_uncertainty(first.design.weights, runs, depression_corrected)
    return trial.compare(
        runs, figure, repeatability, type_b_u=math.hypot(type_b_u_pa, u), margin=None
    )


def _inlet(
    trial: Trial,
    runs: tuple[ReducedRun, ...],
    candidate: bool,
    largest: Comparison,
    repeatability: Repeatability | None,
    type_b_u_pa: float,
) -> InletPressure:
    """Give one configuration's inlet pressure with its guard band."""
    mine = tuple(run for run in runs if trial.is_candidate(run) is candidate)
    # A run at the ceiling has no mean and so no part in the comparison, but its bound holds: left
    # out, the mean would be that of the mildest runs.
    numbers = {run.number for run in mine}
    mine += tuple(
        run
        for run in _at_ceiling(trial, runs)
        if trial.is_candidate(run) is candidate
        and run.number not in numbers
        and _as_measured(run) is not None
    )
    n = len(mine)
    correction = max(run.depression_correction_u_pa for run in mine)
    setups = [run.setup for run in mine]
    share = math.fsum((setups.count(name) / n) ** 2 for name in set(setups))
    setup_sd = repeatability.setup_standard_deviation if repeatability else 0.0
    u_other = math.sqrt(type_b_u_pa**2 + correction**2 + setup_sd**2 * share)
    s, dof = largest.repeatability, largest.repeatability_dof
    guard = math.inf
    if s is not None and dof is not None:
        guard = coverage(s / math.sqrt(n), dof, u_other, trial.confidence)[0]
    return InletPressure(
        pressure_abs_pa=_mean_pressure(trial, mine),
        guard_pa=guard,
        depression_pa=math.fsum(_value(_as_measured(run)) for run in mine) / n,
        ambient_abs_pa=math.fsum(trial.record(r.number).ambient_pressure_abs_pa for r in mine) / n,
    )


def _with_figures(
    outcome: Outcome,
    added: Comparison,
    largest: Comparison,
    kit: InletPressure,
    bare: InletPressure,
    limit: float | None,
) -> Outcome:
    """Add what the report shows: added and expanded, pressures, room and the share of it."""
    expanded = _two_sided(added)
    figures = {
        "added_pa": added.estimate,
        "added_expanded_pa": expanded,
        "added_at_worst_speed_pa": largest.estimate,
        "inlet_abs_pa": kit.pressure_abs_pa,
        "inlet_guard_pa": kit.guard_pa,
        "baseline_inlet_abs_pa": bare.pressure_abs_pa,
        "baseline_inlet_guard_pa": bare.guard_pa,
        "ambient_abs_pa": kit.ambient_abs_pa,
    }
    reasons = outcome.reasons
    if limit is not None:
        allowed = kit.ambient_abs_pa - limit
        room = allowed - (bare.depression_pa + bare.guard_pa)
        figures |= {"allowed_depression_pa": allowed, "room_pa": room}
        if room > 0.0:
            share = largest.estimate / room
            top = (largest.estimate + _two_sided(largest)) / room
            figures |= {"room_share": share, "room_share_upper": top}
        elif math.isfinite(room):
            reasons = (*reasons, "The vehicle without a kit leaves no room below the limit.")
    finite = {name: value for name, value in figures.items() if math.isfinite(value)}
    return replace(outcome, figures={**outcome.figures, **finite}, reasons=reasons)


def _with_censoring(outcome: Outcome, trial: Trial, censored: Sequence[ReducedRun]) -> Outcome:
    """Take back what a sensor at its ceiling cannot say about the added depression."""
    if not censored:
        return outcome
    numbers = ", ".join(str(run.number) for run in sorted(censored, key=lambda r: r.number))
    baseline_too = any(not trial.is_candidate(run) for run in censored)
    dropped = _NO_UPPER_END | (_NO_BASELINE if baseline_too else frozenset())
    return replace(
        outcome,
        estimate=None if baseline_too else outcome.estimate,
        lower=None if baseline_too else outcome.lower,
        upper=None,
        figures={k: v for k, v in outcome.figures.items() if k not in dropped},
        tags=(*outcome.tags, "censored_lower_bound"),
        reasons=(
            f"The depression sensor was at its ceiling in runs {numbers}: their depression is a"
            " lower bound and can never show that the limit holds.",
            *outcome.reasons,
        ),
    )


def _two_sided(comparison: Comparison) -> float:
    """Give the two-sided 95 % uncertainty of a difference, infinite when unknown."""
    if comparison.repeatability_dof is None or not math.isfinite(comparison.standard_uncertainty):
        return math.inf
    both = 0.5 * (1.0 + CONFIDENCE)
    half = coverage(
        comparison.u_repeatability, comparison.repeatability_dof, comparison.u_other, both
    )[0]
    return half + comparison.drift_bound


def _mean_pressure(trial: Trial, runs: tuple[ReducedRun, ...]) -> float:
    """Give the mean over runs of the least inlet pressure in the band."""
    pressures = [
        trial.record(run.number).ambient_pressure_abs_pa - _value(_as_measured(run)) for run in runs
    ]
    return math.fsum(pressures) / len(pressures)


def _depression(run: ReducedRun) -> float | None:
    """Give the band mean, where both it and the largest depression are usable."""
    return None if run.depression_max_pa is None else run.depression_mean_pa


def _largest(run: ReducedRun) -> float | None:
    """Give the largest depression in the band."""
    return run.depression_max_pa


def _as_measured(run: ReducedRun) -> float | None:
    """Give the largest depression at the run's own conditions: a limit holds there or not."""
    measured = run.depression_measured_max_pa
    return run.depression_max_pa if measured is None else measured


def _value(value: float | None) -> float:
    """Give a figure that the choice of runs has made sure of."""
    if value is None:
        raise ValueError("a run without a figure was used")
    return value
