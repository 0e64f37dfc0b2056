"""
Which mark stands before the decimals, as proved by the cells.

``1,234`` alone proves nothing: it is 1.234 or 1234.  ``0,123``, ``12,5`` and ``1.234,5`` prove a
decimal comma; ``12.5`` and ``1,234.5`` a decimal point.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from feedproof.core.errors import InputError
from feedproof.records.logs.cells import COMMA_GROUPED, COMMA_NUMBER, POINT_GROUPED, POINT_NUMBER

_PLACE = "decimal mark"
_REMEDY = 'Write decimal = "," or decimal = "." in the instrument\'s dialect.'
# One mark and exactly three decimals, where the digits before could be a group.
_EITHER = re.compile("[+\\-\u2212]?[1-9]\\d{0,2}[.,]\\d{3}", re.ASCII)


@dataclass(slots=True)
class _Evidence:
    """First cell that proves each reading, and the first that proves neither."""

    point: str = ""
    comma: str = ""
    either_point: str = ""
    either_comma: str = ""


def _proof(cell: str, evidence: _Evidence) -> None:
    """Note what one cell proves."""
    if _EITHER.fullmatch(cell):
        if "," in cell:
            evidence.either_comma = evidence.either_comma or cell
        else:
            evidence.either_point = evidence.either_point or cell
    elif "," in cell and "." in cell:
        if COMMA_GROUPED.fullmatch(cell):
            evidence.point = evidence.point or cell
        elif POINT_GROUPED.fullmatch(cell):
            evidence.comma = evidence.comma or cell
    elif "," in cell:
        if COMMA_NUMBER.fullmatch(cell):
            evidence.comma = evidence.comma or cell
        elif COMMA_GROUPED.fullmatch(cell):
            evidence.point = evidence.point or cell
    elif "." in cell:
        if POINT_NUMBER.fullmatch(cell):
            evidence.point = evidence.point or cell
        elif POINT_GROUPED.fullmatch(cell):
            evidence.comma = evidence.comma or cell


def conclude_decimal(cells: Iterable[str]) -> tuple[str, str]:
    """
    Conclude the decimal mark from cells of data.

    Parameters
    ----------
    cells : iterable of str
        Cells without quotes.

    Returns
    -------
    tuple of str and str
        The mark (``"."``, ``","`` or ``""`` when no cell has one) and why, in words.

    Raises
    ------
    InputError
        Both marks are proved, or no cell tells a decimal mark from one that groups thousands.

    Examples
    --------
    >>> conclude_decimal(["1.234", "12,5"])[0]
    ','
    >>> conclude_decimal(["12", "34"])[0]
    ''
    """
    evidence = _Evidence()
    for cell in cells:
        if "," in cell or "." in cell:
            _proof(cell.strip(" "), evidence)
    if evidence.point and evidence.comma:
        raise InputError.at(
            _PLACE,
            f"both marks stand before decimals: {evidence.point!r} and {evidence.comma!r}",
            "Export the log with one decimal mark.",
        )
    for mark, word, proof in (
        (".", "point", evidence.point),
        (",", "comma", evidence.comma),
    ):
        if proof:
            return mark, f"decimal {word}: proved by cells such as {proof!r}"
    doubtful = evidence.either_comma or evidence.either_point
    if doubtful:
        bare = doubtful.replace(",", ".")
        raise InputError.at(
            _PLACE,
            f"{doubtful!r} may mean {bare} or {bare.replace('.', '')}, and no cell of the head"
            " tells which",
            _REMEDY,
        )
    return "", "decimal mark: none stands in the head; whole numbers only"
