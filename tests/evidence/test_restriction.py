"""
Depression promises: what is added, and a limit that holds only where it can be shown to hold.

Figures are invented.  Trade fact: without a limit from the pump's maker nothing passes.
"""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.evidence.release import passes
from feedproof.evidence.restriction import (
    NO_WORST_TAG,
    VEHICLE_ITSELF_TAG,
    WorstCase,
    judge_restriction,
)
from feedproof.evidence.trial import Trial
from tests.evidence.evidence_sessions import repeatability, trial

ORDER = "ABBABA"
SCATTER = repeatability(Measure.INLET_DEPRESSION, 200.0)
NOISE = [50.0, -60.0, 120.0, 20.0, -90.0, -40.0]
LIMIT = 50_500.0


def depression_trial(
    bare_pa: float = 15_000.0, added_pa: float = 4_000.0, censored: tuple[int, ...] = ()
) -> Trial:
    """Make a trial with a band mean and a largest depression 2 kPa above it."""
    mean = [
        bare_pa + (added_pa if letter == "B" else 0.0) + x
        for letter, x in zip(ORDER, NOISE, strict=True)
    ]
    return trial(
        ORDER,
        depression_mean_pa=mean,
        depression_max_pa=[x + 2_000.0 for x in mean],
        depression_censored=[i + 1 in censored for i in range(len(ORDER))],
    )


def judged(made: Trial, **changes: Any) -> Outcome:
    """Judge with a small gauge uncertainty and a known limit."""
    settings = {
        "type_b_difference_u_pa": 150.0,
        "type_b_absolute_u_pa": 600.0,
        "maker_limit_abs_pa": LIMIT,
        "worst": (good_cold(),),
        **changes,
    }
    return judge_restriction(made, SCATTER, **settings)


def good_cold() -> WorstCase:
    """Give a worst condition with plenty of room."""
    return WorstCase(name="0 degC", configuration_abs_pa=62e3, u_pa=2e3, baseline_abs_pa=66e3)


def test_the_added_depression_carries_its_two_sided_uncertainty() -> None:
    outcome = judged(depression_trial())
    assert outcome.estimate == pytest.approx(4_000.0, abs=300.0)
    u, dof = outcome.standard_uncertainty, outcome.degrees_of_freedom
    assert u is not None
    assert dof is not None
    assert outcome.figures["added_expanded_pa"] == pytest.approx(stats.t.ppf(0.975, dof) * u)


def test_the_limit_holds_with_room_to_spare() -> None:
    outcome = judged(depression_trial())
    assert outcome.answer is Answer.WITHIN_LIMIT
    assert outcome.margin == LIMIT
    # 101.0 - (15 + 4 + 2) kPa, and the room left by 101.0 - 50.5 = 50.5 kPa allowed.
    assert outcome.figures["inlet_abs_pa"] == pytest.approx(80_000.0, abs=150.0)
    assert outcome.figures["allowed_depression_pa"] == pytest.approx(50_500.0)
    share = outcome.figures["added_at_worst_speed_pa"] / outcome.figures["room_pa"]
    assert outcome.figures["room_share"] == pytest.approx(share)
    assert outcome.figures["room_pa"] < 50_500.0 - 17_000.0
    assert outcome.figures["room_share_upper"] > outcome.figures["room_share"]


def test_the_gauges_fixed_error_counts_for_the_limit_and_not_for_the_difference() -> None:
    near = depression_trial(bare_pa=43_000.0)
    fine, coarse = (judged(near, type_b_absolute_u_pa=u) for u in (50.0, 1_500.0))
    assert (fine.answer, coarse.answer) == (Answer.WITHIN_LIMIT, Answer.CANNOT_TELL)
    assert fine.standard_uncertainty == coarse.standard_uncertainty


def test_a_kit_that_takes_the_inlet_below_the_limit_is_beyond_it() -> None:
    outcome = judged(depression_trial(added_pa=40_000.0))
    assert outcome.answer is Answer.BEYOND_LIMIT
    assert VEHICLE_ITSELF_TAG not in outcome.tags


def test_a_vehicle_that_breaks_the_limit_itself_does_not_blame_the_kit() -> None:
    outcome = judged(depression_trial(bare_pa=55_000.0))
    assert outcome.answer is Answer.BEYOND_LIMIT
    assert VEHICLE_ITSELF_TAG in outcome.tags
    assert any("the kit is not to blame" in reason for reason in outcome.reasons)


def test_the_share_of_the_room_at_a_worst_condition_is_that_of_the_vehicle_without_a_kit() -> None:
    """By hand: 66 - 62 kPa of 66 - 50.5 kPa; where the vehicle breaks the limit there is none."""
    broken = WorstCase(name="4000 m", configuration_abs_pa=40e3, u_pa=2e3, baseline_abs_pa=45e3)
    figures = judged(depression_trial(), worst=(good_cold(), broken)).figures

    assert figures["worst share: 0 degC"] == pytest.approx(4.0 / 15.5)
    assert "worst share: 4000 m" not in figures


def test_a_worst_condition_that_the_kit_breaks_counts() -> None:
    cold = WorstCase(name="-5 degC", configuration_abs_pa=44e3, u_pa=2e3, baseline_abs_pa=56e3)
    outcome = judged(depression_trial(), worst=(good_cold(), cold))
    assert outcome.answer is Answer.BEYOND_LIMIT
    assert "-5 degC" in outcome.reasons[0]


def test_a_worst_condition_near_the_limit_cannot_be_told() -> None:
    near = WorstCase(name="2500 m", configuration_abs_pa=51e3, u_pa=2e3, baseline_abs_pa=56e3)
    assert judged(depression_trial(), worst=(near,)).answer is Answer.CANNOT_TELL


