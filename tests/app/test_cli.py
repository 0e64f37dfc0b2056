"""The command line: exit codes, documents that fit their schema, rubbish that changes nothing."""

import json
from pathlib import Path

import jsonschema
import pytest

from feedproof.app import api
from feedproof.app.cli import VERBS, main
from feedproof.app.schemas import schema
from feedproof.records.folder import CaseFolder
from tests.app.conftest import copied

RUN = [
    "--number", "90",
    "--started", "2026-09-20T09:00:00+02:00",
    "--ambient", "91 kPa",
    "--air-temp", "20 degC",
    "--humidity", "50 %",
    "--level", "60 %",
]  # fmt: skip


@pytest.fixture
def folder(demo, tmp_path: Path) -> CaseFolder:
    """Copy the demonstration for a test that may change it."""
    return copied(demo.folder, tmp_path / "case")


def _everything(path: Path) -> dict[str, bytes]:
    """Read every file of a case but the kept results."""
    return {
        file.relative_to(path).as_posix(): file.read_bytes()
        for file in sorted(path.rglob("*"))
        if file.is_file() and "results" not in file.parts and not file.name.startswith(".")
    }


def test_help_names_every_verb(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    told = capsys.readouterr().out

    assert all(verb.split()[0] in told for verb in VERBS)


@pytest.mark.parametrize("words", [["bogus"], ["predict"], ["predict", ".", "--kitt", "x"]])
def test_wrong_words_exit_with_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "Traceback" not in "".join(capsys.readouterr())


def test_a_folder_without_a_case_exits_with_3(tmp_path: Path, capsys) -> None:
    assert main(["check", str(tmp_path)]) == 3
    assert "feedproof new" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        (["check"], "check"),
        (["predict", "--kit", "secondary", "--fuel-temp", "0degC"], "prediction"),
        (["envelope", "--kit", "badly_plumbed"], "envelope"),
        (["prove"], "proof"),
    ],
)
def test_json_documents_fit_their_schema(folder, capsys, words, kind) -> None:
    code = main([words[0], str(folder.path), *words[1:], "--json"])
    document = json.loads(capsys.readouterr().out)

    assert code == 0
    jsonschema.validate(document, schema(kind))


def test_the_schema_is_not_satisfied_by_something_else() -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"format": "x"}, schema("proof"))


def test_colder_fuel_predicts_more_depression(folder) -> None:
    warm = api.predict(folder.path, kits=("secondary",))
    cold = api.predict(folder.path, kits=("secondary",), fuel_temp="0 degC")

    assert (
        cold.configurations[1].pull.depression_pa[-1]
        > 1.3 * warm.configurations[1].pull.depression_pa[-1]
    )


def test_all_wrong_options_are_told_at_once(folder, capsys) -> None:
    code = main(
        ["predict", str(folder.path), "--fuel", "petrol", "--fuel-temp", "5", "--level", "140%",
         "--loading", "nothing=3g"]
    )  # fmt: skip
    told = capsys.readouterr().err

    assert code == 2
    for place in ("--fuel", "--fuel-temp", "--level", "--loading"):
        assert place in told


def test_an_unknown_kit_exits_with_3_and_names_those_there_are(folder, capsys) -> None:
    assert main(["predict", str(folder.path), "--kit", "tertiary"]) == 3
    assert "secondary" in capsys.readouterr().err


BROKEN = {
    "a wrong unit": ('bore = "8 mm"', 'bore = "8 kPa"', "not a unit of length"),
    "no unit": ('length = "0.50 m"', "length = 0.50", "has no unit"),
    "an unknown place": ('after = "factory_filter"', 'after = "nowhere"', "no part"),
    "not a number": ('length = "0.50 m"', 'length = "nan m"', "not a finite number"),
    "too large a number": ('length = "0.50 m"', 'length = "1e400 m"', "not a finite number"),
    "a run's number twice": ("number = 3\n", "number = 2\n", "run number 2 is used before"),
    "a negative bore": ('bore = "6.8 mm"', 'bore = "-6.8 mm"', "outside the allowed range"),
    "a depression for a ceiling": ('ceiling = "44.1 kPa"', 'ceiling = "-44 kPa"', "positive"),
}


