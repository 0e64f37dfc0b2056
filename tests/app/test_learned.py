"""
A mapping that was learned is shown for a header of its shape, and never applied.

Promised: adding a run, or somebody's word on a look, remembers what the columns mean with who, when
and from which case; a look at such a file says so and offers the block; two that contradict each
other are told; the database stands in nobody's way.
"""

import json
import sqlite3
import time
import tomllib
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.store import Store
from tests.app.conftest import copied


@pytest.fixture
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Name a database of the test's own, which is not there yet."""
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv(VARIABLE, str(file))
    return file


@pytest.fixture
def folder(demo, tmp_path: Path) -> CaseFolder:
    """Copy the demonstration."""
    return copied(demo.folder, tmp_path / "case")


def log_of(folder: CaseFolder, instrument: str, target: Path, cut: int = 2) -> Path:
    """Copy a log of the demonstration, cut by some lines so that it is a new file."""
    run = folder.load().case.runs[2]
    log = next(each for each in run.logs if each.instrument == instrument)
    lines = folder.raw(log).read_bytes().rstrip(b"\r\n").rsplit(b"\n", cut)
    target.write_bytes(lines[0] + b"\n")
    return target


def add(folder: CaseFolder, tmp_path: Path, number: int = 90, **more: Any) -> Any:
    """Add a run with both logs."""
    logs = {
        name: str(log_of(folder, name, tmp_path / f"{number}_{name}.csv", number - 87))
        for name in ("cell", "logger")
    }
    run = {
        "number": number,
        "kits": [],
        "session": "later",
        "started": datetime(2026, 9, 20, 7, number - 80, tzinfo=UTC),
        "role": "compare",
        "setup": "as-fitted",
        "ambient": {"pressure_abs": "91 kPa", "temperature": "20 degC", "humidity": "50 %"},
        "fuel_level": "60 %",
    }
    return api.add_run(folder.path, run, logs, who="Ann", **more)


