"""Clock times and date-times as whole nanoseconds, so that no digit of them is lost."""

import re
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

NANOSECONDS = 1_000_000_000
_DAY = 86400 * NANOSECONDS
_FRACTION = r"(?:[.,](?P<f>\d{0,9}))?"
_CLOCK = re.compile(r"\d{1,4}:[0-5]\d:[0-5]\d(?:[.,]\d{0,9})?", re.ASCII)
# Hours grow by a digit within a log; times with trailing zeros cut have ten widths.
_WIDTHS = 12
_FORMS = {
    "h:mm:ss": rf"^(?P<h>\d{{1,4}}):(?P<m>[0-5]\d):(?P<s>[0-5]\d){_FRACTION}$",
    "h:mm": r"^(?P<h>\d{1,4}):(?P<m>[0-5]\d)$",
    "mm:ss": rf"^(?P<m>\d{{1,4}}):(?P<s>[0-5]\d){_FRACTION}$",
    "date-time": (
        r"^(?P<d>\d{4}-\d\d-\d\d)[T ](?P<h>[01]\d|2[0-3]):(?P<m>[0-5]\d):(?P<s>[0-5]\d)"
        rf"{_FRACTION}(?:Z|(?P<zs>[+-])(?P<zh>\d\d):?(?P<zm>\d\d))?$"
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """
    Times of one column.

    Parameters
    ----------
    nanoseconds : array, shape (n,)
        Whole nanoseconds: of a clock from its zero, of a date-time from 1970 in UTC (or in
        local time where no offset is written). [ns]
    valid : array of bool, shape (n,)
        False where the cell holds no time of this form.
    offset : int
        Offset from UTC of the first valid cell. [ns]
    """

    nanoseconds: IntArray
    valid: NDArray[np.bool_]
    offset: int


def read_ticks(cells: pl.Series, form: str) -> Ticks:
    """
    Read a column of clock times or date-times.

    Parameters
    ----------
    cells : polars.Series of str, shape (n,)
        The cells.
    form : str
        ``h:mm:ss``, ``h:mm``, ``mm:ss`` or ``date-time``.

    Returns
    -------
    Ticks
        The times.

    Examples
    --------
    >>> read_ticks(pl.Series(["0:00:01.5", "noon"]), "h:mm:ss").nanoseconds.tolist()
    [1500000000, 0]
    """
    quick = _fixed_clock(cells) if form == "h:mm:ss" and len(cells) else None
    if quick is not None:
        return Ticks(nanoseconds=quick, valid=np.ones(quick.size, dtype=np.bool_), offset=0)
    parts = cells.str.extract_groups(_FORMS[form]).struct.unnest()

    def whole(name: str) -> pl.Series:
        if name not in parts.columns:
            return pl.zeros(len(cells), dtype=pl.Int64, eager=True)
        return parts[name].cast(pl.Int64, strict=False).fill_null(0)

    seconds = whole("h") * 3600 + whole("m") * 60 + whole("s")
    total = seconds * NANOSECONDS
    if "f" in parts.columns:
        fraction = parts["f"].fill_null("").str.pad_end(9, "0")
        total = total + fraction.cast(pl.Int64, strict=False).fill_null(0)
    valid = parts["m"].is_not_null()
    offset = pl.zeros(len(cells), dtype=pl.Int64, eager=True)
    if form == "date-time":
        days = parts["d"].str.to_date("%Y-%m-%d", strict=False)
        valid = valid & days.is_not_null()
        total = total + days.cast(pl.Int32).cast(pl.Int64).fill_null(0) * _DAY
        offset = (whole("zh") * 3600 + whole("zm") * 60) * NANOSECONDS
        offset = offset * (1 - 2 * (parts["zs"].fill_null("+") == "-").cast(pl.Int64))
        total = total - offset
    good = valid.fill_null(False).to_numpy().astype(np.bool_)
    first = int(np.argmax(good)) if good.any() else 0
    return Ticks(
        nanoseconds=total.to_numpy().astype(np.int64),
        valid=good,
        offset=int(offset[first]) if len(cells) else 0,
    )


def _fixed_clock(cells: pl.Series) -> IntArray | None:
    """
    Read clock times digit by digit, a dozen times as fast as by a pattern.

    None where a single cell is no time, or the cells have many widths: the pattern then says what
    each of them is.
    """
    if cells.null_count():
        return None
    widths = cells.str.len_bytes().to_numpy()
    data = np.frombuffer(cells.str.join("").item().encode(), np.uint8)
    different = np.unique(widths)
    if different.size > _WIDTHS:
        return None
    if different.size == 1:
        return _of_one_width(data.reshape(-1, int(different[0])))
    total = np.empty(widths.size, dtype=np.int64)
    ends = np.cumsum(widths.astype(np.int64))
    for width in different:
        rows = np.flatnonzero(widths == width)
        places = (ends[rows] - int(width))[:, None] + np.arange(int(width))
        some = _of_one_width(data[places])
        if some is None:
            return None
        total[rows] = some
    return total


def _of_one_width(cells: NDArray[np.uint8]) -> IntArray | None:
    """Read clock times that all have their marks at the same places."""
    first = bytes(cells[0])
    if not _CLOCK.fullmatch(first.decode("ascii", "replace")):
        return None
    total: IntArray = np.zeros(len(cells), dtype=np.int64)
    part: IntArray = np.zeros(len(cells), dtype=np.int64)
    scale = 0
    digits = 0
    for place, mark in enumerate(first):
        column = np.ascontiguousarray(cells[:, place])
        if ord("0") <= mark <= ord("9"):
            digit = column - np.uint8(ord("0"))
            # Minutes and seconds begin with 0 to 5; bytes below "0" wrap round to large ones.
            most = 5 if place and first[place - 1] == ord(":") else 9
            if digit.max() > most:
                return None
            part = part * 10 + digit
            digits += 1
            continue
        if (column != mark).any():
            return None
        total, part = (total + part) * (60 if mark == ord(":") else 1), np.zeros_like(part)
        scale, digits = int(mark != ord(":")), 0
    if scale:
        total, part = total * NANOSECONDS, part * 10 ** (9 - digits)
        return total + part
    total = total + part
    return total * NANOSECONDS


def seconds_from_midnight(nanoseconds: IntArray, offset: int) -> NDArray[np.float64]:
    """
    Change date-times to seconds from the midnight before the first of them.

    Parameters
    ----------
    nanoseconds : array, shape (n,)
        From 1970 in UTC. [ns]
    offset : int
        Offset from UTC of the first. [ns]

    Returns
    -------
    array, shape (n,)
        Seconds, each correctly rounded for logs of less than a hundred days. [s]
    """
    local = int(nanoseconds[0]) + offset
    midnight = local - local % _DAY - offset
    return np.asarray((nanoseconds - midnight) / NANOSECONDS, dtype=np.float64)
