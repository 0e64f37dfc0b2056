"""
Rail pressure decides by itself; a release needs every measure, and uncertainty never helps.

Rules under test are the project's own; figures are invented.
"""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedproof.case.margin import Margins, Measure
from feedproof.case.outcome import Answer, Outcome, Release
from feedproof.core.errors import InputError
from feedproof.evidence.answers import DO_NOT_RELEASE_TAG, judge_power, judge_return
from feedproof.evidence.multiplicity import measures_with_a_loss
from feedproof.evidence.rail import judge_rail
from feedproof.evidence.release import NEVER_TESTED, decide_release, passes
from feedproof.evidence.restriction import NO_WORST_TAG, VEHICLE_ITSELF_TAG
from tests.evidence.evidence_sessions import START, repeatability, trial

PASSING = {
    Measure.WHEEL_POWER: Answer.NO_LOSS_WITHIN,
    Measure.CAUGHT_RETURN: Answer.NO_LOSS_WITHIN,
    Measure.INLET_DEPRESSION: Answer.WITHIN_LIMIT,
    Measure.RAIL_PRESSURE: Answer.NO_LOSS_WITHIN,
}
PASSES = {Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS, Answer.WITHIN_LIMIT}


def outcomes(
    changes: dict[Measure, Answer] | None = None, tags: dict[Measure, str] | None = None
) -> list[Outcome]:
    """Make one outcome for each measure, all passing but for the changes."""
    return [
        Outcome(measure=m, answer=a, tags=(tags[m],) if tags and m in tags else ())
        for m, a in {**PASSING, **(changes or {})}.items()
    ]


def test_a_short_shortfall_of_rail_pressure_is_allowed() -> None:
    outcome = judge_rail(trial("ABA", rail_shortfall_s=[0.0, 2.0, 0.0]))
    assert outcome.answer is Answer.NO_LOSS_WITHIN
    assert outcome.figures["shortfall_s"] == 2.0


def test_a_long_shortfall_in_one_kit_run_decides() -> None:
    outcome = judge_rail(trial("ABBA", rail_shortfall_s=[0.0, 0.1, 2.1, 0.0]))
    assert outcome.answer is Answer.LOSS_BEYOND
    verdict = decide_release("secondary", [*outcomes()[:3], outcome])
    assert verdict.release is Release.DO_NOT_RELEASE
    assert verdict.decided_by is Measure.RAIL_PRESSURE


def test_a_shortfall_of_the_bare_vehicle_does_not_condemn_the_kit() -> None:
    outcome = judge_rail(trial("ABA", rail_shortfall_s=[9.0, 0.5, 9.0]))
    assert outcome.answer is Answer.NO_LOSS_WITHIN


def test_a_vehicle_that_falls_short_without_the_kit_is_named_too() -> None:
    outcome = judge_rail(trial("ABA", rail_shortfall_s=[9.0, 9.5, 9.0]))
    assert outcome.answer is Answer.LOSS_BEYOND
    assert any("needs repair first" in reason for reason in outcome.reasons)


def test_rail_pressure_that_was_not_logged_was_not_tested() -> None:
    assert judge_rail(trial("ABA")).answer is Answer.NOT_TESTED
    baseline_only = trial("ABA", rail_shortfall_s=[0.0, None, 0.0])
    assert judge_rail(baseline_only).answer is Answer.NOT_TESTED


def test_a_late_rail_margin_voids_a_pass_and_not_a_failure() -> None:
    late = Margins(declared=START + timedelta(days=1))
    good = trial("ABA", late, rail_shortfall_s=[0.0, 0.0, 0.0])
    bad = trial("ABA", late, rail_shortfall_s=[0.0, 9.0, 0.0])
    assert judge_rail(good).answer is Answer.VOID
    assert judge_rail(bad).answer is Answer.LOSS_BEYOND


def test_everything_passed_is_a_release_that_says_what_nobody_tested() -> None:
    verdict = decide_release("secondary", outcomes())
    assert verdict.release is Release.RELEASE
    assert verdict.decided_by is None
    assert set(NEVER_TESTED) <= set(verdict.not_tested)


@pytest.mark.parametrize("measure", list(Measure))
@pytest.mark.parametrize("answer", [a for a in Answer if a not in PASSES])
def test_one_measure_that_does_not_pass_is_enough(measure: Measure, answer: Answer) -> None:
    verdict = decide_release("secondary", outcomes({measure: answer}))
    if measure is Measure.RAIL_PRESSURE and answer is Answer.NOT_TESTED:
        assert verdict.release is Release.RELEASE_WITH_CONDITIONS
        assert "rail pressure" in verdict.not_tested
        return
    beyond = answer in (Answer.LOSS_BEYOND, Answer.BEYOND_LIMIT)
    assert verdict.release is (Release.DO_NOT_RELEASE if beyond else Release.CANNOT_SAY)
    assert verdict.decided_by is measure


