"""
Two renderings of one result, and no word in any of them that no test can bear out.

Reading ease after Flesch 1948: 206.835 - 1.015 words/sentence - 84.6 syllables/word, syllables
counted as groups of vowels (an approximation that is common practice).  60 and above is called
plain English there (memory).
"""

import re
from dataclasses import replace
from itertools import product

import pytest

from feedproof.case.margin import Margins, Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.evidence.answers import DO_NOT_RELEASE_TAG
from feedproof.evidence.looks import Look, LookBook, held_to_looks
from feedproof.evidence.outcomes import answer_words
from feedproof.evidence.release import decide_control, decide_release
from feedproof.report.always import always_added, curve_line, margin_line, together_line
from feedproof.report.content import content_of
from feedproof.report.customer import MOST_WORDS, customer_text
from feedproof.report.model import Publication
from feedproof.report.model_claims import CurveClaim
from feedproof.report.page import page_html
from feedproof.report.sentences import precise
from feedproof.report.words import setting_of
from tests.report.publications import depression_outcome, power_outcome, rail_outcome
from tests.report.test_words import FORBIDDEN

LOSS_ANSWERS = (
    Answer.NO_LOSS_WITHIN,
    Answer.SMALL_LOSS,
    Answer.LOSS_BEYOND,
    Answer.LOSS_UNSETTLED,
    Answer.CANNOT_TELL,
    Answer.REFUSED,
    Answer.VOID,
    Answer.NOT_TESTED,
)
LIMIT_ANSWERS = (
    Answer.WITHIN_LIMIT,
    Answer.BEYOND_LIMIT,
    Answer.CANNOT_TELL,
    Answer.NO_LIMIT_KNOWN,
    Answer.REFUSED,
    Answer.VOID,
    Answer.NOT_TESTED,
)
RAIL_ANSWERS = (Answer.NO_LOSS_WITHIN, Answer.LOSS_BEYOND, Answer.VOID, Answer.NOT_TESTED)
TAGS = (
    (),
    ("apparent_gain", "rests_on_declared_repeatability"),
    (DO_NOT_RELEASE_TAG, "vehicle_breaks_limit_itself", "excluded_after_looking"),
)
JARGON = re.compile(
    r"standard deviation|confidence|repeatab|uncertaint|depression|degrees of freedom|one-sided"
    r"|log-percent|\bkPa\b|\binHg\b|\bMPa\b|\bmargin\b|coverage|estimate|statistic",
    re.IGNORECASE,
)
PROMISE = re.compile(
    r"\bguarantee|\bsafe to\b|\bwill (?:not|never)\b|\bnever\b|\bcertain", re.IGNORECASE
)


def every_verdict() -> list[Verdict]:
    """Decide every combination of answers of the four measures, with and without tags."""
    found = []
    for power, back, limit, rail, tags in product(
        LOSS_ANSWERS, LOSS_ANSWERS, LIMIT_ANSWERS, RAIL_ANSWERS, TAGS
    ):
        outcomes = (
            power_outcome(power, tags=tags),
            power_outcome(back, measure=Measure.CAUGHT_RETURN, tags=tags),
            replace(depression_outcome(limit), tags=tags),
            replace(rail_outcome(), answer=rail),
        )
        found.append(decide_release("secondary", outcomes))
    return found


VERDICTS = every_verdict()


def sentences_in(text: str) -> int:
    return len(re.findall(r"[.!?:](?:\s|$)", text))


def syllables_in(word: str) -> int:
    groups = re.findall(r"[aeiouy]+", word.lower())
    silent = word.lower().endswith("e") and not word.lower().endswith("le")
    return max(len(groups) - (1 if silent and len(groups) > 1 else 0), 1)


def reading_ease(text: str) -> float:
    words = re.findall(r"[A-Za-z']+", text)
    syllables = sum(map(syllables_in, words))
    return 206.835 - 1.015 * len(words) / sentences_in(text) - 84.6 * syllables / len(words)


