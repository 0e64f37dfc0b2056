"""
What does not matter changes nothing, and what adds doubt never helps: the deciding half.

Figures are invented; limits in closed form where there is one.  The chain from log files to words
is tried in tests/app/test_chain_invariances.py; permuted and doubled rows before reduction are
refused in test_reduce.py.
"""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.case.run import Channel, ChannelMap, Instrument
from feedproof.evidence.answers import judge_power, judge_return
from feedproof.evidence.archive import Archive
from feedproof.evidence.bins import bin_edges, bin_means
from feedproof.evidence.comparison import Comparison, compare
from feedproof.evidence.curve import compare_curve
from feedproof.evidence.limits import coverage
from feedproof.evidence.rail import judge_rail
from feedproof.evidence.reduce import reduce_session
from feedproof.evidence.release import decide_release, passes
from feedproof.evidence.restriction import judge_restriction
from feedproof.evidence.trial import Trial
from tests.evidence.evidence_sessions import KIT, repeatability, trial
from tests.evidence.run_logs import SENSITIVITIES, Plan, logs_of, make_case, make_run

ORDER = "ABBABA"
FLAGS = np.array([letter == "B" for letter in ORDER])
PLACES = np.arange(float(len(ORDER)))
SETUPS = ["a", "b", "b", "c", "d", "e"]
SCATTER = [0.1, 0.4, -0.2, 0.3, 0.2, -0.1]
POWER = repeatability(Measure.WHEEL_POWER, 0.5)
RETURN = repeatability(Measure.CAUGHT_RETURN, 1.0)
DEPRESSION = repeatability(Measure.INLET_DEPRESSION, 200.0)
LIMIT_PA = 50_500.0

losses = st.lists(
    st.floats(-5.0, 5.0, allow_nan=False).map(lambda x: round(x, 6)), min_size=6, max_size=6
).filter(lambda found: len(set(found)) > 1)
uncertainties = st.floats(0.0, 4.0)


def full_trial(**columns: list[Any]) -> Trial:
    """Make a trial in which everything was measured and passes."""
    mean = [15_000.0 + 4_000.0 * flag + 200.0 * x for flag, x in zip(FLAGS, SCATTER, strict=True)]
    filled: dict[str, list[Any]] = {
        "power_loss_log_percent": SCATTER,
        "corrected_power_loss_log_percent": SCATTER,
        "return_loss_log_percent": SCATTER,
        "depression_mean_pa": mean,
        "depression_max_pa": [x + 2_000.0 for x in mean],
        "rail_shortfall_s": [0.0] * len(ORDER),
        "rail_shortfall_pa": [0.0] * len(ORDER),
    }
    return trial(ORDER, **(filled | columns))


def all_outcomes(made: Trial, type_b: float = 0.0) -> tuple[Outcome, ...]:
    """Judge every measure; ``type_b`` in log-percent, in kPa for the depression."""
    return (
        judge_power(made, POWER, type_b_u_percent=type_b),
        judge_return(made, RETURN, type_b_u_percent=type_b),
        judge_restriction(
            made,
            DEPRESSION,
            type_b_difference_u_pa=150.0 + 1e3 * type_b,
            type_b_absolute_u_pa=600.0 + 1e3 * type_b,
            maker_limit_abs_pa=LIMIT_PA,
        ),
        judge_rail(made),
    )


def compared(values: list[float], flags: np.ndarray = FLAGS, **changes: Any) -> Comparison:
    """Compare six runs with everything declared."""
    declared: dict[str, Any] = {
        "archive": Archive(standard_deviation=1.0, degrees_of_freedom=8.0),
        "margin": 2.0,
        **changes,
    }
    return compare(np.array(values), flags, PLACES, SETUPS, **declared)


# --- what does not matter ---------------------------------------------------------------------


@given(order=st.permutations(range(8)), doubled=st.booleans())
@settings(max_examples=25, deadline=None)
def test_samples_of_a_reduced_run_permuted_or_doubled_change_no_answer(
    order: list[int], doubled: bool
) -> None:
    made = full_trial()
    places = [*order, *order] if doubled else order
    curve = np.linspace(50e3, 90e3, 8)
    runs = [replace(run, wheel_power_w=curve, depression_pa=curve / 4.0) for run in made.reduced]
    mixed = [
        replace(
            run, wheel_power_w=run.wheel_power_w[places], depression_pa=run.depression_pa[order]
        )
        for run in runs
    ]
    before, after = (all_outcomes(replace(made, reduced=tuple(each))) for each in (runs, mixed))
    assert after == before


