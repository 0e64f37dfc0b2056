"""The cells of a log as numbers: a fast way for clean blocks, a careful one for all others."""

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, note, warning
from feedproof.core.progress import Progress, silent
from feedproof.records.logs.blocks import (
    QUOTED_DELIMITER,
    body_blocks,
    count_of,
    decimal_of,
    separator_of,
)
from feedproof.records.logs.cells import COMMA_NUMBER, POINT_NUMBER
from feedproof.records.logs.clean import CleanBlock, read_clean, read_frame
from feedproof.records.logs.clock import IntArray, Ticks, read_ticks
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.growing import Growing
from feedproof.records.logs.lines import sort_lines
from feedproof.records.logs.table import WHITESPACE

FloatArray = NDArray[np.float64]
LineNumbers = NDArray[np.int32] | NDArray[np.int64]

_GROUPED = {
    ".": r"^[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?$",
    ",": r"^[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?$",
}
# So many that processors have work while a block is taken into its columns; more win nothing.
_AT_ONCE = 4
_RAGGED_SHARE = 0.01
_RAGGED_ALWAYS_TAKEN = 3


@dataclass(slots=True)
class Tally:
    """How often something was met, where first, and what stood there."""

    count: int = 0
    line: int = 0
    example: str = ""

    def add(self, count: int, line: int, example: str = "") -> None:
        """Count more of it; the first place stays."""
        if count and not self.count:
            self.line, self.example = line, example
        self.count += count


@dataclass(slots=True)
class Body:
    """
    What stands below the header.

    Parameters
    ----------
    numbers : dict of int to array, shape (n,)
        By column; NaN where the cell is not a finite number.
    ticks : Ticks or None
        The time column where it is not a number.
    lines : array, shape (n,)
        Line number of each row, from 1.
    not_numbers : dict of int to Tally
        By column.
    findings : tuple of Finding
        What was left out or mended.
    """

    numbers: dict[int, FloatArray]
    ticks: Ticks | None
    lines: LineNumbers
    not_numbers: dict[int, Tally]
    findings: tuple[Finding, ...]


class _Gathered:
    """What the blocks have given so far."""

    def __init__(self, columns: list[int], expected: int, *, clocked: bool) -> None:
        self.numbers = {i: Growing(np.float64, expected) for i in columns}
        self.lines = Growing(np.int32, expected)
        self.nanoseconds = Growing(np.int64, expected if clocked else 0)
        self.timed = Growing(np.bool_, expected if clocked else 0)
        self.clocked = clocked
        self.offset: int | None = None
        self.not_numbers: dict[int, Tally] = {}
        self.tallies: dict[str, Tally] = {}

    def tally(self, name: str) -> Tally:
        """Give the count of one kind of trouble."""
        return self.tallies.setdefault(name, Tally())

    def add_ticks(self, ticks: Ticks) -> None:
        """Take the times of a block; the first valid one says the offset from UTC."""
        self.nanoseconds.add(ticks.nanoseconds)
        self.timed.add(ticks.valid)
        if self.offset is None and ticks.valid.any():
            self.offset = ticks.offset


def read_body(
    path: Path,
    dialect: Dialect,
    columns: tuple[int, ...],
    time_column: int,
    time_form: str,
    *,
    name: str = "",
    progress: Progress = silent,
) -> Body:
    """
    Read columns of a log below its header.

    Parameters
    ----------
    path : Path
        The file.
    dialect : Dialect
        Its form.
    columns : tuple of int
        Indices of the columns wanted, the time column among them.
    time_column : int
        Index of the time column.
    time_form : str
        ``number`` or a form of `read_ticks`.
    name : str
        Name under which the file came, for the progress; the file's own name when left out.
    progress : Progress
        Told after each block, in bytes.

    Returns
    -------
    Body
        The numbers.

    Raises
    ------
    InputError
        More than one line in a hundred does not have the header's fields; a decimal mark turns
        up that the head did not show; NUL bytes.
    """
    text_columns = () if time_form == "number" else (time_column,)
    numbers = [i for i in columns if i not in text_columns]
    gathered: _Gathered | None = None
    line = dialect.first_data_row
    previous = b""
    size, read = path.stat().st_size, 0

    def quick(block: bytes, count: int) -> CleanBlock | None:
        return read_clean(block, count, dialect, numbers, text_columns, time_form)

    for block, count, unended, clean in _quickly(body_blocks(path, dialect), quick):
        read += len(block)
        if gathered is None:
            gathered = _Gathered(numbers, _expected(block, size), clocked=bool(text_columns))
        lines = block
        if unended:
            lines = _last_line(block, previous, dialect, gathered, line)
        elif count:
            previous = block[-4096:]
        if clean is not None:
            _take(clean, gathered, line, count)
        elif lines:
            _read_careful(
                lines, dialect, gathered, text_columns, time_form, line, columns, time_column
            )
        line += count
        progress(min(read, size), size, f"reading {name or path.name}")
    progress(size, size, f"reading {name or path.name}")
    return _finished(gathered or _Gathered(numbers, 0, clocked=bool(text_columns)))


