"""
Places in a document: the path of a key as the document writes it, and its line.

A path names parts, kits and runs by id or number (``line[steel_line].bore``, ``run[3].logs[0]``)
rather than by position, so that it survives moving a table.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Location = tuple[str | int, ...]
"""Keys and positions from the top of the document."""

NAMING_KEYS = ("id", "number", "node")
"""Keys by which a path names a table of a list: parts and kits, runs, tees."""
_QUOTES = ('"""', "'''", '"', "'")
_PLAIN = re.compile(r"^[A-Za-z0-9_-]+$")
# Keys without quotes and blanks need no reader of TOML to be taken apart.
_BARE_HEADER = re.compile(
    r"^(?:\[\[(?P<entry>[\w-]+(?:\.[\w-]+)*)\]\]|\[(?P<table>[\w-]+(?:\.[\w-]+)*)\])[ \t]*(?:#|$)",
    re.ASCII,
)


def path_of(document: object, location: Location) -> str:
    """
    Write the path of a key.

    Parameters
    ----------
    document : object
        The document as read from TOML.
    location : tuple of str or int
        Keys and positions; the name of a union's member, which pydantic adds, is left out.

    Returns
    -------
    str
        Such as ``kit[secondary].insertion[0].part[hoses].bore``.
    """
    path = ""
    current: Any = document
    for step in location:
        if isinstance(step, int):
            current = current[step] if isinstance(current, list) and step < len(current) else None
            path += f"[{_name(current, step)}]"
            continue
        path += f".{step}" if path else step
        current = current.get(step) if isinstance(current, Mapping) else None
    return path or "document"


def _name(entry: object, position: int) -> str:
    """Give an entry's id or number, or its position where it has none."""
    if isinstance(entry, Mapping):
        for key in NAMING_KEYS:
            name = entry.get(key)
            if isinstance(name, (str, int)) and not isinstance(name, bool):
                text = str(name) if not isinstance(name, int) or abs(name) < 10**18 else ""
                if _PLAIN.match(text):
                    return text
    return str(position)


def without_members(document: object, location: Location) -> Location:
    """
    Leave the names of a union's members out of a location.

    Parameters
    ----------
    document : object
        The document as read from TOML.
    location : tuple of str or int
        As pydantic reports it.

    Returns
    -------
    tuple of str or int
        Steps that the document has, or would have.
    """
    steps: list[str | int] = []
    current: Any = document
    for step in location:
        if isinstance(step, int):
            current = current[step] if isinstance(current, list) and step < len(current) else None
        elif (
            steps
            and isinstance(current, Mapping)
            and current.get("kind") == step
            # Below a name the table's own key of that word would be meant.
            and (isinstance(steps[-1], int) or step not in current)
        ) or step == "[key]":
            continue
        else:
            current = current.get(step) if isinstance(current, Mapping) else None
        steps.append(step)
    return tuple(steps)


def lines_of(text: str) -> dict[Location, int]:
    """
    Map the keys of a TOML document to their lines.

    Parameters
    ----------
    text : str
        The document.

    Returns
    -------
    dict of location to int
        Lines from 1.  Keys inside inline tables are not listed: their table's line stands for
        them.
    """
    lines: dict[Location, int] = {}
    for statement in statements_of(text):
        for path in statement.paths:
            lines.setdefault(path, statement.first + 1)
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """
    A table's header, or a key with its value, in the text of a document.

    Parameters
    ----------
    first, end : int
        Its lines, from 0; the end is the line after.
    paths : tuple of location
        The table that it opens; or each table that a dotted key makes, and last the key itself.
    table : tuple of str or int
        The table that it opens or stands in.
    is_header, is_entry : bool
        Whether it opens a table, and whether this is one more of a list.
    """

    first: int
    end: int
    paths: tuple[Location, ...]
    table: Location
    is_header: bool = False
    is_entry: bool = False


