"""Reader of the value tables that lie beside the formulas."""

import csv
from pathlib import Path

COLUMNS = (
    "item",
    "property",
    "value",
    "unit",
    "low",
    "high",
    "source",
    "where",
    "note",
)
_FOLDER = Path(__file__).parent / "tables"


def table_names() -> list[str]:
    """
    Name the value tables.

    Returns
    -------
    list of str
        Names for `read_table`, sorted.
    """
    return sorted(path.stem for path in _FOLDER.glob("*.csv"))


def read_table(name: str) -> list[dict[str, str]]:
    """
    Read a value table as it is written.

    Parameters
    ----------
    name : str
        Name of the table, without its ending.

    Returns
    -------
    list of dict
        One entry per line with the keys of `COLUMNS`; all values are text, empty where the table
        gives none.

    Raises
    ------
    ValueError
        No such table, or one whose columns or lines do not fit.

    Examples
    --------
    >>> read_table("fuels")[0]["property"]
    'density_15c'
    """
    if name not in table_names():
        raise ValueError(f"no value table {name!r}: there are {', '.join(table_names())}")
    text = (_FOLDER / f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    if not rows or tuple(rows[0]) != COLUMNS:
        raise ValueError(f"table {name}.csv does not begin with the columns {', '.join(COLUMNS)}")
    for number, row in enumerate(rows[1:], start=1):
        if len(row) != len(COLUMNS):
            raise ValueError(
                f"table {name}.csv, entry {number}: {len(row)} values, {len(COLUMNS)} wanted"
            )
    return [dict(zip(COLUMNS, row, strict=True)) for row in rows[1:]]