def _quickly(
    blocks: Iterator[tuple[bytes, int, bool]],
    quick: Callable[[bytes, int], CleanBlock | None],
) -> Iterator[tuple[bytes, int, bool, CleanBlock | None]]:
    """Try the fast way on some blocks at once and give all of them in their order."""
    ahead: deque[tuple[bytes, int, bool, Future[CleanBlock | None] | None]] = deque()
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        for block, count, unended in blocks:
            # Whether a line without an end counts hangs on the one above it.
            future = None if unended else pool.submit(quick, block, count)
            ahead.append((block, count, unended, future))
            if len(ahead) > _AT_ONCE:
                yield _done(ahead.popleft())
        while ahead:
            yield _done(ahead.popleft())


def _done(
    waiting: tuple[bytes, int, bool, "Future[CleanBlock | None] | None"],
) -> tuple[bytes, int, bool, CleanBlock | None]:
    """Wait for a block."""
    block, count, unended, future = waiting
    return block, count, unended, future.result() if future else None


def _expected(block: bytes, size: int) -> int:
    """Estimate the rows of a file by its first block, rather too many than too few."""
    return int(1.05 * count_of(block, "\n") * size / len(block)) + 1


def _take(clean: CleanBlock, gathered: _Gathered, first_line: int, count: int) -> None:
    """Take a block without a flaw."""
    for index, parts in clean.numbers.items():
        for values in parts:
            gathered.numbers[index].add(values)
    if clean.ticks is not None:
        gathered.add_ticks(clean.ticks)
    gathered.lines.add(np.arange(first_line, first_line + count, dtype=np.int32))


def _last_line(
    block: bytes, previous: bytes, dialect: Dialect, gathered: _Gathered, line: int
) -> bytes:
    """Give the line that the file does not end, or nothing when it may be cut."""
    separator = separator_of(dialect).encode()
    above = previous.rstrip(b"\r\n").rpartition(b"\n")[2]
    cells, cells_above = block.rstrip().split(separator), above.rstrip().split(separator)
    decimals = [
        len(row[-1].partition(decimal_of(dialect).encode() or b".")[2])
        for row in (cells, cells_above)
    ]
    if len(cells) < dialect.field_count or (above and decimals[0] != decimals[1]):
        gathered.tally("cut").add(1, line)
        return b""
    return block.rstrip(b"\r") + b"\n"


def _read_careful(
    block: bytes,
    dialect: Dialect,
    gathered: _Gathered,
    text_columns: tuple[int, ...],
    time_form: str,
    first_line: int,
    columns: tuple[int, ...],
    time_column: int,
) -> None:
    """Read a block cell by cell as text, and tally all that is not a number."""
    if dialect.encoding in ("cp1252", "cp1250", "iso8859-1", "iso8859-15"):
        block = block.decode(dialect.encoding, "replace").encode()
    if dialect.delimiter == WHITESPACE:
        block = _whole_names(block, dialect)
    sorted_lines = sort_lines(block, separator_of(dialect), dialect.field_count, first_line)
    for name, count, line in sorted_lines.tallies:
        gathered.tally(name).add(count, line)
    if not sorted_lines.kept:
        return
    text: list[type[pl.DataType]] = [pl.String] * len(columns)
    frame = read_frame(sorted_lines.kept, dialect, list(columns), text)
    cells = {
        i: frame[f"c{i}"]
        .fill_null("")
        .str.replace_all(QUOTED_DELIMITER, dialect.delimiter, literal=True)
        .str.replace("\u2212", "-", literal=True)
        .str.strip_chars(" \t\r\u00a0")
        for i in columns
    }
    lines = sorted_lines.numbers
    repeated = _repeated_headers(cells, dialect, time_column)
    if repeated.any():
        gathered.tally("header").add(int(repeated.sum()), int(lines[np.argmax(repeated)]))
        cells = {i: series.filter(pl.Series(~repeated)) for i, series in cells.items()}
        lines = lines[~repeated]
    for index in gathered.numbers:
        values = _numbers(cells[index], dialect, gathered, lines)
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            tally = gathered.not_numbers.setdefault(index, Tally())
            tally.add(int(bad.size), int(lines[bad[0]]), str(cells[index][int(bad[0])]))
            values[bad] = np.nan
        gathered.numbers[index].add(values)
    if text_columns:
        gathered.add_ticks(read_ticks(cells[time_column], time_form))
    gathered.lines.add(lines)


