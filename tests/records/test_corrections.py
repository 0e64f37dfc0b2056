"""Runs that are edited later are told, and a correction is a line of its own."""

from pathlib import Path

import pytest

from feedproof.app.api_runs import correct
from feedproof.core.errors import InputError, MissingError
from feedproof.records.folder import CaseFolder
from tests.records.documents import LOG, case_folder, contents_of, run_table


@pytest.fixture
def case(tmp_path: Path) -> CaseFolder:
    """Give a case with a recorded run."""
    folder = case_folder(tmp_path)
    log = tmp_path / "run01_cell.csv"
    log.write_bytes(LOG)
    folder.add_run(run_table(), {"cell": log}, who="anna")
    return folder


def edit(case: CaseFolder, before: str, after: str) -> None:
    """Change the document by hand."""
    path = case.path / "case.toml"
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")


def told(case: CaseFolder) -> list[str]:
    """Give what is said of edited runs."""
    return [f.message for f in case.load().findings if "journal recorded" in f.message]


def test_a_run_as_it_was_recorded_is_not_told(case: CaseFolder) -> None:
    assert told(case) == []


def test_an_edited_run_is_told_with_both_values(case: CaseFolder) -> None:
    edit(case, "52 %", "25 %")
    (message,) = told(case)

    assert "ambient" in message
    assert "52 %" in message
    assert "25 %" in message


def test_a_correction_is_a_line_with_who_why_and_both_values(case: CaseFolder) -> None:
    edit(case, "58 %", "85 %")
    correct(case.path, 1, who="ben", why="digits were swapped on the sheet")
    entry = case.journal.read()[0][-1]

    assert told(case) == []
    assert (entry.what, entry.who) == ("run corrected", "ben")
    assert entry.why == "digits were swapped on the sheet"
    assert entry.data["changed"] == {"fuel_level": ["58 %", "85 %"]}


def test_an_edit_after_a_correction_is_told_again(case: CaseFolder) -> None:
    edit(case, "58 %", "85 %")
    correct(case.path, 1, who="ben", why="swapped")
    edit(case, "85 %", "58 %")

    assert len(told(case)) == 1


def test_nothing_to_correct_is_refused_and_changes_no_byte(case: CaseFolder) -> None:
    before = contents_of(case.path)
    with pytest.raises(InputError, match="says what the journal recorded"):
        correct(case.path, 1, who="ben", why="no reason")
    with pytest.raises(MissingError, match="no such run"):
        correct(case.path, 7, who="ben", why="no reason")
    with pytest.raises(InputError, match="is empty"):
        correct(case.path, 1, who=" ", why="")

    assert contents_of(case.path) == before


def test_another_order_of_keys_is_no_edit(case: CaseFolder) -> None:
    edit(case, 'session = "day"\n', "")
    edit(case, "number = 1\n", 'session = "day"\nnumber = 1\n')

    assert told(case) == []
