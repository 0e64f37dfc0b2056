"""
What was recorded can be checked, computed again, and moved, on the invented demonstration.

Promised: a result comes out again to the last digit from what is kept with it, also when the case
has moved on; one that does not is named with the first difference; a case that was moved gives the
same verdict to the last digit; channels kept beside the raw logs change no digit.
"""

import json
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.documents import to_document
from feedproof.app.keeping import exact_hash
from feedproof.app.logs import keep_run
from feedproof.app.recomputing import VERBS, first_difference
from feedproof.app.schemas import schema
from feedproof.records.folder import CaseFolder
from feedproof.records.logs.reading import read_log
from feedproof.records.results import Results


@pytest.fixture(scope="module")
def proven(tmp_path_factory: pytest.TempPathFactory) -> CaseFolder:
    """Give the demonstration, predicted and proven; tests that change it copy it."""
    folder = CaseFolder(api.PACKAGED_DEMO).copy_to(tmp_path_factory.mktemp("store") / "case")
    api.predict(folder.path, kits=("secondary",), altitude="1500 m")
    api.prove(folder.path)
    return folder


def copied(folder: CaseFolder, target: Path) -> CaseFolder:
    """Copy a case with everything in it."""
    shutil.copytree(folder.path, target)
    return CaseFolder(target)


def rewritten(folder: CaseFolder, kind: str, change: dict[str, Any]) -> str:
    """Forge a result of a kind: other content or making, rightly named and sealed."""
    (identity,) = folder.results.of_kind(kind)
    found = dict(folder.results.read(identity))
    (folder.results.path / f"{identity}.json").unlink()
    content, made = {**found["content"], **change}, found["made"]
    return Results(folder.results.path).write(kind, content, made)


def test_every_result_says_how_it_was_made(proven: CaseFolder) -> None:
    (identity,) = proven.results.of_kind("prediction")
    made = proven.results.read(identity)["made"]
    loaded = proven.load()

    assert made["verb"] == "predict"
    assert made["parameters"] == {"kits": ["secondary"], "altitude": "1500 m"}
    assert made["document"] == f"{loaded.sha256}.toml"
    assert made["journal_line"] == 28
    assert made["journal_hash"] == loaded.journal[27].hash
    assert {"feedproof", "python", "numpy", "scipy", "numba"} <= set(made["environment"])
    resolved = json.loads(proven.documents.read(made["resolved"]))
    assert resolved["fuels"] == json.loads(json.dumps(to_document(loaded.case.fuels)))


def test_a_proof_names_every_log_that_it_read(proven: CaseFolder) -> None:
    (identity,) = proven.results.of_kind("proof")
    made = proven.results.read(identity)["made"]
    runs = proven.load().case.runs

    assert sorted(made["logs"].values()) == sorted(log.sha256 for run in runs for log in run.logs)


