"""Clock times and date-times as whole nanoseconds, so that no digit of them is lost."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

NANOSECONDS = 1_000_000_000
_DAY = 86400 * NANOSECONDS
_FRACTION = r"(?:[.,](?P<f>\d{0,9}))?"
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
