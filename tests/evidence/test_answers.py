"""
Answers on power and return promise: the right one of five, or why there is none.

Rules under test are the project's own; figures are invented.
"""

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from feedproof.case.margin import Margins, Measure
from feedproof.case.outcome import Answer
from feedproof.case.run import Role
from feedproof.core.errors import InputError
from feedproof.evidence.answers import DO_NOT_RELEASE_TAG, judge_power, judge_return
from feedproof.evidence.trial import SETUP_UNDECLARED_TAG, Trial
from tests.evidence.evidence_sessions import KIT, START, record, reduced_run, repeatability, trial

POWER = repeatability(Measure.WHEEL_POWER, 0.5)
RETURN = repeatability(Measure.CAUGHT_RETURN, 1.0)
FLAT = [0.1, 0.2, -0.1, 0.3, 0.0, 0.1]
LOSS = [0.0, 5.0, 5.2, 0.1, 5.1, 0.2]


def power_trial(losses: list[float | None], corrected: list[float | None] | None = None) -> Trial:
    """Make a trial ABBABA with power figures."""
    return trial(
        "ABBABA"[: len(losses)],
        power_loss_log_percent=[None if x is None else x - 1170.0 for x in losses],
        corrected_power_loss_log_percent=[
            None if x is None else x - 1172.0 for x in (corrected or losses)
        ],
    )


def test_no_loss_is_said_with_its_margin_and_figures() -> None:
    outcome = judge_power(power_trial(FLAT), POWER)
    assert outcome.answer is Answer.NO_LOSS_WITHIN
    assert outcome.margin == pytest.approx(2.0203, abs=1e-4)
    assert outcome.figures["margin_plain_percent"] == pytest.approx(2.0)
    assert outcome.order == "ABBABA"
    assert outcome.runs == {"baseline": (1, 4, 6), KIT: (2, 3, 5)}


def test_a_planted_loss_of_five_percent_is_found() -> None:
    outcome = judge_power(power_trial(LOSS), POWER)
    assert outcome.answer is Answer.LOSS_BEYOND
    assert outcome.figures["estimate_plain_percent"] == pytest.approx(4.9, abs=0.2)


def test_a_margin_declared_after_the_first_kit_run_is_void() -> None:
    base = power_trial(FLAT)
    late = replace(base, margins=Margins(declared=START + timedelta(minutes=21)))
    in_time = replace(base, margins=Margins(declared=START + timedelta(minutes=19)))
    assert judge_power(late, POWER).answer is Answer.VOID
    assert judge_power(in_time, POWER).answer is Answer.NO_LOSS_WITHIN


def test_a_margin_that_was_never_declared_is_void() -> None:
    outcome = judge_power(replace(power_trial(FLAT), margins=Margins()), POWER)
    assert outcome.answer is Answer.VOID
    assert "never declared" in outcome.reasons[0]


def test_an_excluded_kit_run_before_the_margin_still_voids_it() -> None:
    base = power_trial(FLAT)
    seen = record(reduced_run(99, "B"), excluded="looked odd", started=START)
    late = replace(
        base,
        records=(*base.records, seen),
        margins=Margins(declared=START + timedelta(minutes=5)),
    )
    assert judge_power(late, POWER).answer is Answer.VOID


def test_a_date_without_time_zone_voids_the_margin() -> None:
    naive = Margins(declared=START.replace(tzinfo=None))
    assert judge_power(replace(power_trial(FLAT), margins=naive), POWER).answer is Answer.VOID


def test_another_factory_element_refuses_the_comparison() -> None:
    base = power_trial(FLAT)
    records = tuple(
        replace(r, elements={"factory_filter": "F-2"}) if r.kits else r for r in base.records
    )
    outcome = judge_power(replace(base, records=records), POWER)
    assert outcome.answer is Answer.REFUSED
    assert "F-1, F-2" in outcome.reasons[0]
    assert outcome.estimate is None


def test_a_serial_that_was_not_recorded_is_said() -> None:
    base = power_trial(FLAT)
    records = (replace(base.records[0], elements={}), *base.records[1:])
    outcome = judge_power(replace(base, records=records), POWER)
    assert any("not recorded every time" in reason for reason in outcome.reasons)


def test_corrected_power_that_fails_takes_the_pass_away() -> None:
    worse = [x + (4.0 if letter == "B" else 0.0) for x, letter in zip(FLAT, "ABBABA", strict=True)]
    outcome = judge_power(power_trial(FLAT, worse), POWER)
    assert outcome.answer is Answer.CANNOT_TELL
    assert "corrected_power_differs" in outcome.tags
    assert outcome.figures["corrected_estimate"] == pytest.approx(outcome.estimate + 4.0)


