"""
From the answers on the measures to what they come to for a kit.

Nothing passes by being uncertain: a kit is released only when every measure was answered and
passed; rail pressure alone may be missing, and then the release has a condition.
"""

from collections.abc import Sequence
from dataclasses import replace

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.core.errors import InputError
from feedproof.evidence.answers import DO_NOT_RELEASE_TAG
from feedproof.evidence.looks import LATE_EXCLUSION_TAG
from feedproof.evidence.multiplicity import measures_with_a_loss
from feedproof.evidence.outcomes import answer_words
from feedproof.evidence.restriction import NO_WORST_TAG, VEHICLE_ITSELF_TAG
from feedproof.evidence.trial import SERIAL_UNKNOWN_TAG, SETUP_UNDECLARED_TAG

NEVER_TESTED = ("loaded element", "cold fuel", "other vehicles", "durability")
"""What a comparison of clean, warm pulls on one vehicle says nothing about."""

_REQUIRED = (Measure.INLET_DEPRESSION, Measure.CAUGHT_RETURN, Measure.WHEEL_POWER)
_ORDER = (Measure.RAIL_PRESSURE, *_REQUIRED)
_PASSES = (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS, Answer.WITHIN_LIMIT)
_LOSSES = (Answer.LOSS_BEYOND, Answer.LOSS_UNSETTLED, Answer.SMALL_LOSS)
_CONDITIONS = {
    "rests_on_declared_repeatability": "the answer rests on a declared repeatability",
    "apparent_gain": "the figures lie on the better side of zero, which no filter explains",
    LATE_EXCLUSION_TAG: "a run was left out after an answer with it had been computed",
    "corrected_power_missing": "the corrected power was not checked",
    SERIAL_UNKNOWN_TAG: "nothing shows that the same factory element served throughout",
    SETUP_UNDECLARED_TAG: "the line was opened between baseline and kit, and the scatter of that"
    " is declared nowhere: it must be in the repeatability",
    NO_WORST_TAG: "the worst conditions were not predicted",
}


def passes(outcome: Outcome) -> bool:
    """
    Say whether an outcome is a pass.

    Parameters
    ----------
    outcome : Outcome
        Of one measure.

    Returns
    -------
    bool
        True for no loss within the margin, a small loss inside it, and within the limit.
    """
    return outcome.answer in _PASSES and DO_NOT_RELEASE_TAG not in outcome.tags


def forbids(outcome: Outcome) -> bool:
    """
    Say whether an outcome alone keeps a kit from release.

    Parameters
    ----------
    outcome : Outcome
        Of one measure.

    Returns
    -------
    bool
        True for a loss beyond the margin, a limit that the kit breaks (not one that the vehicle
        breaks without it), and a return whose best estimate is too low.
    """
    if DO_NOT_RELEASE_TAG in outcome.tags:
        return True
    if outcome.answer is Answer.BEYOND_LIMIT:
        return VEHICLE_ITSELF_TAG not in outcome.tags
    return outcome.answer is Answer.LOSS_BEYOND


def decide_release(
    configuration: str,
    outcomes: Sequence[Outcome],
    not_tested: Sequence[str] = NEVER_TESTED,
    primary: Measure = Measure.WHEEL_POWER,
) -> Verdict:
    """
    Put the outcomes of one configuration together.

    Parameters
    ----------
    configuration : str
        Kits joined by ``+``.
    outcomes : sequence of Outcome
        At most one for each measure; a measure that is missing was not tested.
    not_tested : sequence of str
        What nobody tested, besides the measures without an answer.
    primary : Measure
        The measure that was agreed to headline.

    Returns
    -------
    Verdict
        Release and the measure that decided.

    Raises
    ------
    InputError
        Two outcomes of one measure.
    """
    by_measure = {outcome.measure: outcome for outcome in outcomes}
    if len(by_measure) != len(outcomes):
        raise InputError.at(configuration, "two outcomes of one measure")
    found = [
        by_measure.get(measure) or Outcome(measure=measure, answer=Answer.NOT_TESTED)
        for measure in _ORDER
    ]
    release, decided_by, reason = _decide(found)
    missing = [
        outcome.measure.value.replace("_", " ")
        for outcome in found
        if outcome.answer is Answer.NOT_TESTED
    ]
    return Verdict(
        configuration=configuration,
        outcomes=tuple(found),
        release=release,
        decided_by=decided_by,
        reason=reason,
        not_tested=(*missing, *not_tested),
        primary=primary,
        every_measure_passed=all(map(passes, found)),
        losses_shown=measures_with_a_loss(found),
    )


