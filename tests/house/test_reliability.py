"""House rule: each row of the reliability table has a test, or says what it waits for."""

import json
from collections.abc import Sequence

import pytest

from tests.reliability.rows import ROWS, Row, row_of, table
from tests.reliability.torture import HERE, files_of

BUILT = frozenset({"kill -9", "disk full"})


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_each_row_has_a_test_or_says_what_it_waits_for(row: Row) -> None:
    assert files_of(row) or row.waits


def test_no_row_begins_as_another_does() -> None:
    assert all(row_of(f"{row.key}, of something") == row for row in ROWS)
    assert row_of("disk") is None


def test_each_test_file_of_the_room_counts_its_trials() -> None:
    files = sorted(HERE.glob("test_*.py"))
    silent = [file.name for file in files if "tally(" not in file.read_text(encoding="utf-8")]

    assert files
    assert not silent


def counts(*names: str, failed: int = 0) -> str:
    """Write counts as a run leaves them."""
    return "".join(json.dumps({"row": n, "done": 3, "failed": failed}) + "\n" for n in names)


def marked(lines: Sequence[str], mark: str) -> list[str]:
    """Give the lines that hold a mark."""
    return [line for line in lines if mark in line]


def test_the_table_holds_when_each_built_row_was_tried() -> None:
    lines, held = table(
        counts("kill -9 during import", "kill -9 during publish", "disk full"), BUILT
    )

    assert held
    assert marked(lines, ROWS[0].name)[0].split()[:2] == ["6", "0"]
    assert marked(lines, "NOT BUILT YET: recording")
    assert not marked(lines, "NOT TRIED")


def test_the_table_does_not_hold_when_a_built_row_was_not_tried() -> None:
    lines, held = table(counts("kill -9"), BUILT)

    assert not held
    assert len(marked(lines, "NOT TRIED")) == 1


@pytest.mark.parametrize("more", [counts("disk full, store", failed=1), counts("a row of nobody")])
def test_the_table_does_not_hold_with_a_failed_trial_or_a_stray_count(more: str) -> None:
    assert not table(counts("kill -9", "disk full") + more, BUILT)[1]