@given(order=st.permutations(range(6)), records=st.permutations(range(6)))
@settings(max_examples=25, deadline=None)
def test_the_order_in_which_runs_and_records_are_kept_changes_nothing(
    order: list[int], records: list[int]
) -> None:
    made = full_trial()
    mixed = replace(
        made,
        reduced=tuple(made.reduced[k] for k in order),
        records=tuple(made.records[k] for k in records),
    )
    assert all_outcomes(mixed) == all_outcomes(made)


@pytest.mark.parametrize("factor", [0.5, 1.3, 1e3])
def test_power_of_all_runs_times_a_constant_changes_nothing_from_the_logs_on(factor: float) -> None:
    """A ratio of powers knows no scale: -100 ln(k P) is -100 ln P less a constant."""
    plans = [Plan(seed=n, power_factor=0.99 if n in (1, 2) else 1.0) for n in range(4)]
    runs = [make_run(n, plan, (KIT,) if n in (1, 2) else ()) for n, plan in enumerate(plans)]
    estimates = []
    for k in (1.0, factor):
        logs = {}
        for n, plan in enumerate(plans):
            cell, logger = logs_of(plan)
            power = k * cell.values[Channel.WHEEL_POWER]
            logs[n] = [replace(cell, values={**cell.values, Channel.WHEEL_POWER: power}), logger]
        reduced = reduce_session(runs, logs, make_case(), SENSITIVITIES)
        y = [run.power_loss_log_percent for run in reduced]
        assert None not in y
        estimates.append((y[1] + y[2] - y[0] - y[3]) / 2.0)
    assert estimates[1] == pytest.approx(estimates[0], abs=1e-9)
    assert estimates[0] == pytest.approx(-100.0 * math.log(0.99), abs=0.3)


@pytest.mark.parametrize("bias_pa", [-1500.0, 400.0, 3000.0])
def test_a_constant_bias_of_the_gauge_changes_no_difference_from_the_logs_on(
    bias_pa: float,
) -> None:
    added = []
    for bias in (0.0, bias_pa):
        plans = [
            Plan(seed=n, added_pa=2000.0 * (n in (1, 2)), bias_pa=bias, resolution_pa=1.0)
            for n in range(4)
        ]
        runs = [make_run(n, plan, (KIT,) if n in (1, 2) else ()) for n, plan in enumerate(plans)]
        logs = {n: logs_of(plan) for n, plan in enumerate(plans)}
        reduced = reduce_session(runs, logs, make_case(), SENSITIVITIES)
        d = [run.depression_mean_pa for run in reduced]
        assert None not in d
        added.append((d[1] + d[2] - d[0] - d[3]) / 2.0)
    # A step of the readings is 1 Pa.
    assert added[1] == pytest.approx(added[0], abs=0.5)


@given(values=losses, type_b=uncertainties, setup=uncertainties)
@settings(deadline=None)
def test_baseline_and_kit_swapped_mirror_the_limits(
    values: list[float], type_b: float, setup: float
) -> None:
    one = compared(values, type_b_u=type_b, setup_sd=setup)
    other = compared(values, ~FLAGS, type_b_u=type_b, setup_sd=setup)
    wanted = (-one.estimate, -one.upper, -one.lower)
    close = 1e-12 * (1.0 + abs(one.upper) + abs(one.lower))
    assert (other.estimate, other.lower, other.upper) == pytest.approx(wanted, abs=close)


@pytest.mark.parametrize("with_archives", [True, False])
def test_a_curve_swapped_mirrors_its_bands(with_archives: bool) -> None:
    values = np.random.default_rng(5).normal(size=(6, 8))
    archives = [Archive(standard_deviation=1.0, degrees_of_freedom=8.0)] * 8
    one, other = (
        compare_curve(values, flags, PLACES, SETUPS, archives=archives if with_archives else None)
        for flags in (FLAGS, ~FLAGS)
    )
    assert other.drawn_lower == pytest.approx(-one.drawn_upper, abs=1e-12)
    assert other.upper == pytest.approx(-one.lower, abs=1e-12)


@given(st.lists(st.integers(0, 8), min_size=200, max_size=200), st.integers(0, 2**32))
@settings(max_examples=25, deadline=None)
def test_the_last_digit_of_a_speed_on_an_edge_moves_no_sample(steps: list[int], seed: int) -> None:
    """Edges are round speeds, and so are a log's: a change of units there and back is not exact."""
    edges = bin_edges(50.0 / 3.6, 90.0 / 3.6, 8)
    speed = edges[np.array(steps)]
    rng = np.random.default_rng(seed)
    values, time_s = rng.normal(size=speed.size), np.arange(speed.size) * 0.05
    usable = np.ones(speed.size, dtype=bool)
    before = bin_means(time_s, speed, values, usable, edges)
    shaken = speed * (1.0 + rng.uniform(-4e-12, 4e-12, speed.size))
    after = bin_means(time_s, shaken, values, usable, edges)
    assert after.present.tolist() == before.present.tolist()


