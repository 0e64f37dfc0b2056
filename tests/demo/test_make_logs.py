"""
The demonstration's logs come from a script that knows nothing of the package.

Promised: same seed, same bytes; no import of the package; every planted effect stands in the
files; the hidden truth is complete; the numbers of runs were planned and not lucky.
"""

import ast
import importlib.util
import itertools
import json
import math
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy import stats

import feedproof

SCRIPT = Path(feedproof.__file__).parent / "scenario" / "make_logs.py"
NEIGHBOURS = {"true_runs", "true_vehicle"}
VEHICLE = SCRIPT.with_name("vehicle.toml")


@pytest.fixture(scope="module")
def script() -> Iterator[ModuleType]:
    """Load the script by its path, as it runs when it is called by hand."""
    sys.path.insert(0, str(SCRIPT.parent))
    try:
        spec = importlib.util.spec_from_file_location("make_logs", SCRIPT)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        yield module
    finally:
        sys.path.remove(str(SCRIPT.parent))
        for name in NEIGHBOURS:
            sys.modules.pop(name, None)


@pytest.fixture(scope="module")
def model(script) -> ModuleType:
    return sys.modules[script.density.__module__]


@pytest.fixture(scope="module")
def planned(script) -> list[dict]:
    """Give the planted means of 40 seeds' runs; the warm-ups are not compared."""
    return [
        {"seed": seed, "session": run.session.name, "kit": float(run.letter != "A")}
        | script.planted_means(run)
        for seed in range(1, 41)
        for run in script.plan_runs(seed)
        if run.letter != "W" and run.session.name in ("secondary", "bad", "control")
    ]


@pytest.fixture(scope="module")
def files(script) -> dict[str, bytes]:
    return script.make(1)


@pytest.fixture(scope="module")
def truth(files) -> dict:
    return json.loads(files["truth.json"])


@pytest.fixture(scope="module")
def runs(files) -> list[dict]:
    return tomllib.loads(files["runs.toml"].decode())["run"]


@pytest.fixture(scope="module")
def vehicle() -> dict:
    return tomllib.loads(VEHICLE.read_text(encoding="utf-8"))


def logger_rows(files: dict[str, bytes], run: int) -> tuple[list[list[str]], np.ndarray]:
    rows = [
        line.split(";")
        for line in files[f"logs/run{run:02d}_logger.csv"].decode("cp1252").splitlines()
    ]
    values = [[float(cell.replace(",", ".")) for cell in row] for row in rows[2:]]
    return rows[:2], np.array(values)


def cell_rows(files: dict[str, bytes], run: int) -> tuple[list[str], np.ndarray]:
    lines = files[f"logs/run{run:02d}_cell.csv"].decode("ascii").splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("Time,"))
    return lines[: head + 1], np.array(
        [[float(c) for c in row.split(",")] for row in lines[head + 1 :]]
    )


def fault(truth: dict, kind: str) -> list[dict]:
    return [entry for entry in truth["faults"] if entry["fault"] == kind]


def longest_rest(samples: np.ndarray) -> int:
    longest = current = 1
    for before, after in itertools.pairwise(samples):
        current = current + 1 if before == after else 1
        longest = max(longest, current)
    return longest


def decide(y: np.ndarray, kit: np.ndarray, sd: float, margin: float) -> str:
    """Decide by least squares with a linear drift and a declared repeatability of 8 degrees."""
    order = np.arange(len(y), dtype=float)
    design = np.column_stack([np.ones(len(y)), kit, order - order.mean()])
    weights = np.linalg.pinv(design)
    loss, freedom = float(weights[1] @ y), len(y) - 3
    variance, total = sd**2, 8
    if freedom:
        own = float(np.sum((y - design @ (weights @ y)) ** 2)) / freedom
        if stats.f.sf(own / sd**2, freedom, 8) < 0.05:
            variance, total = own, freedom
        else:
            variance, total = (8 * sd**2 + freedom * own) / (8 + freedom), 8 + freedom
    reach = stats.t.ppf(0.95, total) * math.sqrt(variance * float(weights[1] @ weights[1]))
    if loss + reach < margin:
        return "no loss within" if loss - reach <= 0 else "small loss"
    if loss - reach > 0:
        return "loss beyond" if loss - reach > margin else "loss, size not settled"
    return "cannot tell"


