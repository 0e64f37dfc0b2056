"""Words: every answer has its sentences, and none claims more than its numbers."""

import re
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from syrupy.assertion import SnapshotAssertion

from feedproof.case.margin import Margins, Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import Comparison, compare
from feedproof.report.always import always_added, not_tested
from feedproof.report.content import headline
from feedproof.report.model import Publication
from feedproof.report.sentences import plain, precise
from feedproof.report.words import (
    RELEASES,
    SYMBOLS,
    Setting,
    label,
    setting_of,
)
from tests.report.publications import (
    depression_outcome,
    power_outcome,
    publication,
    rail_outcome,
    return_outcome,
)

FIVE = (
    Answer.NO_LOSS_WITHIN,
    Answer.SMALL_LOSS,
    Answer.LOSS_BEYOND,
    Answer.LOSS_UNSETTLED,
    Answer.CANNOT_TELL,
)
FORBIDDEN = re.compile(
    r"\bproven\b|\bidentical\b|\b100(?:\.0+)?\s%|no significant difference|\bgain\b", re.IGNORECASE
)
TAGS = (
    (),
    ("drift_declared", "undeclared_looks"),
    ("return_do_not_release", "excluded_after_looking", "factory_element_not_recorded"),
    ("apparent_gain",),
    ("archive_dropped", "corrected_power_differs"),
    ("rests_on_declared_repeatability", "censored_lower_bound"),
)
SETTING = Setting(kit="the secondary kit", band="From 50 to 115 km/h", margins=Margins())


def compared_better() -> Comparison:
    """Compare runs whose kit reads better by far, for the reason that the comparison gives."""
    found = compare(
        np.array([0.0, -9.0, -9.1, 0.1]),
        np.array([False, True, True, False]),
        np.arange(4.0),
        ["loop"] * 4,
        archive=Archive(standard_deviation=0.5, degrees_of_freedom=8),
        margin=2.0,
    )
    assert "apparent_gain" in found.tags
    return found


def outcomes() -> list[Outcome]:
    """Make outcomes of every measure, answer and tag, also without limits."""
    made = []
    for answer, tags, measure in product(Answer, TAGS, Measure):
        percent = measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN)
        base = power_outcome() if percent else depression_outcome()
        reasons = (compared_better().reasons[-1],) if "apparent_gain" in tags else ()
        whole = replace(base, measure=measure, answer=answer, tags=tags, reasons=reasons)
        made += [whole, replace(whole, lower=None, upper=None, figures={})]
        made.append(replace(whole, lower=-3.0, upper=-0.2, estimate=-1.6))
        made.append(replace(whole, estimate=None, lower=None, upper=None, figures={}))
    return made


def sentences_of(outcome: Outcome) -> list[str]:
    return [precise(outcome, SETTING), plain(outcome, SETTING), label(outcome)]


def test_no_sentence_claims_what_no_test_can_show() -> None:
    written = [text for outcome in outcomes() for text in sentences_of(outcome)]

    assert len(written) > 500
    assert not [text for text in written if FORBIDDEN.search(text)]


def test_no_loss_never_stands_without_a_number() -> None:
    written = [
        text
        for outcome in outcomes()
        for text in sentences_of(outcome)
        if re.search(r"\bno loss\b", text, re.IGNORECASE)
    ]

    assert written
    assert all(
        re.search(r"no loss[^.;:]*\d", text, re.IGNORECASE) or "no agreed margin" in text
        for text in written
    )


@pytest.mark.parametrize("text", ["It is proven.", "a gain of 2 %", "100 % alike", "Identical."])
def test_a_forbidden_word_is_found(text: str) -> None:
    assert FORBIDDEN.search(text)


@pytest.mark.parametrize("text", ["against the limit", "feedproof", "compared again"])
def test_an_innocent_word_is_left_alone(text: str) -> None:
    assert not FORBIDDEN.search(text)


def test_each_of_the_five_answers_has_its_own_sign_and_label() -> None:
    assert [SYMBOLS[answer] for answer in FIVE] == ["■", "◧", "▲", "△", "○"]
    assert len({label(power_outcome(answer)) for answer in FIVE}) == 5


def test_every_release_has_its_own_words() -> None:
    assert len({RELEASES[release] for release in Release}) == len(Release)


@pytest.mark.parametrize("answer", FIVE)
def test_the_sentences_of_an_answer(answer: Answer, snapshot: SnapshotAssertion) -> None:
    outcome = power_outcome(answer, figures={"margin_plain_percent": 2.0, "runs_each_needed": 4.0})

    assert sentences_of(outcome) == snapshot


@pytest.mark.parametrize(
    "answer",
    [Answer.WITHIN_LIMIT, Answer.BEYOND_LIMIT, Answer.CANNOT_TELL, Answer.NO_LIMIT_KNOWN],
)
def test_the_sentences_of_a_restriction(answer: Answer, snapshot: SnapshotAssertion) -> None:
    assert sentences_of(depression_outcome(answer)) == snapshot


@pytest.mark.parametrize("answer", [Answer.REFUSED, Answer.VOID, Answer.NOT_TESTED])
def test_the_sentences_of_having_no_answer(answer: Answer, snapshot: SnapshotAssertion) -> None:
    outcome = Outcome(measure=Measure.WHEEL_POWER, answer=answer, reasons=("because of this",))

    assert sentences_of(outcome) == snapshot


def test_the_decision_scale_is_shown_as_plain_percent() -> None:
    outcome = power_outcome(
        upper=1.99, figures={"margin_plain_percent": 2.0, "upper_plain_percent": 1.97}
    )

    assert "up to 1.97\u00a0%" in precise(outcome, SETTING)
    assert "smaller than 2\u00a0%" in precise(outcome, SETTING)


