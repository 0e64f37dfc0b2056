"""
The verbs of the database and of instruments.

Promised: the index is made from the folders at any time, also of cases that cannot be used; a
backup goes back equal; an instrument keeps who, when and why; each document fits its schema; each
refusal says what to do.
"""

import json
import shutil
from pathlib import Path

import jsonschema
import pytest

import feedproof as fp
from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.folder import CaseFolder
from feedproof.records.store.address import VARIABLE
from feedproof.records.store.store import Store


@pytest.fixture(autouse=True)
def own_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Name a database of the test's own."""
    file = tmp_path / "data" / "store.sqlite"
    monkeypatch.setenv(VARIABLE, str(file))
    return file


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """Lay out a folder of cases: one proved, one with a mistake, one without a proof."""
    folder = tmp_path / "cases"
    (folder / "2026").mkdir(parents=True)
    good = CaseFolder(api.PACKAGED_DEMO).copy_to(folder / "2026" / "good")
    shutil.copytree(good.path, folder / "plain")
    bad = shutil.copytree(good.path, folder / "bad")
    (bad / "case.toml").write_text("title = 3\n", encoding="utf-8")
    good.results.write("proof", {"verdicts": [{"configuration": "primary", "release": "release"}]})
    return folder


def said(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    """Give the document that a command prints."""
    assert main([*words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_reindex_finds_every_case_whatever_its_state(cases, capsys) -> None:
    document = said(capsys, "store", "reindex", str(cases))
    jsonschema.validate(document, schema("index"))
    by_name = {Path(each["path"]).name: each for each in document["cases"]}

    assert set(by_name) == {"good", "plain", "bad"}
    assert by_name["good"]["answer"] == "primary: release"
    assert len(by_name["good"]["proof"]) == 16
    assert (by_name["plain"]["answer"], by_name["plain"]["fault"]) == ("", "")
    assert "case.toml" in by_name["bad"]["fault"]
    assert by_name["good"]["vehicle"]
    assert by_name["good"]["kits"]
    with Store.open() as store:
        assert len(store.cases()) == 3
        assert store.verify() == ()


def test_the_index_is_the_same_when_it_is_lost_and_made_again(cases, own_store) -> None:
    first = fp.store_reindex(cases).cases
    own_store.unlink()

    assert fp.store_reindex(cases).cases == first
    assert fp.store_reindex(cases).gone == 0


def test_a_case_that_is_gone_leaves_the_index_and_others_stay(cases, tmp_path) -> None:
    elsewhere = shutil.copytree(cases / "plain", tmp_path / "elsewhere" / "other")
    fp.store_reindex(elsewhere.parent)
    fp.store_reindex(cases)
    shutil.rmtree(cases / "bad")

    told = fp.store_reindex(cases)

    assert told.gone == 1
    with Store.open() as store:
        assert {Path(each.path).name for each in store.cases()} == {"good", "plain", "other"}


def test_a_backup_goes_back_equal(tmp_path, capsys) -> None:
    fp.instrument_add("gauge", title="Gauge, invented", who="Ann", serial="A-17")
    before = fp.instrument_show("gauge")
    document = said(capsys, "store", "backup", str(tmp_path / "copy"))
    jsonschema.validate(document, schema("written"))
    fp.instrument_add("gauge", title="Other", who="Ben", replace_because="new one")

    document = said(capsys, "store", "restore", str(tmp_path / "copy"))

    jsonschema.validate(document, schema("written"))
    assert fp.instrument_show("gauge") == before
    fp.store_restore(Path(document["paths"][0]))
    assert fp.instrument_show("gauge").instruments[0].title == "Other"


def test_a_damaged_database_is_not_backed_up(tmp_path) -> None:
    fp.instrument_add("gauge", title="Gauge, invented", who="Ann")
    with Store.open() as store, store._database.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE instruments SET title = 'forged'")

    with pytest.raises(InputError, match="changed after it was written"):
        fp.store_backup(tmp_path / "copy")

    assert not (tmp_path / "copy").exists()


def test_an_instrument_shows_its_calibration_and_its_history(capsys) -> None:
    words = ["instrument", "add", "gauge", "--title", "Gauge, invented", "--who"]
    assert main([*words, "Ann", "--calibrated", "2026-01-10", "--due", "2026-07-10"]) == 0
    again = ["--calibrated", "2026-07-01", "--due", "2027-01-01", "--replace", "calibrated again"]
    assert main([*words, "Ben", *again]) == 0
    capsys.readouterr()

    document = said(capsys, "instrument", "show", "gauge", "--on", "2027-01-02")

    jsonschema.validate(document, schema("instruments"))
    assert [each["calibrated"] for each in document["history"]] == ["2026-01-10", "2026-07-01"]
    assert "due for calibration on 2027-01-01" in document["findings"][0]["message"]
    assert main(["instrument", "show", "gauge", "--on", "2027-01-01"]) == 0
    text = capsys.readouterr().out
    assert "warning" not in text
    assert "kept by Ben: calibrated again" in text
    assert fp.instrument_show("gauge", on="2026-06-30").findings


def test_an_instrument_is_not_overwritten_without_a_reason() -> None:
    fp.instrument_add("gauge", title="Gauge, invented", who="Ann")

    with pytest.raises(InputError, match=r"kept by Ann.*--replace REASON"):
        fp.instrument_add("gauge", title="Other", who="Ben")

    assert fp.instrument_show().instruments[0].title == "Gauge, invented"


def test_every_wrong_day_is_told_at_once(capsys) -> None:
    words = ["instrument", "add", "g", "--title", "t", "--who", "w"]

    assert main([*words, "--calibrated", "10/1/26", "--due", "soon"]) == 2

    assert capsys.readouterr().err.count("is no day") == 2
    with pytest.raises(InputError, match="before its calibration"):
        fp.instrument_add("g", title="t", who="w", calibrated="2026-02-01", due="2026-01-01")


def test_what_is_not_there_is_told(tmp_path) -> None:
    with pytest.raises(MissingError, match="no such folder"):
        fp.store_reindex(tmp_path / "nowhere")
    with pytest.raises(MissingError, match="no such file"):
        fp.store_restore(tmp_path / "nowhere")
    with pytest.raises(MissingError, match="no such record"):
        fp.instrument_show("nothing")
    (tmp_path / "there").touch()
    with pytest.raises(WriteError, match="is there already"):
        fp.store_backup(tmp_path / "there")


def answers(told) -> dict[str, str]:
    """Give what cases came to, by the name of their folder."""
    return {Path(each.path).name: each.answer for each in told.cases}


def indexed_long_ago(own_store: Path) -> None:
    """Let the index be older than every file of the cases."""
    import os
    import time

    past = time.time() - 3600
    for file in own_store.parents[1].rglob("*"):
        os.utime(file, (past, past))


def test_cases_are_listed_and_only_changed_ones_are_read(cases, own_store, capsys) -> None:
    indexed_long_ago(own_store)
    document = said(capsys, "store", "cases", str(cases))
    jsonschema.validate(document, schema("cases"))
    assert (document["read"], len(document["cases"])) == (3, 3)
    # The one that cannot be used is always read: what is wrong with it may lie anywhere.
    assert fp.store_cases(cases).read == 1

    plain = cases / "plain" / "case.toml"
    plain.write_text(plain.read_text("utf-8").replace('title = "', 'title = "Changed '), "utf-8")
    told = fp.store_cases(cases)
    assert told.read == 2
    assert any(each.title.startswith("Changed ") for each in told.cases)


def test_a_new_proof_shows_though_the_index_knew_an_older_one(cases, own_store) -> None:
    indexed_long_ago(own_store)
    fp.store_cases(cases)
    good = CaseFolder(cases / "2026" / "good")
    good.results.write("proof", {"verdicts": [{"configuration": "both", "release": "no release"}]})

    assert answers(fp.store_cases(cases))["good"] == "both: no release"


def test_the_list_equals_what_reading_the_folders_gives_whatever_the_index_says(
    cases, own_store
) -> None:
    indexed_long_ago(own_store)
    fp.store_cases(cases)
    shutil.rmtree(cases / "plain")
    shutil.copytree(cases / "2026" / "good", cases / "new")
    told = fp.store_cases(cases)

    assert told.gone == 1
    assert told.cases == fp.store_reindex(cases).cases
    assert [each.path for each in fp.store_cases().cases] == [each.path for each in told.cases]


def test_a_lost_index_is_made_again_and_a_broken_database_is_told(cases, own_store) -> None:
    whole = fp.store_cases(cases).cases
    own_store.unlink()
    assert fp.store_cases(cases).cases == whole
    own_store.write_text("no database " * 100, encoding="utf-8")
    told = fp.store_cases(cases)

    assert told.cases == whole
    assert "no index was used" in told.text()
    with pytest.raises(MissingError):
        fp.store_cases(cases / "nothing")


def test_a_case_elsewhere_stays_in_the_index_when_a_folder_is_listed(cases, tmp_path) -> None:
    elsewhere = shutil.copytree(cases / "plain", tmp_path / "elsewhere" / "other")
    fp.store_cases(elsewhere.parent)
    fp.store_cases(cases)

    assert len(fp.store_cases().cases) == 4
    shutil.rmtree(elsewhere)
    told = fp.store_cases()
    assert (len(told.cases), told.gone) == (3, 1)
