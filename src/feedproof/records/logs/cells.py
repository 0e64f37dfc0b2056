"""What one cell of a log may be: a number, a time, a mark for "not measured", or text."""

import re
from enum import StrEnum


class CellKind(StrEnum):
    """What a cell holds."""

    NUMBER = "number"
    TIME = "time"
    MISSING = "missing"
    TEXT = "text"


_EXPONENT = r"(?:[eE][+-]?\d+)?"
# Unicode's minus sign is written by spreadsheets and by some loggers' firmware.
_SIGN = "[+\\-\u2212]?"
# No two runs of digits may meet: a cell of a hundred thousand digits would be tried in every split.
POINT_NUMBER = re.compile(rf"{_SIGN}(?:\d+(?:\.\d*)?|\.\d+){_EXPONENT}", re.ASCII)
COMMA_NUMBER = re.compile(rf"{_SIGN}(?:\d+(?:,\d+)?|,\d+){_EXPONENT}", re.ASCII)
# Digits in groups of three; the same text may be a number with three decimals.
COMMA_GROUPED = re.compile(rf"{_SIGN}[1-9]\d{{0,2}}(?:,\d{{3}})+(?:\.\d+)?", re.ASCII)
POINT_GROUPED = re.compile(rf"{_SIGN}[1-9]\d{{0,2}}(?:\.\d{{3}})+(?:,\d+)?", re.ASCII)

CLOCK = re.compile(r"\d{1,4}:[0-5]\d:[0-5]\d(?:[.,]\d{0,9})?", re.ASCII)
TWO_PART_CLOCK = re.compile(r"\d{1,4}:[0-5]\d(?:[.,]\d{0,9})?", re.ASCII)
DATE_TIME = re.compile(
    r"\d{4}-\d\d-\d\d[T ]\d\d:[0-5]\d:[0-5]\d(?:[.,]\d{0,9})?(?:Z|[+-]\d\d:?\d\d)?", re.ASCII
)

_MISSING = frozenset(
    (
        *("", "-", "--", "---", "?", "***", "****", "*****", "na", "n/a", "#n/a", "null", "none"),
        *("nan", "inf", "+inf", "-inf", "1.#inf", "1.#qnan", "err", "error", "ol", "-ol", "+ol"),
        *("over", "under", "overflow"),
    )
)
_LONGEST = 64


def cell_kind(cell: str) -> CellKind:
    """
    Say what a cell holds, whichever decimal mark the file has.

    Parameters
    ----------
    cell : str
        The cell without quotes.

    Returns
    -------
    CellKind
        ``number`` for decimal points, decimal commas and grouped digits, also when too large
        for a float (``1e400``): such a cell belongs to a row of data, not to a header.

    Examples
    --------
    >>> [str(cell_kind(cell)) for cell in ("1,5", "1e400", "9:41:00.5", "OL", "Rail ist")]
    ['number', 'number', 'time', 'missing', 'text']
    """
    text = cell.strip(" ")
    if len(text) > _LONGEST:
        return CellKind.TEXT
    if text.lower() in _MISSING:
        return CellKind.MISSING
    if any(form.fullmatch(text) for form in (POINT_NUMBER, COMMA_NUMBER)):
        return CellKind.NUMBER
    if any(form.fullmatch(text) for form in (CLOCK, TWO_PART_CLOCK, DATE_TIME)):
        return CellKind.TIME
    if COMMA_GROUPED.fullmatch(text) or POINT_GROUPED.fullmatch(text):
        return CellKind.NUMBER
    return CellKind.TEXT


def time_form_of(cells: list[str]) -> str:
    """
    Name the form in which a column writes its times.

    Parameters
    ----------
    cells : list of str
        Some cells of the column.

    Returns
    -------
    str
        ``number``, ``h:mm:ss``, ``two-part clock``, ``date-time``, or ``unknown`` when the cells
        agree on none.

    Examples
    --------
    >>> time_form_of(["2026-09-14T09:42:00,5", ""])
    'date-time'
    """
    filled = [cell.strip(" ") for cell in cells]
    filled = [cell for cell in filled if cell_kind(cell) is not CellKind.MISSING]
    if not filled:
        return "unknown"
    for name, forms in (
        ("number", (POINT_NUMBER, COMMA_NUMBER, COMMA_GROUPED, POINT_GROUPED)),
        ("h:mm:ss", (CLOCK,)),
        ("two-part clock", (TWO_PART_CLOCK,)),
        ("date-time", (DATE_TIME,)),
    ):
        hits = sum(
            len(cell) <= _LONGEST and any(form.fullmatch(cell) for form in forms) for cell in filled
        )
        if hits * 2 > len(filled):
            return name
    return "unknown"
