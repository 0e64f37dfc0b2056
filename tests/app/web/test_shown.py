"""What the result screens work out themselves: next steps, forms, run sheets that were kept."""

import json
from dataclasses import asdict

import pytest

from feedproof.app.web.asked import Asked
from feedproof.app.web.numbers import with_comma
from feedproof.app.web.shown import next_steps
from feedproof.app.web.shown.common import named, told
from feedproof.app.web.shown.plan import sheet_from
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.core.findings import error, note, warning
from feedproof.report.run_sheet_model import RunSheet, SheetRun, SheetSession


def _verdict(release: Release, *answers: Answer, reason: str = "so it is", **figures: float):
    return Verdict(
        configuration="secondary",
        outcomes=tuple(
            Outcome(measure=measure, answer=answer, margin=2.0, figures=figures)
            for measure, answer in zip(Measure, answers, strict=False)
        ),
        release=release,
        decided_by=None,
        reason=reason,
        not_tested=(),
    )


PASSED = (Answer.NO_LOSS_WITHIN, Answer.NO_LOSS_WITHIN, Answer.WITHIN_LIMIT, Answer.WITHIN_LIMIT)


def test_after_a_full_pass_nothing_more_is_asked_for():
    assert next_steps.next_of(_verdict(Release.RELEASE, *PASSED)) == [next_steps.NOTHING_MORE]


def test_an_open_answer_says_how_many_runs_would_settle_it_and_that_they_are_a_new_session():
    verdict = _verdict(Release.CANNOT_SAY, Answer.CANNOT_TELL, *PASSED[1:], runs_each_needed=5.0)
    runs, anew = next_steps.next_of(verdict)
    assert "about 5 runs with and 5 without" in runs
    assert anew == next_steps.ANEW


def test_what_no_run_settles_says_what_stands_in_the_way():
    verdict = _verdict(Release.CANNOT_SAY, *PASSED, reason="the limit cannot be shown to hold")
    assert next_steps.next_of(verdict) == [
        f"{next_steps.NOT_BY_RUNS} The limit cannot be shown to hold."
    ]


def test_a_kit_that_failed_is_never_sent_back_to_drive_more_runs():
    verdict = _verdict(
        Release.DO_NOT_RELEASE, Answer.LOSS_BEYOND, Answer.CANNOT_TELL, runs_each_needed=4.0
    )
    assert next_steps.next_of(verdict) == [next_steps.NOT_AS_FITTED]


def test_a_measure_that_nobody_tested_is_asked_for_in_the_next_session():
    told_of = next_steps.next_of(_verdict(Release.RELEASE_WITH_CONDITIONS, *PASSED[:3]))
    assert any("rail pressure" in line for line in told_of)


@pytest.mark.parametrize(
    ("release", "said"),
    [
        (Release.CONTROL_FOUND, next_steps.FOUND),
        (Release.CONTROL_MISSED, next_steps.MISSED),
    ],
)
def test_a_positive_control_says_what_it_shows_of_the_test(release: Release, said: str):
    assert next_steps.next_of(_verdict(release, *PASSED)) == [said]


def test_a_form_takes_a_decimal_comma_and_tells_all_its_mistakes_at_once():
    sent = {"chance": "92,5", "space": "2,5 L", "runs": "2.5", "many": "x", "which": "maybe"}
    asked = Asked({**sent, "empty": " "}, has_comma=True)
    asked.quantity("space")
    asked.number("chance", "Chance")
    asked.number("runs", "Runs", whole=True)
    asked.number("many", "Many")
    asked.choice("which", "Which", {"yes": True})
    asked.text("empty")
    assert asked.parameters == {"chance": 92.5, "space": "2.5 L"}
    assert [fault.place for fault in asked.faults] == ["Runs", "Many", "Which"]


@pytest.mark.parametrize("typed", ["1,000", "92,5", "nan", "inf", "1e999", "9 0"])
def test_a_number_that_could_mean_two_things_or_none_is_refused_by_what_was_typed(typed: str):
    asked = Asked({"cost": typed, "space": "2,5 L"})
    asked.number("cost", "Cost")
    asked.quantity("space")
    assert asked.parameters == {"space": "2,5 L"}
    assert typed in asked.faults[0].message
    assert "decimal point" in asked.faults[0].remedy


def test_a_run_sheet_comes_back_from_what_was_kept_as_it_was():
    run = SheetRun(number="1", letter="A", words="without the kit", counts=True)
    words = dict.fromkeys(
        ("title", "banner", "vehicle", "note", "version", "computed", "margins_date", "loop_kit"),
        "words",
    )
    lists = dict.fromkeys(
        ("answer", "margins", "before", "catch", "loop", "controls", "reasons"), ("one", "two")
    )
    sheet = RunSheet(
        **words,
        **lists,
        computed_iso="2026-09-14T09:42:00+00:00",
        sessions=(SheetSession(heading="Session 1", lead="Order A", runs=(run,)),),
        conditions=(("Fuel", "the same"),),
    )
    assert sheet_from(json.loads(json.dumps(asdict(sheet)))) == sheet


def test_findings_stand_once_and_mistakes_first():
    findings = (note("c", "third"), error("a", "first"), warning("b", "second"), note("c", "third"))
    assert [one["message"] for one in told(findings)] == ["first", "second", "third"]


def test_ids_in_sentences_lose_their_underscores_and_numbers_stay():
    assert (
        named("primary_element takes 0.5 %, _so_ it is")
        == "primary element takes 0.5 %, _so_ it is"
    )
    assert with_comma("9.08 times, 585 cost") == "9,08 times, 585 cost"
