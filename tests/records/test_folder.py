"""
The case folder.

Promised: a run is added whole or not at all, and what was in the document stays byte for byte;
bad input changes no byte of the folder; nothing is written outside it; results are kept once,
never changed, and an edit of one is found; margins and exclusions are dated by the journal.
"""

import errno
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, VEHICLE, case_folder, contents_of, run_table

EARLY, LATE = datetime(2026, 9, 1, tzinfo=UTC), datetime(2026, 9, 20, tzinfo=UTC)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "run01_cell.csv"
    path.write_bytes(LOG)
    return path


@pytest.fixture
def case(tmp_path: Path) -> CaseFolder:
    return case_folder(tmp_path)


def test_an_added_run_is_read_back_with_its_log(case: CaseFolder, log: Path) -> None:
    added = case.add_run(run_table(), {"cell": log}, when=LATE)
    loaded = case.load().case

    assert loaded.runs == (added,)
    assert added.kits == ("secondary",)
    assert case.raw(added.logs[0]).read_bytes() == LOG


def test_the_document_before_an_added_run_stays_byte_for_byte(case: CaseFolder, log: Path) -> None:
    before = (case.path / "case.toml").read_bytes()
    case.add_run(run_table(), {"cell": log})

    assert (case.path / "case.toml").read_bytes().startswith(before.rstrip())


def test_an_added_run_has_a_line_in_the_journal_with_the_date_given(
    case: CaseFolder, log: Path
) -> None:
    case.add_run(run_table(), {"cell": log}, who="anna", when=LATE)
    entry = case.journal.read()[0][-1]

    assert (entry.what, entry.who, entry.when, entry.data["run"]) == ("run added", "anna", LATE, 1)


def test_a_second_run_goes_after_the_first(case: CaseFolder, log: Path, tmp_path: Path) -> None:
    other = tmp_path / "run02_cell.csv"
    other.write_bytes(LOG + b"0.2,1520\n")
    case.add_run(run_table(1), {"cell": log})
    case.add_run(run_table(2), {"cell": other})

    assert [run.number for run in case.load().case.runs] == [1, 2]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"kits": ["secundary"]}, "secundary"),
        ({"fuel": "petrol"}, "petrol"),
        ({"fuel_level": "120 L"}, "more than the tank"),
        ({"ambient": {"pressure_abs": "91 kPa"}}, "missing"),
        ({"started": datetime(2026, 9, 14, 9, 0)}, "no offset"),
        ({"note": "a\x00b"}, "note"),
        ({"typo": 3}, "not known"),
        ({"number": 0}, "out of range"),
    ],
)
def test_a_bad_run_changes_no_byte(
    change: dict[str, Any], told: str, case: CaseFolder, log: Path
) -> None:
    before = contents_of(case.path)
    with pytest.raises(InputError, match=told):
        case.add_run({**run_table(), **change}, {"cell": log})

    assert contents_of(case.path) == before


