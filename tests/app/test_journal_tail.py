"""Last lines cut from the journal by hand are found by the results that were computed with them."""

from pathlib import Path

import pytest

from feedproof.app.cli import main
from feedproof.app.keeping import journal_seen
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from feedproof.records.template import new_case


@pytest.fixture
def folder(tmp_path: Path) -> CaseFolder:
    """Make a case with three lines in its journal and a result that has seen two of them."""
    made = new_case(tmp_path / "case")
    assert len(made.journal.read()[0]) == 1
    made.journal.append("second", {})
    seen = journal_seen(made)
    assert seen == {"lines": 2, "sha256": made.journal.read()[0][-1].hash}
    made.results.write("proof", {"runs": [1.5]}, {"journal_seen": seen})
    made.journal.append("third", {})
    return made


def _cut(folder: CaseFolder, keep: int) -> None:
    """Keep the first lines."""
    lines = folder.journal.path.read_bytes().splitlines(keepends=True)
    folder.journal.path.write_bytes(b"".join(lines[:keep]))


@pytest.mark.parametrize("keep", [2, 3])
def test_a_journal_as_long_as_what_was_seen_is_whole(keep: int, folder: CaseFolder) -> None:
    _cut(folder, keep)
    folder.load()


@pytest.mark.parametrize("keep", [0, 1])
def test_a_journal_with_fewer_lines_than_a_result_has_seen_is_refused(
    keep: int, folder: CaseFolder
) -> None:
    _cut(folder, keep)
    with pytest.raises(InputError, match=f"journal.jsonl: has {keep} lines; result"):
        folder.load()


def test_a_journal_that_is_gone_is_refused(folder: CaseFolder) -> None:
    folder.journal.path.unlink()
    with pytest.raises(InputError, match="has 0 lines"):
        folder.load()


def test_other_lines_in_the_place_of_those_cut_off_are_refused(folder: CaseFolder) -> None:
    """The new chain is whole: only the result knows that its line was another one."""
    _cut(folder, 1)
    folder.journal.append("another second", {})
    assert not folder.journal.read()[1]
    with pytest.raises(InputError, match="has another line 2 than result"):
        folder.load()


def test_prove_keeps_the_end_of_the_journal_and_misses_its_own_look(demo, tmp_path, capsys) -> None:
    case = demo.folder.copy_to(tmp_path / "case")
    assert main(["prove", str(case.path)]) == 0
    entries, _ = case.journal.read()
    assert case.results.journals_seen()[-1][1:] == (len(entries), entries[-1].hash)
    # A second answer from the same runs is the same result.
    assert main(["prove", str(case.path)]) == 0
    assert len(case.results.of_kind("proof")) == 1

    _cut(case, len(entries) - 1)
    capsys.readouterr()
    assert main(["prove", str(case.path)]) == 2
    assert "Restore it from a backup" in capsys.readouterr().err
