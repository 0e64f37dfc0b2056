"""What an edit makes of a document's data: the measure that the edited text must meet."""

import copy
import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from feedproof.core.errors import MissingError
from feedproof.records.places import Location, path_of


def entry_at(data: Any, location: Location) -> Any:
    """
    Give what stands at a location.

    Parameters
    ----------
    data : object
        The document, or a part of it.
    location : tuple of str or int
        Keys and positions.

    Returns
    -------
    object
        As read from TOML.

    Raises
    ------
    MissingError
        Nothing stands there.
    """
    current = data
    for depth, step in enumerate(location, start=1):
        try:
            current = current[step]
        except (KeyError, IndexError, TypeError) as fault:
            raise MissingError.at(
                path_of(data, location[:depth]), "is not in the case.", "Read the case again."
            ) from fault
    return current


def holds(data: Any, location: Location) -> bool:
    """Say whether something stands at a location."""
    try:
        entry_at(data, location)
    except MissingError:
        return False
    return True


def with_put(data: Any, location: Location, value: Any) -> Any:
    """Give the data with a value put at a location, tables on the way made where they lack."""
    made = copy.deepcopy(data)
    holder = made
    for step, following in pairwise(location):
        if isinstance(holder, dict) and step not in holder and isinstance(following, str):
            holder[step] = {}
        holder = entry_at(holder, (step,))
    try:
        holder[location[-1]] = copy.deepcopy(value)
    except (IndexError, TypeError) as fault:
        raise MissingError.at(
            path_of(data, location), "cannot stand there.", "Read the case again."
        ) from fault
    return made


def without(data: Any, location: Location) -> Any:
    """Give the data without what stands at a location; a list that gets empty goes too."""
    made = copy.deepcopy(data)
    entry_at(made, location)
    holder = entry_at(made, location[:-1])
    del holder[location[-1]]
    if isinstance(location[-1], int) and not holder:
        del entry_at(made, location[:-2])[location[-2]]
    return made


def with_entry(data: Any, listing: Location, position: int, table: Mapping[str, Any]) -> Any:
    """Give the data with a table more in a list, which is made where it lacks."""
    made = copy.deepcopy(data)
    holder = entry_at(made, listing[:-1])
    holder.setdefault(listing[-1], []).insert(position, copy.deepcopy(dict(table)))
    return made


def moved(data: Any, listing: Location, old: int, new: int) -> Any:
    """Give the data with an entry of a list at another position."""
    made = copy.deepcopy(data)
    entries = entry_at(made, listing)
    entries.insert(new, entries.pop(old))
    return made


def same(one: Any, two: Any) -> bool:
    """
    Say whether two data are the same, kind by kind: 1, 1.0 and true are three.

    Parameters
    ----------
    one, two : object
        As read from TOML.

    Returns
    -------
    bool
        True for the same content; the order of keys plays no part.
    """
    if isinstance(one, Mapping) and isinstance(two, Mapping):
        return one.keys() == two.keys() and all(same(one[key], two[key]) for key in one)
    if isinstance(one, (list, tuple)) and isinstance(two, (list, tuple)):
        return len(one) == len(two) and all(map(same, one, two))
    if isinstance(one, float) and isinstance(two, float) and math.isnan(one):
        return math.isnan(two)
    return type(one) is type(two) and bool(one == two)
