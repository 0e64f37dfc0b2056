"""The ``[instrument.ID]`` block that fits a log, ready to paste and to correct."""

import json
import re
from collections.abc import Mapping, Sequence

from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.kinds import Kind
from feedproof.records.logs.looking import ColumnLook
from feedproof.records.store.kinds import LearnedMapping

_DELIMITERS = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma", " ": "blanks"}


def _text(value: str) -> str:
    """Write a TOML string: JSON's escapes are TOML's, but for DEL."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _comment(value: str) -> str:
    """Write a remark, which may hold no control characters."""
    return re.sub(r"[\x00-\x08\x0a-\x1f\x7f]", " ", value)


def instrument_block(
    instrument: str, dialect: Dialect, columns: Sequence[ColumnLook], stated: Mapping[str, str]
) -> str:
    """
    Write the block.

    Parameters
    ----------
    instrument : str
        Id of the instrument.
    dialect : Dialect
        Form of the log.
    columns : sequence of ColumnLook
        What each could be.
    stated : mapping of str to str
        Hints that were given; they stand uncommented.

    Returns
    -------
    str
        TOML. Only what a name suggests is mapped, and only once; a unit that the log does not
        name is ``"?"``, which no case accepts.
    """
    key = _key(instrument)
    lines = [f"[instrument.{key}]", 'title = "write what it is"', f"[instrument.{key}.channels]"]
    suggested = [next((c for c in each.candidates if c.by_name), None) for each in columns]
    names = [each.channel for each in suggested if each]
    for column, found in zip(columns, suggested, strict=True):
        if found is None:
            lines += _open_question(column)
            continue
        clock = column.form != "number"
        unit = "" if clock else f", unit = {_text(column.unit or '?')}"
        entry = f"{found.channel} = {{ column = {_text(column.name)}{unit} }}"
        if names.count(found.channel) > 1:
            entry = f"# one of several: {_comment(entry)}"
        remarks = [] if column.unit or clock else ["unit: ?"]
        if found.units:
            remarks.append(f"plausible by its range: {', '.join(found.units)}")
        if found.doubt:
            remarks.append(_comment(found.doubt))
        lines.append(entry + (f"  # {'; '.join(remarks)}" if remarks else ""))
    return "\n".join([*lines, *_hints(key, dialect, stated)])


def learned_block(mapping: LearnedMapping) -> str:
    """
    Write the block of an instrument that is known.

    Parameters
    ----------
    mapping : LearnedMapping
        What was learned.

    Returns
    -------
    str
        TOML with the channels as the case had them from which it was learned.
    """
    key = _key(mapping.instrument)
    lines = [f"[instrument.{key}]", 'title = "write what it is"', f"[instrument.{key}.channels]"]
    for channel, column in mapping.channels.items():
        entries = [("column", _text(column.column))] + [
            (name, _text(value))
            for name in ("unit", "ceiling", "floor", "resolution")
            if (value := getattr(column, name))
        ]
        written = ", ".join(f"{name} = {value}" for name, value in entries)
        lines.append(f"{_key(channel)} = {{ {written} }}")
    if mapping.dialect:
        lines.append(f"[instrument.{key}.dialect]")
        lines += [f"{_key(name)} = {_text(value)}" for name, value in mapping.dialect.items()]
    return "\n".join(lines)


def _key(name: str) -> str:
    """Write a key of TOML."""
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _text(name)


def _open_question(column: ColumnLook) -> list[str]:
    """Say what a column could be that no name settles."""
    if column.form == "text":
        return []
    could = ", ".join(each.channel for each in column.candidates)
    words = f"by its unit {column.unit}: {could}" if could else "nothing suggests what it is"
    return [f"# column {_comment(_text(column.name))}: {_comment(words)}"]


def _hints(key: str, dialect: Dialect, stated: Mapping[str, str]) -> list[str]:
    """Write the hints: what was stated counts, what was concluded is a comment."""
    concluded = {} if dialect.sparse else {"time_form": dialect.time_form}
    if dialect.kind == Kind.TEXT:
        concluded = {
            "encoding": dialect.encoding,
            "delimiter": _DELIMITERS.get(dialect.delimiter, dialect.delimiter),
            "decimal": dialect.decimal,
            **concluded,
        }
    elif dialect.kind == Kind.WORKBOOK:
        concluded = {"sheet": dialect.sheet, "decimal": dialect.decimal, **concluded}
    lines = [f"[instrument.{key}.dialect]"]
    # What is stated for the instrument's files of other kinds stays stated.
    for name, value in {**concluded, **dict.fromkeys(stated.keys() - concluded, "")}.items():
        if name in stated:
            lines.append(f"{name} = {_text(stated[name])}")
        elif value == "two-part clock":
            lines.append('# time_form = "h:mm" or "mm:ss"  # must be stated')
        elif value:
            lines.append(
                f"# {name} = {_comment(_text(value))}  # concluded; state another to correct it"
            )
        else:
            lines.append(f"# {name} = ...  # whole numbers only were seen")
    return lines