def test_the_reading_ease_of_a_known_text() -> None:
    """By hand: 6 words, 1 sentence, 6 syllables give 206.835 - 6.09 - 84.6 = 116.1."""
    assert reading_ease("The cat sat on the mat.") == pytest.approx(116.145)


def test_all_answers_to_a_customer_are_short_plain_and_free_of_terms(report: Publication) -> None:
    texts = {customer_text(report, verdict) for verdict in VERDICTS}
    assert len(texts) > 1000

    assert max(len(text.split()) for text in texts) <= MOST_WORDS
    assert min(map(reading_ease, texts)) >= 60.0
    assert not [text for text in texts if JARGON.search(text)]
    assert not [text for text in texts if PROMISE.search(text)]
    assert not [text for text in texts if re.search(r"\bno loss\b", text, re.IGNORECASE)]


def test_no_answer_to_a_customer_claims_what_no_test_can_show(report: Publication) -> None:
    assert not [v for v in VERDICTS if FORBIDDEN.search(customer_text(report, v))]


@pytest.mark.parametrize("answer", [Answer.CANNOT_TELL, Answer.VOID, Answer.NO_LOSS_WITHIN])
def test_a_return_that_forbids_release_by_its_best_estimate_is_told_to_the_customer(
    report: Publication, answer: Answer
) -> None:
    back = power_outcome(
        answer, measure=Measure.CAUGHT_RETURN, estimate=11.0, tags=(DO_NOT_RELEASE_TAG,)
    )
    text = customer_text(report, decide_release("secondary", [back]))

    assert text.startswith("Do not use")
    assert "drops by about 11.0\u00a0%. So large a drop keeps a kit from use." in text


def test_what_is_no_pass_says_so_to_the_customer(report: Publication) -> None:
    for verdict in VERDICTS:
        text = customer_text(report, verdict)
        if verdict.release is Release.CANNOT_SAY:
            assert "This is not a pass." in text
        if verdict.release is Release.DO_NOT_RELEASE:
            assert text.startswith("Do not use")
        passed = verdict.release in (Release.RELEASE, Release.RELEASE_WITH_CONDITIONS)
        assert ("It passed what we tested" in text) is passed


def test_cannot_tell_is_told_to_the_customer_for_each_measure(report: Publication) -> None:
    for verdict in VERDICTS:
        open_ones = [
            outcome
            for outcome in verdict.outcomes
            if outcome.answer is Answer.CANNOT_TELL and DO_NOT_RELEASE_TAG not in outcome.tags
        ]
        if open_ones:
            assert "cannot tell" in customer_text(report, verdict)


def test_every_text_to_a_customer_names_what_it_says_nothing_about(report: Publication) -> None:
    for verdict in VERDICTS:
        text = customer_text(report, verdict)
        assert "The test says nothing about" in text
        assert "other vehicles" in text


def test_figures_of_customer_and_engineer_come_from_one_result(report: Publication) -> None:
    outcome = power_outcome(Answer.SMALL_LOSS, estimate=1.2, lower=0.4, upper=1.9)
    verdict = decide_release("secondary", [outcome])
    setting = setting_of(report, "secondary", Measure.WHEEL_POWER)

    assert "about 1.2\u00a0%" in customer_text(report, verdict)
    assert "about 1.20\u00a0%" in precise(outcome, setting)


def test_a_limit_close_to_the_margin_is_not_rounded_onto_it_for_a_customer(
    report: Publication,
) -> None:
    verdict = decide_release("secondary", [power_outcome(upper=1.98)])
    assert "at the most 1.98\u00a0%" in customer_text(report, verdict)


