"""Logs that come as XLSX workbooks."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from feedproof.core.errors import InputError
from feedproof.records.logs.cells import CellKind, cell_kind
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.kinds import Kind
from feedproof.records.logs.marks import conclude_decimal
from feedproof.records.logs.text import dialect_of
from feedproof.records.logs.workbook_parts import Extent, check_parts

# Each is written as text to see whether it holds a table; one that is stated may be any.
_MOST_SHEETS = 40
_LEFT_OUT = ("encoding ", "delimiter ", "decimal ")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A sheet that holds a table, and what is concluded about it."""

    name: str
    dialect: Dialect


def as_text(path: Path, hints: Mapping[str, str], target: Path) -> Dialect:
    """
    Write a sheet of a workbook as text: line k holds row k of the sheet.

    Parameters
    ----------
    path : Path
        The workbook.
    hints : mapping of str to str
        ``sheet`` names the sheet; ``decimal`` is the mark of numbers that stand as text;
        ``time_form`` counts as in text logs.
    target : Path
        Text to write.

    Returns
    -------
    Dialect
        Form of the text.

    Raises
    ------
    InputError
        Damaged, too large, no table, or several sheets with one and none stated.
    """
    extents = check_parts(path)
    try:
        with CalamineWorkbook.from_path(path) as book:
            names, hidden = _sheets(book)
            stated = hints.get("sheet", "")
            if stated:
                found = _written(book, _named(stated, names, hidden), hints, target)
                why = f"sheet {found.name!r}: stated"
            else:
                found, why = _concluded(book, names, hidden, hints, target)
            merged = book.get_sheet_by_name(found.name).merged_cell_ranges or []
    except CalamineError as fault:
        raise InputError.at(
            "file",
            f"the workbook is damaged ({str(fault)[:160]}).",
            "Save it anew as XLSX, or export it as text (CSV).",
        ) from fault
    notes = [
        "XLSX workbook: the file is an archive that holds one",
        why,
        "lines are the rows of the sheet",
        *(n for n in found.dialect.notes if not n.startswith(_LEFT_OUT)),
        *_gaps(extents.get(found.name), len(merged)),
    ]
    if hidden:
        notes.append(f"hidden sheets were not looked at: {', '.join(map(repr, hidden))}")
    return replace(found.dialect, kind=Kind.WORKBOOK, sheet=found.name, notes=tuple(notes))


def _sheets(book: CalamineWorkbook) -> tuple[list[str], list[str]]:
    """List the sheets of cells, those that are seen and those that are hidden."""
    seen: list[str] = []
    hidden: list[str] = []
    for each in book.sheets_metadata:
        if each.typ == SheetTypeEnum.WorkSheet:
            (seen if each.visible == SheetVisibleEnum.Visible else hidden).append(each.name)
    return seen, hidden


def _named(stated: str, names: list[str], hidden: list[str]) -> str:
    """Find the sheet that is stated; a hidden one may be."""
    every = [*names, *hidden]
    same = [name for name in every if name == stated] or [
        name for name in every if name.casefold().strip() == stated.casefold().strip()
    ]
    if len(same) == 1:
        return same[0]
    raise InputError.at(
        "dialect.sheet",
        f"the workbook has no sheet {stated!r}. It has: {_list(every)}.",
        "Write one of them.",
    )


def _list(names: list[str]) -> str:
    """Name sheets."""
    return ", ".join(repr(name[:60]) for name in names) or "none"


def _concluded(
    book: CalamineWorkbook,
    names: list[str],
    hidden: list[str],
    hints: Mapping[str, str],
    target: Path,
) -> tuple[_Found, str]:
    """Take the only sheet that holds a table of numbers; ask where several do."""
    if len(names) > _MOST_SHEETS:
        raise InputError.at(
            "sheet",
            f"the workbook has {len(names)} sheets; at most {_MOST_SHEETS} are looked through.",
            'State which holds the log: sheet = "..." in the instrument\'s dialect, or --sheet.',
        )
    tables: list[str] = []
    faults: dict[str, InputError] = {}
    last: _Found | None = None
    for name in names:
        if not book.get_sheet_by_name(name).height:
            continue
        try:
            last = _written(book, name, hints, target)
            tables.append(name)
        except InputError as fault:
            faults[name] = fault
            # A doubt about decimals is one about a table: it must not make another sheet win.
            if any(f.place != "table" for f in fault.findings):
                tables.append(name)
    if len(tables) > 1:
        raise InputError.at(
            "sheet",
            f"{len(tables)} sheets hold a table: {_list(tables)}.",
            'State which: sheet = "..." in the instrument\'s dialect, or --sheet.',
        )
    if not tables:
        also = f" Hidden are: {_list(hidden)}." if hidden else ""
        raise InputError.at(
            "sheet",
            f"no sheet holds a table of two or more columns of numbers. There are: {_list(names)}."
            f"{also}",
            "Put the log on a sheet of its own, with a header above the numbers.",
        )
    if tables[0] in faults:
        raise faults[tables[0]]
    if last is None or last.name != tables[0]:
        last = _written(book, tables[0], hints, target)
    only = "the only sheet" if len(names) == 1 else "the only one that holds a table of numbers"
    return last, f"sheet {last.name!r}: {only}"