def test_corrected_power_that_passes_rescues_nothing() -> None:
    outcome = judge_power(power_trial(LOSS, FLAT), POWER)
    assert outcome.answer is Answer.CANNOT_TELL


def test_two_passes_in_different_words_are_the_less_favourable_pass() -> None:
    small = [x + (1.0 if letter == "B" else 0.0) for x, letter in zip(FLAT, "ABBABA", strict=True)]
    outcome = judge_power(power_trial(FLAT, small), POWER)
    assert outcome.answer is Answer.SMALL_LOSS
    assert "corrected_power_differs" in outcome.tags


def test_missing_corrected_power_is_marked() -> None:
    outcome = judge_power(power_trial(FLAT, [None, *FLAT[1:]]), POWER)
    assert "corrected_power_missing" in outcome.tags


def test_a_run_without_a_figure_is_left_out_and_named() -> None:
    outcome = judge_power(power_trial([*FLAT[:5], None]), POWER)
    assert outcome.runs["baseline"] == (1, 4)
    assert any("runs 6" in reason for reason in outcome.reasons)


def test_an_excluded_run_is_left_out_with_its_reason() -> None:
    base = power_trial([*FLAT[:5], 40.0])
    records = (*base.records[:5], replace(base.records[5], excluded="strap slipped"))
    outcome = judge_power(replace(base, records=records), POWER)
    assert outcome.answer is Answer.NO_LOSS_WITHIN
    assert "Run 6 was left out: strap slipped." in outcome.reasons


@pytest.mark.parametrize("role", [Role.WARM_UP, Role.LOADED, Role.CONTROL])
def test_only_runs_made_for_the_comparison_count(role: Role) -> None:
    base = power_trial([*FLAT[:5], 40.0])
    runs = (*base.reduced[:5], replace(base.reduced[5], role=role))
    assert judge_power(replace(base, reduced=runs), POWER).answer is Answer.NO_LOSS_WITHIN


def test_too_few_runs_say_how_many_would_do() -> None:
    wide = repeatability(Measure.WHEEL_POWER, 1.0)
    outcome = judge_power(power_trial([0.0, 0.6, 0.1]), wide)
    assert outcome.answer is Answer.CANNOT_TELL
    assert any(
        "About 10 runs in one new session, order A-B five times over (A without, B with), would"
        " exclude 2 % with 90 % chance" in reason
        for reason in outcome.reasons
    )


def test_one_pair_without_declared_drift_cannot_tell() -> None:
    outcome = judge_power(power_trial([0.0, 0.0]), POWER)
    assert outcome.answer is Answer.CANNOT_TELL
    assert outcome.upper is None


def test_one_pair_with_everything_declared_says_what_it_rests_on() -> None:
    declared = repeatability(Measure.WHEEL_POWER, 0.3, drift_per_run=0.1)
    outcome = judge_power(power_trial([0.0, 0.0]), declared)
    assert outcome.answer is Answer.NO_LOSS_WITHIN
    assert "rests_on_declared_repeatability" in outcome.tags
    assert any("not on these runs" in reason for reason in outcome.reasons)


def test_a_measure_without_figures_was_not_tested() -> None:
    outcome = judge_return(power_trial(FLAT), RETURN)
    assert outcome.answer is Answer.NOT_TESTED


def test_baseline_and_kit_in_different_sessions_are_refused() -> None:
    base = power_trial(FLAT)
    runs = tuple(
        replace(run, session="tuesday") if run.configuration == KIT else run for run in base.reduced
    )
    assert judge_power(replace(base, reduced=runs), POWER).answer is Answer.REFUSED


def test_of_two_sessions_the_less_favourable_answer_stands() -> None:
    one, two = power_trial(FLAT), power_trial(LOSS)
    moved = tuple(replace(r, number=r.number + 10, session="tuesday") for r in two.reduced)
    both = replace(
        one,
        reduced=(*one.reduced, *moved),
        records=(*one.records, *(record(run) for run in moved)),
    )
    outcome = judge_power(both, POWER)
    assert outcome.answer is Answer.LOSS_BEYOND
    assert outcome.runs[KIT] == (12, 13, 15)
    assert any(
        "monday: loss inside the margin if there is any" in reason for reason in outcome.reasons
    )


def test_the_order_of_the_lists_does_not_matter() -> None:
    base = power_trial(LOSS)
    turned = replace(base, reduced=base.reduced[::-1], records=base.records[::-1])
    assert judge_power(turned, POWER) == judge_power(base, POWER)


