"""One kit's answer for a customer: everyday words, honest about what nobody can tell."""

from collections.abc import Callable, Mapping

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.evidence.answers import DO_NOT_RELEASE_TAG
from feedproof.evidence.inlet_limit import VEHICLE_ITSELF_TAG
from feedproof.report import digits
from feedproof.report.model import Publication
from feedproof.report.restriction_words import at_least
from feedproof.report.words import kit_words, margin_words, shown, upper_first

MOST_WORDS = 120
HEADING = "For the customer"
_ORDER = (
    Measure.WHEEL_POWER,
    Measure.CAUGHT_RETURN,
    Measure.INLET_DEPRESSION,
    Measure.RAIL_PRESSURE,
)
_SUBJECTS: Mapping[Measure, str] = {
    Measure.WHEEL_POWER: "power at the wheels",
    Measure.CAUGHT_RETURN: "fuel flow back to the tank",
    Measure.INLET_DEPRESSION: "the pull of the pump on its fuel line",
    Measure.RAIL_PRESSURE: "injection pressure",
}
_NO_ANSWER: Mapping[Answer, str] = {
    Answer.CANNOT_TELL: "we cannot tell",
    Answer.REFUSED: "we have no answer, as the runs were too unlike",
    Answer.VOID: "the answer does not count, as agreed rules were broken",
    Answer.NOT_TESTED: "not tested",
}
_STANDING = (
    (("loaded",), "dirty filters"),
    (("cold",), "cold fuel"),
    (("other vehicle",), "other vehicles"),
    (("durab",), "long use"),
)


def customer_text(publication: Publication, verdict: Verdict) -> str:
    """
    Write one kit's answer for a customer.

    Parameters
    ----------
    publication : Publication
        Names the kit.
    verdict : Verdict
        The verdict.

    Returns
    -------
    str
        At most `MOST_WORDS` words, without terms of statistics, without a promise: what the test
        says as a whole, what it says of each measure, and what it says nothing about.
    """
    kit = kit_words(publication, verdict.configuration)
    held = {outcome.measure: shown(outcome) for outcome in verdict.outcomes}
    parts = [_lead(verdict, kit)]
    if verdict.release in (Release.CONTROL_FOUND, Release.CONTROL_MISSED):
        return " ".join(parts)
    silent: dict[Answer, list[str]] = {}
    for measure in _ORDER:
        outcome = held.get(measure, Outcome(measure=measure, answer=Answer.NOT_TESTED))
        if outcome.answer in _NO_ANSWER and not _speaks(outcome):
            silent.setdefault(outcome.answer, []).append(_SUBJECTS[measure])
        else:
            parts.append(_SENTENCES[measure](outcome))
    parts += [
        f"{upper_first(digits.listed(subjects))}: {_NO_ANSWER[answer]}."
        for answer, subjects in silent.items()
    ]
    parts.append(_limits(verdict))
    return " ".join(part for part in parts if part)


def _speaks(outcome: Outcome) -> bool:
    """Say whether a measure without a verdict still has something that a customer must know."""
    limit = outcome.answer is Answer.CANNOT_TELL and outcome.measure is Measure.INLET_DEPRESSION
    return limit or DO_NOT_RELEASE_TAG in outcome.tags


def _lead(verdict: Verdict, kit: str) -> str:
    """Say what the test comes to."""
    return {
        Release.RELEASE: f"We tested {kit} on this vehicle. It passed what we tested.",
        Release.RELEASE_WITH_CONDITIONS: f"We tested {kit} on this vehicle. It passed what we"
        " tested, with conditions that stand in the report.",
        Release.DO_NOT_RELEASE: f"Do not use {kit} on this vehicle as it was fitted. It failed"
        " our test.",
        Release.CANNOT_SAY: f"We tested {kit} and cannot say whether it is harmless on this"
        " vehicle. This is not a pass.",
        Release.CONTROL_FOUND: "This was no kit: we put a fault in on purpose, to check our own"
        " test. The test found it.",
        Release.CONTROL_MISSED: "This was no kit: we put a fault in on purpose, to check our own"
        " test. The test did not find it, so it could miss one like it in a kit.",
    }[verdict.release]


