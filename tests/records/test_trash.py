"""Cases that are taken away: nothing is deleted, and within 30 days they come back."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from feedproof.core.errors import MissingError, WriteError
from feedproof.records.trash import remove_case, undo_removal
from tests.records.documents import case_folder, contents_of


def test_a_removed_case_comes_back_byte_for_byte(tmp_path: Path) -> None:
    path = case_folder(tmp_path).path
    before = contents_of(path)
    moved = remove_case(path)
    assert not path.exists()
    assert contents_of(moved) == before

    assert undo_removal(path) == path.resolve()
    assert contents_of(path) == before


def test_the_newest_of_a_name_comes_back(tmp_path: Path) -> None:
    for number in (1, 2):
        path = case_folder(tmp_path).path
        (path / "notes.txt").write_text(str(number))
        remove_case(path)
    undo_removal(path)

    assert (path / "notes.txt").read_text() == "2"


def test_after_30_days_it_is_still_there_and_the_place_is_told(tmp_path: Path) -> None:
    path = case_folder(tmp_path).path
    removed = datetime(2026, 9, 1, tzinfo=UTC)
    moved = remove_case(path, removed)

    with pytest.raises(MissingError, match="move it back by hand"):
        undo_removal(path, removed + timedelta(days=30, seconds=1))
    assert moved.is_dir()
    assert undo_removal(path, removed + timedelta(days=30)) == path.resolve()


def test_nothing_is_put_over_a_new_case_of_the_same_name(tmp_path: Path) -> None:
    path = case_folder(tmp_path).path
    moved = remove_case(path)
    case_folder(tmp_path)

    with pytest.raises(WriteError, match="is there already"):
        undo_removal(path)
    assert moved.is_dir()


def test_a_name_that_was_never_removed_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="nothing of that name"):
        undo_removal(tmp_path / "none")
    with pytest.raises(MissingError):
        remove_case(tmp_path)