def test_a_limit_close_to_the_margin_is_not_rounded_onto_it() -> None:
    outcome = power_outcome(upper=1.9996, margin=2.0)

    assert "up to 1.9996\u00a0%" in precise(outcome, SETTING)


def test_cannot_tell_says_that_it_is_no_pass_and_how_many_runs_would_help() -> None:
    text = precise(return_outcome(), SETTING)

    assert "This is not a pass." in text
    assert text.count("6 runs") == 1


def test_cannot_tell_without_limits_says_so() -> None:
    outcome = power_outcome(Answer.CANNOT_TELL, lower=None, upper=None)

    assert "give no limits" in precise(outcome, SETTING)


def test_no_limit_known_is_never_a_pass() -> None:
    text = precise(depression_outcome(Answer.NO_LIMIT_KNOWN), SETTING)

    assert "No limit is known" in text
    assert "never a pass" in text


def test_rail_pressure_is_held_against_its_bound_without_confidence() -> None:
    text = precise(rail_outcome(), SETTING)

    assert "5.0\u00a0MPa for at most 2\u00a0s" in text
    assert "confidence" not in text


def test_declared_repeatability_names_its_source(report: Publication) -> None:
    setting = setting_of(report, "secondary", Measure.WHEEL_POWER)
    outcome = power_outcome(tags=("rests_on_declared_repeatability",))

    assert "taken from 11 baseline repeats" in precise(outcome, setting)
    assert "above 1.24\u00a0% the answer no longer holds" in precise(outcome, setting)


def test_the_lines_below_a_verdict_name_margins_date_drift_and_curve(report: Publication) -> None:
    lines = always_added(report, report.verdicts[0])

    assert lines[0].startswith("Not tested: ")
    assert "Whole-curve claim for wheel power: no." in lines[1]
    assert "2026-09-13" in lines[2]
    assert "self-declared" in lines[2]
    assert "straight line" in lines[3]


def test_a_measure_without_an_outcome_was_not_tested(report: Publication) -> None:
    only_power = Verdict(
        configuration="secondary",
        outcomes=(power_outcome(),),
        release=Release.CANNOT_SAY,
        decided_by=None,
        reason="",
        not_tested=("caught return", "durability over 40 000 km"),
    )

    items = not_tested(report, only_power)

    assert items[:3] == ("caught return flow", "depression at the pump inlet", "rail pressure")
    assert sum("durab" in item for item in items) == 1
    assert "a loaded element" in items


def test_the_headline_is_that_of_the_measure_that_decided(report: Publication) -> None:
    assert "back to the tank" in headline(report, report.verdicts[0])
    assert "power at the wheels" in headline(report, report.verdicts[1])


@pytest.mark.parametrize(
    "answer",
    [Answer.CANNOT_TELL, Answer.BEYOND_LIMIT, Answer.NO_LIMIT_KNOWN, Answer.WITHIN_LIMIT],
)
def test_a_saturated_channel_never_reads_as_a_firm_figure(answer: Answer) -> None:
    outcome = depression_outcome(answer)
    figures = {
        "room_pa": 20e3,
        "room_share": 0.4,
        "inlet_abs_pa": 60e3,
        "inlet_guard_pa": 400.0,
        "baseline_inlet_abs_pa": 70e3,
    }
    figures = {k: v for k, v in {**outcome.figures, **figures}.items() if "expanded" not in k}
    firm = replace(outcome, upper=None, figures=figures)
    bound = replace(firm, tags=("censored_lower_bound",))

    for words in (precise(firm, SETTING), plain(firm, SETTING)):
        assert "at least" not in words
    text = precise(bound, SETTING)
    assert "adds at least" in text
    assert "takes at least 40.0" in text
    assert "averaged over its runs, was at most 60.0" in text
    assert "pull harder by at least" in plain(bound, SETTING)


def test_the_speeds_that_a_limit_was_judged_over_are_said_where_the_pull_goes_further() -> None:
    report = publication()
    run = next(each for each in report.runs if each.configuration == "secondary")
    half = 0.5 * float(run.speed_m_per_s[1] - run.speed_m_per_s[0])
    low, high = float(run.speed_m_per_s[0]) - half, float(run.speed_m_per_s[-1]) + half
    further = replace(report, start_m_per_s=low, stop_m_per_s=high + 5.0 / 3.6)
    covered = replace(report, start_m_per_s=low, stop_m_per_s=high)
    outcome = depression_outcome(Answer.WITHIN_LIMIT)

    measure = Measure.INLET_DEPRESSION
    text = precise(outcome, setting_of(further, "secondary", measure)).replace("\u00a0", " ")
    top = round(3.6 * high)
    assert f"were judged from {round(3.6 * low)} to {top} km/h; the pull goes" in text
    assert f"to {top + 5} km/h. Of the limit at other speeds the runs claim nothing." in text
    assert "the pull goes" not in precise(outcome, setting_of(covered, "secondary", measure))
    unknown = depression_outcome(Answer.NO_LIMIT_KNOWN)
    assert "the pull goes" not in precise(unknown, setting_of(further, "secondary", measure))


@pytest.mark.parametrize("needed", [1, 2, 3, 7, 12])
def test_more_runs_are_asked_for_by_number_and_order_and_never_as_runs_of_each(needed: int) -> None:
    outcome = power_outcome(Answer.CANNOT_TELL)
    outcome = replace(outcome, figures={**outcome.figures, "runs_each_needed": float(needed)})
    total = 3 if needed == 1 else 2 * needed

    text = precise(outcome, SETTING)
    assert f"{total} runs in one new session, order A-B" in text
    assert "(A without, B with)" in text
    assert label(outcome).startswith("cannot tell yet: drive A-B")
    assert "of each" not in f"{label(outcome)} {text}"
