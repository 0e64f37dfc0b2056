"""
A run whose speed and rail pressure come from a bus log and whose depression from a logger's CSV.

The readings are the demonstration's own, written once more as frames on a third clock; all data are
invented.
"""

import hashlib
import math
import tomllib
from pathlib import Path

import can
import numpy as np
import pytest

from feedproof.app import api
from feedproof.app.documents import to_document
from feedproof.app.logs import load_logs
from feedproof.app.proof import Proof
from feedproof.app.recomputing import _with_dbcs
from feedproof.case.margin import Measure
from feedproof.case.run import Channel
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from feedproof.scenario.make_logs import cell_log, logger_log, run_table
from feedproof.scenario.true_runs import PlannedRun, plan_runs
from tests.app.conftest import outcome_of
from tests.app.planted import DECLARED, HEAD, SEED, planted_case, quiet, true_added_pa
from tests.records.buslog.bus import write

BUS_CLOCK_S = 812.345
BUS = """
[instrument.bus]
title = "invented recorder of the vehicle's bus"
[instrument.bus.channels]
time = { column = "time" }
engine_speed = { column = "engine speed (SPN 190)" }
rail_pressure = { column = "metering rail pressure (SPN 157)" }
"""
RAIL_OF_LOGGER = 'rail_pressure = { column = "Rail ist" }\n'


def frames(run: PlannedRun) -> list[can.Message]:
    """Write what the logger says of speed and rail pressure as frames of J1939."""
    told = []
    for line in logger_log(run, SEED).splitlines()[2:]:
        cells = [float(cell.replace(",", ".")) for cell in line.split(";")]
        at = cells[0] + BUS_CLOCK_S
        for group, place, raw in (
            (0x0CF00400, 3, round(cells[1] * 8)),
            (0x18FEDB00, 2, round(cells[4] / 10.0 * 256)),
        ):
            data = bytearray(b"\xff" * 8)
            data[place : place + 2] = raw.to_bytes(2, "little")
            told.append(
                can.Message(
                    timestamp=at + (0.0 if place == 3 else 0.0007),
                    arbitration_id=group,
                    is_extended_id=True,
                    data=data,
                    channel=0,
                )
            )
    return told


def head(text: str) -> str:
    """Take the rail pressure from the logger and give it to the bus."""
    assert RAIL_OF_LOGGER in text
    before, mark, after = text.replace(RAIL_OF_LOGGER, "").partition("\n[instrument.logger]")
    return f"{before}\n{BUS}{mark}{after}"


def kept(run: PlannedRun) -> bool:
    return run.session.name == "secondary"


def runs_of_the_case() -> list[PlannedRun]:
    return [quiet(run) for run in plan_runs(SEED) if kept(run)]


def with_bus(folder: Path, ending: str) -> CaseFolder:
    """Lay out the case and add every run with its three logs, as a user does."""
    text = head(HEAD.read_text(encoding="utf-8"))
    case = CaseFolder.create(folder, text.split("# Runs follow", maxsplit=1)[0])
    case.declare_margins(who="workshop (invented)", source="agreed before", when=DECLARED)
    logs = folder.parent / "logs"
    logs.mkdir()
    for run in runs_of_the_case():
        table = tomllib.loads(run_table(run, SEED))["run"][0]
        del table["logs"]
        cell, logger = logs / f"{run.number}_cell.csv", logs / f"{run.number}_logger.csv"
        cell.write_text(cell_log(run, SEED), encoding="utf-8", newline="\n")
        logger.write_bytes(logger_log(run, SEED).encode("cp1252"))
        bus = write(logs / f"{run.number}_bus{ending}", frames(run))
        api.add_run(folder, table, {"cell": str(cell), "logger": str(logger), "bus": str(bus)})
    return case


@pytest.mark.timeout(300)
def test_a_case_with_bus_logs_is_proved_like_one_without(tmp_path: Path) -> None:
    with_bus(tmp_path / "case", ".log")
    proof: Proof = api.prove(tmp_path / "case")
    planted_case(tmp_path / "plain", quiet, keep=kept)
    plain: Proof = api.prove(tmp_path / "plain")

    added = outcome_of(proof, "secondary", Measure.INLET_DEPRESSION).figures["added_pa"]
    assert added == pytest.approx(true_added_pa("B"), abs=300.0)
    assert added == outcome_of(plain, "secondary", Measure.INLET_DEPRESSION).figures["added_pa"]

    rail, of_csv = (outcome_of(p, "secondary", Measure.RAIL_PRESSURE) for p in (proof, plain))
    assert rail.answer is of_csv.answer
    for name, value in of_csv.figures.items():
        # Steps of 1/256 MPa and a clock of its own: a small part of the channel's noise.
        assert math.isclose(rail.figures[name], value, rel_tol=0.05, abs_tol=0.1e6), name
    assert "bus" in str(to_document(proof))


