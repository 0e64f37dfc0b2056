"""Write the same readings as workbook and as Parquet, and workbooks that are wrong on purpose."""

import zipfile
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import polars as pl

from tests.records.logs.writer import COLUMNS, Form, numbers, times

START = datetime(2026, 9, 14, 23, 59, 57)


def book(path: Path, sheets: Mapping[str, Sequence[Sequence[Any]]], hidden: str = "") -> None:
    """Write sheets of rows."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
        for cells in sheet.iter_rows():
            for cell in cells:
                if isinstance(cell.value, datetime):
                    cell.number_format = "yyyy-mm-dd hh:mm:ss.000"
    if hidden:
        workbook[hidden].sheet_state = "hidden"
    workbook.save(path)


def table(form: Form, moments: str = "s") -> list[list[Any]]:
    """Give header, units and readings as cells."""
    texts, _ = times(form)
    rows: list[list[Any]] = [
        ["t", *(name for _, name, _, _ in COLUMNS)],
        ["s" if moments == "s" else None, *(unit for _, _, unit, _ in COLUMNS)],
    ]
    for i, (text, cells) in enumerate(zip(texts, numbers(form.rows), strict=True)):
        since = timedelta(milliseconds=40 * i)
        moment = {"s": float(text), "date-time": START + since, "span": since}[moments]
        rows.append([moment, *(float(cell) for cell in cells)])
    return rows


def parquet(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    """Write header, units and readings as a Parquet file with the units in brackets."""
    names = [f"{n} [{u}]" if u else n for n, u in zip(rows[0], rows[1], strict=True)]
    columns = zip(*rows[2:], strict=True)
    pl.DataFrame(dict(zip(names, columns, strict=True))).write_parquet(path)


def rewritten(path: Path, change: Callable[[str, bytes], bytes | None]) -> None:
    """Change the parts of an archive; None leaves a part out."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            changed = change(name, content)
            if changed is not None:
                archive.writestr(name, changed)


def in_sheet(old: bytes, new: bytes) -> Callable[[str, bytes], bytes]:
    """Replace one text in the first sheet; it must stand there."""

    def change(name: str, content: bytes) -> bytes:
        if name != "xl/worksheets/sheet1.xml":
            return content
        assert old in content
        return content.replace(old, new, 1)

    return change
