"""Logs that come as Parquet files."""

import json
from collections.abc import Mapping
from pathlib import Path

import polars as pl

from feedproof.core.errors import InputError
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.frames import refuse_too_large, write_frame
from feedproof.records.logs.kinds import Kind

_DAMAGED = "Export it anew, or export it as text (CSV)."


def as_text(path: Path, hints: Mapping[str, str], target: Path) -> Dialect:
    """
    Write a Parquet file as text.

    Parameters
    ----------
    path : Path
        The file.
    hints : mapping of str to str
        ``decimal`` and ``time_form``, for columns of texts.
    target : Path
        Text to write.

    Returns
    -------
    Dialect
        Form of the text.

    Raises
    ------
    InputError
        Damaged, too large, nested columns.
    """
    with path.open("rb") as file:
        file.seek(-4, 2)
        if file.read(4) != b"PAR1":
            raise InputError.at("file", "its end is missing: the Parquet file is cut.", _DAMAGED)
    try:
        told = pl.read_parquet_metadata(path)
        lazy = pl.scan_parquet(path, glob=False, hive_partitioning=False)
        schema = lazy.collect_schema()
        rows = int(lazy.select(pl.len()).collect().item())
    except pl.exceptions.PolarsError as fault:
        raise InputError.at(
            "file", f"is no Parquet file that can be read ({_short(fault)}).", _DAMAGED
        ) from fault
    refuse_too_large(rows, len(schema))
    try:
        frame = lazy.collect()
    except pl.exceptions.PolarsError as fault:
        raise InputError.at("file", f"is damaged ({_short(fault)}).", _DAMAGED) from fault
    units = _units(told, frame.columns)
    notes = ("Parquet: the file begins with its mark", *_told_units(units))
    return write_frame(frame, target, kind=Kind.PARQUET, units=units, notes=notes, hints=hints)


def _short(fault: Exception) -> str:
    """Give the first line of what a library says."""
    return " ".join(str(fault).split())[:160]


def _units(told: Mapping[str, str], columns: list[str]) -> dict[str, str]:
    """Take units from the file's metadata: by column name, or ``units`` as a JSON object."""
    units = {name: told[name] for name in columns if name in told}
    try:
        listed = json.loads(told.get("units", "{}"))
    except (ValueError, RecursionError):
        return units
    if isinstance(listed, dict):
        units |= {n: u for n, u in listed.items() if n in columns and isinstance(u, str)}
    return units


def _told_units(units: Mapping[str, str]) -> tuple[str, ...]:
    """Say where units come from."""
    if not units:
        return ()
    return (f"units of {len(units)} columns: from the metadata of the file",)
