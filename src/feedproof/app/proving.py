"""
The verb ``prove``: from the logs of a case to verdicts.

This is where the rooms meet: the feed line gives derivatives and predictions as values, evidence
cleans and decides, and nothing here decides anything itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from feedproof.app.configurations import candidates, label
from feedproof.app.curves import mean_curves
from feedproof.app.measured import biases, gauge_budgets, worst_predictions
from feedproof.app.progress import Progress, silent
from feedproof.app.proof import Bias, Proof, WorstPrediction
from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.margin import Measure
from feedproof.case.outcome import Verdict
from feedproof.case.run import Role
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding
from feedproof.evidence.answers import judge_power, judge_return
from feedproof.evidence.corrections import Sensitivity
from feedproof.evidence.rail import judge_rail
from feedproof.evidence.reduce import reduce_session
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.release import decide_control, decide_release
from feedproof.evidence.restriction import WorstCase, judge_restriction
from feedproof.evidence.trial import BASELINE, Trial
from feedproof.feedline.sensitivity import line_derivatives

HOLD_REV_PER_S = 50.0
"""Engine speed of a steady catch where no run says: 3000 rpm."""
DERIVATIVE_POINTS = 25


def sensitivities(case: Case) -> dict[str, Sensitivity]:
    """
    Take the line's derivatives for every configuration that was run.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    dict of str to Sensitivity
        By configuration, at the reference conditions.
    """
    speeds = np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, DERIVATIVE_POINTS)
    holds = [
        run.caught_return.engine_speed_rev_per_s
        for run in case.runs
        if run.caught_return and run.caught_return.engine_speed_rev_per_s
    ]
    hold = holds[0] if holds else HOLD_REV_PER_S
    found = {}
    for kits in dict.fromkeys(run.kits for run in case.runs):
        slopes = line_derivatives(
            case.vehicle,
            case.line_with(kits),
            case.fuels[case.reference.fuel],
            case.reference,
            case.friction_rule,
            speeds,
            hold,
        )
        found["+".join(kits) if kits else BASELINE] = Sensitivity(
            speed_m_per_s=slopes.speed_m_per_s,
            depression_per_k=slopes.depression_per_k,
            depression_per_level=slopes.depression_per_level,
            depression_per_ambient=slopes.depression_per_ambient,
            return_percent_per_k=slopes.return_percent_per_k,
            return_percent_per_level=slopes.return_percent_per_level,
            return_percent_per_ambient=slopes.return_percent_per_ambient,
        )
    return found


def reduce_all(
    case: Case, logs: Mapping[int, Sequence[Log]], progress: Progress = silent
) -> tuple[ReducedRun, ...]:
    """
    Clean the runs of every session.

    Parameters
    ----------
    case : Case
        The case.
    logs : mapping of int to sequence of Log
        By run number.
    progress : Progress
        Told after each session.

    Returns
    -------
    tuple of ReducedRun
        Session by session; a loaded element's runs carry ``@loaded`` in their configuration.

    Raises
    ------
    InputError
        What `feedproof.evidence.reduce.reduce_session` refuses.
    """
    slopes = sensitivities(case)
    sessions = list(dict.fromkeys(run.session for run in case.runs))
    reduced: list[ReducedRun] = []
    for done, session in enumerate(sessions):
        progress(done, len(sessions), "cleaning runs")
        runs = [run for run in case.runs if run.session == session]
        reduced.extend(reduce_session(runs, logs, case, slopes))
    progress(len(sessions), len(sessions), "cleaning runs")
    return tuple(reduced)


def judge(
    case: Case,
    reduced: Sequence[ReducedRun],
    worst: Sequence[WorstPrediction],
    kits: tuple[str, ...],
    role: Role,
) -> Verdict:
    """
    Judge one set of kits against the baseline in all measures.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.
    worst : sequence of WorstPrediction
        Inlet pressures at the declared worst conditions, baseline's included.
    kits : tuple of str
        Kit ids.
    role : Role
        What the kit's runs are for.

    Returns
    -------
    Verdict
        The answers and what they come to.
    """
    name = "+".join(kits)
    mine = [run for run in case.runs if run.kits == kits and run.role is role]
    trial = Trial(
        configuration=name,
        reduced=tuple(reduced),
        records=case.runs,
        margins=case.margins,
        factory_elements=tuple(
            element.id for element in case.vehicle.line.elements if element.role == "factory"
        ),
        candidate_role=role,
    )
    depressions = [
        run.depression_mean_pa
        for run in reduced
        if run.depression_mean_pa is not None and run.number in {each.number for each in mine}
    ]
    budgets = gauge_budgets(case, float(np.mean(depressions or [0.0])) * 0.2, len(mine))
    absolute_u, difference_u = (
        [budget.standard_uncertainty for budget in budgets] if budgets else [0.0, 0.0]
    )
    control = any(case.kits[kit_id].control for kit_id in kits)
    repeatability = case.repeatability
    outcomes = (
        judge_power(trial, repeatability.get(Measure.WHEEL_POWER)),
        judge_return(trial, repeatability.get(Measure.CAUGHT_RETURN)),
        judge_restriction(
            trial,
            repeatability.get(Measure.INLET_DEPRESSION),
            type_b_difference_u_pa=difference_u,
            type_b_absolute_u_pa=absolute_u,
            maker_limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
            worst=() if control else _worst_cases(worst, label(kits, role), name),
        ),
        judge_rail(trial),
    )
    if control:
        return decide_control(label(kits, role), outcomes)
    verdict = decide_release(label(kits, role), outcomes)
    if role is Role.LOADED:
        rest = tuple(each for each in verdict.not_tested if each != "loaded element")
        verdict = replace(verdict, not_tested=rest)
    return verdict


def _worst_cases(
    worst: Sequence[WorstPrediction], configuration: str, plain: str
) -> tuple[WorstCase, ...]:
    """Pair each worst condition of a configuration with the baseline's."""
    wanted = {configuration, plain}
    bare = {each.condition: each for each in worst if each.configuration == BASELINE}
    return tuple(
        WorstCase(
            name=each.condition,
            configuration_abs_pa=each.moved_abs_pa,
            u_pa=each.u_pa,
            baseline_abs_pa=bare[each.condition].moved_abs_pa,
        )
        for each in worst
        if each.configuration in wanted
    )


