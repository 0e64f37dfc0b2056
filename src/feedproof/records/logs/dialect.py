"""The form of a log: concluded from its head, told in words, never guessed."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from feedproof.core.errors import InputError
from feedproof.records.logs.cells import time_form_of
from feedproof.records.logs.channels import is_unit
from feedproof.records.logs.encoding import conclude_encoding
from feedproof.records.logs.hints import checked_hints
from feedproof.records.logs.marks import conclude_decimal
from feedproof.records.logs.table import Table, find_table

_BRACKETED = re.compile(r"(.*\S)\s*(?:\[([^\[\]()]{1,24})\]|\(([^\[\]()]{1,24})\))")
_SAMPLE_ROWS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    r"""
    The form of one log, or of the text into which a log of another kind was written.

    Parameters
    ----------
    encoding : str
        Name of the codec.
    delimiter : str
        Character between fields; a blank stands for runs of blanks and tabs.
    decimal : str
        ``"."`` or ``","``; empty when the head holds whole numbers only, so that a mark which
        turns up later is asked about.
    header_row, unit_row, first_data_row : int or None
        Line numbers, from 1.
    columns : tuple of str
        Cells of the header.
    units : tuple of str
        Unit of each column by the unit row or by the brackets in its header; empty where none.
    time_form : str
        ``number``, ``h:mm:ss``, ``two-part clock`` or ``date-time``: form of the first column
        that is a time; or the form that the case states.
    notes : tuple of str
        Everything concluded, in words.
    field_count : int
        Fields of a data line, with the empty one behind a trailing delimiter.
    line_end : str
        ``"\n"`` (also behind ``"\r"``), or ``"\r"`` alone.
    mark_length : int
        Bytes of the byte order mark.
    kind : str
        What the file is, by its first bytes: a `feedproof.records.logs.kinds.Kind`.
    sheet : str
        Sheet of a workbook that was read.
    sparse : bool
        True where each channel has times of its own: an empty cell is then the rule.
    warnings : tuple of str
        What is wrong with the file although it could be read.
    """

    encoding: str
    delimiter: str
    decimal: str
    header_row: int | None
    unit_row: int | None
    first_data_row: int
    columns: tuple[str, ...]
    units: tuple[str, ...]
    time_form: str
    notes: tuple[str, ...]
    field_count: int
    line_end: str = "\n"
    mark_length: int = 0
    kind: str = "text"
    sheet: str = ""
    sparse: bool = False
    warnings: tuple[str, ...] = ()


def bare_name(column: str) -> str:
    """
    Take the unit in brackets off a header.

    Parameters
    ----------
    column : str
        Cell of the header.

    Returns
    -------
    str
        The name; the whole cell when the brackets hold no unit.

    Examples
    --------
    >>> bare_name("Rail ist [bar]"), bare_name("Speed (rear)")
    ('Rail ist', 'Speed (rear)')
    """
    return _name_and_unit(column)[0]


def unit_of_header(column: str) -> str:
    """
    Give the unit in the brackets of a header.

    Parameters
    ----------
    column : str
        Cell of the header.

    Returns
    -------
    str
        Empty where there is none.
    """
    return _name_and_unit(column)[1]


def _name_and_unit(column: str) -> tuple[str, str]:
    """Divide a header into name and unit."""
    match = _BRACKETED.fullmatch(column)
    if match:
        unit = (match.group(2) or match.group(3)).strip()
        # "Sensor (1)" is a number on a plug, not a pure number.
        if is_unit(unit) and (unit != "1" or match.group(2)):
            return match.group(1), unit
    return column, ""


def conclude_dialect(data: bytes, hints: Mapping[str, str]) -> Dialect:
    r"""
    Conclude the form of a log from its head.

    Parameters
    ----------
    data : bytes
        The head of the file, or all of it; a last line that is cut does no harm.
    hints : mapping of str to str
        What the instrument's description states: ``encoding``, ``delimiter``, ``decimal``,
        ``time_form``.  A hint overrules what would be concluded.

    Returns
    -------
    Dialect
        The form, with every conclusion in its notes.

    Raises
    ------
    InputError
        Binary data, no table of numbers, no header, or an ambiguity that would change numbers:
        then the error says which hint to write.

    Examples
    --------
    >>> form = conclude_dialect(b"t [s];p [kPa]\n0,0;1,5\n0,1;1,6\n", {})
    >>> form.delimiter, form.decimal, form.columns, form.units
    (';', ',', ('t [s]', 'p [kPa]'), ('s', 'kPa'))
    """
    stated = checked_hints(hints)
    encoding = conclude_encoding(data, stated.get("encoding", ""))
    text = data[encoding.mark_length :].decode(encoding.name, errors="replace")
    if "\0" in text:
        raise InputError.at(
            "encoding", "the text holds NUL characters: it is binary", "Export it as text (CSV)."
        )
    line_end = "\r" if "\r" in text and "\n" not in text else "\n"
    lines = [line.rstrip("\r") for line in text.split(line_end)]
    if len(lines) > 2:
        # The last line may be cut, by the end of the head or by the end of recording.
        lines.pop()
    table = find_table(lines, stated.get("delimiter", ""))
    decimal, why = _decimal(table, stated.get("decimal", ""))
    units = tuple(
        cell.strip("[]()- ") or _name_and_unit(column)[1]
        for column, cell in zip(table.columns, table.unit_cells, strict=True)
    )
    time_form, time_note = _time_form(table, stated.get("time_form", ""))
    ends = "line ends: carriage return alone" if line_end == "\r" else ""
    return Dialect(
        encoding=encoding.name,
        delimiter=table.delimiter,
        decimal=decimal,
        header_row=table.header + 1,
        unit_row=None if table.unit_row is None else table.unit_row + 1,
        first_data_row=table.first_data + 1,
        columns=table.columns,
        units=units,
        time_form=time_form,
        notes=tuple(n for n in (encoding.note, *table.notes, why, time_note, ends) if n),
        field_count=table.field_count,
        line_end=line_end,
        mark_length=encoding.mark_length,
    )


def _decimal(table: Table, stated: str) -> tuple[str, str]:
    """Take the stated decimal mark, or conclude it from the data, few rows first."""
    if stated:
        return stated, f"decimal {'comma' if stated == ',' else 'point'}: stated by the case"
    few = [cell for row in table.data[:_SAMPLE_ROWS] for cell in row.cells]
    try:
        decimal, why = conclude_decimal(few)
    except InputError:
        decimal, why = "", ""
    if decimal:
        return decimal, why
    return conclude_decimal(cell for row in table.data for cell in row.cells)


def _time_form(table: Table, stated: str) -> tuple[str, str]:
    """Find the first column that is written as clock times or date-times."""
    if stated:
        return stated, f"time form {stated}: stated by the case"
    rows = table.data[:20]
    for index, column in enumerate(table.columns):
        form = time_form_of([row.cells[index] for row in rows if index < len(row.cells)])
        if form not in ("number", "unknown"):
            return form, f"times in column {column!r} are written as {form}"
    return "number", "no column is written as clock times or date-times"
