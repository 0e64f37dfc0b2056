"""Typed columns (Parquet and the like) as the text that the one reader of logs takes."""

from collections.abc import Mapping
from pathlib import Path

import polars as pl

from feedproof.core.errors import InputError
from feedproof.records.logs.cells import time_form_of
from feedproof.records.logs.channels import is_unit
from feedproof.records.logs.dialect import Dialect, unit_of_header
from feedproof.records.logs.marks import conclude_decimal

MOST_CELLS = 20_000_000
_SAMPLE = 300


def write_frame(
    frame: pl.DataFrame,
    target: Path,
    *,
    kind: str,
    units: Mapping[str, str],
    notes: tuple[str, ...],
    hints: Mapping[str, str],
) -> Dialect:
    """
    Write typed columns as text, each number with all its digits.

    Parameters
    ----------
    frame : polars.DataFrame, n rows
        The columns. Numbers, texts, dates with times, times of day and durations; a null is a cell
        that was not measured.
    target : Path
        Text to write; line k holds row k, and there is no header in it.
    kind : str
        What the log came as.
    units : mapping of str to str
        Unit of each column that has one outside its name; these come before the name's.
    notes : tuple of str
        What was concluded so far.
    hints : mapping of str to str
        ``decimal`` and ``time_form`` count, for columns of texts.

    Returns
    -------
    Dialect
        Form of the text.

    Raises
    ------
    InputError
        Columns that cannot be written, all at once; no rows; too many cells; texts with both
        decimal marks.
    """
    _check(frame)
    units = {name: unit for name, unit in units.items() if is_unit(unit)}
    texts = [name for name, kind_of in frame.schema.items() if kind_of == pl.String]
    mark, why = _mark(frame, texts, hints.get("decimal", ""))
    plain = frame.select(_as_plain(name, dtype) for name, dtype in frame.schema.items())
    units |= {name: "s" for name, dtype in frame.schema.items() if isinstance(dtype, pl.Duration)}
    plain.write_csv(
        target,
        separator="\t",
        include_header=False,
        null_value="",
        quote_style="never",
        decimal_comma=mark == ",",
    )
    form, column = _time_form(plain, hints.get("time_form", ""))
    names = tuple(" ".join(name.split()) for name in frame.columns)
    times = f"times in column {column!r} are written as {form}" if column else ""
    return Dialect(
        encoding="utf-8",
        delimiter="\t",
        decimal=mark or ".",
        header_row=None,
        unit_row=None,
        first_data_row=1,
        columns=names,
        units=tuple(
            units.get(name, "") or unit_of_header(clean)
            for name, clean in zip(frame.columns, names, strict=True)
        ),
        time_form=form,
        notes=tuple(
            each
            for each in (*notes, f"{len(names)} columns, named by the file", why, times)
            if each
        ),
        field_count=len(names),
        kind=kind,
    )


def refuse_too_large(rows: int, columns: int) -> None:
    """
    Refuse a table of more cells than are read.

    Parameters
    ----------
    rows, columns : int
        Of the table.

    Raises
    ------
    InputError
        It has more than `MOST_CELLS`.
    """
    if rows * columns > MOST_CELLS:
        raise InputError.at(
            "table",
            f"has {rows} rows of {columns} columns; at most {MOST_CELLS:,} cells are read.",
            "Cut it into one file for each pull, or export fewer columns.",
        )


def _check(frame: pl.DataFrame) -> None:
    """Refuse what is no table of cells."""
    if not frame.height or frame.width < 2:
        raise InputError.at(
            "table",
            f"holds {frame.height} rows of {frame.width} columns.",
            "Export a table with the time and at least one channel.",
        )
    refuse_too_large(frame.height, frame.width)
    wrong = [
        f"{name!r} ({dtype})"
        for name, dtype in frame.schema.items()
        if dtype.is_nested() or dtype in (pl.Binary, pl.Object)
    ]
    if wrong:
        raise InputError.at(
            "table",
            f"columns hold lists, structures or bytes, not one value a cell: {', '.join(wrong)}.",
            "Export one column for each channel.",
        )


def _mark(frame: pl.DataFrame, texts: list[str], stated: str) -> tuple[str, str]:
    """Find the decimal mark of numbers that stand as text; typed numbers need none."""
    if not texts:
        return "", ""
    if stated:
        return stated, f"decimal mark {stated!r} of numbers that stand as text: stated"
    cells = (str(cell) for name in texts for cell in frame[name].drop_nulls().head(_SAMPLE))
    mark, why = conclude_decimal(cells)
    return mark, f"numbers that stand as text: {why}" if mark else ""


def _as_plain(name: str, dtype: pl.DataType) -> pl.Expr:
    """Write times in the forms that the reader knows, and texts without delimiters."""
    column = pl.col(name)
    if isinstance(dtype, pl.Datetime):
        zone = "%z" if dtype.time_zone else ""
        return column.dt.strftime(f"%Y-%m-%dT%H:%M:%S%.9f{zone}")
    if dtype == pl.Time:
        return column.dt.strftime("%H:%M:%S%.9f")
    if isinstance(dtype, pl.Duration):
        return column.dt.total_nanoseconds() / 1e9
    if isinstance(dtype, pl.Decimal) or dtype == pl.Float32:
        # The exact value that is stored, not the shortest text of fewer digits.
        return column.cast(pl.Float64)
    if dtype.is_float() or dtype.is_integer():
        return column
    return column.cast(pl.String).str.replace_all(r'[\t\r\n"]', " ")


def _time_form(plain: pl.DataFrame, stated: str) -> tuple[str, str]:
    """Find the first column that is written as clock times or date-times."""
    for name, dtype in plain.schema.items():
        if dtype != pl.String:
            continue
        form = time_form_of([str(c) for c in plain[name].drop_nulls().head(20)])
        if form not in ("number", "unknown"):
            return stated or form, name
    return "number", ""
