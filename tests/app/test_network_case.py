"""
A branched case from its document to its answers, as a user meets it on the command line.

What is checked: balances of mass, the lift pump's own curve, and the laminar law of Hagen and
Poiseuille (closed form, loss over flow with the fourth power of the bore).  The case is invented.
"""

import io
import json
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.records.folder import CaseFolder
from feedproof.records.template import TEMPLATE

SHUT_OFF_PA = 12e3
FREE_FLOW_M3_PER_S = 300e-3 / 3600.0
COLLAPSED_BORE = 0.6
LINES = """
[[line]]
id = "electric_pump"
kind = "lift_pump"
title = "electric pump at the tank"
shut_off_pressure = "12 kPa"
free_flow = "300 L/h"
stopped_inertial = "2e9 1/m^4"

[[line]]
id = "steel_line"
kind = "pipe"
title = "steel line along the frame"
length = "3.2 m"
bore = "8 mm"
to = "mixing"

[[line]]
id = "primer"
kind = "check_valve"
title = "primer pump with check valves"
cracking_pressure = "1.2 kPa"
housing_inertial = "3.0e8 1/m^4"
from = "mixing"
to = "split"

[[line]]
id = "factory_filter"
kind = "element"
title = "factory filter"
role = "factory"
media_resistance = "2.5e9 1/m"
face_area = "0.22 m^2"
housing_inertial = "9.0e8 1/m^4"
loading_scale = "5 g"
from = "split"
to = "join"

[[line]]
id = "small_filter"
kind = "element"
title = "smaller filter beside it"
role = "factory"
media_resistance = "2.5e9 1/m"
face_area = "0.11 m^2"
housing_inertial = "9.0e8 1/m^4"
from = "split"
to = "join"

[[line]]
id = "hose_to_pump"
kind = "pipe"
title = "hose to the pump"
length = "0.8 m"
bore = "8 mm"
from = "join"

[[return]]
id = "cooler"
kind = "cooler"
title = "fuel cooler under the floor"
viscous = "1.0e10 1/m^3"
inertial = "2e9 1/m^4"
effectiveness = "30 %"

[[return]]
id = "return_pipe"
kind = "pipe"
title = "return pipe to the tank"
length = "4.8 m"
bore = "8 mm"

[[tee]]
node = "split"
bore = "8 mm"
branch = "small_filter"

[[tee]]
node = "join"
bore = "8 mm"
branch = "small_filter"

[recirculation]
to = "mixing"
cold_fraction = "80 %"
warm_fraction = 0
cold_temperature = "10 degC"
warm_temperature = "40 degC"

"""
HOSE = 'title = "hose from the filter to the pump"\n'
SOFT = (
    f'{HOSE}collapse_depression = "0.2 kPa"\ncollapse_span = "0.1 kPa"\n'
    f"collapsed_bore = {COLLAPSED_BORE}\n"
)
HOLE = (
    '[[line]]\nid = "loose_clip"\nkind = "air_hole"\ntitle = "clip that draws air"\n'
    'hole_diameter = "0.2 mm"\n\n[[line]]\nid = "hose_to_pump"\n'
)


def network_text() -> str:
    """Put branched lines in place of the demonstration's plain ones."""
    vehicle = (api.PACKAGED_DEMO / "case.toml").read_text(encoding="utf-8")
    start, end = vehicle.index("[[line]]"), vehicle.index("[[kit]]")
    # Its runs were recorded on the plain line.
    text = vehicle[:start] + LINES + vehicle[end:].partition("[[run]]")[0]
    head, kit, rest = text.partition('id = "secondary"\n')
    return head + kit + rest.replace('after = "factory_filter"', 'after = "hose_to_pump"', 1)


def changed(text: str, right: str, other: str) -> str:
    """Change a place of a document that stands in it once."""
    assert text.count(right) == 1, right
    return text.replace(right, other)


def chain_text() -> str:
    """Give the template's chain with gas that takes its time."""
    template = TEMPLATE.read_text(encoding="utf-8").replace("@TODAY@", "2026-05-04")
    right = 'lubrication = "14 L/h"'
    return changed(template, right, f'{right}\ngas_release_time = "2 s"')


