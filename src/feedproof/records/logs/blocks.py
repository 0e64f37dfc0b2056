"""The body of a log as blocks of whole lines, in UTF-8, without quotes, one byte a delimiter."""

import codecs
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.encoding import ASCII_ALIKE
from feedproof.records.logs.table import WHITESPACE

ByteArray = NDArray[np.uint8]

# Smaller blocks take longer, each starts the reader anew; larger ones win nothing and hold more.
BLOCK_BYTES = 4 * 1024 * 1024
# Stands for a delimiter inside quotes once the quotes are gone.
QUOTED_DELIMITER = "\x1f"
_NEWLINE, _RETURN, _QUOTE, _TAB, _BLANK = b'\n\r"\t '


def separator_of(dialect: Dialect) -> str:
    """
    Give the single delimiter that the blocks have.

    Parameters
    ----------
    dialect : Dialect
        Form of the file.

    Returns
    -------
    str
        A tab where the file has runs of blanks.
    """
    return "\t" if dialect.delimiter == WHITESPACE else dialect.delimiter


def decimal_of(dialect: Dialect) -> str:
    """
    Give the decimal mark that the blocks have.

    Parameters
    ----------
    dialect : Dialect
        Form of the file.

    Returns
    -------
    str
        A point where quoted decimal commas stand between comma delimiters.
    """
    return "." if dialect.decimal == dialect.delimiter else dialect.decimal


def body_blocks(path: Path, dialect: Dialect) -> Iterator[tuple[bytes, int, bool]]:
    """
    Read the lines from the first data row on, block by block.

    Parameters
    ----------
    path : Path
        The file.
    dialect : Dialect
        Its form.

    Yields
    ------
    tuple of bytes, int and bool
        Whole lines, each ended by a line feed; how many line feeds; True for a last line that
        the file does not end.

    Raises
    ------
    InputError
        A line longer than a block, or NUL bytes among the text.
    """
    skip = dialect.first_data_row - 1
    done = 0
    for block, unended in _line_blocks(path, dialect):
        lines = block
        while skip and lines:
            cut = lines.find(b"\n") + 1
            lines = lines[cut:] if cut else b""
            skip -= 1
            done += 1
        if not lines:
            continue
        if 0 in lines:
            at = done + lines[: lines.index(0)].count(b"\n") + 1
            raise InputError.at(
                f"line {at}",
                "holds NUL bytes: the file is damaged, as by a power loss while recording",
                "Export the log from the instrument again, or cut it before this line.",
            )
        count = count_of(lines, "\n")
        done += count + unended
        yield _plain(lines, dialect), count, unended


def count_of(block: bytes, character: str) -> int:
    """
    Count a character that is frequent, such as line feeds.

    Parameters
    ----------
    block : bytes
        Some text.
    character : str
        One of ASCII.

    Returns
    -------
    int
        How often it stands there.
    """
    return int(np.count_nonzero(np.frombuffer(block, np.uint8) == ord(character)))


def _line_blocks(path: Path, dialect: Dialect) -> Iterator[tuple[bytes, bool]]:
    """Give blocks of whole lines, then the line that is not ended, if any."""
    decoder = None
    if dialect.encoding not in ASCII_ALIKE:
        decoder = codecs.getincrementaldecoder(dialect.encoding)("replace")
    carry = b""
    with path.open("rb") as file:
        file.seek(dialect.mark_length)
        while chunk := file.read(BLOCK_BYTES):
            text = decoder.decode(chunk).encode("utf-8", "replace") if decoder else chunk
            if dialect.line_end == "\r":
                text = text.replace(b"\r", b"\n")
            cut = text.rfind(b"\n") + 1
            before, carry = carry, text[cut:] if cut else carry + text
            if len(carry) > BLOCK_BYTES:
                raise InputError.at(
                    "body",
                    f"a line is longer than {BLOCK_BYTES // 1024**2} MiB",
                    "Export the log as text with line ends.",
                )
            if cut:
                yield b"".join((before, memoryview(text)[:cut])), False
    if carry.strip(b"\r \t"):
        yield carry, True


def _plain(block: bytes, dialect: Dialect) -> bytes:
    """Take quotes and runs of blanks out of a block."""
    if b'"' in block:
        block = _unquoted(block, dialect)
    if dialect.delimiter == WHITESPACE:
        block = _single_blanks(block)
    return block


def _unquoted(block: bytes, dialect: Dialect) -> bytes:
    """Take out the quotes; a delimiter between them is kept as another character."""
    data: ByteArray = np.frombuffer(block, np.uint8).copy()
    if dialect.delimiter == WHITESPACE:
        return bytes(data[data != _QUOTE])
    quotes = np.flatnonzero(data == _QUOTE)
    ends = np.flatnonzero(data == _NEWLINE)
    delimiters = np.flatnonzero(data == ord(dialect.delimiter))
    # Quotes are counted within each line, so that a lone one cannot swallow the next lines.
    line = np.searchsorted(ends, delimiters)
    line_starts = np.concatenate(([0], ends + 1))[line]
    before = np.searchsorted(quotes, delimiters) - np.searchsorted(quotes, line_starts)
    stand_in = "." if dialect.decimal == dialect.delimiter else QUOTED_DELIMITER
    data[delimiters[before % 2 == 1]] = ord(stand_in)
    return bytes(data[data != _QUOTE])


def _single_blanks(block: bytes) -> bytes:
    """Make one tab of each run of blanks and tabs, and none at the ends of lines."""
    data: ByteArray = np.frombuffer(block, np.uint8).copy()
    data = data[data != _RETURN]
    blank = (data == _BLANK) | (data == _TAB)
    data[blank] = _TAB
    newline = data == _NEWLINE
    before = np.concatenate(([True], (blank | newline)[:-1]))
    after = np.concatenate((newline[1:], [True]))
    # A run may end its line: its first blank is then kept above and followed by others only.
    kept = data[~(blank & (before | after))]
    ends = np.flatnonzero(kept == _NEWLINE)
    ends = ends[ends > 0]
    loose = ends[kept[ends - 1] == _TAB] - 1
    return bytes(np.delete(kept, loose))