def test_a_run_number_that_is_taken_changes_no_byte(
    case: CaseFolder, log: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.csv"
    other.write_bytes(LOG + b"0.2,1520\n")
    case.add_run(run_table(1), {"cell": log})
    before = contents_of(case.path)
    with pytest.raises(InputError, match="is used before"):
        case.add_run(run_table(1), {"cell": other})

    assert contents_of(case.path) == before


def test_a_log_that_another_run_has_changes_no_byte(case: CaseFolder, log: Path) -> None:
    case.add_run(run_table(1), {"cell": log})
    before = contents_of(case.path)
    with pytest.raises(InputError, match="the same bytes"):
        case.add_run(run_table(2), {"cell": log})

    assert contents_of(case.path) == before


def test_an_unknown_instrument_changes_no_byte(case: CaseFolder, log: Path) -> None:
    before = contents_of(case.path)
    with pytest.raises(InputError, match="instrument"):
        case.add_run(run_table(), {"cel": log})

    assert contents_of(case.path) == before


def test_a_log_that_is_not_there_changes_no_byte(case: CaseFolder, tmp_path: Path) -> None:
    before = contents_of(case.path)
    with pytest.raises(MissingError):
        case.add_run(run_table(), {"cell": tmp_path / "none.csv"})

    assert contents_of(case.path) == before


@pytest.mark.parametrize("step", ["replace", "fsync"])
def test_a_full_disk_leaves_the_document_and_the_journal_as_they_were(
    step: str, case: CaseFolder, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    before = contents_of(case.path)
    with monkeypatch.context() as patch:
        patch.setattr(os, step, failing)
        with pytest.raises(WriteError):
            case.add_run(run_table(), {"cell": log})

    assert contents_of(case.path) == before
    assert case.add_run(run_table(), {"cell": log}).number == 1


def test_a_document_that_somebody_changed_while_logs_were_copied_is_not_overwritten(
    case: CaseFolder, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = case.path / "case.toml"
    add = case.raw_logs.add

    def changing(source: Path, instrument: str) -> Any:
        document.write_text(VEHICLE + "# somebody else\n", encoding="utf-8")
        return add(source, instrument)

    monkeypatch.setattr(case.raw_logs, "add", changing)
    with pytest.raises(WriteError, match="somebody else"):
        case.add_run(run_table(), {"cell": log})

    assert document.read_text(encoding="utf-8").endswith("# somebody else\n")


@pytest.mark.parametrize("name", ["..", ".hidden", "a:b"])
def test_a_raw_log_whose_name_leads_away_is_refused(name: str, case: CaseFolder) -> None:
    from feedproof.case.run import LogFile

    with pytest.raises(InputError, match="Rename the file"):
        case.raw(LogFile(name=name, sha256="0" * 64, instrument="cell"))


def test_the_same_log_added_twice_is_kept_once(case: CaseFolder, log: Path) -> None:
    assert case.raw_logs.add(log, "cell") == case.raw_logs.add(log, "cell")
    assert len([path for path in (case.path / "raw").rglob("*") if path.is_file()]) == 1


def test_a_folder_with_something_in_it_is_not_made_a_case(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(WriteError, match="is there already"):
        CaseFolder.create(tmp_path, VEHICLE)

    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_opening_what_is_no_case_says_so(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match=r"there is no case\.toml"):
        CaseFolder.open(tmp_path)


def test_margins_have_the_date_of_their_line(tmp_path: Path) -> None:
    case = CaseFolder.create(tmp_path / "case", VEHICLE)
    assert case.load().case.margins.declared is None

    case.declare_margins(who="tester", source="agreed", when=EARLY)
    case.declare_margins(who="tester", source="again", when=LATE)

    assert case.load().case.margins.declared == EARLY


def test_margins_that_were_changed_after_their_declaration_have_no_date(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    changed = VEHICLE.replace('wheel_power = "2 %"', 'wheel_power = "4 %"')
    (case.path / "case.toml").write_text(changed, encoding="utf-8")
    reading = case.read()

    assert reading.case is not None
    assert reading.case.margins.declared is None
    assert any("no line of the journal" in finding.message for finding in reading.findings)


def test_an_excluded_run_carries_its_reason(case: CaseFolder, log: Path) -> None:
    case.add_run(run_table(), {"cell": log})
    case.exclude_run(1, who="anna", reason="fan was off", when=LATE)

    assert case.load().case.runs[0].excluded.startswith("fan was off")


@pytest.mark.parametrize("nobody", ["", " "])
def test_an_exclusion_and_a_declaration_need_a_person(
    nobody: str, case: CaseFolder, log: Path
) -> None:
    case.add_run(run_table(), {"cell": log}, when=LATE)
    before = case.journal.path.read_bytes()
    with pytest.raises(InputError, match="--who"):
        case.exclude_run(1, who=nobody, reason="fan was off")
    with pytest.raises(InputError, match=r"(?s)--who.*--source"):
        case.declare_margins(who=nobody, source=" ")
    assert case.journal.path.read_bytes() == before


@pytest.mark.parametrize(("number", "reason"), [(7, "fan was off"), (1, "  ")])
def test_an_exclusion_needs_a_run_and_a_reason(
    number: int, reason: str, case: CaseFolder, log: Path
) -> None:
    case.add_run(run_table(), {"cell": log})
    before = contents_of(case.path)
    with pytest.raises((MissingError, InputError)):
        case.exclude_run(number, who="anna", reason=reason)

    assert contents_of(case.path) == before


def test_a_tampered_journal_makes_the_case_unusable(case: CaseFolder) -> None:
    path = case.path / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"tester", b"Tester"))

    with pytest.raises(InputError, match="journal"):
        case.load()


def test_a_result_comes_back_as_it_was_kept(case: CaseFolder) -> None:
    document = {"loss": 0.1 + 0.2, "runs": [1, 2], "note": "ü"}
    identity = case.results.write("proof", document)

    assert case.results.read(identity) == {"kind": "proof", "content": document}
    assert case.results.of_kind("proof") == (identity,)
    assert case.results.of_kind("prediction") == ()


def test_the_same_result_is_kept_once_whatever_the_order_of_its_keys(case: CaseFolder) -> None:
    one = case.results.write("proof", {"a": 1, "b": 2})
    two = case.results.write("proof", {"b": 2, "a": 1})

    assert one == two


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_a_result_that_is_not_finite_is_refused(value: float, case: CaseFolder) -> None:
    before = contents_of(case.path)
    with pytest.raises(InputError):
        case.results.write("proof", {"loss": {"deep": [value]}})

    assert contents_of(case.path) == before


@pytest.mark.parametrize("position", range(0, 60, 7))
def test_a_flipped_bit_in_a_result_is_found(position: int, case: CaseFolder) -> None:
    identity = case.results.write("proof", {"loss": 1.25, "runs": [1, 2, 3], "more": "text"})
    path = case.path / "results" / f"{identity}.json"
    content = bytearray(path.read_bytes())
    content[position] ^= 1
    path.write_bytes(bytes(content))

    with pytest.raises(InputError, match="was changed"):
        case.results.read(identity)


@pytest.mark.parametrize("identity", ["", "../case", "x" * 16, "0" * 16, "..\\..\\case.toml"])
def test_a_result_id_that_is_none_is_told(identity: str, case: CaseFolder) -> None:
    with pytest.raises(MissingError, match="no such result"):
        case.results.read(identity)


def test_a_copied_case_is_the_same_case(case: CaseFolder, log: Path, tmp_path: Path) -> None:
    case.add_run(run_table(), {"cell": log})
    copy = case.copy_to(tmp_path / "copy")

    assert copy.load().case == case.load().case