# --- what was not measured, or not wholly -----------------------------------------------------


@given(censored=st.sets(st.integers(1, 6), min_size=1))
@settings(deadline=None)
def test_a_sensor_at_its_ceiling_in_any_runs_never_supports_a_pass(censored: set[int]) -> None:
    made = full_trial(depression_censored=[n in censored for n in range(1, 7)])
    outcome = all_outcomes(made)[2]
    if any(FLAGS[n - 1] for n in censored):
        assert not passes(outcome)
        assert outcome.answer is not Answer.WITHIN_LIMIT
    else:
        assert outcome.figures.get("added_pa") is None
    assert passes(all_outcomes(full_trial())[2])


@given(censored=st.sets(st.integers(1, 6), min_size=1), gone=st.booleans())
@settings(deadline=None)
def test_figures_lost_to_the_ceiling_never_turn_into_a_pass(censored: set[int], gone: bool) -> None:
    whole = full_trial()
    mean = [
        None if gone and run.number in censored else run.depression_mean_pa for run in whole.reduced
    ]
    made = full_trial(
        depression_censored=[n in censored for n in range(1, 7)], depression_mean_pa=mean
    )
    if any(FLAGS[n - 1] for n in censored):
        assert not passes(all_outcomes(made)[2])


@pytest.mark.parametrize("ceiling_w", [88e3, 91e3, 91.9e3, 92.5e3, 93.5e3, 120e3])
def test_a_roller_at_its_ceiling_never_hides_a_loss_of_power(ceiling_w: float) -> None:
    """
    A planted loss of 5 % stays one, or there is no figure.

    Samples at the ceiling are no measurement; the mean of those that are left in such a bin is too
    low, most of all for the baseline, whose power is higher: the loss would look smaller.
    """
    power = ChannelMap(
        channel=Channel.WHEEL_POWER, column="p", ceiling=ceiling_w, floor=-5e3, resolution=10.0
    )
    cell = Instrument(id="cell", title="", channels=(power,))
    case = make_case()
    case = replace(case, instruments={**case.instruments, "cell": cell})
    plans = [
        Plan(seed=n, power_factor=0.95 if n in (1, 2) else 1.0, power_noise=0.02) for n in range(4)
    ]
    runs = [make_run(n, plan, (KIT,) if n in (1, 2) else ()) for n, plan in enumerate(plans)]
    logs = {}
    for n, plan in enumerate(plans):
        log, logger = logs_of(plan)
        shown = np.minimum(log.values[Channel.WHEEL_POWER], ceiling_w)
        logs[n] = [replace(log, values={**log.values, Channel.WHEEL_POWER: shown}), logger]
    y = [run.power_loss_log_percent for run in reduce_session(runs, logs, case, SENSITIVITIES)]
    if None not in y:
        # 2 % of noise in some 250 samples a run: 0.13 for a difference of two means.
        found = (y[1] + y[2] - y[0] - y[3]) / 2.0
        assert found == pytest.approx(-100.0 * math.log(0.95), abs=0.4)
    assert None not in y or ceiling_w < 100e3


@pytest.mark.parametrize(
    ("columns", "place"),
    [
        (("power_loss_log_percent",), 0),
        (("return_loss_log_percent",), 1),
        (("depression_mean_pa", "depression_max_pa"), 2),
        (("rail_shortfall_s", "rail_shortfall_pa"), 3),
    ],
    ids=["power", "return", "depression", "rail"],
)
@pytest.mark.parametrize("who", ["nobody", "the kit"])
def test_a_measure_that_was_not_measured_is_not_tested(
    columns: tuple[str, ...], place: int, who: str
) -> None:
    made = full_trial()
    empty = {
        name: [
            None if who == "nobody" or made.is_candidate(run) else getattr(run, name)
            for run in made.reduced
        ]
        for name in columns
    }
    outcomes = all_outcomes(full_trial(**empty))
    assert outcomes[place].answer is Answer.NOT_TESTED
    assert not passes(outcomes[place])
    assert outcomes[place].estimate is None
    others = [each for n, each in enumerate(outcomes) if n != place]
    assert all(map(passes, others))
    verdict = decide_release(KIT, outcomes)
    named = outcomes[place].measure.value.replace("_", " ")
    assert named in verdict.not_tested
    assert not verdict.every_measure_passed


