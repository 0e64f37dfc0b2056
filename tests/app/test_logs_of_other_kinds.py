"""A run whose logs are a workbook and a Parquet file goes on record as one with text logs does."""

import json
import tomllib
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import polars as pl
import pytest

from feedproof.app.api_runs import add_run
from feedproof.app.cli import main
from feedproof.app.logs import load_logs
from feedproof.app.schemas import schema
from feedproof.case.log import Log
from feedproof.records.channel_cache import channels_path, read_channels
from feedproof.records.folder import CaseFolder
from tests.records.logs.books import book, table
from tests.records.logs.writer import Form

DEMO = Path(__file__).parents[2] / "src" / "feedproof" / "scenario" / "case"


def rows_of(log: Path, delimiter: str) -> list[list[Any]]:
    """Divide a log of the demonstration; decimal numbers as numbers."""
    lines = log.read_text(encoding="cp1252").splitlines()
    return [
        [cell(text) for text in line.split(delimiter)]
        for line in lines
        if line.count(delimiter) > 2
    ]


def cell(text: str) -> Any:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return text


def the_same(one: Log, other: Log) -> bool:
    return np.array_equal(one.time_s, other.time_s) and all(
        np.array_equal(values, other.values[channel], equal_nan=True)
        for channel, values in one.values.items()
    )


def test_a_run_of_a_workbook_and_a_parquet_file_is_kept_and_read_as_the_text_logs_were(
    tmp_path: Path,
) -> None:
    folder = CaseFolder(DEMO).copy_to(tmp_path / "case")
    loaded = folder.load()
    case = loaded.case
    run = next(run for run in case.runs if run.number == 27)
    raw = {log.instrument: folder.raw(log) for log in run.logs}
    book(tmp_path / "cell.xlsx", {"cell": rows_of(raw["cell"], ",")})
    logger = rows_of(raw["logger"], ";")
    names = [f"{name} [{unit}]" for name, unit in zip(logger[0], logger[1], strict=True)]
    columns = zip(*logger[2:], strict=True)
    pl.DataFrame(dict(zip(names, columns, strict=True))).write_parquet(tmp_path / "logger.parquet")
    text = (DEMO / "case.toml").read_text(encoding="utf-8")
    entry = next(each for each in tomllib.loads(text)["run"] if each["number"] == 27)
    entry = {name: value for name, value in entry.items() if name != "logs"}
    entry |= {"number": 28, "started": entry["started"] + timedelta(hours=1)}
    files = {"cell": tmp_path / "cell.xlsx", "logger": tmp_path / "logger.parquet"}
    add_run(folder.path, entry, {name: str(file) for name, file in files.items()})

    case = CaseFolder.open(folder.path).load().case
    added = next(run for run in case.runs if run.number == 28)
    logs, _ = load_logs(folder, case)
    before = {log.instrument: log for log in logs[27]}
    assert [log.name for log in added.logs] == ["cell.xlsx", "logger.parquet"]
    for log in logs[28]:
        assert the_same(before[log.instrument], log)
    for file in added.logs:
        kept = channels_path(folder.raw(file), case.instruments[file.instrument])
        assert the_same(before[file.instrument], read_channels(kept)[0])


def looked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code = main(["look", *words, "--json"])
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("look"))
    return code, document["files"][0]


def test_look_shows_kind_and_sheet_and_asks_for_the_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"one": table(Form()), "two": table(Form())})
    code, seen = looked(capsys, str(path))
    assert code == 2
    assert not seen["kind"]
    assert "2 sheets hold a table: 'one', 'two'" in seen["findings"][0]["message"]
    code, seen = looked(capsys, str(path), "--sheet", "two")
    assert code == 0
    assert (seen["kind"], seen["sheet"], seen["delimiter"]) == ("workbook", "two", "")
    assert (seen["header_row"], seen["unit_row"], seen["first_data_row"]) == (1, 2, 3)
    pasted = tomllib.loads(seen["block"])["instrument"]["logger"]["dialect"]
    assert pasted == {"sheet": "two"}


def test_a_case_may_state_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = CaseFolder(DEMO).copy_to(tmp_path / "case")
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    stated = text.replace(
        "[instrument.logger.channels]",
        '[instrument.logger.dialect]\nsheet = "two"\n\n[instrument.logger.channels]',
        1,
    )
    document.write_text(stated, encoding="utf-8")
    assert not [f for f in CaseFolder(folder.path).read().findings if "dialect" in f.place]
    path = tmp_path / "log.xlsx"
    book(path, {"one": table(Form()), "two": table(Form(rows=200))})
    _, seen = looked(capsys, str(path), "--case", str(folder.path), "--instrument", "logger")
    assert (seen["sheet"], seen["rows"]) == ("two", 200)