def test_a_run_with_the_bus_pressure_as_depression_is_refused_and_not_added(
    tmp_path: Path,
) -> None:
    text = head(HEAD.read_text(encoding="utf-8")).replace(
        'rail_pressure = { column = "metering rail pressure (SPN 157)" }',
        'inlet_depression = { column = "metering rail pressure (SPN 94)", unit = "kPa" }',
    )
    case = CaseFolder.create(tmp_path / "case", text.split("# Runs follow", maxsplit=1)[0])
    run = runs_of_the_case()[0]
    table = tomllib.loads(run_table(run, SEED))["run"][0]
    del table["logs"]
    export = tmp_path / "export.csv"
    rows = "".join(f"{0.02 * i:.2f},{900 + i},20\n" for i in range(1000))
    export.write_text(
        f"time [s],engine speed (SPN 190) [rpm],metering rail pressure (SPN 94) [kPa]\n{rows}"
    )
    before = (case.path / "case.toml").read_bytes()
    with pytest.raises(InputError, match="cannot show a depression"):
        api.add_run(case.path, table, {"bus": str(export)})
    assert (case.path / "case.toml").read_bytes() == before


DBC = (
    'VERSION ""\nNS_ :\nBS_:\nBU_: A\n'
    "BO_ 2364540158 EEC1: 8 A\n"
    ' SG_ EngSpeed : 24|16@1+ (0.125,0) [0|8000] "rpm" A\n'
)


def test_a_dbc_in_the_case_folder_is_asked_for_whenever_its_logs_are_read(
    tmp_path: Path,
) -> None:
    digest = hashlib.sha256(DBC.encode()).hexdigest()
    hints = f'[instrument.bus.dialect]\ndbc = "dbc/own.dbc"\ndbc_sha256 = "{digest}"\n'
    text = head(HEAD.read_text(encoding="utf-8"))
    text = text.replace("engine speed (SPN 190)", "EngSpeed (SPN 190)")
    text = text.replace("\n[instrument.logger]", f"\n{hints}\n[instrument.logger]", 1)
    case = CaseFolder.create(tmp_path / "case", text.split("# Runs follow", maxsplit=1)[0])
    (case.path / "dbc").mkdir()
    (case.path / "dbc" / "own.dbc").write_text(DBC)
    case.declare_margins(who="workshop (invented)", source="agreed before", when=DECLARED)
    run = runs_of_the_case()[0]
    table = tomllib.loads(run_table(run, SEED))["run"][0]
    del table["logs"]
    cell = tmp_path / "cell.csv"
    cell.write_text(cell_log(run, SEED), encoding="utf-8", newline="\n")
    bus = write(tmp_path / "bus.log", frames(run))
    api.add_run(case.path, table, {"cell": str(cell), "bus": str(bus)})

    loaded = case.load().case
    logs, told = load_logs(case, loaded)
    (of_bus,) = (log for log in logs[run.number] if log.instrument == "bus")
    assert np.isfinite(of_bus.values[Channel.ENGINE_SPEED]).sum() > 1000
    assert not [f for f in told if "does not state its hash" in f.message]

    (seen,) = api.look([bus], case=case.path / "case.toml", instrument="bus").files
    assert seen.usable, seen.findings
    assert "EngSpeed (SPN 190)" in {column.header for column in seen.columns}

    copy = CaseFolder(case.path).copy_to(tmp_path / "copy").path
    (copy / "dbc" / "own.dbc").unlink()
    (copy / "dbc").rmdir()
    _with_dbcs(case.path, copy)
    assert (tmp_path / "copy" / "dbc" / "own.dbc").read_text() == DBC

    (case.path / "dbc" / "own.dbc").write_text(DBC.replace("0.125", "0.25"))
    with pytest.raises(InputError, match="It was changed"):
        load_logs(case, loaded)
    (case.path / "dbc" / "own.dbc").unlink()
    with pytest.raises(InputError, match="there is no file"):
        load_logs(case, loaded)
