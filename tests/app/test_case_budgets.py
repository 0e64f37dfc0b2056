"""
A case's instruments reach its answers, each measure of its own and nothing twice.

The runs are the demonstration's; what is declared of its instruments is changed. All data are
invented.
"""

import math
from dataclasses import replace

import pytest

from feedproof.app import shown_budgets
from feedproof.app.case_budgets import added_depression_of, pair_of
from feedproof.app.catching import amount_key
from feedproof.app.return_budgets import return_losses_of
from feedproof.app.shown_budgets import type_b_of
from feedproof.case.margin import Measure
from feedproof.case.measures import Balance
from feedproof.case.run import Role
from feedproof.evidence.budget.doubt import Evaluation
from feedproof.evidence.budget.measurand import linear_budget
from feedproof.evidence.caught import return_at_15c, unlike_catches
from feedproof.report.budget_tables import budget_table
from tests.app.conftest import judged, outcome_of

KIT = (("secondary",), Role.COMPARE)


def type_b(demo, case):
    """Give what instruments add to the secondary's answers."""
    return type_b_of(case, demo.proof.runs, *KIT)


def weighed(demo):
    """Give the demonstration with every catch weighed on a balance that reads true."""
    balance = Balance(id="scales", error_kg=2e-3, step_kg=1e-3)
    runs = []
    for run in demo.case.runs:
        caught = run.caught_return
        if caught is not None:
            fuel = demo.case.fuels[run.fuel]
            mass = return_at_15c(caught, fuel) * fuel.density_15c_kg_per_m3 * caught.duration_s
            caught = replace(
                caught, volume_m3=None, temperature_k=None, mass_kg=mass, measure="scales"
            )
        runs.append(replace(run, caught_return=caught))
    measures = {**demo.case.measures, "scales": balance}
    return replace(demo.case, runs=tuple(runs), measures=measures)


def test_the_proof_shows_each_budget_with_its_simulation(demo) -> None:
    names = [budget.quantity for budget in demo.proof.budgets]

    assert names == [
        "depression at the pump inlet",
        "added depression, one gauge",
        "return flow by volume",
        "loss of return, one jug",
        "wheel power",
        "wheel power corrected to reference air",
        "loss of wheel power, one roller",
    ]
    for budget in demo.proof.budgets:
        table = budget_table(budget)
        assert budget.monte_carlo is not None
        assert budget.monte_carlo.stable, budget.quantity
        assert len(table.rows) == len(budget.lines) + 2
        assert {len(row) for row in table.rows} == {len(table.head)}


def test_a_scatter_of_runs_is_counted_once(demo) -> None:
    """The step of the sensor, far below the scatter, is in it and stands in no line."""
    added = next(b for b in demo.proof.budgets if b.quantity == "added depression, one gauge")

    kinds = [line.evaluation for line in added.lines]
    assert kinds.count(Evaluation.A) == 1
    assert not [line for line in added.lines if line.symbol.startswith("step")]
    declared = demo.case.repeatability[Measure.INLET_DEPRESSION].standard_deviation
    assert added.lines[0].contribution == pytest.approx(declared * math.sqrt(2.0 / 3.0))


def test_a_step_that_the_scatter_cannot_hold_is_counted(demo) -> None:
    def coarse(entry):
        return entry if entry.resolution is None else replace(entry, resolution=5000.0)

    logger = demo.case.instruments["logger"]
    logger = replace(logger, channels=tuple(coarse(each) for each in logger.channels))
    case = replace(demo.case, instruments={**demo.case.instruments, "logger": logger})

    step = 5000.0 / math.sqrt(12.0) * math.sqrt(2.0 / 3.0)
    found = type_b(demo, case).added_pa
    assert found == pytest.approx(math.hypot(type_b(demo, demo.case).added_pa, step), rel=1e-3)


def test_drift_of_the_roller_is_in_the_answer_on_power(demo) -> None:
    """Limit 1 %: 100 * 0.01 / sqrt 3 log-percent beside the scatter (by hand)."""
    cell = demo.case.instruments["cell"]
    drifting = replace(cell, roller=replace(cell.roller, drift_fraction=0.01))
    case = replace(demo.case, instruments={**demo.case.instruments, "cell": drifting})
    u = type_b(demo, case).power_percent
    before = outcome_of(demo.proof, "secondary", Measure.WHEEL_POWER)
    after = outcome_of(judged(case, demo.logs), "secondary", Measure.WHEEL_POWER)

    assert u == pytest.approx(1.0 / math.sqrt(3.0), rel=1e-3)
    old = type_b(demo, demo.case).power_percent
    grown = math.sqrt(before.standard_uncertainty**2 - old**2 + u**2)
    assert after.standard_uncertainty == pytest.approx(grown, rel=1e-6)
    assert after.estimate == before.estimate


