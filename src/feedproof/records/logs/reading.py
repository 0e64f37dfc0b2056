"""From a file to a log: channels in SI, and everything that somebody must know about them."""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from feedproof.case.log import Log
from feedproof.case.run import Channel, Instrument
from feedproof.core.errors import FeedproofError, InputError, MissingError
from feedproof.core.findings import Finding, error, has_errors, note, warning
from feedproof.core.progress import Progress, silent
from feedproof.core.units import si_line
from feedproof.records.logs.body import Body, read_body
from feedproof.records.logs.cells import time_form_of
from feedproof.records.logs.channels import kind_of
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.matching import Matched, match_channels
from feedproof.records.logs.opened import OpenedLog, open_log
from feedproof.records.logs.plausible import (
    as_depression,
    pressure_findings,
    unit_findings,
)
from feedproof.records.logs.rates import rows_with_readings, slow_findings
from feedproof.records.logs.times import Rows, read_clock

LARGEST_BYTES = 500_000_000
_Each = TypeVar("_Each")
_Made = TypeVar("_Made")


@dataclass(frozen=True, slots=True, kw_only=True)
class LogReading:
    """
    A log that was read.

    Parameters
    ----------
    log : Log
        Channels in SI.
    dialect : Dialect
        Form of the file, with what was concluded in words.
    findings : tuple of Finding
        What was left out, mended or looks wrong; errors among them mean that the numbers stand
        but should not be used before the cause is found.
    """

    log: Log
    dialect: Dialect
    findings: tuple[Finding, ...]


def read_log(
    path: Path,
    instrument: Instrument,
    name: str | None = None,
    *,
    progress: Progress = silent,
) -> LogReading:
    """
    Read a log of an instrument, of whatever kind of file.

    Parameters
    ----------
    path : Path
        The file.
    instrument : Instrument
        What its columns mean, and hints about its dialect.
    name : str, optional
        Name under which the file came, for the messages; the file's own name without it.
    progress : Progress
        Told of bytes read and bytes in all.

    Returns
    -------
    LogReading
        Log, dialect and findings.

    Raises
    ------
    MissingError
        There is no such file.
    InputError
        No log can be made of the file; every reason that could be found, at once.
    """
    place = name or path.name
    check_file(path, place)
    with ExitStack() as stack:
        with placed(place):
            opened = stack.enter_context(open_log(path, instrument.dialect, progress=progress))
        dialect = opened.dialect
        time_form = _time_form(opened, instrument)
        matched, findings = match_channels(instrument, dialect, place, time_form == "number")
        findings += _time_findings(instrument, matched, time_form, place)
        if has_errors(findings):
            raise InputError([f for f in findings if f.level == "error"])
        time = next(m for m in matched if m.channel is Channel.TIME)
        columns = tuple(dict.fromkeys(m.column for m in matched))
        with placed(place):
            body = read_body(
                opened.text, dialect, columns, time.column, time_form, name=place, progress=progress
            )
    with _cells_told(body, matched, place, sparse=dialect.sparse):
        clock = read_clock(body, time.column, time.unit, place, rated=not dialect.sparse)
    findings += [replace(f, place=f"{place}, {f.place}") for f in body.findings]
    findings += clock.findings
    findings += [warning(place, f"{words}.") for words in dialect.warnings]
    values, units = _in_si(body, matched, clock.rows, give_up=True)
    time_s = clock.time_s
    if dialect.sparse:
        time_s, values = rows_with_readings(time_s, values)
        findings += slow_findings(place, time_s, values)
    else:
        findings += _cell_findings(body, matched, place)
    findings += _plausible(place, values, units)
    findings += as_depression(place, values, units)
    units[Channel.TIME] = time.unit or time_form
    log = Log(instrument=instrument.id, name=place, time_s=time_s, values=values, units=units)
    told = [note(place, words) for words in dialect.notes]
    return LogReading(log=log, dialect=dialect, findings=(*told, *findings))


@contextmanager
def placed(place: str) -> Iterator[None]:
    """
    Put the name of the file before the places of errors that do not know it.

    Parameters
    ----------
    place : str
        Name of the file.

    Yields
    ------
    None
        While errors are caught.
    """
    try:
        yield
    except FeedproofError as fault:
        raise type(fault)(
            [replace(f, place=f"{place}, {f.place}") for f in fault.findings]
        ) from fault


@contextmanager
def _cells_told(
    body: Body, matched: tuple[Matched, ...], place: str, *, sparse: bool
) -> Iterator[None]:
    """Tell what else is wrong with the cells when no clock can be made of the times."""
    try:
        yield
    except InputError as fault:
        everything = np.arange(body.lines.size)
        values, units = _in_si(body, matched, everything)
        others = _plausible(place, values, units)
        if not sparse:
            others += _cell_findings(body, matched, place)
        raise InputError([*fault.findings, *others]) from fault


