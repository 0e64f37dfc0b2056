"""
Whether the instruments of a case were in calibration on the days of its runs.

What the database says of them is taken down as a small document first; every finding is made from
that document alone.  A proof keeps it, so that it can be computed again where the database has
moved on or is not there.  Of an instrument that is not registered nothing is said.
"""

import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from feedproof.app.learned import PATIENCE_S
from feedproof.case.case import Case
from feedproof.case.measures import AirSensors
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, warning
from feedproof.records.store.address import is_there
from feedproof.records.store.kinds import Instrument, Kept, Row
from feedproof.records.store.store import Store

FILE = "calibrations.json"
FORMAT = "feedproof-calibrations"
NOTHING: Mapping[str, Any] = {"format": FORMAT, "version": 1, "fault": "", "instruments": {}}
"""What is taken down where nothing is registered."""


def days_of(case: Case) -> dict[str, dict[int, date]]:
    """
    Say on which days each instrument of a case was used.

    Parameters
    ----------
    case : Case
        With its runs; one that is left out does not count.

    Returns
    -------
    dict of str to dict of int to date
        Day by run number, by the instrument's id; measures that are read by hand among them.
    """
    air = [name for name, each in case.measures.items() if isinstance(each, AirSensors)]
    used: dict[str, dict[int, date]] = {}
    for run in case.runs:
        if run.excluded:
            continue
        by_hand = [run.caught_return.measure] if run.caught_return else []
        for name in (*(log.instrument for log in run.logs), *by_hand, *air):
            if name:
                used.setdefault(name, {})[run.number] = run.started.date()
    return used


def taken_down(case: Case) -> tuple[Mapping[str, Any], tuple[Finding, ...]]:
    """
    Take down what the database says of a case's instruments; none is made for it.

    Parameters
    ----------
    case : Case
        With its runs.

    Returns
    -------
    document : mapping
        Entries of the registered ones.
    findings : tuple of Finding
        Why the database could not be asked, in its own words.
    """
    found: dict[str, list[dict[str, str]]] = {}
    try:
        if is_there():
            with Store.open(patience_s=PATIENCE_S) as store:
                standing = {each.record.id for each in store.instruments()}
                for name in sorted(standing & days_of(case).keys()):
                    found[name] = _entries(store.history("instruments", name))
    except (FeedproofError, OSError) as fault:
        first = fault.findings[0] if isinstance(fault, FeedproofError) else None
        words = f"{first.place} {first.message}" if first else str(fault)
        document = {**NOTHING, "fault": "the database could not be asked"}
        return document, (
            warning("database", f"nothing is said of calibration: {words}", "Mend it."),
        )
    return {**NOTHING, "instruments": found}, ()


def _entries(history: Sequence[Kept[Any] | Row]) -> list[dict[str, str]]:
    """
    Lay out the entries that count, the oldest first.

    An entry is counted beside a later one where it is of an earlier calibration; else the later
    one corrects it.
    """
    counted: list[Kept[Instrument]] = []
    for each in reversed(history):
        if not isinstance(each, Kept) or each.row.action != "kept":
            continue
        latest = counted[-1].record.calibrated if counted else None
        mine = each.record.calibrated
        if not counted or (mine is not None and latest is not None and mine < latest):
            counted.append(each)
    return [
        {
            "calibrated": str(each.record.calibrated or ""),
            "due": str(each.record.due or ""),
            "certificate": each.record.certificate,
            "sha256": each.row.sha256,
        }
        for each in reversed(counted)
    ]


@contextmanager
def calibrations(case: Case, given: Path | None) -> Iterator[Path | None]:
    """
    Give the document of a case's calibrations as a file.

    Parameters
    ----------
    case : Case
        With its runs.
    given : Path or None
        One that was kept; the database is then not asked.

    Yields
    ------
    Path or None
        The file; None where nothing is registered.
    """
    if given is not None:
        yield given
        return
    document, _ = taken_down(case)
    if document == NOTHING:
        yield None
        return
    with tempfile.TemporaryDirectory(prefix="feedproof-") as folder:
        file = Path(folder) / FILE
        file.write_text(json.dumps(document, sort_keys=True, indent=1), encoding="utf-8")
        yield file


def read_calibrations(file: Path | None) -> Mapping[str, Any]:
    """
    Read a document that was taken down.

    Parameters
    ----------
    file : Path or None
        From `calibrations`.

    Returns
    -------
    mapping
        The document.

    Raises
    ------
    InputError
        It is none.
    """
    if file is None:
        return NOTHING
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
        if (found["format"], found["version"]) == (FORMAT, 1):
            document: Mapping[str, Any] = found
            return document
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        pass
    raise InputError.at(file.name, "is no document of calibrations.", "Leave it out.")


def calibration_findings(case: Case, document: Mapping[str, Any]) -> tuple[Finding, ...]:
    """
    Say which registered instruments were out of calibration when they were used.

    Parameters
    ----------
    case : Case
        With its runs.
    document : mapping
        From `taken_down`.

    Returns
    -------
    tuple of Finding
        A warning for each instrument and reason; that the database could not be asked.
    """
    told = []
    if document["fault"]:
        told.append(warning("calibration", f"{document['fault']}: nothing is said of calibration."))
    for name, days in sorted(days_of(case).items()):
        entries = document["instruments"].get(name, [])
        runs: dict[str, list[int]] = {}
        for number, day in sorted(days.items()):
            if entries and (why := _fault_on(entries, day)):
                runs.setdefault(why, []).append(number)
        told += [
            warning(
                f"instrument {name}",
                f"was out of calibration in {_listed(numbers)}: {why}.",
                "What it measured there rests on nothing. Have it calibrated and compare; then"
                f" feedproof instrument add {name} --replace REASON.",
            )
            for why, numbers in runs.items()
        ]
    return tuple(told)


def _fault_on(entries: Sequence[Mapping[str, str]], day: date) -> str:
    """Say why no entry covers a day; empty where one does, or where no dates are noted."""
    dated = [each for each in entries if each["calibrated"]]
    if not dated:
        due = entries[-1]["due"]
        return f"it was due on {due}" if due and day > date.fromisoformat(due) else ""
    before = [each for each in dated if date.fromisoformat(each["calibrated"]) <= day]
    if not before:
        return f"its first known calibration is of {dated[0]['calibrated']}, after the run"
    last = before[-1]
    if last["due"] and day > date.fromisoformat(last["due"]):
        return f"its calibration of {last['calibrated']} was due again on {last['due']}"
    return ""


def _listed(numbers: Sequence[int]) -> str:
    """Name runs."""
    return f"run{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
