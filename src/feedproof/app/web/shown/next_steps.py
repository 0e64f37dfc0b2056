"""What to do after a verdict, and how often was looked."""

from collections.abc import Mapping

from feedproof.app.proof import Proof
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.evidence.looks import Look
from feedproof.report.digits import listed
from feedproof.report.model import Publication
from feedproof.report.words import MEASURES, as_sentence, label, runs_to_settle, upper_first

NOTHING_MORE = (
    "Nothing more has to be driven for this answer. It holds for what was tested, on this vehicle."
)
NOT_AS_FITTED = (
    "Do not fit it as it was tested. See in the line which part costs most, change that, and test"
    " anew."
)
NOT_BY_RUNS = "More runs of the same kind do not settle this alone. What stands in the way:"
ANEW = (
    "Drive these as a session of their own, as the plan orders them: adding runs to a session that"
    " was already judged is one more look at it, and counts as one."
)
FOUND = "The test finds a loss of this size, so it could have found one in a kit."
MISSED = (
    "This test did not find a loss that was put in on purpose. Find out why before any answer of"
    " this session is used."
)
_OPEN = (Answer.CANNOT_TELL, Answer.LOSS_UNSETTLED)


def next_words(publication: Publication, proof: Proof) -> Mapping[str, list[str]]:
    """
    Say for each verdict what to do next.

    Parameters
    ----------
    publication : Publication
        Names the kits.
    proof : Proof
        The verdicts.

    Returns
    -------
    mapping of str to list of str
        Sentences by the kit's short name.
    """
    return {publication.kit(each.configuration).short: _next(each) for each in proof.verdicts}


def _next(verdict: Verdict) -> list[str]:
    """Say what to do after one verdict."""
    if verdict.release is Release.CONTROL_FOUND:
        return [FOUND]
    if verdict.release is Release.CONTROL_MISSED:
        return [MISSED]
    open_ones = [one for one in verdict.outcomes if one.answer in _OPEN]
    runs = [_runs(one) for one in open_ones if runs_to_settle(one)]
    untested = [MEASURES[m] for m in _untested(verdict)]
    told = [NOT_AS_FITTED] if verdict.release is Release.DO_NOT_RELEASE else []
    told += [*runs, ANEW] if runs and not told else []
    if not runs and not told and verdict.release is Release.CANNOT_SAY:
        told.append(f"{NOT_BY_RUNS} {as_sentence(verdict.reason)}")
    if untested and verdict.release is not Release.DO_NOT_RELEASE:
        told.append(f"Record what is missing in the next session: {listed(untested)}.")
    return told or [NOTHING_MORE]


def _runs(outcome: Outcome) -> str:
    """Say which runs would settle a measure."""
    number = runs_to_settle(outcome)
    return (
        f"{upper_first(MEASURES[outcome.measure])}: {label(outcome)}; about {number} runs with and"
        f" {number} without the kit would settle it if the scatter stays as it is."
    )


def _untested(verdict: Verdict) -> list[Measure]:
    """List the measures that nobody tested."""
    answers = {one.measure: one.answer for one in verdict.outcomes}
    return [m for m in Measure if answers.get(m, Answer.NOT_TESTED) is Answer.NOT_TESTED]


def looks_words(publication: Publication, proof: Proof) -> list[str]:
    """
    Say how often each kit's runs were judged.

    Parameters
    ----------
    publication : Publication
        Names the kits.
    proof : Proof
        With its looks.

    Returns
    -------
    list of str
        One sentence for each kit.
    """
    by_kit: dict[str, list[Look]] = {}
    for look in proof.looks:
        by_kit.setdefault(look.configuration, []).append(look)
    return [_looked(publication.kit(name).short, looks) for name, looks in by_kit.items()]


def _looked(kit: str, looks: list[Look]) -> str:
    """Say after how many runs one kit was judged."""
    times = "once" if len(looks) == 1 else f"{len(looks)} times"
    after = listed([str(look.counted) for look in looks])
    return f"{upper_first(kit)}: judged {times}, after {after} runs with it."
