"""The shape of a log's header, by which a learned mapping is found again."""

import hashlib
import json
import unicodedata
from collections.abc import Sequence


def header_shape(columns: Sequence[str], units: Sequence[str] = ()) -> str:
    """
    Hash the cells of a header and of its unit row.

    Parameters
    ----------
    columns : sequence of str
        Names, in the order of the file.
    units : sequence of str
        Their units, where the file has a row of them.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits: the same for cells that differ only in blanks around and
        within them, in the way accents are composed, and in capital letters of names.  Capital
        letters of units count: mPa is not MPa.
    """
    cells = [[_tidy(cell).casefold() for cell in columns], [_tidy(cell) for cell in units]]
    if not any(cells[1]):
        cells[1] = []
    text = json.dumps(cells, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _tidy(cell: str) -> str:
    """Compose accents; make every stretch of blanks one blank; drop a byte-order mark."""
    return " ".join(unicodedata.normalize("NFC", cell).replace("\ufeff", "").split())
