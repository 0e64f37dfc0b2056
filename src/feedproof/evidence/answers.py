"""
Answers on wheel power and caught return: from reduced runs to an outcome.

Every measure is judged at 5 % one-sided; "no loss overall" needs all of them, so that no
correction for their number is due.
"""

import math
from collections.abc import Callable
from dataclasses import replace

from feedproof.case.margin import Measure, Repeatability
from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.carried import carried_uncertainty, return_corrected
from feedproof.evidence.comparison import Comparison
from feedproof.evidence.designs import session_words
from feedproof.evidence.outcomes import (
    answer_words,
    log_percent,
    outcome_of,
    plain_percent,
)
from feedproof.evidence.plan.needed import runs_needed
from feedproof.evidence.planning import MOST_RUNS_EACH
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.trial import (
    LEAST_FAVOURABLE_FIRST,
    Figure,
    Trial,
    air_reason,
    notes_on_runs,
    refusal_reason,
    serial_tags,
    setup_tags,
    void_reason,
)

DO_NOT_RELEASE_TAG = "return_do_not_release"
_PASSES = (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)


def judge_power(
    trial: Trial, repeatability: Repeatability | None, *, type_b_u_percent: float = 0.0
) -> Outcome:
    """
    Judge the loss of wheel power.

    Parameters
    ----------
    trial : Trial
        Runs, records and margins.
    repeatability : Repeatability or None
        As declared for wheel power, in log-percent.
    type_b_u_percent : float
        Standard uncertainty of the difference from instruments. [log-percent]

    Returns
    -------
    Outcome
        Of uncorrected power.  Corrected power is judged beside it; where only one of the two
        passes, or both fail in different words, the answer is "cannot tell".  Where both pass,
        the less favourable of the two stands: "cannot tell" there would let more scatter turn
        it into a pass.
    """
    margin = log_percent(trial.margins.wheel_power_fraction)

    def session(runs: tuple[ReducedRun, ...]) -> Outcome:
        """Judge one session, with corrected power beside."""
        found = trial.compare(runs, _power, repeatability, type_b_u=type_b_u_percent, margin=margin)
        outcome = outcome_of(found, Measure.WHEEL_POWER, "log-percent")
        tags = (*outcome.tags, *setup_tags(trial, runs, repeatability))
        return _with_corrected_power(
            trial, runs, repeatability, replace(outcome, tags=tags), found, type_b_u_percent
        )

    return _judge(trial, Measure.WHEEL_POWER, _power, margin, session)


def judge_return(
    trial: Trial, repeatability: Repeatability | None, *, type_b_u_percent: float = 0.0
) -> Outcome:
    """
    Judge the loss of caught return.

    Parameters
    ----------
    trial : Trial
        Runs, records and margins.
    repeatability : Repeatability or None
        As declared for caught return, in log-percent.
    type_b_u_percent : float
        Standard uncertainty of the difference from the measure and the watch; that of the
        correction to reference conditions is added here. [log-percent]

    Returns
    -------
    Outcome
        Tagged ``return_do_not_release`` when the best estimate reaches the agreed figure,
        whatever the statistics.
    """
    margin = log_percent(trial.margins.caught_return_fraction)
    stop = log_percent(trial.margins.return_do_not_release_fraction)

    def session(runs: tuple[ReducedRun, ...]) -> Outcome:
        """Judge one session, with the rule on the best estimate."""
        first = trial.compare(runs, _return, repeatability, type_b_u=0.0, margin=margin)
        u = carried_uncertainty(first.design.weights, runs, return_corrected)
        found = trial.compare(
            runs,
            _return,
            repeatability,
            type_b_u=math.hypot(type_b_u_percent, u),
            margin=margin,
        )
        outcome = _with_runs_needed(outcome_of(found, Measure.CAUGHT_RETURN, "log-percent"), found)
        tags = (*outcome.tags, *setup_tags(trial, runs, repeatability))
        outcome = replace(outcome, tags=tags)
        if found.estimate < stop:
            return outcome
        why = (
            f"The best estimate of the return loss is {plain_percent(found.estimate):.1f} %:"
            f" from {plain_percent(stop):.0f} % on the kit is not released, whatever the"
            " statistics."
        )
        return replace(
            outcome,
            tags=(*outcome.tags, DO_NOT_RELEASE_TAG),
            reasons=(why, *outcome.reasons),
        )

    return _judge(trial, Measure.CAUGHT_RETURN, _return, margin, session)


def _judge(
    trial: Trial,
    measure: Measure,
    figure: Figure,
    margin: float,
    session: Callable[[tuple[ReducedRun, ...]], Outcome],
) -> Outcome:
    """Judge every session that holds both and let the least favourable answer stand."""
    sessions = trial.sessions(figure)
    if not sessions:
        return missing_outcome(trial, measure, figure)
    together = tuple(run for runs in sessions for run in runs)
    refused = refusal_reason(trial, together)
    if measure is Measure.WHEEL_POWER and not refused:
        refused = next((why for runs in sessions if (why := air_reason(trial, runs))), "")
    if refused:
        return Outcome(
            measure=measure,
            answer=Answer.REFUSED,
            margin=margin,
            runs=trial.used(together),
            reasons=(refused,),
        )
    outcomes = [replace(_plain_figures(session(runs)), runs=trial.used(runs)) for runs in sessions]
    outcome = min(outcomes, key=_severity)
    notes = notes_on_runs(trial, together)
    if len(sessions) > 1:
        listed = ", ".join(
            f"{runs[0].session}: {answer_words(found.answer, measure)}"
            for runs, found in zip(sessions, outcomes, strict=True)
        )
        notes = (
            f"Sessions were judged one by one ({listed}); the least favourable stands.",
            *notes,
        )
    outcome = replace(
        outcome,
        reasons=(*outcome.reasons, *notes),
        tags=(*outcome.tags, *serial_tags(trial, together)),
    )
    void = void_reason(trial)
    if void:
        return replace(outcome, answer=Answer.VOID, reasons=(void, *outcome.reasons))
    return outcome