def test_the_guard_band_of_a_prediction_is_one_sided() -> None:
    # 1.645 u, the 95 % point of the normal law (any table).
    for pressure, answer in ((3_280.0, Answer.CANNOT_TELL), (3_300.0, Answer.WITHIN_LIMIT)):
        case = WorstCase(
            name="cold", configuration_abs_pa=LIMIT + pressure, u_pa=2e3, baseline_abs_pa=60e3
        )
        assert judged(depression_trial(), worst=(case,)).answer is answer


def test_without_predictions_the_limit_holds_at_the_test_only_and_says_so() -> None:
    outcome = judged(depression_trial(), worst=())
    assert outcome.answer is Answer.WITHIN_LIMIT
    assert NO_WORST_TAG in outcome.tags


def test_without_a_makers_limit_nothing_passes() -> None:
    outcome = judged(depression_trial(added_pa=0.0), maker_limit_abs_pa=None)
    assert outcome.answer is Answer.NO_LIMIT_KNOWN
    assert not passes(outcome)
    assert outcome.estimate is not None
    assert "own baseline only" in outcome.reasons[0]


@pytest.mark.parametrize("run", [2, 3, 5])
def test_a_sensor_at_its_ceiling_never_shows_that_the_limit_holds(run: int) -> None:
    outcome = judged(depression_trial(censored=(run,)))
    assert outcome.answer is Answer.CANNOT_TELL
    assert outcome.upper is None
    assert "censored_lower_bound" in outcome.tags
    assert "added_expanded_pa" not in outcome.figures


def test_a_lower_bound_beyond_the_limit_is_beyond_it() -> None:
    outcome = judged(depression_trial(added_pa=40_000.0, censored=(2, 3, 5)))
    assert outcome.answer is Answer.BEYOND_LIMIT


@pytest.mark.parametrize("limit", [LIMIT, None])
def test_a_run_at_the_ceiling_without_a_mean_leaves_no_firm_figure(limit: float | None) -> None:
    """The other runs of the kit are its mildest ones: their mean alone would flatter it."""
    firm = depression_trial(added_pa=30_000.0)
    reduced = tuple(
        replace(run, depression_mean_pa=None, depression_censored=True) if run.number == 3 else run
        for run in firm.reduced
    )
    bad = WorstCase(name="hot", configuration_abs_pa=30e3, u_pa=2e3, baseline_abs_pa=66e3)

    whole = judged(firm, worst=(bad,), maker_limit_abs_pa=limit)
    outcome = judged(replace(firm, reduced=reduced), worst=(bad,), maker_limit_abs_pa=limit)

    assert whole.upper is not None
    assert outcome.answer is whole.answer
    assert "censored_lower_bound" in outcome.tags
    assert outcome.upper is None
    assert not {"added_expanded_pa", "room_share_upper"} & set(outcome.figures)
    # The bound of the run at its ceiling counts in the mean pressure.
    same = pytest.approx(whole.figures["inlet_abs_pa"])
    assert outcome.figures["inlet_abs_pa"] == same


def test_a_baseline_run_at_the_ceiling_without_a_mean_leaves_no_added_figure() -> None:
    made = depression_trial()
    first = replace(made.reduced[0], depression_mean_pa=None, depression_censored=True)
    outcome = judged(replace(made, reduced=(first, *made.reduced[1:])))
    assert outcome.estimate is None


def test_a_baseline_at_the_ceiling_leaves_no_added_figure() -> None:
    outcome = judged(depression_trial(censored=(1,)))
    assert outcome.estimate is None
    assert "room_share" not in outcome.figures
    assert outcome.answer is Answer.WITHIN_LIMIT


def test_another_factory_element_is_refused() -> None:
    made = depression_trial()
    records = (replace(made.records[0], elements={"factory_filter": "F-9"}), *made.records[1:])
    assert judged(replace(made, records=records)).answer is Answer.REFUSED


def test_corrections_that_differ_by_more_than_they_can_carry_are_refused() -> None:
    made = depression_trial()
    runs = tuple(
        replace(run, depression_correction_pa=900.0, depression_correction_u_pa=1500.0)
        if run.configuration != "baseline"
        else run
        for run in made.reduced
    )

    assert judged(replace(made, reduced=runs)).answer is Answer.REFUSED


def test_a_difference_of_the_corrections_widens_the_difference() -> None:
    made = depression_trial()
    runs = tuple(
        replace(run, depression_correction_pa=200.0, depression_correction_u_pa=80.0)
        if run.configuration != "baseline"
        else run
        for run in made.reduced
    )
    outcome = judged(replace(made, reduced=runs))
    assert outcome.figures["u_type_b"] == pytest.approx((150.0**2 + 80.0**2) ** 0.5)


def test_a_depression_that_falls_is_suspect() -> None:
    reasons = judged(depression_trial(added_pa=-4_000.0)).reasons
    assert any("suspect order, drift or correction" in reason for reason in reasons)


@given(
    bare=st.floats(10e3, 60e3),
    added=st.floats(0.0, 20e3),
    u=st.floats(1.0, 4e3),
    more=st.floats(1.0, 5.0),
    cold=st.floats(40e3, 70e3),
)
def test_more_uncertainty_never_makes_the_limit_hold(
    bare: float, added: float, u: float, more: float, cold: float
) -> None:
    made = depression_trial(bare_pa=bare, added_pa=added)

    def at(factor: float) -> Outcome:
        case = WorstCase(
            name="cold", configuration_abs_pa=cold, u_pa=u * factor, baseline_abs_pa=cold + 5e3
        )
        return judged(made, type_b_absolute_u_pa=u * factor, worst=(case,))

    assert passes(at(1.0)) or not passes(at(more))
