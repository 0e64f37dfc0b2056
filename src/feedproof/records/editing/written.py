"""How a value, a key and a table are written into a document."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit

from feedproof.core.errors import InputError

_BARE = re.compile(r"^[A-Za-z0-9_-]+$")


def written(value: Any) -> str:
    """
    Write a value on one line.

    Parameters
    ----------
    value : object
        Text, number, truth, date, or a list or mapping of these.

    Returns
    -------
    str
        As TOML; mappings inline.

    Raises
    ------
    InputError
        Nothing that a document can hold.
    """
    if isinstance(value, Mapping):
        inner = ", ".join(f"{key_written(key)} = {written(each)}" for key, each in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(written(each) for each in value)}]"
    if isinstance(value, str) and not _writable(value):
        raise InputError.at("value", "holds characters that no text has.", "Write plain text.")
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError.at("value", f"{value} is no finite number.", "Write a number.")
    if isinstance(value, str):
        # JSON's escapes are TOML's, and DEL is the one character more that TOML must escape.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    try:
        return str(tomlkit.item(value).as_string())
    except (TypeError, ValueError) as fault:
        raise InputError.at(
            "value", f"cannot be written: {fault}.", "Give plain values."
        ) from fault


def _writable(text: str) -> bool:
    """Say whether a text can be stored: half of a pair of surrogates cannot."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def key_written(key: str) -> str:
    """Write a key, in quotes where it needs them."""
    return key if _BARE.match(key) else written(str(key))


def block_written(names: tuple[str, ...], table: Mapping[str, Any], *, entry: bool) -> list[str]:
    """
    Write a table as lines under a header of its own.

    Parameters
    ----------
    names : tuple of str
        Keys of its header.
    table : mapping
        What it holds.
    entry : bool
        Whether it is one more of a list.

    Returns
    -------
    list of str
        Lines without their ends.
    """
    header = ".".join(key_written(name) for name in names)
    lines = [f"[[{header}]]" if entry else f"[{header}]"]
    lines += [
        f"{key_written(key)} = {written(value)}"
        for key, value in table.items()
        if not has_own_header(key, value)
    ]
    for key, value in table.items():
        if has_own_header(key, value):
            for inner, is_entry in _inner(value):
                lines += block_written((*names, key), inner, entry=is_entry)
    return lines


def _inner(value: Any) -> Iterator[tuple[Mapping[str, Any], bool]]:
    """Give the tables of a list, or the one table."""
    if isinstance(value, Mapping):
        yield value, False
    else:
        for each in value:
            yield each, True


def has_own_header(key: str, value: Any) -> bool:
    """Say whether a value is better read under a header of its own: tables of tables, parts."""
    if isinstance(value, Mapping):
        return bool(value) and all(isinstance(each, Mapping) for each in value.values())
    tables = isinstance(value, (list, tuple)) and all(isinstance(each, Mapping) for each in value)
    return bool(value) and tables and key in ("insertion", "part")
