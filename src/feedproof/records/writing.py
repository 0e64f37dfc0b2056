"""Additions to a case document that keep every comment of it."""

from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from feedproof.core.errors import InputError


def with_run(text: str, run: Mapping[str, Any]) -> str:
    """
    Add a run's table at the end of a document, keeping everything else as it stands.

    Parameters
    ----------
    text : str
        The document.
    run : mapping
        The run, with its logs.

    Returns
    -------
    str
        The new document, comments and order kept.

    Raises
    ------
    InputError
        The document is no TOML.
    """
    return with_runs(text, (run,))


def with_runs(text: str, runs: Sequence[Mapping[str, Any]]) -> str:
    """
    Add tables of runs at the end of a document, in their order.

    Parameters
    ----------
    text : str
        The document.
    runs : sequence of mapping
        The runs, with their logs.

    Returns
    -------
    str
        The new document, comments and order kept.

    Raises
    ------
    InputError
        The document is no TOML.
    """
    ends = "\r\n" if "\r\n" in text else "\n"
    try:
        tomlkit.parse(text)
    except TOMLKitError as fault:
        raise InputError.at(
            "case.toml", f"cannot be read as TOML: {fault}.", "Mend it first."
        ) from fault
    addition = tomlkit.document()
    tables = tomlkit.aot()
    for run in runs:
        table = tomlkit.table()
        try:
            for key, value in run.items():
                table.add(key, _as_toml(value))
        except (TypeError, ValueError) as fault:
            raise InputError.at(
                "run", f"cannot be written: {fault}.", "Give plain values."
            ) from fault
        tables.append(table)
    addition.add("run", tables)
    whole = f"{text.rstrip()}\n\n{tomlkit.dumps(addition)}"
    return whole.replace("\r\n", "\n").replace("\n", ends)


def _as_toml(value: Any) -> Any:
    """Write nested tables inline, so that a run stays one block."""
    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        for key, entry in value.items():
            inline.add(key, _as_toml(entry))
        return inline
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        array = tomlkit.array()
        for entry in value:
            array.append(_as_toml(entry))
        return array.multiline(len(value) > 1)
    return value