def test_two_gauges_add_both_their_classes(demo) -> None:
    other = replace(demo.case.instruments["logger"], id="other")
    runs = tuple(
        replace(
            run,
            logs=tuple(
                replace(log, instrument="other") if log.instrument == "logger" else log
                for log in run.logs
            ),
        )
        if run.kits == ("secondary",)
        else run
        for run in demo.case.runs
    )
    case = replace(demo.case, runs=runs, instruments={**demo.case.instruments, "other": other})
    measurand = added_depression_of(case, pair_of(case, demo.proof.runs, *KIT))

    assert measurand is not None
    assert measurand.quantity == "added depression, two gauges"
    one_class = 0.006 * 42e3 / math.sqrt(3.0)
    assert linear_budget(measurand).standard_uncertainty > math.sqrt(2.0) * one_class


def test_weighed_catches_give_the_same_answer_as_their_volumes(demo) -> None:
    """The masses are those of the volumes, so that nothing but the budget may change."""
    case = weighed(demo)
    proof = judged(case, demo.logs)
    by_volume = outcome_of(demo.proof, "secondary", Measure.CAUGHT_RETURN)
    by_mass = outcome_of(proof, "secondary", Measure.CAUGHT_RETURN)

    assert by_mass.answer is by_volume.answer
    assert by_mass.estimate == pytest.approx(by_volume.estimate, abs=1e-9)
    names = [budget.quantity for budget in proof.budgets]
    assert "return flow by weighing" in names
    assert "loss of return, one balance" in names
    pair = pair_of(case, demo.proof.runs, *KIT)
    assert len(return_losses_of(case, pair)) == 1


def test_a_volume_and_a_mass_are_not_compared(demo) -> None:
    """A jug's error does not cancel against a balance's."""
    mixed = {
        run.number: (one if run.kits else run).caught_return
        for run, one in zip(demo.case.runs, weighed(demo).runs, strict=True)
        if run.session == "secondary" and run.caught_return is not None
    }
    odd, findings = unlike_catches(mixed, "secondary")

    assert odd
    assert "measure" in findings[0].message


def test_what_a_case_does_not_declare_is_named_in_its_result(demo) -> None:
    bare = {
        name: replace(each, roller=None, gauge_place_error_m=None, gauge_again_error_m=None)
        for name, each in demo.case.instruments.items()
    }
    case = replace(demo.case, instruments=bare, measures={})
    said = {
        line
        for budget in shown_budgets.shown_budgets(case, demo.proof.runs)
        for line in budget.assumptions
    }

    for words in ("the jug", "start of the watch", "torque of the roller", "drift of the roller"):
        assert [line for line in said if line.startswith(words)], words
    assert all("common practice" in line for line in said)


def test_a_catch_as_short_as_its_watch_is_off_breaks_nothing(demo) -> None:
    """Half a second caught with presses off by 0.2 s: some draws have no time left at all."""
    runs = tuple(
        replace(run, caught_return=replace(run.caught_return, duration_s=0.5))
        if run.caught_return
        else run
        for run in demo.case.runs
    )
    found = shown_budgets.shown_budgets(replace(demo.case, runs=runs), demo.proof.runs)
    by_name = {budget.quantity: budget for budget in found}

    loss = by_name["return flow by volume"]
    assert loss.standard_uncertainty > 0.1 * loss.value
    whole = return_losses_of(demo.case, pair_of(demo.case, demo.proof.runs, *KIT))[0]
    cut = {name: 0.5 for name, _ in whole.fixed if name.startswith("duration")}
    fixed = tuple((name, cut.get(name, value)) for name, value in whole.fixed)
    short = shown_budgets._simulated(replace(whole, fixed=fixed))

    assert short.monte_carlo is None
    assert "Not simulated" in budget_table(short).note


def test_a_mass_is_told_from_a_volume_by_its_unit() -> None:
    assert amount_key("1.19kg") == "mass"
    assert amount_key("1.42L") == "volume"
    assert amount_key("") == "volume"