def _share(outcome: Outcome, value: float | None) -> str:
    """Write a loss in everyday digits, kept apart from the agreed figure."""
    if value is None:
        return "an unknown share"
    decimals = digits.apart(value, outcome.margin, 1)
    return f"{digits.decimal(value, decimals)}{digits.NO_BREAK}%"


def _loss(outcome: Outcome) -> str:
    """Say how power or return fares."""
    what = upper_first(_SUBJECTS[outcome.measure])
    if DO_NOT_RELEASE_TAG in outcome.tags and outcome.answer is not Answer.LOSS_BEYOND:
        return (
            f"{what} drops by about {_share(outcome, outcome.estimate)}. So large a drop keeps a"
            " kit from use."
        )
    agreed, about = margin_words(outcome), _share(outcome, outcome.estimate)
    return {
        Answer.NO_LOSS_WITHIN: f"{what}: any drop is below the agreed {agreed}, at the most"
        f" {_share(outcome, outcome.upper)}.",
        Answer.SMALL_LOSS: f"{what} drops a little, by about {about}. That is less than the agreed"
        f" {agreed}.",
        Answer.LOSS_BEYOND: f"{what} drops by about {about}. That is more than the agreed"
        f" {agreed}.",
        Answer.LOSS_UNSETTLED: f"{what} drops by at least {_share(outcome, outcome.lower)};"
        f" whether by more than the agreed {agreed} we cannot tell.",
    }.get(outcome.answer, f"{what}: we cannot tell.")


def _pull(outcome: Outcome) -> str:
    """Say how the pull of the pump stands to its maker's limit."""
    share = outcome.figures.get("room_share")
    worst = [v for k, v in outcome.figures.items() if k.startswith("worst share: ")]
    most = ""
    if share is not None and worst and share < max(worst) < 0.95:
        most = f", at worst, calculated, about {_whole(max(worst))}"
    room = (
        f"It uses up {at_least(outcome) or 'about '}{_whole(share)} of the room the pump has"
        f" left{most}. "
        if share is not None and 0.005 < share < 0.95
        else ""
    )
    itself = " So does the vehicle without it." if VEHICLE_ITSELF_TAG in outcome.tags else ""
    rest = {
        Answer.WITHIN_LIMIT: "In the test the pump kept its maker's limit.",
        Answer.BEYOND_LIMIT: f"With it the pump is beyond its maker's limit.{itself}",
        Answer.NO_LIMIT_KNOWN: "The maker of the pump gives no limit, so nobody can call this"
        " safe.",
        Answer.CANNOT_TELL: "We cannot tell whether the pump stays within its maker's limit.",
    }.get(outcome.answer, "We cannot tell what it does to the pump.")
    return room + rest


def _whole(fraction: float) -> str:
    """Write a share of the room in whole percent."""
    return f"{digits.decimal(100.0 * fraction, 0)}{digits.NO_BREAK}%"


def _rail(outcome: Outcome) -> str:
    """Say how injection pressure fares."""
    return {
        Answer.WITHIN_LIMIT: "Injection pressure kept up with what the engine asked for.",
        Answer.BEYOND_LIMIT: "Injection pressure fell short for too long.",
    }.get(outcome.answer, "Injection pressure: we cannot tell.")


def _limits(verdict: Verdict) -> str:
    """Say what the test says nothing about."""
    said = " ".join(verdict.not_tested).lower()
    items = [words for keys, words in _STANDING if any(key in said for key in keys)]
    # What no comparison on one vehicle covers is said even where a verdict does not list it.
    for words in ("other vehicles", "long use"):
        if words not in items:
            items.append(words)
    return f"The test says nothing about {digits.listed(items, 'or')}."


_SENTENCES: Mapping[Measure, Callable[[Outcome], str]] = {
    Measure.WHEEL_POWER: _loss,
    Measure.CAUGHT_RETURN: _loss,
    Measure.INLET_DEPRESSION: _pull,
    Measure.RAIL_PRESSURE: _rail,
}
