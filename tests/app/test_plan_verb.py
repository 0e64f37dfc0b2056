"""
`feedproof plan`: the answer first, a document, a sheet, and every mistake at once.

Outside checks: powers of the demonstration's settings (0.5 % repeatability, 2 % margin, 8 degrees
of freedom) from an independent simulation, and a new simulation by numpy and scipy here.
"""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import numpy as np
import pytest
from scipy import stats

import feedproof
from feedproof.app.cli import main
from feedproof.app.configurations import circuit_for
from feedproof.app.plan_result import MeasurePlan, SessionPlan
from feedproof.app.plan_sheet import run_sheet
from feedproof.app.plan_text import plan_text
from feedproof.app.planning import plan_case
from feedproof.app.schemas import schema
from feedproof.case.case import Case
from feedproof.case.line import Insertion, Kit
from feedproof.case.margin import Measure
from feedproof.case.parts import Orifice
from feedproof.case.vehicle import Topology
from feedproof.core.errors import InputError
from feedproof.feedline.pull import predict_pull
from feedproof.records.folder import CaseFolder
from tests.app.conftest import copied
from tests.app.test_network_case import network_text

SIMULATED = {"ABA": 0.91, "ABBA": 0.93, "ABABAB": 0.99, "ABABABABAB": 1.0}


@pytest.fixture
def folder(demo: SimpleNamespace, tmp_path: Path) -> CaseFolder:
    """Copy the demonstration."""
    return copied(demo.folder, tmp_path / "case")


@pytest.fixture(scope="module")
def planned(demo: SimpleNamespace) -> SessionPlan:
    """Plan the demonstration's secondary filter with three of each."""
    return plan_case(demo.case, kits=("secondary",), runs_each=3)


def of(plan: SessionPlan, measure: Measure) -> MeasurePlan:
    return next(each for each in plan.measures if each.measure is measure)


@pytest.mark.parametrize(("runs_each", "order"), [(1, "ABA"), (2, "ABBA"), (3, "ABABAB")])
def test_the_demonstration_is_promised_what_simulation_finds(
    demo: SimpleNamespace, runs_each: int, order: str
) -> None:
    plan = plan_case(demo.case, kits=("secondary",), runs_each=runs_each)
    power = of(plan, Measure.WHEEL_POWER)

    assert plan.order == order
    assert power.repeatability == pytest.approx(0.5)
    assert power.planned.chance_checked == pytest.approx(SIMULATED[order], abs=0.02)


def test_sessions_simulated_with_the_demonstrations_order_pass_as_often_as_promised(
    planned: SessionPlan,
) -> None:
    """Its 0.5 %, its 2 % margin, a drift; standard error 0.002."""
    noise, n = np.random.default_rng(17), 20_000
    power = of(planned, Measure.WHEEL_POWER)
    kit = np.array([float(each == "B") for each in planned.order])
    x = np.stack([np.ones(kit.size), kit, np.arange(kit.size) - (kit.size - 1) / 2], axis=1)
    inverse = np.linalg.pinv(x)
    y = 0.5 * noise.normal(size=(n, kit.size)) - 0.3 * np.arange(kit.size)
    beta = y @ inverse.T
    own = np.square(y - beta @ x.T).sum(axis=1)
    s0 = 0.25 * noise.chisquare(8, n) / 8
    dof = kit.size - 3
    clash = stats.f.sf(own / dof / s0, dof, 8) < 0.05
    variance = np.where(clash, own / dof, (8 * s0 + own) / (8 + dof))
    k = stats.t.ppf(0.95, np.where(clash, dof, 8 + dof))
    passed = np.mean(beta[:, 1] + k * np.sqrt(variance * (inverse[1] @ inverse[1])) < 2.0203)

    assert power.planned.chance_checked == pytest.approx(float(passed), abs=0.01)