def _written(book: CalamineWorkbook, name: str, hints: Mapping[str, str], target: Path) -> _Found:
    """Write a sheet and conclude its form; a second time when its texts have decimal commas."""
    sheet = book.get_sheet_by_name(name)
    clocked = _date_time_columns(sheet)
    stated = {"encoding": "utf-8", "delimiter": "\t", "decimal": "."}
    if "time_form" in hints:
        stated["time_form"] = hints["time_form"]
    _write(sheet, target, clocked, ".")
    dialect = dialect_of(target, stated)
    mark = hints.get("decimal", "")
    why = f"decimal mark {mark!r} of numbers that stand as text: stated" if mark else ""
    if not mark:
        mark, why = conclude_decimal(_texts(sheet, dialect.first_data_row))
        why = f"numbers that stand as text: {why}" if mark else ""
    if mark == ",":
        _write(sheet, target, clocked, mark)
        dialect = dialect_of(target, {**stated, "decimal": mark})
    notes = (*dialect.notes, *((why,) if why else ()))
    return _Found(name=name, dialect=replace(dialect, notes=notes))


def _date_time_columns(sheet: CalamineSheet) -> set[int]:
    """Find the columns that hold date-times: at midnight, such a cell comes as a bare date."""
    return {i for row in sheet.iter_rows() for i, c in enumerate(row) if isinstance(c, datetime)}


def _texts(sheet: CalamineSheet, first_row: int) -> Iterator[str]:
    """Give the numbers that stand as text among the data."""
    for number, row in enumerate(sheet.iter_rows(), start=1):
        if number < first_row:
            continue
        for cell in row:
            if isinstance(cell, str) and ("," in cell or "." in cell):
                text = cell.strip()
                if cell_kind(text) is CellKind.NUMBER:
                    yield text


def _write(sheet: CalamineSheet, target: Path, clocked: set[int], mark: str) -> None:
    """Write all rows."""
    with target.open("w", encoding="utf-8", newline="\n", errors="replace") as file:
        for row in sheet.iter_rows():
            cells = (_as_text(cell, i in clocked, mark) for i, cell in enumerate(row))
            file.write("\t".join(cells) + "\n")


def _as_text(cell: Any, clocked: bool, mark: str) -> str:
    """Write one cell so that no digit of it is lost."""
    if isinstance(cell, str):
        # One row stays one line, and quotes stay quotes.
        plain = " ".join(cell.replace("\0", " ").split())
        return '"' + plain.replace('"', '""') + '"' if '"' in plain else plain
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, int):
        return str(cell)
    if isinstance(cell, float):
        whole = cell.is_integer() and abs(cell) < 1e15
        return str(int(cell)) if whole else repr(cell).replace(".", mark)
    if isinstance(cell, datetime):
        return cell.isoformat()
    if isinstance(cell, date):
        return cell.isoformat() + ("T00:00:00" if clocked else "")
    if isinstance(cell, time):
        return cell.isoformat()
    if isinstance(cell, timedelta):
        return _clock(cell)
    return str(cell)


def _clock(span: timedelta) -> str:
    """Write a duration as h:mm:ss; a negative one is no time that can be read."""
    sign = "-" if span < timedelta(0) else ""
    span = abs(span)
    seconds = span.days * 86400 + span.seconds
    fraction = f".{span.microseconds:06d}" if span.microseconds else ""
    return f"{sign}{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{fraction}"


def _gaps(extent: Extent | None, merged: int) -> list[str]:
    """Tell which cells hold nothing although something is shown in them."""
    told = []
    if extent and extent.errors:
        first = f", first at {extent.first_error}" if extent.first_error else ""
        told.append(
            f"cells with an error such as #N/A: {extent.errors}{first}; they count as not measured"
        )
    if extent and extent.no_value:
        told.append(
            f"formulas without a stored value: {extent.no_value}; they count as not measured (open"
            " the workbook in a program that calculates, and save it)"
        )
    if merged:
        told.append(f"merged cells: {merged}; only the first cell of each group holds a value")
    return told