def statements_of(text: str) -> Iterator[Statement]:
    """
    Go through the headers and keys of a TOML document.

    Parameters
    ----------
    text : str
        The document.

    Yields
    ------
    Statement
        In the order of the lines.
    """
    counts: dict[Location, int] = {}
    table: Location = ()
    quote, depth = "", 0
    first, paths = 0, None
    number = 0
    for number, line in enumerate(text.split("\n"), start=1):
        stripped = line.strip()
        if not quote and depth == 0:
            if stripped.startswith("["):
                table = _header(stripped, counts)
                yield Statement(
                    first=number - 1,
                    end=number,
                    paths=(table,),
                    table=table,
                    is_header=True,
                    is_entry=stripped.startswith("[["),
                )
                continue
            if stripped and not stripped.startswith("#"):
                first, paths = number - 1, tuple(table + end for end in _key_paths(stripped))
        quote, depth = _state_after(line, quote, depth)
        if paths is not None and not quote and depth == 0:
            yield Statement(first=first, end=number, paths=paths, table=table)
            paths = None
    if paths is not None:  # a bracket or string that nothing closes
        yield Statement(first=first, end=number, paths=paths, table=table)


def line_of(lines: Mapping[Location, int], location: Location) -> int | None:
    """
    Find the line of a key, or of the nearest table that holds it.

    Parameters
    ----------
    lines : mapping of location to int
        From `lines_of`.
    location : tuple of str or int
        The key.

    Returns
    -------
    int or None
        None for a key that no table of the document would hold.
    """
    for end in range(len(location), 0, -1):
        if location[:end] in lines:
            return lines[location[:end]]
    return None


def _header(stripped: str, counts: dict[Location, int]) -> Location:
    """Give the location that a table header opens, counting the entries of arrays of tables."""
    is_array = stripped.startswith("[[")
    opened: Location = ()
    keys = _parsed_keys(stripped)
    for position, key in enumerate(keys):
        opened = (*opened, key)
        if is_array and position == len(keys) - 1:
            counts[opened] = counts.get(opened, -1) + 1
        if opened in counts:
            opened = (*opened, counts[opened])
    return opened


def _parsed_keys(stripped: str) -> list[str]:
    """Take a header apart; where it is not of the plain kind, have the TOML reader do it."""
    bare = _BARE_HEADER.match(stripped)
    if bare:
        return (bare["entry"] or bare["table"]).split(".")
    try:
        current: Any = tomllib.loads(stripped + "\n")
    except (ValueError, RecursionError):
        return []
    keys = []
    while current:
        if isinstance(current, list):
            current = current[0]
            continue
        key, current = next(iter(current.items()))
        keys.append(key)
    return keys


def _key_paths(stripped: str) -> list[Location]:
    """Give the location of a ``key = value`` line and of the tables that a dotted key makes."""
    key = _before_equals(stripped)
    if _PLAIN.match(key.rstrip()):
        return [(key.rstrip(),)]
    try:
        current: Any = tomllib.loads(f"{key} = 0\n")
    except (ValueError, RecursionError):
        return []
    paths: list[Location] = []
    path: Location = ()
    while isinstance(current, dict):
        name, current = next(iter(current.items()))
        path = (*path, name)
        paths.append(path)
    return paths


def _before_equals(stripped: str) -> str:
    """Give what stands before the first equals sign outside quotes."""
    quote = ""
    for position, character in enumerate(stripped):
        if quote:
            quote = "" if character == quote else quote
        elif character in "\"'":
            quote = character
        elif character == "=":
            return stripped[:position]
    return stripped


def comments_of(text: str) -> list[str]:
    """
    List the comments of a TOML document.

    Parameters
    ----------
    text : str
        The document.

    Returns
    -------
    list of str
        In the order of the lines, from the hash on.
    """
    found = []
    quote, depth = "", 0
    for line in text.split("\n"):
        quote, depth, begin = _read_line(line, quote, depth)
        if begin is not None:
            found.append(line[begin:].strip())
    return found


def _state_after(line: str, quote: str, depth: int) -> tuple[str, int]:
    """Say whether a string or bracket is still open after a line."""
    return _read_line(line, quote, depth)[:2]


def _read_line(line: str, quote: str, depth: int) -> tuple[str, int, int | None]:
    """Say whether a string or bracket is open after a line, and where its comment begins."""
    position = 0
    comment = None
    while position < len(line):
        if quote:
            if quote[0] == '"' and line[position] == "\\":
                position += 2
                continue
            if line.startswith(quote, position):
                position += len(quote)
                quote = ""
                continue
            position += 1
            continue
        if line[position] == "#":
            comment = position
            break
        quote = next((q for q in _QUOTES if line.startswith(q, position)), "")
        if quote:
            position += len(quote)
            continue
        depth += (line[position] in "[{") - (line[position] in "]}")
        position += 1
    # A string of one line cannot be open at its end.
    return (quote if len(quote) == 3 else ""), max(depth, 0), comment
