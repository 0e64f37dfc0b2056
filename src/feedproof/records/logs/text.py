"""The head of a text log: its dialect, and the cells of its first rows."""

from collections.abc import Mapping
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.logs.dialect import Dialect, conclude_dialect
from feedproof.records.logs.encoding import conclude_encoding
from feedproof.records.logs.table import split_line

# Enough for any preamble met; the larger one is tried when the smaller holds no table.
_HEADS = (256 * 1024, 8 * 1024 * 1024)


def dialect_of(path: Path, hints: Mapping[str, str]) -> Dialect:
    """
    Conclude the dialect from a small head, or from a larger one.

    Parameters
    ----------
    path : Path
        The file.
    hints : mapping of str to str
        What is stated about it.

    Returns
    -------
    Dialect
        Form of the file.

    Raises
    ------
    InputError
        From `conclude_dialect`.
    """
    size = path.stat().st_size
    for length in _HEADS:
        with path.open("rb") as file:
            head = file.read(length)
        try:
            return conclude_dialect(head, hints)
        except InputError:
            if length >= size or length == _HEADS[-1]:
                raise
    raise AssertionError("unreachable: the last head raises")


def first_rows(path: Path, dialect: Dialect) -> list[tuple[str, ...]]:
    """
    Divide the first rows of data.

    Parameters
    ----------
    path : Path
        The file.
    dialect : Dialect
        Its form.

    Returns
    -------
    list of tuple of str
        Cells of up to twenty rows.
    """
    with path.open("rb") as file:
        head = file.read(_HEADS[-1] if dialect.first_data_row > 500 else _HEADS[0])
    start = conclude_encoding(head, dialect.encoding).mark_length
    lines = head[start:].decode(dialect.encoding, "replace").split(dialect.line_end)
    first = dialect.first_data_row - 1
    return [split_line(line.rstrip("\r"), dialect.delimiter) for line in lines[first : first + 20]]
