"""
The verb ``prove``: from the logs of a case to verdicts.

This is where the rooms meet: the feed line gives derivatives and predictions as values, evidence
cleans and decides, and nothing here decides anything itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from feedproof.app.changes import losses_against_model
from feedproof.app.configurations import candidates, label
from feedproof.app.curves import mean_curves
from feedproof.app.looking import looks_of_case
from feedproof.app.measured import biases, worst_predictions
from feedproof.app.progress import Progress, silent
from feedproof.app.proof import Bias, CurveClaim, Proof, WorstPrediction
from feedproof.app.shown_budgets import shown_budgets, type_b_of
from feedproof.app.slopes import sensitivities
from feedproof.app.spoken import verdict_words
from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Verdict
from feedproof.case.run import Role
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding, warning
from feedproof.evidence.answers import judge_power, judge_return
from feedproof.evidence.looks import LookBook, held_to_looks, look_of, looks_so_far
from feedproof.evidence.rail import judge_rail
from feedproof.evidence.reduce import reduce_session
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.release import decide_control, decide_release
from feedproof.evidence.restriction import WorstCase, judge_restriction
from feedproof.evidence.trial import BASELINE, Trial

NO_LOOKS = LookBook()
COLD_FUEL_K = 278.15
"""Runs with fuel below this say something about cold fuel: the project's own rule."""


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
    found: Sequence[Bias],
    kits: tuple[str, ...],
    role: Role,
    looks: LookBook = NO_LOOKS,
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
    found : sequence of Bias
        Measured against predicted: where they disagree no predicted condition is relied on.
    kits : tuple of str
        Kit ids.
    role : Role
        What the kit's runs are for.
    looks : LookBook
        Earlier judgements, from the journal.

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
    instruments = type_b_of(case, reduced, kits, role)
    control = any(case.kits[kit_id].control for kit_id in kits)
    repeatability = case.repeatability
    restriction = judge_restriction(
        trial,
        repeatability.get(Measure.INLET_DEPRESSION),
        type_b_difference_u_pa=instruments.added_pa,
        type_b_absolute_u_pa=instruments.depression_pa,
        maker_limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        worst=() if control else _worst_cases(worst, label(kits, role), name),
    )
    judged = (
        judge_power(
            trial,
            repeatability.get(Measure.WHEEL_POWER),
            type_b_u_percent=instruments.power_percent,
        ),
        judge_return(
            trial,
            repeatability.get(Measure.CAUGHT_RETURN),
            type_b_u_percent=instruments.return_percent,
        ),
        _held_against(restriction, found, name)
        if instruments.gauge_known
        else _without_a_gauge(restriction),
        judge_rail(trial),
    )
    now = look_of(case.runs, kits, role, label(kits, role))
    # A rail that falls short in any run decides: more looks at it pass nothing more.
    outcomes = tuple(
        outcome
        if now is None or outcome.measure is Measure.RAIL_PRESSURE
        else held_to_looks(outcome, case.margins.looks, looks, now)
        for outcome in judged
    )
    if control:
        return decide_control(label(kits, role), outcomes)
    verdict = decide_release(label(kits, role), outcomes, primary=case.margins.primary)
    tested = {"loaded element"} if role is Role.LOADED else set()
    numbers = {run.number for run in mine}
    coldest = [
        run.fuel_temperature_k
        for run in reduced
        if run.number in numbers and run.fuel_temperature_k is not None
    ]
    if coldest and min(coldest) < COLD_FUEL_K:
        tested.add("cold fuel")
    return replace(
        verdict, not_tested=tuple(each for each in verdict.not_tested if each not in tested)
    )


def _held_against(outcome: Outcome, found: Sequence[Bias], name: str) -> Outcome:
    """Take back a pass at predicted conditions where prediction and test disagree."""
    apart = [
        each
        for each in found
        if each.configuration in (name, f"{name}@loaded", BASELINE) and not each.agrees
    ]
    if not apart or outcome.answer not in (Answer.WITHIN_LIMIT, Answer.CANNOT_TELL):
        return outcome
    text = (
        "The line restricts otherwise than described, by more than both ranges allow: the worst"
        " conditions are predicted from that description, so nothing shows that the limit holds"
        " there. Measure bores and fittings, mend the case, and judge again."
    )
    return replace(outcome, answer=Answer.CANNOT_TELL, reasons=(text, *outcome.reasons))


def _without_a_gauge(outcome: Outcome) -> Outcome:
    """Take back a pass that rests on a gauge whose class and span nobody declared."""
    text = (
        "The class and span of the gauge at the pump inlet are not declared, so an absolute limit"
        " cannot be held against its reading: declare span and class of the instrument."
    )
    answer = Answer.CANNOT_TELL if outcome.answer is Answer.WITHIN_LIMIT else outcome.answer
    return replace(outcome, answer=answer, reasons=(text, *outcome.reasons))


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
    looks: LookBook = NO_LOOKS,
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
    looks : LookBook
        Earlier judgements, from the journal.

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
    verdicts = tuple(judge(case, reduced, worst, found, kits, role, looks) for kits, role in judged)
    curves, claims = mean_curves(case, reduced)
    now = looks_of_case(case)
    proof = Proof(
        format="feedproof-proof",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        case_sha256=case_sha256,
        log_sha256={log.name: log.sha256 for run in case.runs for log in run.logs},
        computed=datetime.now(UTC).replace(microsecond=0),
        verdicts=verdicts,
        runs=reduced,
        curves=curves,
        claims=_claims_that_stand(claims, verdicts),
        biases=found,
        worst=worst,
        budgets=shown_budgets(case, reduced),
        margins=case.margins,
        repeatability=case.repeatability,
        limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        reference=case.reference,
        friction_rule=case.friction_rule,
        values=case.values,
        losses=losses_against_model(case, reduced, verdicts),
        looks=tuple(look for each in now for look in looks_so_far(looks, each)),
        findings=(*findings, *_catches_over_pulls(case)),
    )
    return replace(proof, words=verdict_words(case, proof))


def _catches_over_pulls(case: Case) -> tuple[Finding, ...]:
    """Say which returns are brought to reference by a derivative of another kind of catch."""
    numbers = [
        str(run.number)
        for run in case.runs
        if run.caught_return is not None and run.caught_return.hold == "pull"
    ]
    if not numbers:
        return ()
    return (
        warning(
            f"runs {', '.join(numbers)}",
            "the return was caught over the pull; it is brought to reference by the derivative of"
            " a steady hold without load.",
            "Catch at a steady speed where the pump allows it.",
        ),
    )


def _claims_that_stand(
    claims: Sequence[CurveClaim], verdicts: Sequence[Verdict]
) -> tuple[CurveClaim, ...]:
    """Keep the claims whose measure was judged; one that did not pass claims nothing."""
    answers = {
        verdict.configuration: outcome.answer
        for verdict in verdicts
        for outcome in verdict.outcomes
        if outcome.measure is Measure.WHEEL_POWER
    }
    kept = []
    for claim in claims:
        answer = answers[claim.configuration]
        if answer in (Answer.REFUSED, Answer.VOID, Answer.NOT_TESTED):
            continue
        passed = answer in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)
        if claim.holds and not passed:
            text = "The average over the band is not settled, so nothing is claimed of the curve."
            claim = replace(claim, holds=False, sentence=text)
        kept.append(claim)
    return tuple(kept)
