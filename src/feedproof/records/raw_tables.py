"""
A document as it stands, read without trusting it: for checks that must work beside mistakes.

Every function gives nothing where something of another kind stands; what is of the wrong kind is
reported by the models.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from feedproof.records.places import Location
from feedproof.records.quantity import read_number

Table = Mapping[str, Any]


def table(holder: object, *keys: str) -> Table:
    """
    Give a table below a table.

    Parameters
    ----------
    holder : object
        A table.
    *keys : str
        The way down.

    Returns
    -------
    mapping
        Empty where there is none.
    """
    current: Any = holder
    for key in keys:
        current = current.get(key) if isinstance(current, Mapping) else None
    return current if isinstance(current, Mapping) else {}


def entries(holder: object, key: str, above: Location = ()) -> Iterator[tuple[Location, Table]]:
    """
    Go through the tables of a list.

    Parameters
    ----------
    holder : object
        The table that has the list.
    key : str
        Key of the list.
    above : tuple of str or int
        Location of the holder.

    Yields
    ------
    tuple of location and mapping
        Each table with where it stands.
    """
    found = holder.get(key) if isinstance(holder, Mapping) else None
    if isinstance(found, list):
        for position, entry in enumerate(found):
            if isinstance(entry, Mapping):
                yield (*above, key, position), entry


def named(holder: object, key: str) -> Iterator[tuple[Location, str, Table]]:
    """
    Go through the tables of a table by name.

    Parameters
    ----------
    holder : object
        The document.
    key : str
        Key of the table of tables.

    Yields
    ------
    tuple of location, str and mapping
        Each table with where it stands and its name.
    """
    for name, entry in table(holder, key).items():
        if isinstance(entry, Mapping):
            yield (key, name), name, entry


def text(holder: Table, key: str) -> str | None:
    """Give a text, or None where there is none."""
    found = holder.get(key)
    return found if isinstance(found, str) else None


def texts(holder: Table, key: str) -> list[str]:
    """Give the texts of a list, leaving others out."""
    found = holder.get(key)
    return [item for item in found if isinstance(item, str)] if isinstance(found, list) else []


def number(holder: Table, key: str, kind: str) -> float | None:
    """
    Give a quantity in SI.

    Parameters
    ----------
    holder : mapping
        Its table.
    key : str
        Its key.
    kind : str
        Key of ``core.units.DIMENSIONS``.

    Returns
    -------
    float or None
        None where it is missing or cannot be read.
    """
    found = holder.get(key)
    if isinstance(found, Mapping):
        found = found.get("value")
    try:
        return None if found is None else read_number(found, kind)
    except ValueError:
        return None


def series(holder: Table, key: str) -> list[float] | None:
    """Give the numbers of a list with a unit as written, or None where they cannot be read."""
    found = table(holder, key).get("values")
    if not isinstance(found, list):
        return None
    if not all(isinstance(item, (int, float)) and not isinstance(item, bool) for item in found):
        return None
    return list(found)
