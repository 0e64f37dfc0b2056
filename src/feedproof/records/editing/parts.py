"""Where parts stand in a document, and what refers to them."""

from collections.abc import Iterator
from typing import Any

from feedproof.core.errors import InputError, MissingError
from feedproof.records.lineup import kit_parts
from feedproof.records.mistakes import did_you_mean
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import entries, table, text


def all_parts(data: dict[str, Any]) -> Iterator[tuple[Location, dict[str, Any]]]:
    """Go through the parts of the lines and of all kits."""
    for at, part in (*entries(data, "line"), *entries(data, "return"), *kit_parts(data)):
        yield at, dict(part)


def find_part(data: dict[str, Any], name: str) -> Location:
    """
    Find a part by its id.

    Parameters
    ----------
    data : dict
        The document.
    name : str
        Id of the part.

    Returns
    -------
    tuple of str or int
        Where it stands.

    Raises
    ------
    MissingError
        No part has this id.
    """
    known: dict[str, Location] = {}
    for at, part in all_parts(data):
        known.setdefault(text(part, "id") or "", at)
    if name in known:
        return known[name]
    raise MissingError.at(
        f"part {shown(name)}", "is not in the case.", did_you_mean(name, filter(None, known))
    )


def find_kit(data: dict[str, Any], name: str) -> Location:
    """Find a kit by its id."""
    known = {text(kit, "id") or "": at for at, kit in reversed(list(entries(data, "kit")))}
    if name in known:
        return known[name]
    raise MissingError.at(
        f"kit {shown(name)}", "is not in the case.", did_you_mean(name, filter(None, known))
    )


def require_free(data: dict[str, Any], name: object, own: Location | None = None) -> None:
    """Refuse an id that a part has already: nobody could name either of the two."""
    for at, part in all_parts(data):
        if at != own and text(part, "id") == name and name is not None:
            raise InputError.at(
                f"part {shown(name)}", "is in the case already.", "Give each part its own id."
            )


def references(data: dict[str, Any], name: str) -> Iterator[Location]:
    """
    List the keys that refer to a part.

    Parameters
    ----------
    data : dict
        The document.
    name : str
        Id of the part.

    Yields
    ------
    tuple of str or int
        A key whose value is the id, or which is the id itself.
    """
    for at_kit, kit in entries(data, "kit"):
        for at, insertion in entries(kit, "insertion", at_kit):
            yield from ((*at, side) for side in ("before", "after") if insertion.get(side) == name)
    for at, tee in entries(data, "tee"):
        if tee.get("branch") == name:
            yield (*at, "branch")
    conditions = [*entries(data, "worst"), (("reference",), table(data, "reference"))]
    for at, holder in (*conditions, *entries(data, "run")):
        for key in ("loading", "elements"):
            if name in table(holder, key):
                yield (*at, key, name)
