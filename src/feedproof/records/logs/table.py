"""Where the table of a log begins: the delimiter, the header, the unit row, the first data."""

import csv
import re
from collections import Counter
from dataclasses import dataclass

from feedproof.core.errors import InputError
from feedproof.records.logs.cells import CellKind, cell_kind
from feedproof.records.logs.channels import is_unit

WHITESPACE = " "
# In the order that decides between delimiters which explain the head equally well.
DELIMITERS = (";", "\t", "|", ",", WHITESPACE)
_NAMES = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma", WHITESPACE: "blanks"}
_WINDOWS = (150, 2000, 20000)
# No preamble is longer; a file of millions of empty lines must be refused soon.
_LONGEST_PREAMBLE = 50_000
_ENOUGH = 40
_NEUTRAL = frozenset({"", "-", "1", "hh:mm:ss", "h:mm:ss", "hh:mm:ss.fff", "h:mm:ss.fff"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    One line of the head, divided.

    Parameters
    ----------
    index : int
        Index of the line, from 0.
    cells : tuple of str
        Stripped of blanks and quotes.
    numbers, texts : int
        Cells that are numbers or times, and cells that are text.
    """

    index: int
    cells: tuple[str, ...]
    numbers: int
    texts: int

    @property
    def is_data(self) -> bool:
        """Say whether the row is data whatever its text columns."""
        filled = sum(1 for cell in self.cells if cell)
        return self.numbers >= 1 and 2 * self.numbers >= filled


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """
    What was concluded about the layout; all indices from 0.

    Parameters
    ----------
    delimiter : str
        Character between the fields; a blank stands for runs of blanks and tabs.
    header, unit_row, first_data : int or None
        Indices of lines.
    columns, unit_cells : tuple of str
        Cells of the header and of the unit row.
    data : tuple of Row
        Rows of data in the head.
    field_count : int
        Fields of a data line, with the empty one behind a trailing delimiter.
    notes : tuple of str
        Why, in words.
    """

    delimiter: str
    header: int
    unit_row: int | None
    first_data: int
    columns: tuple[str, ...]
    unit_cells: tuple[str, ...]
    data: tuple[Row, ...]
    field_count: int
    notes: tuple[str, ...]


def split_line(line: str, delimiter: str) -> tuple[str, ...]:
    """
    Divide a line into its cells.

    Parameters
    ----------
    line : str
        Without its line end.
    delimiter : str
        As in `Table`.

    Returns
    -------
    tuple of str
        Cells without quotes and without blanks at their ends.
    """
    if delimiter == WHITESPACE:
        return tuple(line.replace('"', "").split())
    if '"' not in line:
        return tuple(cell.strip(" \u00a0\t") for cell in line.split(delimiter))
    try:
        cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return (line,)
    return tuple(cell.strip(" \u00a0\t") for cell in cells)


def _row(index: int, line: str, delimiter: str) -> Row:
    """Divide and weigh one line."""
    cells = split_line(line, delimiter)
    if len(cells) < 2:
        return Row(index=index, cells=cells, numbers=0, texts=len(cells))
    kinds = Counter(cell_kind(cell) for cell in cells)
    return Row(
        index=index,
        cells=cells,
        numbers=kinds[CellKind.NUMBER] + kinds[CellKind.TIME],
        texts=kinds[CellKind.TEXT],
    )


def _modal(rows: list[Row]) -> tuple[tuple[int, int], list[Row]]:
    """Give the score of a delimiter and the data rows of its commonest width."""
    candidates = [row for row in rows if row.is_data and len(row.cells) >= 2]
    strict = [row for row in candidates if row.texts == 0]
    # A text column (gear, state) makes every row mixed; then mixed rows count.
    pool = strict if 2 * len(strict) >= len(candidates) else candidates
    if not pool:
        return (0, 0), []
    width = Counter(len(row.cells) for row in pool).most_common(1)[0][0]
    chosen = [row for row in pool if len(row.cells) == width]
    return (sum(row.texts == 0 for row in chosen), len(chosen)), chosen


def _region_start(data: list[Row], lines: list[str]) -> int:
    """Give the index, in data, of the first row that begins a run of rows."""
    need = min(3, len(data))
    for start in range(len(data) - need + 1):
        first, last = data[start].index, data[start + need - 1].index
        between = [line for line in lines[first : last + 1] if line.strip()]
        if len(between) == need:
            return start
    return 0


def find_table(lines: list[str], hint: str = "") -> Table:
    """
    Find the table in the lines of a head.

    Parameters
    ----------
    lines : list of str
        Lines without their ends.
    hint : str
        Delimiter that the instrument's description states; overrules.

    Returns
    -------
    Table
        The layout.

    Raises
    ------
    InputError
        No rows of numbers, no header, or a header that does not fit the rows below it.
    """
    delimiters = (hint,) if hint else DELIMITERS
    best: list[Row] = []
    chosen, rows = "", list[Row]()
    for window in (*_WINDOWS, min(len(lines), _LONGEST_PREAMBLE)):
        score = (0, 0)
        for delimiter in delimiters:
            divided = [_row(i, line, delimiter) for i, line in enumerate(lines[:window])]
            points, data = _modal(divided)
            if points > score:
                score, best, chosen, rows = points, data, delimiter, divided
        if len(best) >= _ENOUGH or window >= len(lines):
            break
    if not best:
        raise InputError.at(
            "table",
            "no line holds two or more numbers that a delimiter divides",
            "Export a table of numbers with a header row as text (CSV).",
        )
    start = _region_start(best, lines)
    return _headed(lines, rows, best[start:], chosen, bool(hint))


def _headed(
    lines: list[str], rows: list[Row], data: list[Row], delimiter: str, stated: bool
) -> Table:
    """Find header and unit row above the data."""
    width = len(data[0].cells)
    trailing = width > 2 and all(row.cells[-1] == "" for row in data)
    above = [
        _fixed_width(row, lines, delimiter, width)
        for row in reversed(rows[: data[0].index])
        if lines[row.index].strip()
    ]
    names = _take_first_rows(above, data, width, trailing)
    unit_row: Row | None = None
    if len(names) > 1 and _is_unit_row(names[0]):
        unit_row = names.pop(0)
    if not names:
        _refuse_header(above, data, delimiter, trailing)
    header = names[0]
    columns = header.cells
    if trailing and (len(columns) == width and columns[-1] == ""):
        columns = columns[:-1]
    elif trailing and len(columns) == width:
        trailing = False
    elif not trailing and len(columns) == width + 1:
        columns = columns[:-1]
    unit_cells = unit_row.cells[: len(columns)] if unit_row else ()
    unit_cells += ("",) * (len(columns) - len(unit_cells))
    notes = [
        f"delimiter {_NAMES.get(delimiter, delimiter)}:"
        f" {'stated by the case' if stated else 'it alone divides the rows evenly into numbers'}",
        f"header: line {header.index + 1}, {len(columns)} columns",
        f"unit row: line {unit_row.index + 1}" if unit_row else "unit row: none",
        f"data from line {data[0].index + 1}",
    ]
    if trailing:
        notes.append("every data line ends with a delimiter; the empty field behind it is left out")
    return Table(
        delimiter=delimiter,
        header=header.index,
        unit_row=unit_row.index if unit_row else None,
        first_data=data[0].index,
        columns=columns,
        unit_cells=unit_cells,
        data=tuple(data),
        field_count=width,
        notes=tuple(notes),
    )


def _fixed_width(row: Row, lines: list[str], delimiter: str, width: int) -> Row:
    """Divide a header by two or more blanks where its names hold single ones."""
    if delimiter != WHITESPACE or len(row.cells) == width:
        return row
    cells = tuple(re.split(r"\s{2,}|\t", lines[row.index].replace('"', "").strip()))
    if len(cells) != width:
        return row
    return Row(index=row.index, cells=cells, numbers=0, texts=len(cells))


def _fits(row: Row, width: int, trailing: bool) -> bool:
    """Say whether a line above the data has its fields, trailing delimiters aside."""
    count = len(row.cells)
    return (
        count == width
        or (trailing and count == width - 1)
        or (count == width + 1 and row.cells[-1] == "")
    )


def _take_first_rows(above: list[Row], data: list[Row], width: int, trailing: bool) -> list[Row]:
    """Give the named rows next above the data, nearest first; odd first rows join the data."""
    names: list[Row] = []
    for position, row in enumerate(above[:4]):
        if not _fits(row, width, trailing):
            break
        looks_like_units = _is_unit_row(row)
        if row.numbers and not looks_like_units and not names:
            # A first row with cells such as "#####": data, if a header stands above it.
            if len(row.cells) == width and any(
                _fits(upper, width, trailing) for upper in above[position + 1 : position + 3]
            ):
                data.insert(0, row)
                continue
            break
        if row.numbers and not looks_like_units:
            break
        names.append(row)
        if len(names) == 2:
            break
    return names


def _is_unit_row(row: Row) -> bool:
    """Say whether at least half of the cells that say something are units."""
    cells = [cell.strip("[]() ") for cell in row.cells]
    telling = [cell for cell in cells if cell.lower() not in _NEUTRAL]
    return bool(telling) and 2 * sum(is_unit(cell) for cell in telling) >= len(telling)


def _refuse_header(above: list[Row], data: list[Row], delimiter: str, trailing: bool) -> None:
    """Say why no line above the data is its header."""
    first, width = data[0].index + 1, len(data[0].cells) - trailing
    if above and len(above[0].cells) >= 2 and not above[0].numbers:
        clue = (
            " Decimal commas in a file that is divided by commas cannot be told apart."
            if delimiter == ","
            else ""
        )
        raise InputError.at(
            f"line {above[0].index + 1}",
            f"the header has {len(above[0].cells)} fields and the data from line {first} has"
            f" {width}.{clue}",
            "Export the log with semicolons or tabs, or mend its header.",
        )
    raise InputError.at(
        f"line {first}",
        f"the data begins here with {width} fields and no line above it names them",
        "Write a header row above the first numbers.",
    )