def test_the_first_two_sentences_say_what_to_drive_and_what_it_can_tell(
    planned: SessionPlan,
) -> None:
    text = plan_text(planned)
    drive, tell = planned.answer

    assert text.startswith(f"{drive} {tell}")
    assert "A-B-A-B-A-B" in drive
    assert "warm-up" in drive
    assert "of wheel power" in tell
    for words in (
        "a bad one",
        "odd end",
        "improve first:",
        "2, 3, 4, 5 runs of each",
        "looks = [2, 3, 4, 5]",
        "two such gauges",
        "one catch over a pull of 14 s",
        "steady hold of 120 s",
        "positive control:",
        "the comparison is refused",
    ):
        assert words in text


def test_what_cannot_be_excluded_is_said_in_the_answer(demo: SimpleNamespace) -> None:
    rough = {
        measure: replace(each, standard_deviation=8 * each.standard_deviation)
        for measure, each in demo.case.repeatability.items()
    }
    plan = plan_case(replace(demo.case, repeatability=rough), kits=("secondary",), runs_each=2)

    assert "cannot exclude 2.00\u00a0% of wheel power" in plan.answer[1]


def test_without_repeatability_the_plan_says_what_three_baseline_runs_would_give(
    demo: SimpleNamespace,
) -> None:
    """Three runs less mean and drift leave one degree of freedom: t(0.95; 1) = 6.31."""
    plan = plan_case(replace(demo.case, repeatability={}), kits=("secondary",))
    power = of(plan, Measure.WHEEL_POWER)
    three = power.baseline_repeats[0]

    assert plan.order == "ABABAB"
    assert plan.chance_of_all is None
    assert (three.runs, three.degrees_of_freedom) == (3, 1)
    shift = three.smallest_in_repeatabilities / np.sqrt(1.5)
    assert stats.nct.sf(stats.t.ppf(0.95, 1), 1, shift) == pytest.approx(0.9, abs=1e-3)
    assert "no repeatability is declared: one run of each can never decide" in plan_text(plan)
    assert power.first_step is None
    assert any(each.place == "repeatability.wheel_power" for each in plan.findings)


def test_without_a_limit_of_the_maker_nothing_is_called_small(demo: SimpleNamespace) -> None:
    pump = replace(demo.case.vehicle.pump, maker_limit_abs_pa=None)
    case = replace(demo.case, vehicle=replace(demo.case.vehicle, pump=pump))
    depression = of(plan_case(case, kits=("secondary",)), Measure.INLET_DEPRESSION)

    assert depression.margin is None
    assert "no limit of the pump's maker is known" in depression.margin_source
    assert depression.planned.chance is None


def test_small_is_a_fifth_of_the_room_that_the_bare_line_leaves(
    demo: SimpleNamespace, planned: SessionPlan
) -> None:
    """A fifth of (ambient less limit less 95th percentile of the baseline), predicted anew."""
    bare = predict_pull(circuit_for(demo.case, (), demo.case.reference), demo.case.pull, "x", 201)
    room = 91.0e3 - 48.0e3 - float(np.percentile(bare.depression_pa, 95))

    assert of(planned, Measure.INLET_DEPRESSION).margin == pytest.approx(0.2 * room, rel=0.01)


def with_orifice(case: Case, bore_m: float) -> tuple[float, float]:
    """Give the losses of power [log-percent] and depression [Pa] of a plate, predicted anew."""
    plate = Orifice(id="plate", bore_m=bore_m, pipe_bore_m=8e-3, discharge_coefficient=0.62)
    kit = Kit(
        id="plate",
        title="plate",
        insertions=(Insertion(place="factory_filter", side="after", parts=(plate,)),),
    )
    case = replace(case, kits={"plate": kit})
    bare, shut = (
        predict_pull(circuit_for(case, kits, case.reference), case.pull, "x")
        for kits in ((), ("plate",))
    )
    power = 100.0 * np.mean(np.log(bare.wheel_power_w / shut.wheel_power_w))
    return float(power), float(np.mean(shut.depression_pa - bare.depression_pa))