def test_a_reduced_run_without_a_record_is_an_error() -> None:
    base = power_trial(FLAT)
    with pytest.raises(InputError, match=r"\[1\]"):
        replace(base, records=base.records[1:])


def return_trial(losses: list[float], **columns: list[float]) -> Trial:
    """Make a trial ABBABA with return figures."""
    return trial("ABBABA", return_loss_log_percent=losses, **columns)


def test_ten_percent_less_return_is_marked_whatever_the_statistics() -> None:
    noisy = repeatability(Measure.CAUGHT_RETURN, 30.0)
    losses = [0.0, 11.0, 10.9, 0.3, 11.2, 0.1]
    outcome = judge_return(return_trial(losses), noisy)
    assert outcome.answer is Answer.CANNOT_TELL
    assert DO_NOT_RELEASE_TAG in outcome.tags
    just_less = judge_return(return_trial([x * 0.94 for x in losses]), noisy)
    assert DO_NOT_RELEASE_TAG not in just_less.tags


def test_the_same_return_is_no_loss() -> None:
    outcome = judge_return(return_trial(FLAT), RETURN)
    assert outcome.answer is Answer.NO_LOSS_WITHIN
    assert outcome.margin == pytest.approx(5.1293, abs=1e-4)


def test_a_correction_common_to_all_runs_adds_nothing_and_one_for_the_kit_does() -> None:
    same = return_trial(
        FLAT,
        return_correction_log_percent=[2.0] * 6,
        return_correction_u_log_percent=[0.0] * 6,
    )
    kit_only = [2.0 if letter == "B" else 0.0 for letter in "ABBABA"]
    shifted = return_trial(
        FLAT,
        return_correction_log_percent=kit_only,
        return_correction_u_log_percent=[0.5 * x for x in kit_only],
    )
    assert judge_return(same, RETURN).figures["u_type_b"] == 0.0
    assert judge_return(shifted, RETURN).figures["u_type_b"] == pytest.approx(1.0)


def test_a_correction_of_unknown_uncertainty_leaves_no_limits_and_no_infinities() -> None:
    made = return_trial(
        FLAT,
        return_correction_log_percent=[1.0] * 6,
        return_correction_u_log_percent=[float("inf")] * 6,
    )
    outcome = judge_return(made, RETURN)
    assert outcome.answer is Answer.CANNOT_TELL
    assert "uncertainty_unknown" in outcome.tags
    unknown = (outcome.lower, outcome.upper, outcome.coverage_factor, outcome.flip_repeatability)
    assert unknown == (None, None, None, None)
    assert outcome.standard_uncertainty is None
    assert all(math.isfinite(value) for value in outcome.figures.values())


def test_a_line_opened_for_the_kit_must_bring_its_scatter() -> None:
    """The scatter of re-plumbing is in no run of one plumbing: undeclared it is a condition."""
    losses = [0.0, 0.1, 0.1, 0.0]
    opened = trial(
        "ABBA",
        power_loss_log_percent=losses,
        corrected_power_loss_log_percent=losses,
        setup=["stock", "kit", "kit", "stock"],
    )
    undeclared = judge_power(opened, POWER)
    declared = judge_power(opened, replace(POWER, setup_standard_deviation=0.4))
    loop = judge_power(
        trial("ABBA", power_loss_log_percent=losses, corrected_power_loss_log_percent=losses), POWER
    )

    assert SETUP_UNDECLARED_TAG in undeclared.tags
    assert SETUP_UNDECLARED_TAG not in declared.tags
    assert SETUP_UNDECLARED_TAG not in loop.tags
    # Two set-ups, weights of ABBA sum to -1 and +1 inside them: 0.4 sqrt 2 by hand.
    assert declared.figures["u_setup"] == pytest.approx(0.4 * 2.0**0.5)


def test_a_declared_bound_on_drift_is_added_linearly_and_a_standard_one_in_quadrature() -> None:
    """A-B alone: one place apart, so that the bound widens the limit by itself."""
    plain = replace(POWER, drift_per_run=1e-12)
    runs = trial(
        "AB", power_loss_log_percent=[0.0, 0.2], corrected_power_loss_log_percent=[0.0, 0.2]
    )
    bare, bound, quadrature = (
        judge_power(runs, declared)
        for declared in (
            plain,
            replace(POWER, drift_bound_per_run=0.3),
            replace(POWER, drift_per_run=0.3),
        )
    )

    assert bound.upper - bare.upper == pytest.approx(0.3)
    assert bare.lower - bound.lower == pytest.approx(0.3)
    assert 0.0 < quadrature.upper - bare.upper < 0.3
    assert "drift_declared" in bound.tags
    assert bound.figures["drift_bound"] == pytest.approx(0.3)