@pytest.mark.parametrize("name", BROKEN)
@pytest.mark.parametrize("verb", ["check", "predict", "prove", "publish"])
def test_a_broken_document_is_told_with_its_line_and_nothing_is_written(
    folder, capsys, name: str, verb: str
) -> None:
    old, new, message = BROKEN[name]
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    assert old in text
    document.write_text(text.replace(old, new), encoding="utf-8")
    before = _everything(folder.path)

    code = main([verb, str(folder.path)])
    told = "".join(capsys.readouterr())

    assert code == 2
    assert message in told
    assert "case.toml line" in told
    assert _everything(folder.path) == before


@pytest.mark.parametrize("content", [b"", b"\x00\xff\x00", b"format = [", b"\xff\xfe{}"])
def test_rubbish_for_a_document_exits_with_2(folder, capsys, content: bytes) -> None:
    (folder.path / "case.toml").write_bytes(content)

    assert main(["prove", str(folder.path)]) == 2
    assert "Traceback" not in "".join(capsys.readouterr())


def _logs(folder: CaseFolder, tmp_path: Path) -> dict[str, Path]:
    """Copy one run's logs under new names, changed enough to be new files."""
    run = folder.load().case.runs[2]
    found = {}
    for log in run.logs:
        content = folder.raw(log).read_bytes()
        target = tmp_path / f"new_{log.name}"
        target.write_bytes(content.rstrip(b"\r\n").rsplit(b"\n", 2)[0] + b"\n")
        found[log.instrument] = target
    return found


def _add(folder: CaseFolder, logs: dict[str, Path], *more: str) -> int:
    """Add a run."""
    words = [f"{instrument}={path}" for instrument, path in logs.items()]
    return main(["add-run", str(folder.path), *words, *RUN, *more])


def test_a_run_is_added_with_its_logs_and_stands_in_the_journal(folder, tmp_path, capsys) -> None:
    code = _add(folder, _logs(folder, tmp_path), "--session", "later")
    capsys.readouterr()
    run = next(run for run in folder.load().case.runs if run.number == 90)
    entries, findings = folder.journal.read()

    assert code == 0
    assert {log.instrument for log in run.logs} == {"cell", "logger"}
    assert all(folder.raw(log).is_file() for log in run.logs)
    assert entries[-1].what == "run added"
    assert not findings
    assert "# INVENTED" in (folder.path / "case.toml").read_text(encoding="utf-8")


SPOILED = {
    "empty": (lambda _: "", "empty"),
    "binary": (lambda _: "\x00\x00\x07junk" * 200, "binary"),
    "a missing channel": (lambda text: text.replace("Power at wheel", "Kraft"), "Power at wheel"),
    "shorter than a pull": (lambda text: "\n".join(text.split("\n")[:60]), "pull"),
    "times backwards": (lambda text: text.replace("\n20.00,", "\n2.00,"), "backwards"),
}


@pytest.mark.parametrize("name", SPOILED)
def test_a_spoiled_log_is_refused_with_its_name_and_nothing_is_written(
    folder, tmp_path, capsys, name: str
) -> None:
    spoil, message = SPOILED[name]
    logs = _logs(folder, tmp_path)
    text = logs["cell"].read_text(encoding="utf-8")
    assert spoil(text) != text
    logs["cell"].write_text(spoil(text), encoding="utf-8")
    before = _everything(folder.path)

    code = _add(folder, logs)
    told = capsys.readouterr().err

    assert code == 2
    assert message in told
    assert logs["cell"].name in told
    assert _everything(folder.path) == before