def test_each_control_costs_between_one_and_two_margins_when_it_is_let_in(
    demo: SimpleNamespace, planned: SessionPlan
) -> None:
    power, depression = planned.controls

    for found, place in ((power, 0), (depression, 1)):
        margin = of(planned, found.measure).margin
        assert margin is not None
        assert found.bore_m is not None
        assert found.largest_bore_m is not None
        assert found.smallest_bore_m is not None
        assert found.largest_bore_m > found.bore_m > found.smallest_bore_m
        for bore, margins in (
            (found.largest_bore_m, 1.0),
            (found.bore_m, 1.5),
            (found.smallest_bore_m, 2.0),
        ):
            loss = with_orifice(demo.case, bore)[place]
            assert loss == pytest.approx(margins * margin, rel=0.03)
    assert power.below_limit
    assert "below the maker's limit" in power.sentence
    assert "less than a drill's step" in power.sentence


def test_a_pump_that_no_orifice_starves_has_no_power_control(demo: SimpleNamespace) -> None:
    """
    An engine that burns a fifth needs some 8 L/h in all.

    Through the smallest bore, 1 mm, some 20 L/h pass at 60 kPa: 0.62 A sqrt(2 p / rho).
    """
    vehicle = demo.case.vehicle
    thrifty = tuple(0.2 * each for each in vehicle.engine.specific_consumption_kg_per_j)
    pump = replace(
        vehicle.pump, backleak_rated_m3_per_s=0.5e-3 / 3600.0, lubrication_m3_per_s=1e-3 / 3600.0
    )
    engine = replace(vehicle.engine, specific_consumption_kg_per_j=thrifty)
    case = replace(demo.case, vehicle=replace(vehicle, engine=engine, pump=pump))
    plan = plan_case(case, kits=("secondary",), runs_each=2)
    power = next(each for each in plan.controls if each.measure is Measure.WHEEL_POWER)

    assert power.bore_m is None
    assert "do not read flat power as proof of a healthy feed" in power.sentence


def test_in_a_branched_line_the_control_stands_where_all_fuel_passes(tmp_path: Path) -> None:
    """Behind one of two parallel filters it would throttle a part of the fuel only."""
    folder = tmp_path / "branched"
    folder.mkdir()
    (folder / "case.toml").write_text(network_text(), encoding="utf-8")
    plan = feedproof.plan(folder, kits=("secondary",), runs_each=2)
    depression = next(each for each in plan.controls if each.measure is Measure.INLET_DEPRESSION)

    assert "hose to the pump" in depression.place
    assert depression.bore_m is not None


def test_the_catch_is_in_neutral_only_where_the_pump_overflows_to_the_tank(
    demo: SimpleNamespace, planned: SessionPlan
) -> None:
    pump = replace(demo.case.vehicle.pump, topology=Topology.INTERNAL_RECIRCULATION)
    other = replace(demo.case, vehicle=replace(demo.case.vehicle, pump=pump), runs=())
    loaded = plan_case(other, kits=("secondary",), runs_each=2).catch

    assert planned.catch.in_neutral
    assert planned.catch.duration_s == pytest.approx(60.0, abs=1.0)
    assert not loaded.in_neutral
    assert loaded.duration_s <= 30.0


def test_opening_the_line_at_each_change_prefers_few_changes_and_asks_for_its_scatter(
    demo: SimpleNamespace,
) -> None:
    plan = plan_case(demo.case, kits=("secondary",), runs_each=4, replumbed=True)

    assert plan.order == "ABBAABBA"
    assert any("no scatter of opening it is declared" in each.message for each in plan.findings)


def test_undeclared_margins_are_a_warning(demo: SimpleNamespace) -> None:
    margins = replace(demo.case.margins, declared=None)
    plan = plan_case(replace(demo.case, margins=margins), kits=("secondary",), runs_each=2)

    assert any("before the first run with a kit" in each.message for each in plan.findings)


