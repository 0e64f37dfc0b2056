"""
What stands in a workbook's archive, looked at before a library that trusts it may read it.

A workbook is an archive of XML.  Its parts are unpacked piece by piece and counted, not kept: the
sizes that the archive declares may be false, and so may the dimension that a sheet declares.
"""

import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO
from xml.etree import ElementTree

from feedproof.core.errors import InputError

MOST_UNPACKED_BYTES = 600_000_000
MOST_CELLS = 6_000_000
"""Cells of the smallest rectangle around all cells of a sheet: so many are held, full or not."""
MOST_PARTS = 2000
_MOST_RATIO = 200
_RATIO_COUNTS_FROM = 5_000_000
_PIECE = 1024 * 1024
_SMALL_PART = 5_000_000
# Cells that hold something: empty ones that only have a format may go on for a million rows.
_CELL = re.compile(rb"""\sr=["']([A-Za-z]{1,9})(\d{1,18})["'](?:[^>]*[^/>])?>""")
_ERROR_CELL = re.compile(rb"""<[\w:]*c\s(?:[^>]*\s)?t=["']e["']""")
_REFERENCE = re.compile(rb"""\sr=["']([A-Za-z]{1,9}\d{1,18})["']""")
# A formula whose result was never stored: it was written by a program that does not calculate.
_EMPTY_FORMULA = re.compile(
    rb"(?:</[\w:]*f>|<[\w:]*f(?:\s[^>]*)?/>)\s*(?:<[\w:]*v\s*/>|<[\w:]*v>\s*</[\w:]*v>)?\s*</[\w:]*c>"
)
_REMEDY = "Save the log anew as XLSX, or export it as text (CSV)."


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """
    What a sheet holds.

    Parameters
    ----------
    rows, columns : int
        Last row and last column with a cell.
    errors : int
        Cells that hold an error, such as #N/A.
    first_error : str
        Where the first of them stands; empty where there is none.
    no_value : int
        Formulas without a stored value.
    """

    rows: int
    columns: int
    errors: int
    first_error: str
    no_value: int


@dataclass(slots=True)
class _Count:
    """The same while it is counted."""

    rows: int = 0
    columns: int = 0
    errors: int = 0
    first_error: str = ""
    no_value: int = 0
    letters: dict[bytes, int] = field(default_factory=dict)