@pytest.mark.parametrize("measure", [m for m in Measure if m is not Measure.RAIL_PRESSURE])
def test_a_missing_measure_cannot_say(measure: Measure) -> None:
    verdict = decide_release("secondary", [o for o in outcomes() if o.measure is not measure])
    assert verdict.release is Release.CANNOT_SAY
    assert verdict.decided_by is measure
    assert measure.value.replace("_", " ") in verdict.not_tested


def test_a_failure_outweighs_what_cannot_be_said() -> None:
    mixed = outcomes({Measure.RAIL_PRESSURE: Answer.VOID, Measure.WHEEL_POWER: Answer.LOSS_BEYOND})
    verdict = decide_release("secondary", mixed)
    assert verdict.release is Release.DO_NOT_RELEASE
    assert verdict.decided_by is Measure.WHEEL_POWER


@pytest.mark.parametrize("answer", [Answer.CANNOT_TELL, Answer.VOID, Answer.NO_LOSS_WITHIN])
def test_ten_percent_less_return_is_not_released_whatever_the_answer(answer: Answer) -> None:
    made = outcomes({Measure.CAUGHT_RETURN: answer}, {Measure.CAUGHT_RETURN: DO_NOT_RELEASE_TAG})
    assert decide_release("secondary", made).release is Release.DO_NOT_RELEASE


def test_a_limit_that_the_vehicle_breaks_itself_neither_condemns_nor_releases() -> None:
    made = outcomes(
        {Measure.INLET_DEPRESSION: Answer.BEYOND_LIMIT},
        {Measure.INLET_DEPRESSION: VEHICLE_ITSELF_TAG},
    )
    verdict = decide_release("secondary", made)
    assert verdict.release is Release.CANNOT_SAY
    assert verdict.decided_by is Measure.INLET_DEPRESSION


def test_a_small_loss_and_a_declared_repeatability_are_conditions() -> None:
    small = decide_release("secondary", outcomes({Measure.WHEEL_POWER: Answer.SMALL_LOSS}))
    tag = {Measure.WHEEL_POWER: "rests_on_declared_repeatability"}
    leaning = decide_release("secondary", outcomes(tags=tag))
    warm = decide_release("secondary", outcomes(tags={Measure.INLET_DEPRESSION: NO_WORST_TAG}))
    found = {small.release, leaning.release, warm.release}
    assert found == {Release.RELEASE_WITH_CONDITIONS}


def test_two_outcomes_of_one_measure_are_refused() -> None:
    with pytest.raises(InputError, match="two outcomes"):
        decide_release("secondary", [*outcomes(), outcomes()[0]])


LOSSES = st.lists(st.floats(-3.0, 12.0), min_size=6, max_size=6)


@given(LOSSES, LOSSES, st.floats(0.0, 3.0), st.floats(0.0, 8.0))
def test_more_uncertainty_never_releases_a_kit(
    power: list[float], corrected: list[float], u: float, more: float
) -> None:
    made = trial(
        "ABBABA",
        power_loss_log_percent=power,
        corrected_power_loss_log_percent=corrected,
        return_loss_log_percent=power,
        rail_shortfall_s=[0.0] * 6,
    )

    def released(type_b_u: float) -> bool:
        found = [
            judge_power(made, repeatability(Measure.WHEEL_POWER, 1.0), type_b_u_percent=type_b_u),
            judge_return(
                made, repeatability(Measure.CAUGHT_RETURN, 1.0), type_b_u_percent=type_b_u
            ),
            Outcome(measure=Measure.INLET_DEPRESSION, answer=Answer.WITHIN_LIMIT),
            judge_rail(made),
        ]
        verdict = decide_release("secondary", found)
        return verdict.release in (Release.RELEASE, Release.RELEASE_WITH_CONDITIONS)

    assert released(u) or not released(float(np.hypot(u, more)))


@given(st.floats(-2.0, 6.0), st.floats(0.1, 3.0), st.floats(1.0, 10.0))
def test_more_scatter_of_one_pattern_never_passes(mean: float, size: float, more: float) -> None:
    # Orthogonal to level, kit and drift in ABBA: only the scatter grows.
    pattern = np.array([1.0, -3.0, 3.0, -1.0])
    step = mean * np.array([0.0, 1.0, 1.0, 0.0])

    def passed(factor: float) -> bool:
        made = trial("ABBA", power_loss_log_percent=list(step + factor * size * pattern))
        return passes(judge_power(made, repeatability(Measure.WHEEL_POWER, 1.0)))

    assert passed(1.0) or not passed(more)


def test_a_loss_in_something_is_looked_for_with_holm() -> None:
    # One-sided p of 0.03 each: one alone is a loss, three looked at together are not.
    single = Outcome(
        measure=Measure.WHEEL_POWER,
        answer=Answer.LOSS_UNSETTLED,
        estimate=1.8808,
        standard_uncertainty=1.0,
        coverage_factor=1.645,
    )
    assert measures_with_a_loss([single]) == (Measure.WHEEL_POWER,)
    three = [replace(single, measure=m) for m in list(Measure)[:3]]
    assert measures_with_a_loss(three) == ()
    assert measures_with_a_loss([replace(single, estimate=None)]) == ()
