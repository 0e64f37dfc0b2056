"""What is concluded about a log before a number of it is used, and what must be asked."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel
from feedproof.core.findings import Finding, error, note, warning
from feedproof.core.progress import Progress, silent
from feedproof.core.units import from_si, si_line
from feedproof.records.logs.body import Body, read_body
from feedproof.records.logs.cells import time_form_of
from feedproof.records.logs.channels import (
    CHANNEL_KINDS,
    USUAL_UNITS,
    fitting_units,
    known_unit,
)
from feedproof.records.logs.clock import NANOSECONDS
from feedproof.records.logs.dialect import Dialect, bare_name
from feedproof.records.logs.opened import OpenedLog, open_log
from feedproof.records.logs.reading import check_file, placed
from feedproof.records.logs.refused import INLET_CHANNELS, REMEDY, why_not_inlet
from feedproof.records.logs.sparse import rate_hz
from feedproof.records.logs.wording import channel_by_name

FloatArray = NDArray[np.float64]

# Common practice (no source): a pull is not shorter, a log not longer.
_SHORTEST_S, _LONGEST_S = 5.0, 6.0 * 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """
    A channel that a column could be.

    Parameters
    ----------
    channel : str
        The channel.
    reason : str
        Why.
    by_name : bool
        True when the column's name suggests it.
    units : tuple of str
        Units in which its readings would be plausible; asked for where the log names none.
    doubt : str
        What speaks against it; empty where nothing does.
    """

    channel: str
    reason: str
    by_name: bool
    units: tuple[str, ...]
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnLook:
    """
    One column of a log.

    Parameters
    ----------
    number : int
        From 1.
    header, name, unit : str
        Cell of the header; the same without unit; the unit that the file names, or empty.
    form : str
        ``number``, ``text``, or a form of times.
    readings, not_numbers : int
        Cells that are finite numbers or times, and cells that are not.
    first_not_number : str
        The first such cell with its line; empty where none.
    least, middle, greatest : float or None
        Of the readings as they stand in the file; times in seconds.
    candidates : tuple of Candidate
        What it could be, a name's suggestion first.
    rate_hz : float or None
        Its own rate, where each channel has times of its own. [Hz]
    """

    number: int
    header: str
    name: str
    unit: str
    form: str
    readings: int
    not_numbers: int
    first_not_number: str
    least: float | None
    middle: float | None
    greatest: float | None
    candidates: tuple[Candidate, ...]
    rate_hz: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLook:
    """
    What is concluded about one log.

    Parameters
    ----------
    dialect : Dialect
        Its form.
    rows : int
        Rows of data.
    columns : tuple of ColumnLook
        In the order of the file.
    findings : tuple of Finding
        What was left out, and what must be asked.
    """

    dialect: Dialect
    rows: int
    columns: tuple[ColumnLook, ...]
    findings: tuple[Finding, ...]


def look_at_log(path: Path, hints: Mapping[str, str], *, progress: Progress = silent) -> LogLook:
    """
    Look at a log of any kind without using it.

    Parameters
    ----------
    path : Path
        The file.
    hints : mapping of str to str
        Corrections of the dialect.
    progress : Progress
        Told of bytes read and bytes in all.

    Returns
    -------
    LogLook
        Everything concluded.

    Raises
    ------
    MissingError, InputError
        No such file; nothing can be concluded, or what must be stated first.
    """
    place = path.name
    check_file(path, place)
    with placed(place), open_log(path, hints, progress=progress) as opened:
        dialect = opened.dialect
        forms = _forms(opened, hints)
        clocks = [i for i, form in enumerate(forms) if form not in ("number", "text", "unknown")]
        time_column = next((i for i in clocks if forms[i] != "two-part clock"), None)
        body = read_body(
            opened.text,
            dialect,
            tuple(range(len(dialect.columns))),
            0 if time_column is None else time_column,
            "number" if time_column is None else forms[time_column],
            name=place,
            progress=progress,
        )
    findings = [replace(f, place=f"{place}, {f.place}") for f in body.findings]
    for i in clocks:
        if forms[i] == "two-part clock":
            findings.append(
                error(
                    f"{place}, column {dialect.columns[i]!r}",
                    "times such as 12:34 may be hours and minutes or minutes and seconds.",
                    "State the time form: h:mm or mm:ss.",
                )
            )
    columns = tuple(
        _column(i, dialect, forms[i], body, is_clock=i == time_column)
        for i in range(len(dialect.columns))
    )
    findings += [warning(place, f"{words}.") for words in dialect.warnings]
    findings += _asked(place, columns)
    return LogLook(
        dialect=dialect, rows=int(body.lines.size), columns=columns, findings=tuple(findings)
    )


def _forms(opened: OpenedLog, hints: Mapping[str, str]) -> list[str]:
    """Find how each column is written, by its first rows."""
    rows, columns = opened.first_rows(), opened.dialect.columns
    forms = [time_form_of([row[i] for row in rows if i < len(row)]) for i in range(len(columns))]
    stated = hints.get("time_form", "")
    return [stated if stated and form == "two-part clock" else form for form in forms]


def _column(i: int, dialect: Dialect, form: str, body: Body, *, is_clock: bool) -> ColumnLook:
    """Say what one column holds and could be."""
    header = dialect.columns[i]
    if is_clock and body.ticks is not None:
        readings = body.ticks.nanoseconds[body.ticks.valid] / NANOSECONDS
        bad, first = int((~body.ticks.valid).sum()), ""
    else:
        values = body.numbers.get(i, np.empty(0))
        readings = values[np.isfinite(values)]
        tally = None if dialect.sparse else body.not_numbers.get(i)
        bad = tally.count if tally else 0
        first = f"{tally.example[:40]!r} at line {tally.line}" if tally else ""
    if form == "unknown":
        form = "number" if readings.size else "text"
    unit = dialect.units[i]
    some = bool(readings.size)
    middle = float(np.median(readings)) if some else None
    spread = float(readings[-1] - readings[0]) if some else 0.0
    found = _candidates(bare_name(header), unit, form, middle, spread)
    if why_not_inlet(header):
        found = [each for each in found if each.channel not in INLET_CHANNELS]
    return ColumnLook(
        number=i + 1,
        header=header,
        name=bare_name(header),
        unit=unit,
        form=form,
        readings=int(readings.size),
        not_numbers=bad,
        first_not_number=first,
        least=float(readings.min()) if some else None,
        middle=middle,
        greatest=float(readings.max()) if some else None,
        candidates=tuple(sorted(found, key=lambda each: not each.by_name)),
        rate_hz=_own_rate(body, i) if dialect.sparse and i else None,
    )


def _own_rate(body: Body, i: int) -> float | None:
    """Give the rate of a channel that has times of its own; the first column is the time."""
    rate = rate_hz(body.numbers[0][np.isfinite(body.numbers[i])])
    return rate if np.isfinite(rate) else None


def _candidates(
    name: str, unit: str, form: str, middle: float | None, spread: float
) -> list[Candidate]:
    """List the channels that a column could be, each with its reason."""
    if form == "text" or middle is None:
        return []
    if form != "number":
        reason = f"its cells are written as {form}"
        return [Candidate(channel=Channel.TIME, reason=reason, by_name=True, units=())]
    found: list[Candidate] = []
    named = channel_by_name(name)
    if named and named[0] is Channel.TIME:
        fits = tuple(u for u in USUAL_UNITS["duration"] if _is_span(spread, u))
        if not unit or known_unit(unit, "duration"):
            found.append(
                Candidate(
                    channel=Channel.TIME,
                    reason=f"its name holds {named[1]!r}",
                    by_name=True,
                    units=() if unit else fits,
                )
            )
        return found
    for channel, limits in CHANNEL_KINDS.items():
        by_name = named is not None and named[0] is channel
        if not unit:
            if by_name and named is not None:
                found.append(
                    Candidate(
                        channel=channel,
                        reason=f"its name holds {named[1]!r}",
                        by_name=True,
                        units=fitting_units(channel, middle, ""),
                    )
                )
            continue
        known = known_unit(unit, limits.kind)
        if known is None:
            continue
        factor, offset = si_line(known, limits.kind)
        plausible = limits.low <= middle * factor + offset <= limits.high
        if by_name and named is not None:
            reason = f"its name holds {named[1]!r} and its unit {unit} fits"
        else:
            reason = f"its unit {unit} fits and its middle reading is plausible"
        if by_name or plausible:
            doubt = "" if plausible else _doubt(channel, middle, known)
            found.append(
                Candidate(channel=channel, reason=reason, by_name=by_name, units=(), doubt=doubt)
            )
    return found


def _is_span(spread: float, unit: str) -> bool:
    """Say whether a log could cover so much of a unit of time."""
    factor, _ = si_line(unit, "duration")
    return _SHORTEST_S <= spread * factor <= _LONGEST_S


def _doubt(channel: Channel, middle: float, unit: str) -> str:
    """Say why a middle reading is not plausible, and which units would be."""
    limits = CHANNEL_KINDS[channel]
    low, high = (from_si(end, unit, limits.kind) for end in (limits.low, limits.high))
    fits = ", ".join(fitting_units(channel, middle, unit)) or "no usual unit"
    return (
        f"swapped unit? The middle reading is {middle:.6g} {unit}, plausible are {low:.6g} to"
        f" {high:.6g} {unit}; the numbers would fit {fits}"
    )


def _asked(place: str, columns: tuple[ColumnLook, ...]) -> list[Finding]:
    """Tell what must be answered before the log can be used."""
    told: list[Finding] = []
    for column in columns:
        where = f"{place}, column {column.header!r}"
        if why_not := why_not_inlet(column.header):
            told.append(note(where, f"{why_not}; it cannot be the inlet's.", REMEDY))
        for each in column.candidates:
            if each.doubt:
                told.append(warning(where, f"{each.doubt}.", "Mend the unit, or map it otherwise."))
        if column.form == "number" and column.readings and not column.unit:
            named = next((each for each in column.candidates if each.by_name), None)
            fits = f" By its range: {', '.join(named.units)}." if named and named.units else ""
            told.append(
                note(where, f"unit: ? The log names none.{fits}", "State it at the channel.")
            )
        if column.form == "number" and not column.readings:
            told.append(
                error(
                    where,
                    f"no cell is a finite number, first {column.first_not_number}.",
                    "Look at the decimal mark and the delimiter that were stated or concluded.",
                )
            )
        elif column.not_numbers and column.readings:
            told.append(
                note(
                    where,
                    f"{column.not_numbers} cells are not finite numbers"
                    f"{', first ' if column.first_not_number else ''}{column.first_not_number}.",
                    "They count as not measured.",
                )
            )
    return told