def _whole_names(block: bytes, dialect: Dialect) -> bytes:
    """Keep the names of two words of a repeated header in one field each."""
    divided = "\t".join(" ".join(dialect.columns).split()).encode()
    whole = "\t".join(name.replace(" ", QUOTED_DELIMITER) for name in dialect.columns).encode()
    if divided == whole or divided not in block:
        return block
    return b"\n".join(whole if line == divided else line for line in block.split(b"\n"))


def _repeated_headers(
    cells: dict[int, pl.Series], dialect: Dialect, time_column: int
) -> NDArray[np.bool_]:
    """Mark rows that repeat the header or the unit row."""
    repeated = np.ones(len(cells[time_column]), dtype=np.bool_)
    for index, series in cells.items():
        repeated &= (series == dialect.columns[index]).to_numpy()
    if dialect.unit_row is not None and repeated.any():
        # Only right below a repeated header: elsewhere a row of words is not known.
        below = np.concatenate(([False], repeated[:-1]))
        series = cells[time_column].str.strip_chars("[]() ")
        repeated |= below & (series == dialect.units[time_column]).to_numpy()
    return repeated


def _numbers(
    cells: pl.Series, dialect: Dialect, gathered: _Gathered, lines: IntArray
) -> FloatArray:
    """Change cells to numbers; what is not a number becomes NaN."""
    decimal = decimal_of(dialect)
    plain = cells
    if decimal == ",":
        pointed = cells.str.contains(".", literal=True)
        plain = cells.str.replace(",", ".", literal=True)
        plain = plain.set(pointed, None)
    values = plain.cast(pl.Float64, strict=False).to_numpy().astype(np.float64)
    if not decimal:
        _ask_for_decimal(cells, lines)
        return values
    rest = np.flatnonzero(np.isnan(values))
    if rest.size and dialect.delimiter != dialect.decimal:
        grouped = cells.gather(rest).str.contains(_GROUPED[decimal]).to_numpy()
        rest = rest[grouped]
        if rest.size:
            bare = cells.gather(rest).str.replace_all(
                "." if decimal == "," else ",", "", literal=True
            )
            bare = bare.str.replace(",", ".", literal=True)
            values[rest] = bare.cast(pl.Float64, strict=False).to_numpy()
            gathered.tally("grouped").add(
                int(rest.size), int(lines[rest[0]]), str(cells[int(rest[0])])
            )
    return values


def _ask_for_decimal(cells: pl.Series, lines: IntArray) -> None:
    """Refuse a mark that turns up after a head of whole numbers."""
    marked = np.flatnonzero(cells.str.contains(r"[.,]").to_numpy())
    for row in marked[:1000]:
        cell = str(cells[int(row)])
        if POINT_NUMBER.fullmatch(cell) or COMMA_NUMBER.fullmatch(cell):
            raise InputError.at(
                f"line {lines[row]}",
                f"{cell!r} has a mark, and the numbers at the head of the file have none",
                'Write decimal = "," or decimal = "." in the instrument\'s dialect.',
            )


_TALLY_WORDS = {
    "cut": ("the last line is cut or may be (it has no line end)", "It was left out."),
    "blank": ("blank lines", "They were left out."),
    "header": ("rows repeat the header or the unit row", "They were left out."),
    "trailing": ("lines end with one delimiter more or less than the others", "It was ignored."),
    "grouped": ("numbers have digits in groups of three", "The group marks were taken out."),
    "ragged": (
        "lines do not have the header's number of fields",
        "They were left out; look at the line.",
    ),
}


def _finished(gathered: _Gathered) -> Body:
    """Join the blocks and put the tallies in words."""
    rows = gathered.lines.size
    findings = []
    for name, tally in gathered.tallies.items():
        words, done = _TALLY_WORDS[name]
        example = f", such as {tally.example!r}" if tally.example else ""
        make = warning if name in ("cut", "ragged") else note
        findings.append(make(f"line {tally.line}", f"{words} ({tally.count}{example}).", done))
    ragged = gathered.tallies.get("ragged", Tally())
    if ragged.count > max(_RAGGED_SHARE * rows, _RAGGED_ALWAYS_TAKEN):
        raise InputError(
            [
                error(
                    f"line {ragged.line}",
                    f"{ragged.count} of {rows + ragged.count} lines do not have the header's number"
                    " of fields, this one first (allowed: one in a hundred)",
                    "Export the log again; empty cells must keep their delimiters.",
                )
            ]
        )
    ticks = None
    if gathered.clocked and gathered.timed.size:
        ticks = Ticks(
            nanoseconds=gathered.nanoseconds.whole(),
            valid=gathered.timed.whole(),
            offset=gathered.offset or 0,
        )
    return Body(
        numbers={i: column.whole() for i, column in gathered.numbers.items()},
        ticks=ticks,
        lines=gathered.lines.whole(),
        not_numbers=gathered.not_numbers,
        findings=tuple(findings),
    )