def test_results_come_out_again_to_the_last_digit_when_the_case_has_moved_on(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    path = folder.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[pull]", "# moved on\n[pull]", 1), encoding="utf-8")
    last = max(run.number for run in folder.load().case.runs)
    folder.exclude_run(last, who="anna", reason="a hose was loose")
    before = sorted(str(each) for each in folder.path.rglob("*"))

    told = api.store_verify(folder.path, recompute=True)

    (case,) = told.cases
    assert told.whole, told.text()
    assert [(each.verb, each.equal, each.environment_equal) for each in case.recomputed] == [
        ("predict", True, True),
        ("prove", True, True),
    ]
    assert any("has changed since" in finding.message for finding in case.findings)
    assert sorted(str(each) for each in folder.path.rglob("*")) == before


def test_a_proof_with_an_archive_comes_out_again_when_the_archive_is_gone(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    for identity in folder.results.all():
        (folder.results.path / f"{identity}.json").unlink()
    archive = tmp_path / "bench" / "archive.jsonl"
    archive.parent.mkdir()
    api.archive_add(folder.path, file=archive, who="anna")
    kept = archive.read_bytes()
    api.prove(folder.path, archive=archive)
    archive.unlink()

    (identity,) = folder.results.all()
    made = folder.results.read(identity)["made"]
    assert made["parameters"] == {"archive": "archive.jsonl", "calibrated": None}
    assert folder.documents.read(made["files"]["archive"]) == kept
    told = api.store_verify(folder.path, recompute=True)
    assert told.whole, told.text()
    assert len(told.cases[0].recomputed) == 1


def test_a_result_that_does_not_come_out_again_is_named_with_the_first_difference(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    (folder.results.path / f"{folder.results.of_kind('proof')[0]}.json").unlink()
    identity = rewritten(folder, "prediction", {"title": "another"})

    told = api.store_verify(folder.path, recompute=True)

    (again,) = told.cases[0].recomputed
    assert not told.whole
    assert (again.result, again.equal, again.path, again.kept) == (
        identity,
        False,
        "title",
        "'another'",
    )
    assert api.store_verify(folder.path).whole, "its hash is right: only computing again shows it"


def test_a_journal_that_lost_its_last_lines_is_found_by_a_result(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    lines = folder.journal.path.read_bytes().splitlines(keepends=True)
    folder.journal.path.write_bytes(b"".join(lines[:27]))

    told = api.store_verify(folder.path)

    assert not told.whole
    assert "line 28 is not there as it was" in told.text()


def test_a_line_of_the_journal_in_other_bytes_is_found_though_it_says_the_same(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    text = folder.journal.path.read_bytes()
    folder.journal.path.write_bytes(text.replace(b'"seq": 2,', b'"seq":  2,', 1))

    assert folder.journal.read()[1] == ()
    assert "line 2: is not in the form" in api.store_verify(folder.path).text()


def test_a_lost_document_and_a_foreign_raw_file_are_found(
    proven: CaseFolder, tmp_path: Path
) -> None:
    folder = copied(proven, tmp_path / "case")
    for name in folder.documents.all():
        (folder.documents.path / name).unlink()
    (next(folder.raw_logs.path.iterdir()) / "smuggled.csv").write_bytes(b"1")

    text = api.store_verify(folder.path).text()

    assert text.count("which is not there") == 4
    assert "smuggled.csv: was changed" in text


def test_a_case_that_was_moved_gives_the_same_verdict_to_the_last_digit(
    proven: CaseFolder, tmp_path: Path
) -> None:
    api.store_export(proven.path, tmp_path / "case.zip")
    assert api.store_verify(tmp_path / "case.zip").whole
    api.store_import(tmp_path / "case.zip", tmp_path / "elsewhere" / "case")
    moved = CaseFolder.open(tmp_path / "elsewhere" / "case")

    here, there = api.prove(copied(proven, tmp_path / "own").path), api.prove(moved.path)

    assert exact_hash(here) == exact_hash(there)
    assert api.store_verify(moved.path, recompute=True).whole


def test_channels_beside_the_raw_logs_change_no_digit_of_a_verdict(
    proven: CaseFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bare, cached = copied(proven, tmp_path / "bare"), copied(proven, tmp_path / "cached")
    case = cached.load().case
    for run in case.runs:
        readings = [
            read_log(cached.raw(log), case.instruments[log.instrument], log.name)
            for log in run.logs
        ]
        keep_run(cached, case, run, readings)
    assert len(list(cached.path.glob("raw/*/channels-*.parquet"))) == 54
    with monkeypatch.context() as patch:
        patch.setattr("feedproof.app.logs.read_log", lambda *_: pytest.fail("a raw log was read"))
        with_cache = api.prove(cached.path)

    assert exact_hash(with_cache) == exact_hash(api.prove(bare.path))
    told = api.store_verify(cached.path)
    assert told.whole
    assert told.cases[0].channels == 54
    assert api.check(cached.path).findings == api.check(bare.path).findings
    next(cached.path.glob("raw/*/channels-*.parquet")).write_bytes(b"PAR1")
    assert any("read from the raw log" in f.message for f in api.check(cached.path).findings)
    assert exact_hash(api.prove(cached.path)) == exact_hash(with_cache)
    assert not api.store_verify(cached.path).whole


def test_every_verb_that_keeps_results_can_be_called_again() -> None:
    for verb, room in VERBS.items():
        assert getattr(api, verb).__module__ == f"feedproof.app.{room}"


@pytest.mark.parametrize(
    ("kept", "now", "found"),
    [
        ({"a": [1, 2.5]}, {"a": [1, 2.5]}, None),
        ({"a": [1, 2.5]}, {"a": [1, 2.6]}, ("a[1]", "2.5", "2.6")),
        ({"a": 1}, {"a": True}, ("a", "1", "True")),
        ({"a": 1}, {"a": 1, "b": 2}, ("b", "nothing", "something")),
        ({"a": [1]}, {"a": [1, 2]}, ("a.length", "1", "2")),
        ({"a": None}, {"a": 0.0}, ("a", "None", "0.0")),
        ({"a": 2}, {"a": 2.0}, None),
    ],
)
def test_the_first_difference_is_found_where_it_stands(kept: Any, now: Any, found: Any) -> None:
    assert first_difference(kept, now) == found


def test_the_command_says_2_when_something_is_wrong_and_its_document_fits_its_schema(
    proven: CaseFolder, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = copied(proven, tmp_path / "shelf" / "case")
    assert main(["store", "verify", str(tmp_path / "shelf"), "--json"]) == 0
    jsonschema.validate(json.loads(capsys.readouterr().out), schema("verified"))
    next(folder.path.glob("raw/*/*.csv")).write_bytes(b"x")

    assert main(["store", "verify", str(folder.path)]) == 2
    assert "was changed" in capsys.readouterr().out
    assert main(["store", "verify", str(tmp_path / "none")]) == 3


def test_a_case_goes_out_in_away_and_back_on_the_command_line(
    proven: CaseFolder, tmp_path: Path
) -> None:
    zipped, case = str(tmp_path / "a.zip"), str(tmp_path / "case")

    assert main(["store", "export", str(proven.path), zipped]) == 0
    assert main(["store", "import", zipped, case]) == 0
    assert main(["store", "import", zipped, case]) == 4
    assert main(["store", "remove", case]) == 0
    assert not Path(case).exists()
    assert main(["store", "verify", str(tmp_path)]) == 3
    assert main(["store", "undo", case]) == 0
    assert main(["store", "verify", case]) == 0