def check_parts(path: Path) -> dict[str, Extent]:
    """
    Look at every part of a workbook.

    Parameters
    ----------
    path : Path
        The workbook.

    Returns
    -------
    dict of str to Extent
        What each sheet holds, by its name, in the order of the workbook.

    Raises
    ------
    InputError
        No workbook, another kind of one, damaged, or too large when it is unpacked.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            parts = {part.filename: part for part in _listed(archive)}
            with path.open("rb") as file:
                return _extents(parts, file)
    except (zipfile.BadZipFile, zlib.error, struct.error, EOFError, ValueError, OSError) as fault:
        raise InputError.at(
            "file", f"the workbook is damaged ({str(fault)[:120]}).", _REMEDY
        ) from fault
    except (NotImplementedError, RuntimeError) as fault:
        raise InputError.at(
            "file", f"the workbook cannot be unpacked ({str(fault)[:120]}).", _REMEDY
        ) from fault


def _listed(archive: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    """List the parts of an archive that is an XLSX workbook and no bomb by its own words."""
    parts = archive.infolist()
    names = [part.filename for part in parts]
    if len(parts) > MOST_PARTS:
        raise InputError.at("file", f"has {len(parts)} parts, at most {MOST_PARTS}.", _REMEDY)
    if len(set(names)) != len(names):
        raise InputError.at("file", "two parts of the archive have one name.", _REMEDY)
    if "xl/workbook.bin" in names:
        raise InputError.at("file", "is a binary workbook (XLSB), which is not read.", _REMEDY)
    if "content.xml" in names or "mimetype" in names:
        raise InputError.at(
            "file", "is an OpenDocument file (ODS and the like), which is not read.", _REMEDY
        )
    if "xl/workbook.xml" not in names:
        raise InputError.at(
            "file",
            "is an archive (ZIP) and no XLSX workbook.",
            "Unpack it, or save the log as XLSX or text (CSV).",
        )
    total = sum(part.file_size for part in parts)
    if total > MOST_UNPACKED_BYTES:
        raise _too_large(f"{total / 1e6:.0f} MB by its own words")
    for part in parts:
        if part.flag_bits & 1:
            raise InputError.at(f"part {part.filename!r}", "has a password.", _REMEDY)
        if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise InputError.at(
                f"part {part.filename!r}", "is packed by a method that workbooks have not.", _REMEDY
            )
        _check_ratio(part.filename, part.file_size, part.compress_size)
    return parts


def _too_large(words: str) -> InputError:
    """Refuse a workbook that does not fit."""
    return InputError(
        InputError.at(
            "file",
            f"is unpacked larger than {MOST_UNPACKED_BYTES / 1e6:.0f} MB ({words}).",
            "Cut the log into one workbook for each pull, or export it as text (CSV).",
        ).findings
    )


def _check_ratio(name: str, unpacked: int, packed: int) -> None:
    """Refuse what grows more than any table of numbers does."""
    if unpacked > _RATIO_COUNTS_FROM and unpacked > _MOST_RATIO * max(packed, 1):
        raise InputError.at(
            f"part {name!r}",
            f"grows {unpacked // max(packed, 1)}-fold when it is unpacked; a log grows less than"
            f" {_MOST_RATIO}-fold.",
            _REMEDY,
        )


def _extents(parts: dict[str, zipfile.ZipInfo], file: BinaryIO) -> dict[str, Extent]:
    """Unpack every part once; count the cells of the sheets."""
    of_sheet = _sheet_parts(parts, file)
    by_part: dict[str, Extent] = {}
    left = MOST_UNPACKED_BYTES
    for name, part in parts.items():
        pieces = _unpacked(file, part, left)
        if name in of_sheet.values() or name.startswith("xl/worksheets/sheet"):
            by_part[name], size = _counted(name, pieces)
        else:
            size = sum(len(piece) for piece in pieces)
        left -= size
    nothing = Extent(rows=0, columns=0, errors=0, first_error="", no_value=0)
    return {sheet: by_part.get(part, nothing) for sheet, part in of_sheet.items()}


def _sheet_parts(parts: dict[str, zipfile.ZipInfo], file: BinaryIO) -> dict[str, str]:
    """Find the part of each sheet."""
    book = _parsed("xl/workbook.xml", parts, file)
    links = {
        link.get("Id", ""): link.get("Target", "")
        for link in _parsed("xl/_rels/workbook.xml.rels", parts, file)
    }
    found: dict[str, str] = {}
    for each in book.iter():
        if each.tag.rpartition("}")[2] != "sheet":
            continue
        link = next((v for k, v in each.attrib.items() if k.rpartition("}")[2] == "id"), "")
        target = links.get(link, "")
        found[each.get("name", "")] = (
            target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        )
    return found


def _parsed(name: str, parts: dict[str, zipfile.ZipInfo], file: BinaryIO) -> ElementTree.Element:
    """Read a small part."""
    if name not in parts:
        raise InputError.at(f"part {name!r}", "is missing from the workbook.", _REMEDY)
    text = b"".join(_unpacked(file, parts[name], _SMALL_PART))
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise InputError.at(f"part {name!r}", "declares entities, as no workbook does.", _REMEDY)
    try:
        return ElementTree.fromstring(text)
    except ElementTree.ParseError as fault:
        raise InputError.at(
            f"part {name!r}", f"the workbook is damaged ({fault}).", _REMEDY
        ) from fault


def _unpacked(file: BinaryIO, part: zipfile.ZipInfo, most: int) -> Iterator[bytes]:
    """Unpack a part piece by piece, whatever size it declares, and stop at a limit."""
    file.seek(part.header_offset)
    header = file.read(30)
    name_length, extra_length = struct.unpack("<HH", header[26:30])
    file.seek(part.header_offset + 30 + name_length + extra_length)
    packed, size, check = part.compress_size, 0, 0
    inflate = zlib.decompressobj(-15) if part.compress_type == zipfile.ZIP_DEFLATED else None
    pending = b""
    while packed or pending:
        if not pending:
            pending = file.read(min(packed, _PIECE))
            if not pending:
                raise EOFError(f"{part.filename} is cut")
            packed -= len(pending)
        if inflate is None:
            piece, pending = pending, b""
        else:
            piece = inflate.decompress(pending, _PIECE)
            pending = inflate.unconsumed_tail
        size += len(piece)
        check = zlib.crc32(piece, check)
        if size > most:
            raise _too_large(f"{part.filename} goes on beyond it")
        yield piece
        if inflate is not None and inflate.eof:
            break
    _check_ratio(part.filename, size, part.compress_size)
    if size != part.file_size:
        raise zipfile.BadZipFile(f"{part.filename} has {size} bytes and declares {part.file_size}")
    if check != part.CRC:
        raise zipfile.BadZipFile(f"{part.filename} does not have the checksum that it declares")


def _counted(name: str, pieces: Iterator[bytes]) -> tuple[Extent, int]:
    """Count the cells of a sheet."""
    count, size, carry = _Count(), 0, b""
    for piece in pieces:
        size += len(piece)
        text = carry + piece
        # Cells are looked at whole: what follows the last one waits for the next piece.
        cut = text.rfind(b"</row>") + 6
        if cut < 6:
            cut = text.rfind(b">", 0, max(len(text) - 4096, 0)) + 1
        _count_cells(text[:cut], count, name)
        carry = text[cut:]
    _count_cells(carry, count, name)
    extent = Extent(
        rows=count.rows,
        columns=count.columns,
        errors=count.errors,
        first_error=count.first_error,
        no_value=count.no_value,
    )
    return extent, size


def _count_cells(text: bytes, count: _Count, name: str) -> None:
    """Count some cells, and refuse a sheet as soon as they stand too far apart."""
    for letters, digits in set(_CELL.findall(text)):
        if letters not in count.letters:
            count.letters[letters] = _column_number(letters)
        count.columns = max(count.columns, count.letters[letters])
        count.rows = max(count.rows, int(digits))
    if count.rows * count.columns > MOST_CELLS:
        raise InputError.at(
            f"part {name!r}",
            f"cells stand as far as row {count.rows} and column {count.columns}; a sheet of at"
            f" most {MOST_CELLS:,} cells is read, empty ones counted.",
            "Delete what stands far from the table, or export it as text (CSV).",
        )
    # Searched for plainly first: most sheets have none, and patterns take their time.
    has_errors = b't="e"' in text or b"t='e'" in text
    for found in _ERROR_CELL.finditer(text) if has_errors else ():
        reference = _REFERENCE.search(text[found.start() : found.end() + 40])
        if not count.errors and reference:
            count.first_error = reference.group(1).decode("ascii")
        count.errors += 1
    if b"f>" in text or b"f/>" in text or b"<f " in text:
        count.no_value += len(_EMPTY_FORMULA.findall(text))


def _column_number(letters: bytes) -> int:
    """Give the number of a column, from 1."""
    number = 0
    for letter in letters.upper():
        number = 26 * number + letter - ord("A") + 1
    return number