def looked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """Give what `look` says of one file."""
    assert main(["look", *words, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("look"))
    seen: dict[str, Any] = document["files"][0]
    return seen


def test_an_added_run_teaches_and_a_look_shows_it_with_who_when_and_where(
    folder, tmp_path, own_store, capsys
) -> None:
    told = add(folder, tmp_path)
    seen = looked(capsys, str(log_of(folder, "logger", tmp_path / "next.csv", 9)))
    (known,) = seen["known"]

    assert told.findings == ()
    assert (known["instrument"], known["who"]) == ("logger", "Ann")
    assert known["why"] == f"case {folder.load().case.title!r}, run 90"
    assert known["learned"][:4] == time.strftime("%Y", time.gmtime())
    block = tomllib.loads(known["block"])["instrument"]["logger"]
    case = tomllib.loads((folder.path / "case.toml").read_text("utf-8"))["instrument"]["logger"]
    assert block["channels"] == case["channels"]
    # Shown, never applied: what is concluded is what is concluded without it.
    own_store.unlink()
    without = looked(capsys, str(tmp_path / "next.csv"))
    assert {**without, "known": [known]} == seen
    assert not own_store.exists(), "a look makes no database"


def test_the_console_says_known_instrument_and_offers_its_block(folder, tmp_path, capsys) -> None:
    add(folder, tmp_path)
    assert main(["look", str(log_of(folder, "cell", tmp_path / "next.csv", 9))]) == 0
    said = capsys.readouterr().out

    assert "known instrument 'cell', mapping learned on 20" in said
    assert "by Ann from case" in said
    assert "It was not applied" in said
    assert said.count("[instrument.") == 2, "the learned block stands in the place of the guess"


def test_what_is_known_already_is_not_written_again(folder, tmp_path, own_store) -> None:
    add(folder, tmp_path)
    add(folder, tmp_path, 91)
    with Store.open(own_store) as store:
        subjects = [each.row.subject for each in store.mappings()]
        assert [len(store.history("mappings", each)) for each in subjects] == [1, 1]


def test_an_instrument_that_is_read_otherwise_later_is_told_and_both_stay_in_the_history(
    folder, tmp_path, own_store
) -> None:
    add(folder, tmp_path)
    document = folder.path / "case.toml"
    text = document.read_text("utf-8")
    document.write_text(text.replace('ceiling = "44.1 kPa"', 'ceiling = "43 kPa"'), "utf-8")
    told = add(folder, tmp_path, 91)

    (finding,) = told.findings
    assert finding.level == "warning"
    assert "ceiling 44.1 kPa" in finding.message
    assert "now 'Unterdruck Pumpe' [as the log says], ceiling 43 kPa" in finding.message
    assert "run 90" in finding.message
    with Store.open(own_store) as store:
        (kept,) = [each for each in store.mappings() if each.record.instrument == "logger"]
        assert kept.record.channels["inlet_depression"].ceiling == "43 kPa"
        assert len(store.history("mappings", kept.row.subject)) == 2


def test_two_mappings_for_one_header_are_told_by_look_and_by_the_run(
    folder, tmp_path, capsys
) -> None:
    add(folder, tmp_path)
    document = folder.path / "case.toml"
    text = document.read_text("utf-8")
    text = text.replace("[instrument.logger", "[instrument.gauge").replace('floor = "-2 kPa", ', "")
    document.write_text(text.replace('instrument = "logger"', 'instrument = "gauge"'), "utf-8")
    log = log_of(folder, "gauge", tmp_path / "next.csv", 9)
    words = ["--case", str(folder.path), "--instrument", "gauge", "--remember", "Ben"]
    first = looked(capsys, str(log), *words)
    seen = looked(capsys, str(log))

    assert any("same header as 'logger'" in each["message"] for each in first["findings"])
    assert [each["instrument"] for each in seen["known"]] == ["logger", "gauge"]
    (told,) = [each for each in seen["findings"] if "two mappings" in each["message"]]
    assert (told["level"], "floor -2 kPa" in told["message"]) == ("warning", True)


def test_a_look_remembers_only_by_somebodys_word_and_only_what_a_case_says(
    folder, tmp_path, own_store, capsys
) -> None:
    log = log_of(folder, "cell", tmp_path / "next.csv")
    looked(capsys, str(log), "--case", str(folder.path), "--instrument", "cell")
    assert not own_store.exists()

    with pytest.raises(InputError, match="--case"):
        api.look([log], confirmed_by="Ben")
    words = ["--case", str(folder.path), "--instrument", "cell", "--remember", "Ben"]
    looked(capsys, str(log), *words)
    (known,) = looked(capsys, str(log))["known"]

    assert (known["who"], known["why"].endswith("confirmed on next.csv")) == ("Ben", True)


def test_a_look_that_finds_an_error_remembers_nothing(folder, tmp_path, own_store) -> None:
    log = log_of(folder, "logger", tmp_path / "next.csv")
    words = ["--case", str(folder.path), "--instrument", "cell", "--remember", "Ben"]

    assert main(["look", str(log), *words]) == 2
    assert not own_store.exists()


def _garbage(file: Path) -> None:
    file.write_text("not a database at all " * 100, encoding="utf-8")


def _folder_in_its_place(file: Path) -> None:
    file.mkdir()


def _newer(file: Path) -> None:
    Store.open(file).close()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0099'")


@pytest.mark.parametrize("spoil", [_garbage, _folder_in_its_place, _newer])
def test_a_broken_database_is_told_and_the_run_is_added(
    folder, tmp_path, own_store, capsys, spoil
) -> None:
    own_store.parent.mkdir()
    spoil(own_store)
    told = add(folder, tmp_path)

    assert [run.number for run in folder.load().case.runs][-1] == 90
    assert folder.journal.read()[0][-1].what == "run added"
    (finding,) = told.findings
    assert finding.level == "warning"
    assert "is not remembered" in finding.message
    seen = looked(capsys, str(log_of(folder, "cell", tmp_path / "next.csv", 9)))
    assert seen["known"] == []
    assert any("no mapping that was learned is shown" in f["message"] for f in seen["findings"])


def test_a_busy_database_is_waited_for_shortly_told_and_the_run_is_added(
    folder, tmp_path, own_store
) -> None:
    Store.open(own_store).close()
    with closing(sqlite3.connect(own_store, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        begun = time.monotonic()
        told = add(folder, tmp_path)
        waited = time.monotonic() - begun
        other.execute("ROLLBACK")

    assert [run.number for run in folder.load().case.runs][-1] == 90
    assert "is not remembered" in str(told.findings)
    assert waited < 20, "a measurement does not wait as long as other writers do"


def test_nothing_is_learned_where_it_is_not_wanted(folder, tmp_path, own_store) -> None:
    add(folder, tmp_path, learn=False)

    assert not own_store.exists()
    assert folder.journal.read()[0][-1].who == "Ann"