def check_file(path: Path, place: str) -> None:
    """
    Refuse what is no file of a sensible size.

    Parameters
    ----------
    path : Path
        The file.
    place : str
        Its name, for the messages.

    Raises
    ------
    MissingError, InputError
        No file, an empty one or one that is too large.
    """
    if path.is_dir():
        raise InputError.at(place, "is a folder, not a log.", "Name the file.")
    if not path.is_file():
        raise MissingError.at(place, "there is no such file.", "Look at the name and the folder.")
    size = path.stat().st_size
    if size == 0:
        raise InputError.at(
            place, "the file is empty.", "Export the log from the instrument again."
        )
    if size > LARGEST_BYTES:
        raise InputError.at(
            place,
            f"the file has {size / 1e6:.0f} MB, at most {LARGEST_BYTES / 1e6:.0f} MB are read.",
            "Cut it into one file for each pull, or record at a lower rate.",
        )


def _time_form(opened: OpenedLog, instrument: Instrument) -> str:
    """Find how the column that the instrument calls time is written."""
    if "time_form" in instrument.dialect:
        return opened.dialect.time_form
    matched, _ = match_channels(instrument, opened.dialect, "")
    time = next((m for m in matched if m.channel is Channel.TIME), None)
    if time is None:
        return "unknown"
    cells = [row[time.column] for row in opened.first_rows() if len(row) > time.column]
    return time_form_of(cells)


def _time_findings(
    instrument: Instrument, matched: tuple[Matched, ...], time_form: str, place: str
) -> list[Finding]:
    """Say what is wrong with the time column before anything is read."""
    where = f"{place}, channel {Channel.TIME}"
    if not any(entry.channel is Channel.TIME for entry in instrument.channels):
        return [
            error(where, "the instrument has no time channel.", "Write its column at the channel.")
        ]
    times = [m for m in matched if m.channel is Channel.TIME]
    if not times:
        return []
    named = [entry.channel for entry in instrument.channels]
    twice = sorted({channel for channel in named if named.count(channel) > 1})
    if twice:
        return [error(f"{place}, channel {c}", "is mapped twice.", "Leave one out.") for c in twice]
    for m in matched:
        if m.column == times[0].column and m.channel is not Channel.TIME:
            return [error(where, f"has the same column as {m.channel}.", "Mend one of them.")]
    if time_form == "two-part clock":
        return [
            error(
                where,
                "times such as 12:34 may be hours and minutes or minutes and seconds.",
                'Write time_form = "h:mm" or "mm:ss" in the instrument\'s dialect.',
            )
        ]
    if time_form == "unknown":
        return [
            error(
                where,
                "its first cells are neither numbers, h:mm:ss nor dates such as"
                " 2026-09-14T09:42:00.",
                "Export the time as seconds.",
            )
        ]
    return []


def _cell_findings(body: Body, matched: tuple[Matched, ...], place: str) -> list[Finding]:
    """Tell of cells that are not numbers, by channel."""
    findings = []
    for m in matched:
        tally = body.not_numbers.get(m.column)
        if tally and m.channel is not Channel.TIME:
            findings.append(
                warning(
                    f"{place}, channel {m.channel}",
                    f"{tally.count} of {body.lines.size} cells are not finite numbers, first"
                    f" {tally.example[:40]!r} at line {tally.line}.",
                    "They count as not measured.",
                )
            )
    return findings


def _in_si(
    body: Body, matched: tuple[Matched, ...], rows: Rows, *, give_up: bool = False
) -> tuple[dict[Channel, NDArray[np.float64]], dict[Channel, str]]:
    """Convert every channel but time to SI; in the body's own memory where it gives it up."""
    columns = [m.column for m in matched]
    others = [m for m in matched if m.channel is not Channel.TIME]
    lines = {m.channel: si_line(m.unit, kind_of(m.channel)) for m in others}

    def convert(m: Matched) -> NDArray[np.float64]:
        factor, offset = lines[m.channel]
        raw = body.numbers[m.column]
        taken = raw if rows.size == raw.size else raw[rows]
        into = taken if taken is not raw or (give_up and columns.count(m.column) == 1) else None
        converted = np.multiply(taken, factor, out=into)
        converted += offset
        return converted

    values = dict(zip((m.channel for m in others), _side_by_side(convert, others), strict=True))
    return values, {m.channel: m.unit for m in others}


def _plausible(
    place: str, values: dict[Channel, NDArray[np.float64]], units: dict[Channel, str]
) -> list[Finding]:
    """Say which channels cannot be in the unit that was taken, or are another pressure."""

    def look(channel: Channel) -> list[Finding]:
        return unit_findings(
            channel, f"{place}, channel {channel}", values[channel], units[channel]
        )

    found = [finding for each in _side_by_side(look, values) for finding in each]
    return found + pressure_findings(place, values)


def _side_by_side(function: Callable[[_Each], _Made], items: Iterable[_Each]) -> list[_Made]:
    """Do the same with every channel, two at a time: a long log is a pass through memory each."""
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(function, items))