def test_the_document_fits_its_schema_and_is_kept(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["plan", str(folder.path), "--kit", "secondary", "--json"])
    document = json.loads(capsys.readouterr().out)

    assert code == 0
    jsonschema.validate(document, schema("plan"))
    assert document["format"] == "feedproof-plan"
    kept = [path.read_text("utf-8") for path in (folder.path / "results").glob("*.json")]
    assert any('"kind": "plan"' in text for text in kept)


def test_the_front_door_and_the_command_give_the_same_answer(
    folder: CaseFolder, capsys: pytest.CaptureFixture[str]
) -> None:
    told = feedproof.plan(folder.path, kits=("secondary",), chance=80.0)
    code = main(["plan", str(folder.path), "--kit", "secondary", "--chance", "80"])

    assert code == 0
    assert capsys.readouterr().out == plan_text(told) + "\n"


@pytest.mark.parametrize("name", ["sheet.html", "sheet.PDF"])
def test_a_sheet_is_written_once_unless_forced(
    folder: CaseFolder, tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / name
    words = ["plan", str(folder.path), "--kit", "secondary", "--sheet", str(sheet)]

    assert main(words) == 0
    assert f"run sheet: {sheet}" in capsys.readouterr().out
    assert sheet.read_bytes()[:5] in (b"<!doc", b"%PDF-")
    assert main(words) == 2
    assert "--force" in capsys.readouterr().err
    assert main([*words, "--force"]) == 0


def test_all_mistakes_are_told_at_once(
    folder: CaseFolder, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = "--kit nothing --kit none+secondary --chance 100 --runs-each 0 --sheet"
    code = main(["plan", str(folder.path), *words.split(), str(tmp_path / "sheet.doc")])
    told = capsys.readouterr().err

    assert code == 2
    for words in (
        "no kit 'nothing'",
        "no kit 'none'",
        "100 % is out of range: allowed is 50 to 99 %",
        "0 runs of each: allowed is 1 to 20",
        "'sheet.doc' ends in none of .html, .htm, .pdf",
    ):
        assert words in told
    assert not list(tmp_path.glob("sheet*"))


@pytest.mark.parametrize("chance", [49.9, 99.1, float("nan"), -1.0])
def test_a_chance_out_of_range_is_refused(demo: SimpleNamespace, chance: float) -> None:
    with pytest.raises(InputError, match="--chance"):
        plan_case(demo.case, chance_percent=chance)


def test_a_folder_that_is_not_there_is_said(
    folder: CaseFolder, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "nowhere" / "sheet.html"

    assert main(["plan", str(folder.path), "--sheet", str(target)]) == 2
    assert "there is no folder" in capsys.readouterr().err


def test_windows_widen_with_nothing_but_the_lines_own_answer(
    demo: SimpleNamespace, planned: SessionPlan
) -> None:
    """One kelvin, by two whole predictions 2 K apart."""
    warm, cold = (
        predict_pull(
            circuit_for(
                demo.case,
                (),
                replace(
                    demo.case.reference,
                    fuel_temperature_k=demo.case.reference.fuel_temperature_k + step,
                ),
            ),
            demo.case.pull,
            "x",
        ).depression_pa.mean()
        for step in (1.0, -1.0)
    )
    window = planned.windows[0]

    assert window.condition == "fuel_temperature"
    assert window.moves_pa == pytest.approx(float(warm - cold) / 2.0, rel=0.05)
    assert window.as_it_is is not None
    assert 0.0 < window.as_it_is < window.corrected <= 10.0


def test_a_control_session_says_which_runs_to_make_and_in_which_order(
    demo: SimpleNamespace, planned: SessionPlan
) -> None:
    control = run_sheet(demo.case, planned, datetime(2026, 9, 1, tzinfo=UTC)).sessions[-1]
    assert "Three runs that count, after one warm-up: A-C-A. A: without the kit" in control.lead
    assert "C: control orifice" in control.lead
    assert [run.letter for run in control.runs if run.counts] == ["A", "C", "A"]
