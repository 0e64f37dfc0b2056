"""
Runs against the journal: what was recorded when a run was added, and what stands there now.

The line of an added run holds its table as it was written.  A table that says something else now
was edited later; a correction is a line of its own with who, when and why, and the tables before
and after stay readable.
"""

import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from feedproof.case.case import Case
from feedproof.core.findings import Finding, error, warning
from feedproof.records.journal import Entry

RUN_ADDED = "run added"
RUN_CORRECTED = "run corrected"


def run_tables(document: bytes) -> dict[int, dict[str, Any]]:
    """
    Give the run tables of a document as a line of the journal keeps them.

    Parameters
    ----------
    document : bytes
        Of a case; one that cannot be read has none.

    Returns
    -------
    dict of int to dict
        Tables by run number, dates as text.
    """
    try:
        read = tomllib.loads(document.decode("utf-8-sig").replace("\r\n", "\n"))
        runs = json.loads(json.dumps(read.get("run", []), default=str))
    except (ValueError, TypeError, RecursionError):
        return {}
    tables = [each for each in runs if isinstance(each, dict)] if isinstance(runs, list) else []
    return {each["number"]: each for each in tables if isinstance(each.get("number"), int)}


def recorded(entries: Sequence[Entry]) -> dict[int, Mapping[str, Any]]:
    """
    Give each run's table as the journal last recorded it.

    Parameters
    ----------
    entries : sequence of Entry
        Of the case.

    Returns
    -------
    dict of int to mapping
        By run number; older lines recorded none.
    """
    tables: dict[int, Mapping[str, Any]] = {}
    for entry in entries:
        number, table = entry.data.get("run"), entry.data.get("table")
        if entry.what not in (RUN_ADDED, RUN_CORRECTED):
            continue
        if isinstance(table, Mapping) and isinstance(number, int):
            tables[number] = table
    return tables


def changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, list[Any]]:
    """
    Say what differs between two tables.

    Parameters
    ----------
    before, now : mapping
        As `run_tables` gives them.

    Returns
    -------
    dict of str to list
        Both values by key, inner ones with a dot; None where there is none.
    """
    old, new = _flat(before), _flat(now)
    keys = [*old, *(key for key in new if key not in old)]
    return {key: [old.get(key), new.get(key)] for key in keys if old.get(key) != new.get(key)}


def _flat(table: Mapping[str, Any], above: str = "") -> dict[str, Any]:
    """Write inner tables as keys with a dot."""
    flat: dict[str, Any] = {}
    for key, value in table.items():
        inner = isinstance(value, Mapping)
        flat |= _flat(value, f"{above}{key}.") if inner else {f"{above}{key}": value}
    return flat


def amended(entries: Sequence[Entry], document: bytes) -> Iterator[Finding]:
    """
    Find runs that were edited after they were recorded.

    Parameters
    ----------
    entries : sequence of Entry
        Of the case.
    document : bytes
        Its document as it stands.

    Yields
    ------
    Finding
        A warning for each run.
    """
    now = run_tables(document)
    for number, before in recorded(entries).items():
        differing = changes(before, now[number]) if number in now else {}
        if differing:
            told = "; ".join(
                f"{key}: {_shown(a)} -> {_shown(b)}" for key, (a, b) in differing.items()
            )
            yield warning(
                f"case.toml: run[{number}]",
                f"says something else than the journal recorded: {told}.",
                f"Put it back, or record why: feedproof correct CASE --run {number} --who --why.",
            )


def _shown(value: Any) -> str:
    """Write a value shortly."""
    text = "nothing" if value is None else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."


def vanished(entries: Sequence[Entry], case: Case) -> Iterator[Finding]:
    """
    Find runs that the journal knows and the document no longer holds.

    Parameters
    ----------
    entries : sequence of Entry
        Of the case.
    case : Case
        As it stands.

    Yields
    ------
    Finding
        An error for each run.
    """
    held = {run.number for run in case.runs}
    for entry in entries:
        number = entry.data.get("run")
        if entry.what == RUN_ADDED and isinstance(number, int) and number not in held:
            yield error(
                f"journal.jsonl line {entry.seq}",
                f"run {number} was added on {entry.when:%Y-%m-%d} and is no longer in case.toml.",
                "Put it back; to leave a run out, exclude it with its reason.",
            )