def test_the_engineer_gets_every_figure_that_an_answer_rests_on(report: Publication) -> None:
    outcome = power_outcome(figures={"repeatability_degrees_of_freedom": 10.0, "confidence": 0.98})
    text = precise(outcome, setting_of(report, "secondary", Measure.WHEEL_POWER))
    text += " ".join(always_added(report, decide_release("secondary", [outcome])))
    text = text.replace("\u00a0", " ")

    for part in (
        "d = 0.31 %",
        "L = \u22120.40 %",
        "U = 1.02 %",
        "one-sided 98 %",
        "2 + 2 runs",
        "order ABBA",
        "s = 0.52 % (10 degrees of freedom)",
        "k = 1.86",
        "\u03bd = 8.1",
        "2026-09-13",
        "source: workshop and customer, invented",
    ):
        assert part in text, part


def reasons_of_looks() -> list[str]:
    now = Look(configuration="secondary", baseline=(1, 3), candidate=(2, 4), counted=2)
    before = replace(now, baseline=(1,), candidate=(2,), counted=1)
    book = LookBook(earlier=(before,), left_out_late=(1,))
    return [
        reason
        for answer in Answer
        for declared in ((), (1, 2), (3,))
        for reason in held_to_looks(
            Outcome(measure=Measure.WHEEL_POWER, answer=answer), declared, book, now
        ).reasons
    ]


def test_no_other_sentence_claims_what_no_test_can_show(report: Publication) -> None:
    """Releases and their reasons, standing lines, looks, and names of answers."""
    written = [verdict.reason for verdict in VERDICTS]
    written += [decide_control("control", verdict.outcomes).reason for verdict in VERDICTS[:500]]
    written += [line for verdict in VERDICTS[::7] for line in always_added(report, verdict)]
    written += [together_line(verdict) for verdict in VERDICTS]
    written += [answer_words(answer, measure) for answer in Answer for measure in Measure]
    written += [margin_line(Margins(looks=looks)) for looks in ((), (2, 3))]
    written += reasons_of_looks()
    written += [
        curve_line(
            CurveClaim(
                configuration="secondary",
                measure=Measure.WHEEL_POWER,
                holds=holds,
                worst_upper_percent=1.9,
                worst_speed_m_per_s=20.0,
                loss_at_m_per_s=where,
            ),
            VERDICTS[0],
        )
        for holds in (True, False)
        for where in ((), (20.0, 25.0))
    ]

    assert len(set(written)) > 100
    assert not [text for text in written if FORBIDDEN.search(text)]
    bare = [
        text
        for text in written
        if re.search(r"\bno loss\b", text, re.IGNORECASE)
        and not re.search(r"no loss[^.;:]*\d", text, re.IGNORECASE)
    ]
    assert not bare


def test_a_verdict_beside_the_better_side_of_zero_is_conditional_in_allowed_words() -> None:
    outcomes = (
        power_outcome(tags=("apparent_gain",)),
        power_outcome(measure=Measure.CAUGHT_RETURN),
        depression_outcome(),
        rail_outcome(),
    )
    verdict = decide_release("secondary", outcomes)

    assert verdict.release is Release.RELEASE_WITH_CONDITIONS
    assert "better side of zero" in verdict.reason


def test_the_page_begins_with_the_customers_answer_under_its_own_heading(
    report: Publication,
) -> None:
    page = page_html(report)
    first = page.index('<h2 id="customer-head">For the customer</h2>')
    texts = [verdict["customer"] for verdict in content_of(report)["verdicts"]]

    assert first < page.index('<h2 id="answers-head">')
    assert texts
    for text in texts:
        assert text.split(".")[0] in page[first : page.index('<h2 id="answers-head">')]


def test_average_and_whole_curve_stand_side_by_side(report: Publication) -> None:
    (table,) = content_of(report)["claims"]
    row = dict(zip(table["head"], table["rows"][0], strict=True))

    assert row["average over the band"].startswith("no loss within the margin of 2")
    assert row["below the margin at every speed"] == "no"
    assert table["caption"] in page_html(report)