def _severity(outcome: Outcome) -> tuple[bool, int]:
    """Rank an outcome, least favourable first."""
    return (
        DO_NOT_RELEASE_TAG not in outcome.tags,
        LEAST_FAVOURABLE_FIRST.index(outcome.answer),
    )


def missing_outcome(trial: Trial, measure: Measure, figure: Figure) -> Outcome:
    """
    Say that there is nothing to compare, and why.

    Parameters
    ----------
    trial : Trial
        Without a session that holds both configurations.
    measure : Measure
        Of what.
    figure : callable
        Gives the figure of a run.

    Returns
    -------
    Outcome
        Refused when both were measured but never in one session, else not tested.
    """
    runs = tuple(run for run in trial.counted() if figure(run) is not None)
    kinds = {trial.is_candidate(run) for run in runs}
    if len(kinds) == 2:
        return Outcome(
            measure=measure,
            answer=Answer.REFUSED,
            runs=trial.used(runs),
            reasons=("Baseline and kit were never measured in one session.",),
        )
    missing = "neither" if not kinds else "the baseline only" if False in kinds else "the kit only"
    return Outcome(
        measure=measure,
        answer=Answer.NOT_TESTED,
        runs=trial.used(runs),
        reasons=(
            f"Usable figures of {measure.value.replace('_', ' ')} exist for {missing}.",
            *notes_on_runs(trial, runs),
        ),
    )


def _with_corrected_power(
    trial: Trial,
    runs: tuple[ReducedRun, ...],
    repeatability: Repeatability | None,
    outcome: Outcome,
    found: Comparison,
    type_b_u: float,
) -> Outcome:
    """Set corrected power beside the outcome and settle what holds when they differ."""
    outcome = _with_runs_needed(outcome, found)
    if any(_corrected(run) is None for run in runs):
        return replace(
            outcome,
            tags=(*outcome.tags, "corrected_power_missing"),
            reasons=(*outcome.reasons, "Corrected power was not at hand for every run."),
        )
    other = trial.compare(runs, _corrected, repeatability, type_b_u=type_b_u, margin=found.margin)
    figures = {
        "corrected_estimate": other.estimate,
        "corrected_lower": other.lower,
        "corrected_upper": other.upper,
    }
    outcome = replace(
        outcome,
        figures={**outcome.figures, **{k: v for k, v in figures.items() if math.isfinite(v)}},
    )
    if other.answer is outcome.answer:
        return outcome
    both_pass = outcome.answer in _PASSES and other.answer in _PASSES
    return replace(
        outcome,
        answer=Answer.SMALL_LOSS if both_pass else Answer.CANNOT_TELL,
        tags=(*outcome.tags, "corrected_power_differs"),
        reasons=(
            "Uncorrected and corrected power give different answers"
            f" ({answer_words(outcome.answer, Measure.WHEEL_POWER)} and"
            f" {answer_words(other.answer, Measure.WHEEL_POWER)}).",
            *outcome.reasons,
        ),
    )


def _with_runs_needed(outcome: Outcome, found: Comparison) -> Outcome:
    """Add how many runs would settle an answer that is not settled."""
    open_answers = (Answer.CANNOT_TELL, Answer.LOSS_UNSETTLED)
    s, dof = found.repeatability, found.repeatability_dof
    if found.coverage_factor is None:
        return outcome
    if found.answer not in open_answers or s is None or dof is None or found.margin is None:
        return outcome
    loss = found.answer is Answer.LOSS_UNSETTLED
    # The archive's degrees of freedom without those of these runs, which would be driven anew.
    archive_dof = max(0.0, dof - found.design.degrees_of_freedom)
    needed = runs_needed(
        margin=found.margin,
        repeatability=s,
        archive_dof=archive_dof,
        true_loss=found.estimate if loss else 0.0,
        u_other=found.u_type_b,
    )
    aim = (
        "settle whether it is more than the margin, with 90 % chance if it is what it seems"
        if loss
        else f"exclude {plain_percent(found.margin):.3g} % with 90 % chance if there is nothing to"
        " find"
    )
    text = (
        f"More than {MOST_RUNS_EACH} runs each would be needed to {aim}."
        if needed is None
        else f"About {session_words(needed)}, would {aim}."
    )
    figures = {} if needed is None else {"runs_each_needed": float(needed)}
    return replace(
        outcome, reasons=(*outcome.reasons, text), figures={**outcome.figures, **figures}
    )


def _plain_figures(outcome: Outcome) -> Outcome:
    """Add estimate, limits and margin in plain percent."""
    logs = {
        "estimate": outcome.estimate,
        "lower": outcome.lower,
        "upper": outcome.upper,
        "margin": outcome.margin,
    }
    plain = {f"{k}_plain_percent": plain_percent(v) for k, v in logs.items() if v is not None}
    return replace(outcome, figures={**outcome.figures, **plain})


def _power(run: ReducedRun) -> float | None:
    """Give the uncorrected power figure."""
    return run.power_loss_log_percent


def _corrected(run: ReducedRun) -> float | None:
    """Give the corrected power figure."""
    return run.corrected_power_loss_log_percent


def _return(run: ReducedRun) -> float | None:
    """Give the return figure."""
    return run.return_loss_log_percent