def made(folder: Path, text: str) -> str:
    """Make a case of a document."""
    CaseFolder.create(folder, text)
    return str(folder)


def predicted(case: str, *words: str) -> dict[str, dict[str, Any]]:
    """Predict through the command line; give each configuration by its name."""
    with redirect_stdout(io.StringIO()) as told:
        assert main(["predict", case, *words, "--json"]) == 0
    document = json.loads(told.getvalue())
    jsonschema.validate(document, schema("prediction"))
    return {each["configuration"]: each for each in document["configurations"]}


def steps_of(configuration: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give the steps of a staircase by their part."""
    return {step["part_id"]: step for step in configuration["staircase"]["steps"]}


@pytest.fixture(scope="module")
def network(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Make the branched case."""
    return made(tmp_path_factory.mktemp("network") / "case", network_text())


@pytest.fixture(scope="module")
def told(network: str) -> dict[str, dict[str, Any]]:
    """Predict it under its own conditions."""
    return predicted(network, "--kit", "secondary", "--kit", "badly_plumbed")


def test_the_branched_case_can_be_used_as_it_stands(
    network: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", network]) == 0
    told = capsys.readouterr()

    assert "0 errors" in told.out + told.err


def test_the_staircase_of_a_network_is_the_way_of_most_fuel_and_adds_up(
    told: dict[str, dict[str, Any]],
) -> None:
    # ".lift" is the height.
    way = [".lift", "electric_pump", "steel_line", "primer", "factory_filter", "hose_to_pump"]
    bare, kit = (list(steps_of(told[name])) for name in ("baseline", "secondary"))

    assert bare == way
    assert kit == [*way, "secondary_element", "secondary_hoses", "secondary_fittings"]
    for each in told.values():
        steps = each["staircase"]["steps"]
        top = each["pull"]["depression_pa"][-1]
        assert sum(step["loss_pa"] for step in steps) == pytest.approx(top, rel=1e-6)
        assert steps[-1]["depression_after_pa"] == pytest.approx(top, rel=1e-6)


def test_a_kit_in_one_branch_is_shown_and_sends_most_fuel_through_the_other(
    told: dict[str, dict[str, Any]],
) -> None:
    kit = steps_of(told["badly_plumbed"])

    assert "small_filter" not in kit
    assert 0.0 < kit["factory_filter"]["flow_fraction"] < 0.5
    added = [step for step in kit.values() if step["owner"] == "badly_plumbed"]
    assert added
    assert all(step["flow_fraction"] == kit["factory_filter"]["flow_fraction"] for step in added)
    # What a kit costs beside an open way is less than in the way of all fuel.
    top = {name: each["pull"]["depression_pa"][-1] for name, each in told.items()}
    assert top["baseline"] < top["badly_plumbed"]
    assert top["baseline"] < top["secondary"]


def test_flows_of_the_branches_and_of_the_thermostat_balance(
    told: dict[str, dict[str, Any]],
) -> None:
    bare = told["baseline"]
    steps, pull = steps_of(bare), bare["pull"]
    feed, back = pull["feed_m3_per_s"][-1], pull["return_m3_per_s"][-1]

    # 35 degC is 25/30 of the way from 10 to 40 degC, so a sixth of 80 % is left to lead back.
    fresh = 1.0 - 0.8 / 6.0 * back / feed
    assert 0.85 < fresh < 0.95
    assert steps["steel_line"]["flow_fraction"] == pytest.approx(fresh, rel=1e-6)
    for whole in ("primer", "hose_to_pump"):
        assert steps[whole]["flow_fraction"] == pytest.approx(1.0, rel=1e-9)
    # Double the area takes more than half, and at the most two thirds where tees cost nothing.
    assert 0.5 < steps["factory_filter"]["flow_fraction"] < 2.0 / 3.0


@pytest.mark.parametrize(("celsius", "share"), [(5, 0.8), (10, 0.8), (25, 0.4), (40, 0.0)])
def test_the_thermostat_leads_back_what_its_table_says(
    network: str, celsius: int, share: float
) -> None:
    words = ("--kit", "secondary", "--fuel-temp", f"{celsius}degC")
    bare = predicted(network, *words)["baseline"]
    feed, back = (bare["pull"][f"{name}_m3_per_s"][-1] for name in ("feed", "return"))
    fresh = steps_of(bare)["steel_line"]["flow_fraction"]

    assert (1.0 - fresh) * feed / back == pytest.approx(share, abs=1e-6)


def test_the_lift_pump_adds_what_its_curve_gives_at_its_flow(
    told: dict[str, dict[str, Any]],
) -> None:
    bare = told["baseline"]
    pump = steps_of(bare)["electric_pump"]
    flow = steps_of(bare)["steel_line"]["flow_fraction"] * bare["pull"]["feed_m3_per_s"][-1]
    added = SHUT_OFF_PA * (1.0 - (flow / FREE_FLOW_M3_PER_S) ** 2)

    assert pump["loss_pa"] == pytest.approx(-added, rel=1e-6)


def test_what_the_solver_balances_is_what_the_staircase_lays_out(network: str) -> None:
    """
    At 0 degC both pipes are laminar, so that a line of four times the length costs four times.

    The last part before a node bears what solver and parts do not agree on: the lift pump's curve
    in the solver is seen here, behind the steel line, and nowhere in its own step.
    """
    words = ("--kit", "secondary", "--fuel-temp", "0degC")
    steps = steps_of(predicted(network, *words)["secondary"])
    line, hose = (
        steps[name]["loss_pa"] / steps[name]["flow_fraction"]
        for name in ("steel_line", "hose_to_pump")
    )

    assert line / hose == pytest.approx(3.2 / 0.8, rel=1e-6)


def test_a_lift_pump_that_is_off_stands_in_the_way_as_its_table_says(
    told: dict[str, dict[str, Any]], tmp_path: Path
) -> None:
    free = 'free_flow = "300 L/h"'
    stopped = made(tmp_path / "off", changed(network_text(), free, f"{free}\nrunning = false"))
    off = predicted(stopped, "--kit", "secondary")["baseline"]
    loss, on = steps_of(off)["electric_pump"]["loss_pa"], told["baseline"]
    flow = steps_of(off)["steel_line"]["flow_fraction"] * off["pull"]["feed_m3_per_s"][-1]

    # Loss over density and flow squared; EN 590 fuel at 35 degC weighs 820 to 830 kg/m3.
    assert 820.0 < loss / (2e9 * flow**2) < 830.0
    assert off["pull"]["depression_pa"][-1] > on["pull"]["depression_pa"][-1]


def test_the_return_line_holds_against_the_pump(
    told: dict[str, dict[str, Any]], tmp_path: Path
) -> None:
    """Twice the resistance of the cooler: its share of the back-pressure doubles."""
    text = network_text()
    for right, twice in (('"1.0e10 1/m^3"', '"2.0e10 1/m^3"'), ("2e9 1/m^4", "4e9 1/m^4")):
        head, cooler, rest = text.partition('id = "cooler"')
        text = head + cooler + rest.replace(right, twice, 1)
    double = predicted(made(tmp_path / "case", text), "--kit", "secondary")["baseline"]
    flow = told["baseline"]["pull"]["return_m3_per_s"][-1] * (1.0 - 0.8 / 6.0)
    more = double["back_pressure_pa"] - told["baseline"]["back_pressure_pa"]
    square = 2e9 * flow**2

    assert told["baseline"]["back_pressure_pa"] > more
    # 1e10/m3 times some 2.7 mPa s of fuel at 35 to 60 degC, and the density of fuel.
    assert 760.0 * square + 1e-3 * 1e10 * flow < more < 840.0 * square + 3e-3 * 1e10 * flow


def test_a_branched_case_has_an_envelope(network: str, capsys: pytest.CaptureFixture[str]) -> None:
    # Summer fuel far below its cloud point once led the solver of networks beyond a vacuum.
    assert main(["envelope", network, "--kit", "secondary", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("envelope"))
    bare, kit = document["configurations"]

    assert (bare["configuration"], kit["configuration"]) == ("baseline", "secondary")
    for ours, theirs in zip(_flat(kit["room_pa"]), _flat(bare["room_pa"]), strict=True):
        assert ours < theirs
    # Thinner air leaves less room, at each temperature and loading.
    for row in (row for loading in kit["room_pa"] for row in loading):
        assert row == sorted(row, reverse=True)


def _flat(rooms: list[list[list[float]]]) -> list[float]:
    """Lay a map out in a row."""
    return [room for loading in rooms for row in loading for room in row]


@pytest.mark.parametrize("verb", ["predict", "envelope"])
def test_a_check_valve_turned_round_ends_with_2_and_its_name(
    verb: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    right = 'from = "mixing"\nto = "split"'
    turned = changed(network_text(), right, 'from = "split"\nto = "mixing"')
    case = made(tmp_path / "turned", turned)

    assert main([verb, case, "--kit", "secondary"]) == 2
    told = capsys.readouterr().err
    assert "primer: is shut" in told
    assert "which way round" in told
    assert "Traceback" not in told


def test_a_mistake_in_a_branch_ends_every_verb_at_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    right = 'from = "split"\nto = "join"\n\n[[line]]\nid = "hose_to_pump"'
    text = changed(network_text(), right, right.replace('"join"', '"jion"', 1))
    folder = tmp_path / "case"
    case = made(folder, network_text())
    (folder / "case.toml").write_text(text, encoding="utf-8")
    number = text[: text.index('"jion"')].count("\n") + 1

    for words in (["check", case], ["predict", case], ["envelope", case]):
        assert main(words) == 2
        assert f"line {number}: line[small_filter].to" in "".join(capsys.readouterr())


def test_a_soft_hose_in_a_chain_costs_the_fourth_power_of_its_bore(
    tmp_path: Path,
) -> None:
    firm = made(tmp_path / "firm", chain_text())
    soft = made(tmp_path / "soft", changed(chain_text(), HOSE, SOFT))
    resistances = []
    for case in (firm, soft):
        # At 0 degC the hose stays laminar, narrowed or not.
        words = ("--kit", "secondary", "--fuel-temp", "0degC")
        bare = predicted(case, *words)["baseline"]
        loss = steps_of(bare)["hose_to_pump"]["loss_pa"]
        resistances.append(loss / bare["pull"]["feed_m3_per_s"][-1])

    assert resistances[1] / resistances[0] == pytest.approx(COLLAPSED_BORE**-4, rel=1e-6)


def test_an_air_hole_in_a_chain_brings_gas_to_the_pump(tmp_path: Path) -> None:
    sound = made(tmp_path / "sound", chain_text())
    leaky = changed(chain_text(), '[[line]]\nid = "hose_to_pump"\n', HOLE)
    leaking = made(tmp_path / "leaking", leaky)
    gas, depression = [], []
    for case in (sound, leaking):
        pull = predicted(case, "--kit", "secondary")["baseline"]["pull"]
        gas.append(pull["free_gas_fraction"][-1])
        depression.append(pull["depression_pa"][-1])

    assert 0.0 < gas[0] < 0.5 * gas[1] < 0.5
    # Gas in the chamber leaves room for less fuel, so that the line loses less.
    assert depression[1] < depression[0]


def test_gas_that_takes_longer_to_leave_the_fuel_leaves_less_of_it(tmp_path: Path) -> None:
    """First order: of a time long over that in the line, a tenth leaves in ten times as long."""
    gas = []
    for index, time in enumerate(("2 s", "50 s", "500 s")):
        text = changed(chain_text(), 'time = "2 s"', f'time = "{time}"')
        bare = predicted(made(tmp_path / str(index), text), "--kit", "secondary")["baseline"]
        gas.append(bare["pull"]["free_gas_fraction"][-1])

    assert gas[0] > gas[1] > gas[2] > 0.0
    assert gas[1] / gas[2] == pytest.approx(10.0, rel=0.1)
