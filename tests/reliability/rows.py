"""The rows of the reliability table: what is tried, how often, and where the counts are kept."""

import json
import os
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

LONG = "FEEDPROOF_TORTURE"
"""Variable that `dev.py torture` sets: the file that takes the counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    One row of the reliability table.

    Parameters
    ----------
    key : str
        What a count of this row begins with; the rest of the count's name says which trial.
    name : str
        The fault.
    bar : str
        What every trial must show.
    waits : tuple of str
        What is not tried because it is not built yet; the table says so.
    """

    key: str
    name: str
    bar: str
    waits: tuple[str, ...] = ()


_HOSTILE = "one clear error with file and place; under 1 GB; under 10 s"

ROWS = (
    Row(
        key="kill -9",
        name="kill -9 during import, recording, migration, publish",
        bar="no committed record lost, none half written, start-up repairs itself",
        waits=("recording",),
    ),
    Row(
        key="simulated power cut",
        name="simulated power cut",
        bar="opens, says what was torn, every acknowledged record there",
    ),
    Row(
        key="disk full",
        name="disk full during import and publish",
        bar="clear message, nothing half written, goes on after space is freed",
        waits=("recording",),
    ),
    Row(
        key="8 writers and 8 readers",
        name="8 writers and 8 readers, SQLite and PostgreSQL",
        bar="no lost update, no error shown to a user",
    ),
    Row(
        key="hostile files",
        name="hostile files: archives, workbooks, Parquet, MDF",
        bar=_HOSTILE,
    ),
    Row(
        key="hostile text files",
        name="hostile text files: CSV, TOML, JSON",
        bar=_HOSTILE,
    ),
    Row(
        key="property and API fuzzing",
        name="property and API fuzzing",
        bar="no unhandled exception, no answer 500",
    ),
    Row(
        key="bit flips",
        name="bit flips in store and raw files",
        bar="every one found by verify",
    ),
    Row(
        key="move to another machine",
        name="move to another machine",
        bar="verdict equal to the last digit",
    ),
    Row(
        key="no password beyond loopback",
        name="no password beyond loopback",
        bar="refused",
    ),
)


def row_of(counted: str) -> Row | None:
    """
    Find the row that a count belongs to.

    Parameters
    ----------
    counted : str
        As given to `tally`.

    Returns
    -------
    Row or None
        None where the table has no such row.
    """
    return next((row for row in ROWS if counted.startswith(row.key)), None)


def trials(short: int, full: int) -> int:
    """Give the number of trials: the short one unless the long form was asked for."""
    return full if os.environ.get(LONG) else short


def tally(row: str, done: int, failed: int = 0) -> None:
    """
    Add a count to the table that the long form prints; the test itself judges.

    Parameters
    ----------
    row : str
        The fault, in the words of the table.
    done, failed : int
        Trials made, and those that did not hold.
    """
    if path := os.environ.get(LONG):
        with Path(path).open("a", encoding="utf-8") as file:
            file.write(json.dumps({"row": row, "done": done, "failed": failed}) + "\n")


def table(counts: str, tried: Collection[str], wanted: str = "") -> tuple[list[str], bool]:
    """
    Make the table from the counts of a run.

    Parameters
    ----------
    counts : str
        Lines as `tally` writes them.
    tried : collection of str
        Keys of the rows that have a test, and so must have a count.
    wanted : str
        Only rows with this in their name; all when empty.

    Returns
    -------
    lines : list of str
        Every row, each followed by its counts and by what it waits for.
    held : bool
        Every row with a test was counted, no trial failed, and no count is a stray.
    """
    found = [json.loads(line) for line in counts.splitlines()]
    strays = sorted({each["row"] for each in found if row_of(each["row"]) is None})
    lines, held = [f"{'done':>7}{'failed':>8}  row"], not strays
    for row in ROWS:
        if wanted not in row.name:
            continue
        mine = [each for each in found if row_of(each["row"]) == row]
        done, failed = _sums(mine)
        lines.append(f"{done:>7}{failed:>8}  {row.name}: {row.bar}")
        for name in sorted({each["row"] for each in mine}):
            part = _sums([each for each in mine if each["row"] == name])
            lines.append(f"{part[0]:>7}{part[1]:>8}      {name}")
        if row.key in tried and not done:
            lines.append(f"{'':>15}      NOT TRIED, though there is a test")
        lines += [f"{'':>15}      NOT BUILT YET: {part}" for part in row.waits]
        held = held and not failed and not (row.key in tried and not done)
    lines += [f"a count for no row of the table: {stray}" for stray in strays]
    return lines, held


def _sums(counts: list[dict[str, int]]) -> tuple[int, int]:
    """Add up trials and failures."""
    return sum(each["done"] for each in counts), sum(each["failed"] for each in counts)
