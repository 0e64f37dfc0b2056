"""Tables of a case document, as the screens name them."""

from collections.abc import Mapping
from typing import Any

TABLES = {
    "": "Title and note",
    "vehicle": "Vehicle",
    "vehicle.engine": "Engine",
    "vehicle.engine.full_load": "Full-load curve",
    "vehicle.gearing": "Gearing",
    "vehicle.tank": "Tank",
    "vehicle.pump": "Pump and its limit",
    "pull": "Pull",
    "reference": "Reference conditions",
    "margins": "Margins",
    "supply": "Fuel as it comes",
    "duty": "Duty",
    "service": "Service",
    "rig": "Rig and procedure",
}
"""Tables that every case can have; those with names of their own are added from the document."""


def tables_of(document: Mapping[str, Any]) -> dict[str, str]:
    """
    List the tables of a case with their names.

    Parameters
    ----------
    document : mapping
        As read from TOML, also one with mistakes.

    Returns
    -------
    dict of str to str
        Names by path.

    Examples
    --------
    >>> tables_of({"fuel": {"winter": {}}})["fuel.winter"]
    'Fuel: winter'
    """
    found = dict(TABLES)
    for name in _names(document, "fuel"):
        found[f"fuel.{name}"] = f"Fuel: {name}"
    worst = document.get("worst", ())
    for i, each in enumerate(worst if isinstance(worst, list) else ()):
        name = str(each.get("name", i) if isinstance(each, Mapping) else i)
        found[f"worst[{name}]"] = f"Worst conditions: {name}"
    for name in _names(document, "repeatability"):
        found[f"repeatability.{name}"] = f"Repeatability: {name.replace('_', ' ')}"
    for name in _names(document, "instrument"):
        found[f"instrument.{name}"] = f"Instrument: {name}"
    for name in _names(document, "measure"):
        found[f"measure.{name}"] = f"Measured by hand: {name}"
    return found


def listed(entries: object) -> list[Mapping[str, Any]]:
    """
    Give the tables of a list, whatever else stands in it or in its place.

    Parameters
    ----------
    entries : object
        From a document that may have mistakes.

    Returns
    -------
    list of mapping
        Empty where there is no list.

    Examples
    --------
    >>> listed([{"id": "hose"}, 5]), listed(3)
    ([{'id': 'hose'}], [])
    """
    return [e for e in entries if isinstance(e, Mapping)] if isinstance(entries, list) else []


def _names(document: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """Give the names of the tables below a key; with mistakes it may hold anything."""
    found = document.get(key)
    return tuple(str(name) for name in found) if isinstance(found, Mapping) else ()