def decide_control(configuration: str, outcomes: Sequence[Outcome]) -> Verdict:
    """
    Say whether a loss put in on purpose was found.

    Parameters
    ----------
    configuration : str
        The control.
    outcomes : sequence of Outcome
        At most one for each measure.

    Returns
    -------
    Verdict
        Found when power or return shows a loss; a control that is missed says that the test
        could not have found such a loss of a kit either.
    """
    plain = decide_release(configuration, outcomes, not_tested=())
    shown = [
        outcome
        for outcome in plain.outcomes
        if outcome.measure in (Measure.CAUGHT_RETURN, Measure.WHEEL_POWER)
        and outcome.answer in _LOSSES
    ]
    if not shown:
        return replace(
            plain,
            release=Release.CONTROL_MISSED,
            decided_by=None,
            reason="The loss put in on purpose was not found: the test could not find such a loss"
            " of a kit either.",
        )
    first = shown[0]
    name = first.measure.value.replace("_", " ")
    return replace(
        plain,
        release=Release.CONTROL_FOUND,
        decided_by=first.measure,
        reason=f"The loss put in on purpose was found in {name}: there this test can find such a"
        " loss. It says nothing about measures in which the control costs less.",
    )


def _decide(found: Sequence[Outcome]) -> tuple[Release, Measure | None, str]:
    """Give the release, the measure that decided, and one sentence."""
    failed = [outcome for outcome in found if forbids(outcome)]
    if failed:
        return Release.DO_NOT_RELEASE, failed[0].measure, _failures(failed)
    for outcome in found:
        optional = outcome.measure not in _REQUIRED and outcome.answer is Answer.NOT_TESTED
        if not passes(outcome) and not optional:
            return Release.CANNOT_SAY, outcome.measure, _sentence(outcome)
    conditions = [(outcome, text) for outcome in found for text in _conditions(outcome)]
    if conditions:
        named = [f"{o.measure.value.replace('_', ' ')}: {text}" for o, text in conditions]
        text = f"Released with conditions: {'; '.join(named)}."
        return Release.RELEASE_WITH_CONDITIONS, conditions[0][0].measure, text
    return Release.RELEASE, None, "Every measure was tested and passed."


def _conditions(outcome: Outcome) -> list[str]:
    """Give what a pass is conditional on."""
    if outcome.answer is Answer.NOT_TESTED:
        return ["it was not tested"]
    small = outcome.answer is Answer.SMALL_LOSS
    found = ["there is a loss, smaller than the agreed margin"] if small else []
    return found + [text for tag, text in _CONDITIONS.items() if tag in outcome.tags]


def _sentence(outcome: Outcome) -> str:
    """Say what an outcome that did not pass says."""
    why = f": {outcome.reasons[0]}" if outcome.reasons else "."
    return f"{_named(outcome)[:1].upper()}{_named(outcome)[1:]}{why}"


def _named(outcome: Outcome) -> str:
    """Name a measure with its answer."""
    name = outcome.measure.value.replace("_", " ")
    if DO_NOT_RELEASE_TAG in outcome.tags and outcome.answer is not Answer.LOSS_BEYOND:
        return f"{name}, best estimate at the figure that forbids a release"
    return f"{name}, {answer_words(outcome.answer, outcome.measure)}"


def _failures(failed: Sequence[Outcome]) -> str:
    """Name every measure that keeps a kit from release, the deciding one with its reason."""
    first, *others = failed
    if not others:
        return _sentence(first)
    return f"{_sentence(first)} Failed too: {'; '.join(_named(each) for each in others)}."
