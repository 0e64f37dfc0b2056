"""Changes inside one statement of a document: a key with its value, or a header."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import InlineTable

from feedproof.core.errors import InputError
from feedproof.records.editing.layout import Layout
from feedproof.records.editing.written import key_written, written
from feedproof.records.places import Location, Statement, comments_of, path_of

BY_HAND = "Change it in case.toml by hand."


def with_value(layout: Layout, statement: Statement, location: Location, value: Any) -> str:
    """
    Change the value of a statement, or one inside it, and leave the rest of its lines.

    Parameters
    ----------
    layout : Layout
        The document.
    statement : Statement
        Of the key.
    location : tuple of str or int
        The key, or what stands inside its value.
    value : object
        What it is to say.

    Returns
    -------
    str
        The document.

    Raises
    ------
    InputError
        It cannot be changed in this text.
    """
    with _restated(layout, statement, location) as (holders, keys, texts):
        if isinstance(holders[-1], InlineTable) and keys[-1] not in holders[-1]:
            # The library leaves no blank before the bracket: write this one table anew.
            value = {**holders[-1].unwrap(), keys[-1]: value}
            holders, keys = holders[:-1], keys[:-1]
        holders[-1][keys[-1]] = _item(value)
    return texts[0]


def without_key(layout: Layout, statement: Statement, location: Location) -> str:
    """
    Take something out of the value of a statement.

    Parameters
    ----------
    layout, statement, location
        As for `with_value`.

    Returns
    -------
    str
        The document.

    Raises
    ------
    InputError
        It cannot be changed in this text.
    """
    with _restated(layout, statement, location) as (holders, keys, texts):
        if isinstance(holders[-1], InlineTable):
            table = holders[-1].unwrap()
            del table[str(keys[-1])]
            holders[-2][keys[-2]] = _item(table)
        else:
            del holders[-1][keys[-1]]
    return texts[0]


def _item(value: Any) -> Any:
    """Make what the library holds for a value."""
    return tomlkit.parse(f"x = {written(value)}").item("x")


@contextmanager
def _restated(
    layout: Layout, statement: Statement, location: Location
) -> Iterator[tuple[list[Any], Location, list[str]]]:
    """Give what holds each key of the way into a statement, these keys, and the text to come."""
    keys = location[len(statement.table) :]
    lines = layout.lines[statement.first : statement.end]
    # The library takes a carriage return for an end of line only before a line feed.
    end = "\r" if lines[0].endswith("\r") else ""
    texts: list[str] = []
    try:
        small = tomlkit.parse("\n".join(line.removesuffix("\r") for line in lines))
        holders: list[Any] = [small]
        for step in keys[:-1]:
            holders.append(holders[-1][step])
        yield holders, keys, texts
        changed = [f"{line}{end}" for line in tomlkit.dumps(small).split("\n")]
    except (TOMLKitError, KeyError, IndexError, TypeError, AttributeError, ValueError) as fault:
        raise InputError.at(
            path_of({}, location), "cannot be changed as it is written.", BY_HAND
        ) from fault
    whole = [*layout.lines[: statement.first], *changed, *layout.lines[statement.end :]]
    texts.append("\n".join(whole))


def header_renamed(line: str, names: tuple[str, ...], *, is_entry: bool) -> str:
    """
    Write a header with other names, and leave what stands behind it.

    Parameters
    ----------
    line : str
        The header's line.
    names : tuple of str
        Its keys.
    is_entry : bool
        Whether it opens one more of a list.

    Returns
    -------
    str
        Its line, without its end.
    """
    comment = comments_of(line)
    behind = line[line.rindex(comment[0]) - 1 :].rstrip("\r") if comment else ""
    header = ".".join(key_written(name) for name in names)
    return f"[[{header}]]{behind}" if is_entry else f"[{header}]{behind}"