# --- doubt never helps ------------------------------------------------------------------------


@pytest.mark.parametrize("probability", [0.95, 0.975, 0.98, 1.0 - 0.05 / 16])
@pytest.mark.parametrize("dof", [0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 9.0, 50.0, math.inf])
def test_no_limit_narrows_anywhere_as_an_uncertainty_grows(dof: float, probability: float) -> None:
    grid = np.concatenate([[0.0], np.geomspace(1e-4, 1e3, 4000)])
    half = np.array([coverage(1.0, dof, float(u), probability)[0] for u in grid])
    assert (np.diff(half) >= -1e-12 * half[1:]).all()


@given(values=losses, first=uncertainties, more=uncertainties, name=st.sampled_from(range(2)))
@settings(deadline=None)
def test_an_added_uncertainty_never_makes_a_comparison_pass(
    values: list[float], first: float, more: float, name: int
) -> None:
    key = ("type_b_u", "setup_sd")[name]
    before, after = (compared(values, **{key: u}) for u in (first, first + more))
    good = (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)
    assert before.answer in good or after.answer not in good
    # The last digits of a quantile at 3 and at 3 + 1e-30 degrees of freedom may differ.
    rounding = 1e-12 * (1.0 + abs(before.upper) + abs(before.lower))
    assert after.upper >= before.upper - rounding
    assert after.lower <= before.lower + rounding


@given(
    values=st.lists(st.floats(-3.0, 3.0), min_size=2, max_size=2),
    first=uncertainties,
    more=uncertainties,
    key=st.sampled_from(["drift_per_run", "drift_bound_per_run"]),
)
@settings(deadline=None)
def test_more_declared_drift_never_makes_a_single_pair_pass(
    values: list[float], first: float, more: float, key: str
) -> None:
    archive = Archive(standard_deviation=0.4, degrees_of_freedom=8.0)
    base = 0.01 + first
    before, after = (
        compare(
            np.array(values),
            np.array([False, True]),
            np.arange(2.0),
            ["a", "a"],
            archive=archive,
            margin=2.0,
            **{key: u},  # type: ignore[arg-type]
        )
        for u in (base, base + more)
    )
    assert after.upper >= before.upper - 1e-12 * (1.0 + abs(before.upper))


@given(shift=st.floats(-1.0, 4.0), first=st.floats(0.0, 1.0), more=st.floats(0.0, 2.0))
@settings(max_examples=60, deadline=None)
def test_an_added_uncertainty_never_makes_a_measure_or_a_release_pass(
    shift: float, first: float, more: float
) -> None:
    moved = [x + shift * flag for x, flag in zip(SCATTER, FLAGS, strict=True)]
    made = full_trial(
        power_loss_log_percent=moved,
        corrected_power_loss_log_percent=[0.8 * x for x in moved],
        return_loss_log_percent=moved,
    )
    before, after = (all_outcomes(made, u) for u in (first, first + more))
    for one, other in zip(before, after, strict=True):
        assert passes(one) or not passes(other), one.measure
    good = [decide_release(KIT, each).every_measure_passed for each in (before, after)]
    assert good[0] or not good[1]


def test_only_the_check_of_the_archive_lets_a_larger_figure_narrow_a_limit() -> None:
    """
    A known exception, inside the method: an archive that the runs contradict is dropped.

    Just above the contradiction it is taken, and the pooled scatter with more degrees of freedom
    is narrower than that of the runs alone.  F(0.95; 3, 8) = 4.0662, any table.
    """
    values = [0.0, 1.5, -1.0, 0.5, 1.0, -1.2]
    own = compared(values, archive=None)
    assert own.repeatability is not None
    edge = own.repeatability / math.sqrt(4.0662)
    below, above = (
        compared(values, archive=Archive(standard_deviation=edge * k, degrees_of_freedom=8.0))
        for k in (0.999, 1.001)
    )
    assert "archive_dropped" in below.tags
    assert "archive_dropped" not in above.tags
    assert above.upper < below.upper
    # On either side of it a larger declared figure widens the limits or leaves them.
    for low in (0.3, 1.001, 1.5):
        smaller, larger = (
            compared(values, archive=Archive(standard_deviation=s, degrees_of_freedom=8.0))
            for s in (edge * low, edge * low * 1.2)
        )
        assert larger.upper >= smaller.upper
