"""House rule: each published value says what it comes from and whether that was seen."""

import csv
import io
from pathlib import Path

import pytest

from tests.house.tree import ROOT

PUBLISHED = ROOT / "tests" / "published"
COLUMNS = ["id", "quantity", "inputs", "expected", "unit", "tolerance", "source", "provenance"]
BEGINNINGS = ("seen", "computed", "analytic", "exact", "memory", "common practice")
# Some values need no input (a unit's definition) and some no tolerance (an exact one).
NEEDED = ("id", "quantity", "expected", "unit", "source", "provenance")


def rows_of(text: str) -> list[dict[str, str]]:
    """Read a table, passing over lines of comment."""
    lines = [line for line in text.splitlines(keepends=True) if not line.startswith("#")]
    return list(csv.DictReader(io.StringIO("".join(lines))))


def table_faults(text: str) -> list[str]:
    """Say what is wrong with the rows of a table."""
    rows = rows_of(text)
    if not rows:
        return ["has no row"]
    if list(rows[0]) != COLUMNS:
        return [f"has columns {list(rows[0])}, not {COLUMNS}"]
    faults = [
        f"{row['id']}: {column} is empty"
        for row in rows
        for column in NEEDED
        if not (row[column] or "").strip()
    ]
    faults += [
        f"{row['id']}: provenance begins with none of {', '.join(BEGINNINGS)}"
        for row in rows
        if not (row["provenance"] or "").strip().lower().startswith(BEGINNINGS)
    ]
    names = [row["id"] for row in rows]
    return faults + [f"{name}: not unique" for name in set(names) if names.count(name) > 1]


def tables() -> list[Path]:
    """List the tables of published values; one table tells which planned checks are not run."""
    return sorted(set(PUBLISHED.glob("*.csv")) - {PUBLISHED / "not_applicable.csv"})


def test_each_published_value_has_its_source_and_how_it_is_known() -> None:
    faults = [
        f"{table.name}: {fault}"
        for table in tables()
        for fault in table_faults(table.read_text(encoding="utf-8"))
    ]

    assert tables() or not PUBLISHED.exists()
    assert not faults, "\n".join(faults)


def test_some_published_values_were_seen_in_their_source() -> None:
    rows = [row for table in tables() for row in rows_of(table.read_text(encoding="utf-8"))]

    seen = [row for row in rows if row["provenance"].lower().startswith("seen")]

    assert seen or not PUBLISHED.exists()


GOOD = ",".join(COLUMNS) + "\nA1,head,rise=1 m,8.1,kPa,0.5 %,a handbook,SEEN: page 3\n"


def test_a_whole_row_passes() -> None:
    assert table_faults(GOOD) == []


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("a handbook", ""),
        ("SEEN: page 3", ""),
        ("SEEN: page 3", "heard of"),
        ("provenance", "seen"),
        ("A1,head,rise=1 m,8.1,kPa,0.5 %,a handbook,SEEN: page 3\n", ""),
        ("0.5 %,", ""),
        ("8.1", ""),
    ],
)
def test_a_spoilt_table_is_found(before: str, after: str) -> None:
    assert before in GOOD

    assert table_faults(GOOD.replace(before, after))
