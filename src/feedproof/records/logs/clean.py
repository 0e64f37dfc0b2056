"""The fast way through a log: blocks in which every cell is a number and every line is even."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from feedproof.records.logs.blocks import decimal_of, separator_of
from feedproof.records.logs.clock import Ticks, read_ticks
from feedproof.records.logs.dialect import Dialect

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanBlock:
    """
    A block without a flaw.

    Parameters
    ----------
    numbers : dict of int to tuple of array
        Finite numbers by column, in parts as they were read.
    ticks : Ticks or None
        Times where they are written as clock times or date-times.
    """

    numbers: dict[int, tuple[FloatArray, ...]]
    ticks: Ticks | None


def read_frame(
    block: bytes, dialect: Dialect, columns: list[int], kinds: list[type[pl.DataType]]
) -> pl.DataFrame:
    """
    Read some columns of a block in which every line has the same fields.

    Parameters
    ----------
    block : bytes
        Lines, each with its line feed.
    dialect : Dialect
        Form of the file.
    columns : list of int
        Indices.
    kinds : list of type
        What each is read as.

    Returns
    -------
    polars.DataFrame
        Columns named ``c`` and their index.
    """
    schema: dict[str, type[pl.DataType]] = {f"c{i}": pl.String for i in range(dialect.field_count)}
    schema.update({f"c{i}": kind for i, kind in zip(columns, kinds, strict=True)})
    return pl.read_csv(
        block,
        has_header=False,
        separator=separator_of(dialect),
        quote_char=None,
        schema=schema,
        columns=sorted(columns),
        encoding="utf8-lossy",
        decimal_comma=decimal_of(dialect) == ",",
        # A block is never empty, and looking whether it is copies it.
        raise_if_empty=False,
    )


def read_clean(
    block: bytes,
    height: int,
    dialect: Dialect,
    number_columns: list[int],
    text_columns: tuple[int, ...],
    time_form: str,
) -> CleanBlock | None:
    """
    Read a block whose every wanted cell is a finite number or a time.

    Parameters
    ----------
    block : bytes
        Whole lines, each with its line feed.
    height : int
        How many.
    dialect : Dialect
        Form of the file.
    number_columns : list of int
        Columns of numbers.
    text_columns : tuple of int
        The time column where it is no number; else nothing.
    time_form : str
        Form of the times.

    Returns
    -------
    CleanBlock or None
        None, and nothing concluded, for a block with any flaw.
    """
    data = np.frombuffer(block, np.uint8)
    last = dialect.field_count - 1
    if np.count_nonzero(data == ord(separator_of(dialect))) != height * last:
        return None
    wanted = [*number_columns, *text_columns]
    kinds: list[type[pl.DataType]] = [pl.Float64] * len(number_columns)
    kinds += [pl.String] * len(text_columns)
    # The last field is read though nobody wants it: it is missing where a line is too short, and
    # with the right number of delimiters in all there is no line too long without one too short.
    guard = [] if last in wanted else [last]
    try:
        frame = read_frame(block, dialect, wanted + guard, kinds + [pl.String] * len(guard))
    except pl.exceptions.PolarsError:
        return None
    if frame.height != height or any(frame[f"c{i}"].null_count() for i in wanted):
        return None
    if guard and frame[f"c{last}"].null_count() and not _even(data, dialect):
        return None
    if _pointed(block, frame, dialect, text_columns):
        return None
    arrays = {
        i: tuple(part.to_numpy() for part in frame[f"c{i}"].get_chunks()) for i in number_columns
    }
    if not all(_all_finite(values) for parts in arrays.values() for values in parts):
        return None
    ticks = None
    if text_columns:
        ticks = read_ticks(frame[f"c{text_columns[0]}"].str.strip_chars(), time_form)
        if not ticks.valid.all():
            return None
    return CleanBlock(numbers=arrays, ticks=ticks)


def _even(data: NDArray[np.uint8], dialect: Dialect) -> bool:
    """Say whether every line has its fields, by looking at every delimiter and line end."""
    newline = ord("\n")
    marks = data[(data == ord(separator_of(dialect))) | (data == newline)]
    if marks.size % dialect.field_count:
        return False
    ends = (marks == newline).reshape(-1, dialect.field_count)
    return bool(ends[:, -1].all() and not ends[:, :-1].any())


def _pointed(
    block: bytes, frame: pl.DataFrame, dialect: Dialect, text_columns: tuple[int, ...]
) -> bool:
    """Say whether a point stands elsewhere than in times, in a file with decimal commas."""
    # With decimal commas the reader would take a point for a decimal mark as well.
    if decimal_of(dialect) == "." or b"." not in block:
        return False
    in_times = sum(
        int(frame[f"c{i}"].str.count_matches(".", literal=True).sum()) for i in text_columns
    )
    return block.count(b".") != in_times


def _all_finite(values: FloatArray) -> bool:
    """Say whether all numbers are finite; their sum tells it without a mask for each."""
    with np.errstate(all="ignore"):
        return bool(np.isfinite(values.sum()) or np.isfinite(values).all())