def test_the_same_seed_gives_the_same_bytes(script, files):
    assert script.make(1) == files


def test_another_seed_gives_other_logs(script, files):
    other = script.make(2)
    assert other.keys() == files.keys()
    assert all(other[name] != files[name] for name in files)


def test_the_command_line_writes_what_make_returns(script, files, tmp_path):
    script.main([str(tmp_path), "--seed", "1"])
    written = {
        path.relative_to(tmp_path).as_posix(): path.read_bytes()
        for path in tmp_path.rglob("*")
        if path.is_file()
    }
    assert written == files


def test_the_script_imports_only_the_standard_library_numpy_and_its_neighbours():
    roots = set()
    for name in ("make_logs", *NEIGHBOURS):
        tree = ast.parse(SCRIPT.with_name(f"{name}.py").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                roots |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0 or node.module in NEIGHBOURS
                roots.add(str(node.module).split(".")[0])
    assert roots - set(sys.stdlib_module_names) == {"numpy"} | NEIGHBOURS
    assert not roots & {"importlib", "runpy"}


def test_the_script_runs_alone_in_a_process_that_cannot_see_the_package(tmp_path, files):
    hidden = "import sys, runpy; sys.modules['feedproof'] = None; "
    folder = f"sys.path.insert(0, {str(SCRIPT.parent)!r}); "
    call = f"sys.argv = ['make_logs.py', {str(tmp_path)!r}]; "
    run = f"runpy.run_path({str(SCRIPT)!r}, run_name='__main__')"
    subprocess.run([sys.executable, "-c", hidden + folder + call + run], check=True, timeout=60)
    assert (tmp_path / "truth.json").read_bytes() == files["truth.json"]


def test_all_logs_together_stay_under_three_megabytes(files):
    assert sum(len(content) for name, content in files.items() if "logs/" in name) < 3_000_000


def test_every_run_names_logs_that_exist_and_no_log_is_left_over(files, runs):
    named = [log["file"] for run in runs for log in run["logs"]]
    assert sorted(named) == sorted(n.removeprefix("logs/") for n in files if "logs/" in n)
    assert [run["number"] for run in runs] == list(range(1, len(runs) + 1))


def test_every_kit_and_element_of_the_runs_stands_in_the_case(runs, vehicle):
    kits = {kit["id"] for kit in vehicle["kit"]}
    parts = {part["id"] for part in vehicle["line"]} | {
        part["id"] for kit in vehicle["kit"] for place in kit["insertion"] for part in place["part"]
    }
    assert {kit for run in runs for kit in run["kits"]} == kits
    assert {part for run in runs for part in run["elements"]} <= parts


def test_the_columns_of_the_logs_are_those_that_the_case_declares(files, vehicle):
    (names, _units), _ = logger_rows(files, 2)
    preamble, _ = cell_rows(files, 2)
    declared = {
        k: {c["column"] for c in v["channels"].values()} for k, v in vehicle["instrument"].items()
    }
    assert declared["logger"] == set(names)
    assert declared["cell"] == set(preamble[-1].split(","))


def test_the_cell_log_says_that_its_data_are_invented(files):
    assert all("INVENTED DATA" in cell_rows(files, run)[0][0] for run in (1, 14, 27))


def test_the_logger_writes_cp1252_bytes_that_are_not_utf8(files):
    raw = files["logs/run02_logger.csv"]
    assert b"F\xfcllstand" in raw
    assert b"\xb0C" in raw
    with pytest.raises(UnicodeDecodeError):
        raw.decode("utf-8")


def test_the_two_instruments_sample_at_their_own_rates(files):
    _, cell = cell_rows(files, 2)
    _, logger = logger_rows(files, 2)
    assert np.diff(cell[:, 0]) == pytest.approx(0.04, abs=1e-9)
    assert np.diff(logger[:, 0]) == pytest.approx(0.02, abs=1e-9)


def test_the_sweep_runs_at_the_declared_rate_in_every_run(files, runs, vehicle):
    declared = float(vehicle["pull"]["rate"].split()[0])
    for run in runs:
        _, table = cell_rows(files, run["number"])
        time, speed, pedal = table[:, 0], table[:, 1], table[:, 4]
        inside = (pedal > 99) & (speed > 60) & (speed < 110)
        assert np.polyfit(time[inside], speed[inside], 1)[0] == pytest.approx(declared, rel=0.002)


def test_the_stuck_run_stands_still_for_a_second_and_a_half_inside_the_pull(files, truth, runs):
    (planted,) = fault(truth, "stuck")
    run = runs[planted["run"] - 1]
    assert (run["session"], run["kits"]) == ("secondary", ["secondary"])
    _, table = logger_rows(files, planted["run"])
    inside = (table[:, 0] >= planted["from_s"]) & (table[:, 0] <= planted["to_s"])
    assert inside.sum() >= 74
    assert len(set(table[inside, 2])) == 1
    assert 1.45 < longest_rest(table[:, 2]) * 0.02 < 1.65


def test_no_other_run_of_that_session_stands_still(files, truth, runs):
    (planted,) = fault(truth, "stuck")
    for run in runs:
        if run["session"] == "secondary" and run["number"] != planted["run"]:
            assert longest_rest(logger_rows(files, run["number"])[1][:, 2]) * 0.02 < 0.2


def test_only_badly_plumbed_runs_reach_the_ceiling_of_the_sensor(files, runs, vehicle):
    declared = vehicle["instrument"]["logger"]["channels"]["inlet_depression"]
    ceiling = float(declared["ceiling"].split()[0])
    for run in runs:
        highest = logger_rows(files, run["number"])[1][:, 2].max()
        if run["kits"] == ["badly_plumbed"]:
            assert highest <= ceiling
        else:
            assert highest < ceiling - 1.0


def test_a_badly_plumbed_run_rests_at_the_ceiling_in_the_upper_part(files, truth):
    worst = max(fault(truth, "saturated"), key=lambda entry: entry["samples_in_pull"])
    # Two seconds; the guard before lift-off takes less than one of them away.
    assert worst["samples_in_pull"] >= 20
    _, table = logger_rows(files, worst["run"])
    at_top = table[:, 2] == truth["sensor"]["ceiling_kpa"]
    assert int(at_top.sum()) == worst["samples"]
    assert table[at_top, 1].min() > 2900


def test_the_rail_stays_back_more_than_two_seconds_only_with_the_bad_kit(files, runs):
    for run in runs:
        _, table = logger_rows(files, run["number"])
        gap = (table[:, 5] - table[:, 4]) / 10.0
        smooth = np.convolve(gap, np.full(25, 0.04), mode="same")
        beyond = 0.02 * int(np.sum(smooth > 5.0))
        if run["kits"] == ["badly_plumbed"]:
            assert 2.0 < beyond < 4.0
            assert 6.0 < smooth.max() < 8.5
        else:
            assert beyond == 0.0


def test_the_clocks_of_a_session_differ_by_the_planted_offset(files, truth, runs):
    for run in runs:
        _, cell = cell_rows(files, run["number"])
        _, logger = logger_rows(files, run["number"])
        grid = np.arange(4.0, 25.0, 0.02)
        base = np.interp(grid, cell[:, 0], cell[:, 2])
        shifts = np.arange(-0.4, 0.41, 0.01)
        misfit = [
            np.sum((np.interp(grid + s, logger[:, 0], logger[:, 1]) - base) ** 2) for s in shifts
        ]
        planted = truth["sensor"]["logger_clock_ahead_s"][run["session"]]
        assert shifts[int(np.argmin(misfit))] == pytest.approx(planted, abs=0.021)


def test_the_depression_follows_the_engine_speed_by_the_planted_lag(files, truth):
    _, table = logger_rows(files, 2)
    time, rpm, depression = table[:, 0], table[:, 1], table[:, 2]
    # Depression is nearly a parabola of engine speed, so the right lag leaves the least rest.
    lags = np.arange(0.0, 0.61, 0.01)
    rests = []
    for lag in lags:
        late = np.interp(time - lag, time, rpm)[60:]
        fit = np.polyfit(late, depression[60:], 2)
        rests.append(np.sum((depression[60:] - np.polyval(fit, late)) ** 2))
    assert truth["sensor"]["lag_s"] == pytest.approx(0.25)
    assert lags[int(np.argmin(rests))] == pytest.approx(0.25, abs=0.05)


def test_the_caught_volumes_hold_the_planted_return(runs, truth):
    for run, planted in zip(runs, truth["runs"], strict=True):
        if "caught_return" not in run:
            assert run["role"] == "warm_up"
            continue
        caught = {k: float(run["caught_return"][k].split()[0]) for k in ("volume", "duration")}
        warm = float(run["caught_return"]["temperature"].split()[0])
        cool_l = caught["volume"] * (1.0 - 8.3e-4 * (warm - 15.0))
        y = -100.0 * math.log(cool_l * 3600.0 / caught["duration"])
        # 5 mL of reading in 1.9 L is 0.26 %.
        assert y == pytest.approx(planted["caught_return"], abs=0.40)


def test_the_logs_hold_the_planted_mean_of_the_wheel_power(files, truth):
    for planted in truth["runs"]:
        _, table = cell_rows(files, planted["number"])
        pull = table[(table[:, 4] > 99) & (table[:, 1] > 60) & (table[:, 1] < 110)]
        y = -100.0 * float(np.mean(np.log(pull[:, 3])))
        assert y == pytest.approx(planted["wheel_power"], abs=0.25)


def test_the_power_falls_from_run_to_run_by_the_planted_drift(script):
    falls = []
    for seed in range(1, 31):
        first, *_, last = [
            script.planted_means(run)["wheel_power"]
            for run in script.plan_runs(seed)
            if run.session.name == "both" and run.letter == "A"
        ]
        falls.append((last - first) / 3.0)
    # 30 differences of two runs of 0.5 % have a standard error of 0.043 % per run.
    assert np.mean(falls) == pytest.approx(0.15, abs=0.11)


def test_the_viscosity_passes_through_the_two_declared_points(model, vehicle):
    for temperature in (20, 40):
        declared = vehicle["fuel"]["summer"][f"viscosity_{temperature}c"]
        assert model.viscosity(float(temperature)) * 1e6 == pytest.approx(
            float(declared.split()[0]), rel=1e-9
        )


def test_friction_is_laminar_below_2200_and_rises_without_a_jump(model):
    reynolds = np.linspace(100.0, 8000.0, 7901)
    factor = model.friction(reynolds, 2e-4)
    slow = reynolds <= 2200
    # Hagen and Poiseuille; published in every handbook, here from memory.
    assert factor[slow] == pytest.approx(64.0 / reynolds[slow])
    assert np.abs(np.diff(factor[reynolds > 2000])).max() < 1e-4


def test_the_truth_names_every_session_configuration_and_measure(truth, runs):
    expected = {(run["session"], "+".join(run["kits"])) for run in runs if run["kits"]}
    assert {(c["session"], c["configuration"]) for c in truth["comparisons"]} == expected
    needed = {
        "wheel_power_loss_log_percent",
        "wheel_power_loss_percent",
        "caught_return_loss_log_percent",
        "caught_return_loss_percent",
        "added_depression_kpa",
    }
    assert all(needed <= entry.keys() for entry in truth["comparisons"])
    assert len(truth["runs"]) == len(runs)


def test_the_planted_effects_are_those_of_the_story(truth):
    by = {(c["session"], c["configuration"]): c for c in truth["comparisons"]}
    bad, good = by["bad", "badly_plumbed"], by["secondary", "secondary"]
    assert bad["caught_return_loss_percent"] > 8.0
    assert 3.0 < bad["wheel_power_loss_percent"] < 5.0
    assert good["wheel_power_loss_percent"] < 0.12
    assert good["caught_return_loss_percent"] < 0.5
    loaded = by["loaded", "secondary"]
    assert loaded["added_depression_kpa"] > 1.5 * good["added_depression_kpa"]


def test_the_true_line_differs_from_the_line_in_the_case(truth, vehicle):
    steel = next(part for part in vehicle["line"] if part["id"] == "steel_line")
    assert truth["line"]["steel_line_bore_m"] * 1e3 < float(steel["bore"]["value"].split()[0])


def test_the_chance_of_finding_the_control_agrees_with_scipys_noncentral_t(model):
    for loss, sd, g, freedom in ((5.0, 1.1, 1.5, 8), (3.3, 1.1, 0.729, 11), (2.0, 1.0, 1.0, 5)):
        limit = stats.t.ppf(0.95, freedom)
        expected = stats.nct.sf(limit, freedom, loss / (sd * math.sqrt(g)))
        assert model.detection_chance(loss, sd, g, freedom) == pytest.approx(expected, abs=1e-4)


def test_the_control_plate_is_as_large_as_needed_and_no_larger(model, vehicle):
    margin = -100.0 * math.log(0.95)
    chosen = model.CONTROL_BORE_M
    loss = model.return_loss_log_percent("P", chosen)
    wider = model.return_loss_log_percent("P", chosen + 5e-5)
    assert model.detection_chance(loss) >= 0.95
    assert loss >= margin
    assert model.detection_chance(wider) < 0.95 or wider < margin
    assert model.control_bore() == pytest.approx(chosen)
    plate = next(kit for kit in vehicle["kit"] if kit["id"] == "control_orifice")
    bore = plate["insertion"][0]["part"][0]["bore"]
    assert float(bore.split()[0]) * 1e-3 == pytest.approx(chosen)


def test_the_declared_repeatability_is_what_the_control_was_sized_with(model, vehicle):
    declared = vehicle["repeatability"]["caught_return"]
    assert f"{model.DECLARED_RETURN_SD_PERCENT} %" == declared["standard_deviation"]
    assert declared["degrees_of_freedom"] == model.DECLARED_DEGREES_OF_FREEDOM


@pytest.mark.parametrize(
    ("session", "measure", "sd", "margin", "wanted"),
    [
        ("secondary", "wheel_power", 0.5, 0.02, {"no loss within"}),
        ("secondary", "caught_return", 1.1, 0.05, {"no loss within"}),
        ("bad", "wheel_power", 0.5, 0.02, {"loss beyond"}),
        ("bad", "caught_return", 1.1, 0.05, {"loss beyond"}),
        (
            "control",
            "caught_return",
            1.1,
            0.05,
            {"loss, size not settled", "loss beyond", "small loss"},
        ),
    ],
)
def test_the_runs_were_planned_so_that_nine_seeds_in_ten_answer(
    planned, session, measure, sd, margin, wanted
):
    answers = []
    for seed in range(1, 41):
        runs = [r for r in planned if (r["seed"], r["session"]) == (seed, session)]
        y = np.array([run[measure] for run in runs])
        kit = np.array([run["kit"] for run in runs])
        answers.append(decide(y, kit, sd, -100.0 * math.log(1.0 - margin)))
    hits = sum(answer in wanted for answer in answers)
    # Fewer than 33 of 40 would happen less than once in twenty if the true chance were 0.9.
    assert hits >= 33
