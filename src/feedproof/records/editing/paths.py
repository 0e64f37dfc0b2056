"""From a path as findings write it back to where it leads: the other way round of `path_of`."""

import re
from collections.abc import Sequence
from typing import Any

from feedproof.core.errors import InputError, MissingError
from feedproof.records.mistakes import did_you_mean
from feedproof.records.places import NAMING_KEYS, Location
from feedproof.records.quantity import shown

_STEP = re.compile(r"\.?([^.\[\]]+)|\[([^\[\]]+)\]")


def location_of(data: Any, path: str | Sequence[str | int]) -> Location:
    """
    Find where a path leads.

    Parameters
    ----------
    data : object
        The document as read from TOML.
    path : str or sequence of str or int
        Such as ``line[steel_line].bore``; or keys, and ids or positions, one by one, for keys that
        hold a point themselves.

    Returns
    -------
    tuple of str or int
        Keys and positions; the last keys need not be there yet.

    Raises
    ------
    InputError
        No path.
    MissingError
        A list that has no such entry.
    """
    steps = _steps(path) if isinstance(path, str) else list(path)
    if not steps:
        raise InputError.at("path", "is empty.", "Name a key, such as line[steel_line].bore.")
    location: list[str | int] = []
    current = data
    for step in steps:
        if isinstance(current, list):
            position = _position(current, step, path)
            location.append(position)
            current = current[position]
        else:
            location.append(str(step))
            current = current.get(str(step)) if isinstance(current, dict) else None
    return tuple(location)


def _steps(path: str) -> list[str | int]:
    """Take a written path apart."""
    steps: list[str | int] = []
    end = 0
    while end < len(path):
        match = _STEP.match(path, end)
        if match is None:
            raise InputError.at(
                "path", f"{shown(path)} is no path.", "Write it as line[steel_line].bore."
            )
        steps.append(match[1] or match[2])
        end = match.end()
    return steps


def _position(entries: list[Any], name: str | int, path: str | Sequence[str | int]) -> int:
    """Find an entry of a list by its id, number or node, else by its position."""
    for position, entry in enumerate(entries):
        if isinstance(entry, dict) and str(name) in _names(entry):
            return position
    if str(name).isdecimal() and len(str(name)) < 10 and int(name) < len(entries):
        return int(name)
    known = [each for entry in entries if isinstance(entry, dict) for each in _names(entry)]
    raise MissingError.at(
        _shown_path(path), f"there is no {shown(str(name))}.", did_you_mean(str(name), known)
    )


def _shown_path(path: str | Sequence[str | int]) -> str:
    """Write a path for a message."""
    return path if isinstance(path, str) else ".".join(map(str, path))


def _names(entry: dict[str, Any]) -> list[str]:
    """Give what a path may call an entry."""
    found = [entry.get(key) for key in NAMING_KEYS]
    return [str(each) for each in found if isinstance(each, (str, int)) and each is not True]
