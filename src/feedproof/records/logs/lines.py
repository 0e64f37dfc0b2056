"""Which lines of a block are data: counted and divided without reading a single cell."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_NEWLINE, _RETURN = b"\n\r"
# Lines beyond these are counted as they are: so many odd lines refuse the file anyway.
_LOOKED_AT = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class SortedLines:
    """
    Lines of a block that have the right fields.

    Parameters
    ----------
    kept : bytes
        These lines, each with its line feed.
    numbers : array, shape (n,)
        Their line numbers, from 1.
    tallies : tuple of (str, int, int)
        Kind of trouble (``blank``, ``trailing``, ``ragged``), how often, first line number.
    """

    kept: bytes
    numbers: NDArray[np.int64]
    tallies: tuple[tuple[str, int, int], ...]


def sort_lines(block: bytes, separator: str, field_count: int, first_line: int) -> SortedLines:
    r"""
    Sort the lines of a block into data and others.

    Parameters
    ----------
    block : bytes
        Whole lines, each ended by a line feed, without quotes.
    separator : str
        One character between fields.
    field_count : int
        Fields that a line of data has.
    first_line : int
        Line number of the first.

    Returns
    -------
    SortedLines
        The data lines; one delimiter too many at a line's end is taken off.

    Examples
    --------
    >>> found = sort_lines(b"1;2\n\n3\n4;5;\n", ";", 2, 10)
    >>> found.kept, found.numbers.tolist()
    (b'1;2\n4;5\n', [10, 13])
    >>> found.tallies
    (('blank', 1, 11), ('trailing', 1, 13), ('ragged', 1, 12))
    """
    data = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(data == _NEWLINE)
    starts = np.concatenate(([0], ends[:-1] + 1))
    delimiters = np.flatnonzero(data == ord(separator))
    counts = np.diff(np.searchsorted(delimiters, ends), prepend=0)
    lasts = ends - 1
    lasts = lasts - ((lasts >= starts) & (data[lasts] == _RETURN))
    empty = lasts < starts
    closed = ~empty & (data[lasts] == ord(separator))
    right = counts == field_count - 1
    longer = (counts == field_count) & closed
    # Its trailing delimiter is missing: the field behind it is the empty one of the others.
    shorter = (counts == field_count - 2) & ~closed & ~empty & _ends_empty(data, right, lasts)
    blank = empty.copy()
    for i in np.flatnonzero(~(right | longer | shorter | empty))[:_LOOKED_AT]:
        blank[i] = not block[starts[i] : ends[i]].strip()
    good = (right | longer | shorter) & ~blank
    keep = np.repeat(good, ends - starts + 1)
    keep[lasts[longer & good]] = False
    tallies = tuple(
        (name, int(which.sum()), first_line + int(np.argmax(which)))
        for name, which in (
            ("blank", blank),
            ("trailing", (longer | shorter) & ~blank),
            ("ragged", ~good & ~blank),
        )
        if which.any()
    )
    return SortedLines(
        kept=data[keep].tobytes(),
        numbers=first_line + np.flatnonzero(good).astype(np.int64),
        tallies=tallies,
    )


def _ends_empty(
    data: NDArray[np.uint8], right: NDArray[np.bool_], lasts: NDArray[np.int64]
) -> bool:
    """Say whether every line with the right fields has an empty last one."""
    if not right.any():
        return False
    tails = data[lasts[right]]
    return bool((tails == tails[0]).all() and chr(tails[0]) in ";,|\t")