def prove_case(
    case: Case,
    logs: Mapping[int, Sequence[Log]],
    case_sha256: str,
    findings: tuple[Finding, ...] = (),
    progress: Progress = silent,
) -> Proof:
    """
    Judge every configuration of a case from its logs.

    Parameters
    ----------
    case : Case
        The case with its runs.
    logs : mapping of int to sequence of Log
        By run number.
    case_sha256 : str
        Hash of the document that the case was read from.
    findings : tuple of Finding
        What is known of document and logs already; kept in the proof.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Proof
        Verdicts, reduced runs, measured against predicted.

    Raises
    ------
    MissingError
        No run, or none with a kit.
    InputError
        Logs that cannot be used.
    """
    from feedproof import __version__

    judged = candidates(case)
    if not judged:
        raise MissingError.at(
            "run",
            "the case has no run with a kit in the line.",
            "Add baseline and kit runs with add-run; one of each is not enough to decide.",
        )
    reduced = reduce_all(case, logs, progress)
    found = biases(case, reduced)
    progress(1, 2, "worst conditions")
    worst = worst_predictions(case, found)
    progress(2, 2, "worst conditions")
    curves, claims = mean_curves(case, reduced)
    return Proof(
        format="feedproof-proof",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        case_sha256=case_sha256,
        log_sha256={log.name: log.sha256 for run in case.runs for log in run.logs},
        computed=datetime.now(UTC).replace(microsecond=0),
        verdicts=tuple(judge(case, reduced, worst, kits, role) for kits, role in judged),
        runs=reduced,
        curves=curves,
        claims=claims,
        biases=found,
        worst=worst,
        budgets=gauge_budgets(case, _typical_added_pa(found), _runs_each(case)),
        margins=case.margins,
        repeatability=case.repeatability,
        limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        findings=findings,
    )


def _typical_added_pa(found: Sequence[Bias]) -> float:
    """Give a typical added depression, for the budget of a difference."""
    base = [each.measured_pa for each in found if each.configuration == BASELINE]
    kits = [each.measured_pa for each in found if each.configuration != BASELINE]
    return float(np.mean(kits) - np.mean(base)) if base and kits else 0.0


def _runs_each(case: Case) -> int:
    """Give the number of comparison runs with the kit that was run most."""
    runs = [run.kits for run in case.runs if run.kits and run.role is Role.COMPARE]
    return max((runs.count(kits) for kits in set(runs)), default=1)