def test_a_second_run_of_the_same_number_is_refused(folder, tmp_path, capsys) -> None:
    logs = _logs(folder, tmp_path)
    words = [f"{instrument}={path}" for instrument, path in logs.items()]
    before = _everything(folder.path)

    code = main(["add-run", str(folder.path), *words, *RUN[2:], "--number", "2"])

    assert code == 2
    assert "run number 2 is used before" in capsys.readouterr().err
    assert _everything(folder.path) == before


def test_the_same_log_cannot_be_added_twice(folder, capsys) -> None:
    run = folder.load().case.runs[2]
    logs = {log.instrument: folder.raw(log) for log in run.logs}

    assert _add(folder, logs) == 2
    assert "same bytes" in capsys.readouterr().err


def test_a_changed_raw_log_is_found(folder, capsys) -> None:
    run = folder.load().case.runs[3]
    path = folder.raw(run.logs[0])
    path.write_bytes(path.read_bytes().replace(b"1", b"2", 1))

    assert main(["prove", str(folder.path)]) == 2
    assert "was changed" in capsys.readouterr().err


def test_an_exclusion_needs_a_run_that_exists_and_is_kept(folder, capsys) -> None:
    assert main(["exclude", str(folder.path), "77", "--who", "A", "--reason", "x"]) == 3
    assert main(["exclude", str(folder.path), "4", "--who", "A", "--reason", "pedal lifted"]) == 0
    capsys.readouterr()
    run = next(run for run in folder.load().case.runs if run.number == 4)

    assert "pedal lifted" in run.excluded


def test_margins_changed_without_a_journal_line_are_undeclared(folder) -> None:
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    document.write_text(
        text.replace('wheel_power = "2 %"', 'wheel_power = "4 %"'), encoding="utf-8"
    )

    assert folder.load().case.margins.declared is None


def test_demo_and_publish_write_one_page_and_one_paper(tmp_path, capsys) -> None:
    target = tmp_path / "demo"

    assert main(["demo", str(target)]) == 0
    assert (target / "report" / "report.html").stat().st_size > 100_000
    assert (target / "report" / "report.pdf").read_bytes().startswith(b"%PDF")
    assert main(["demo", str(target)]) == 0
    assert main(["demo", str(Path(__file__).parent)]) == 4
    capsys.readouterr()


def test_a_new_case_passes_its_own_check_and_is_not_written_twice(tmp_path, capsys) -> None:
    assert main(["new", str(tmp_path / "mine")]) == 0
    assert main(["check", str(tmp_path / "mine")]) == 0
    assert main(["predict", str(tmp_path / "mine")]) == 0
    assert main(["publish", str(tmp_path / "mine")]) == 0
    assert main(["prove", str(tmp_path / "mine")]) == 3
    assert main(["new", str(tmp_path / "mine")]) == 4
    capsys.readouterr()


def test_a_log_without_a_pull_is_refused_before_anything_is_written(
    folder, tmp_path, capsys
) -> None:
    logs = _logs(folder, tmp_path)
    lines = logs["cell"].read_text(encoding="utf-8").split("\n")
    logs["cell"].write_text("\n".join(lines[: len(lines) // 3]) + "\n", encoding="utf-8")
    before = _everything(folder.path)

    assert _add(folder, logs) == 2
    assert "pull" in capsys.readouterr().err
    assert _everything(folder.path) == before


def test_a_run_that_vanished_from_the_document_is_missed(folder, capsys) -> None:
    document = folder.path / "case.toml"
    head, *runs = document.read_text(encoding="utf-8").split("[[run]]")
    kept = [run for run in runs if "number = 3\n" not in run]
    document.write_text("[[run]]".join([head, *kept]), encoding="utf-8")

    assert main(["prove", str(folder.path)]) == 2
    assert "run 3 was added" in capsys.readouterr().err


def test_values_below_zero_need_no_equals_sign(folder, capsys) -> None:
    words = ["predict", str(folder.path), "--kit", "secondary", "--fuel-temp", "-5degC"]

    assert main([*words, "--pitch", "-3 deg"]) == 0
    assert "-5 °C" in capsys.readouterr().out
