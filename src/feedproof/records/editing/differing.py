"""What differs between two versions of a document, in words."""

from collections.abc import Mapping
from typing import Any

from feedproof.records.editing.plain import same
from feedproof.records.places import NAMING_KEYS, Location, path_of
from feedproof.records.quantity import shown


def differences(before: Any, after: Any) -> list[str]:
    """
    List what differs between two documents.

    Parameters
    ----------
    before, after : object
        As read from TOML.

    Returns
    -------
    list of str
        Such as ``line[steel_line].bore: "8 mm" -> "9 mm"``.
    """
    found: list[str] = []
    _compare(before, after, (), (before, after), found)
    return found


def _compare(
    one: Any, two: Any, location: Location, whole: tuple[Any, Any], found: list[str]
) -> None:
    """Go down two documents side by side."""
    if same(one, two):
        return
    if isinstance(one, Mapping) and isinstance(two, Mapping) and "value" not in one:
        for key in [*one, *(each for each in two if each not in one)]:
            _compare(one.get(key), two.get(key), (*location, key), whole, found)
        return
    if _is_listing(one) and _is_listing(two):
        _compare_entries(one, two, location, whole, found)
        return
    # The path is written in the document that holds the entry.
    where = path_of(whole[1] if one is None else whole[0], location)
    found.append(f"{where}: {_told(one)} -> {_told(two)}")


def _is_listing(found: Any) -> bool:
    """Say whether something is a list of tables."""
    return isinstance(found, list) and all(isinstance(each, Mapping) for each in found)


def _compare_entries(
    one: list[Any], two: list[Any], location: Location, whole: tuple[Any, Any], found: list[str]
) -> None:
    """Compare the entries of two lists by their names."""
    names = [[_name(each, at) for at, each in enumerate(listing)] for listing in (one, two)]
    for at, name in enumerate(names[0]):
        other = names[1].index(name) if name in names[1] else None
        if other is None:
            found.append(f"{path_of(whole[0], (*location, at))}: removed")
        else:
            for key in dict.fromkeys([*one[at], *two[other]]):
                inner = (one[at].get(key), two[other].get(key))
                _compare(*inner, (*location, at, key), whole, found)
    for at, name in enumerate(names[1]):
        if name not in names[0]:
            found.append(f"{path_of(whole[1], (*location, at))}: added")
    if [n for n in names[0] if n in names[1]] != [n for n in names[1] if n in names[0]]:
        found.append(f"{path_of(whole[1], location)}: in another order")


def _name(entry: Mapping[str, Any], position: int) -> str:
    """Give what an entry is known by."""
    for key in NAMING_KEYS:
        if key in entry:
            return f"{key} {entry[key]}"
    return str(position)


def _told(value: Any) -> str:
    """Write a value shortly."""
    if value is None:
        return "nothing"
    if isinstance(value, Mapping):
        return shown(value["value"]) if "value" in value else "a table"
    return shown(value)
