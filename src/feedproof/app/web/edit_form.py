"""
Forms of a case document: from what the models ask to inputs, and from what was typed to values.

A value is written as the document writes it.  Only what was changed is sent on, so that comments
and the writer's own spelling of all else stay.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from feedproof.app.api_edit import form_of, forms
from feedproof.app.web.numbers import with_point
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.records.editing.forms import Form, FormField

MEASURES = {"volume": "jug", "weighing": "balance", "air": "air"}
"""Form of what is measured by hand, by its kind in the document."""
SOURCED = ("low", "high", "source")
_PLAIN = {"quantity", "level", "text", "name", "date", "size", "cleanliness", "end"}
_ELSEWHERE = {"id", "kind", "insertion", "channels"}
"""Keys that a form of their own, or another screen, is for."""
_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """
    A field with what stands in it now.

    Parameters
    ----------
    field : FormField
        What is asked.
    name : str
        Name of its input.
    text : str
        As typed or as the document writes it.
    more : mapping of str to str
        Low, high and source where the value has them.
    faults : tuple of str
        What is wrong with it, in words.
    """

    field: FormField
    name: str
    text: str
    more: Mapping[str, str]
    faults: tuple[str, ...] = ()

    @property
    def control(self) -> str:
        """Kind of input: ``choice``, ``switch``, ``series``, ``json`` or ``text``."""
        kind = self.field.type
        if kind in ("choice", "switch", "series"):
            return kind
        if kind in _PLAIN or kind == "count":
            return "text"
        return "words" if kind in ("names", "counts") else "json"


def form_at(path: str, data: Mapping[str, Any]) -> Form | None:
    """
    Find the form of the table at a path.

    Parameters
    ----------
    path : str
        Such as ``vehicle.tank`` or ``line[steel_line]``.
    data : mapping
        The table as it stands.

    Returns
    -------
    Form or None
        None where no form is known: such a table is edited as text.
    """
    kind = str(data.get("kind", ""))
    if re.search(r"(^line|^return|\.part)\[[^\]]+\]$", path):
        return form_of(kind) if kind in forms() else None
    if path.startswith("measure."):
        return form_of(MEASURES[kind]) if kind in MEASURES else None
    if path.startswith("repeatability."):
        is_ratio = "power" in path or "return" in path
        return form_of("ratio_repeatability" if is_ratio else "pressure_repeatability")
    if path == "reference":
        return form_of("conditions")
    for each in forms():
        form = form_of(each)
        pattern = (
            re.escape(form.path).replace(r"\[\*\]", r"\[[^\]]+\]").replace(r"\.\*", r"\.[^.]+")
        )
        if form.path and not form.is_part and re.fullmatch(pattern, path):
            return form
    return form_of("case") if path == "" else None


def entries_of(
    form: Form, data: Mapping[str, Any], faults: Mapping[str, tuple[str, ...]]
) -> tuple[Entry, ...]:
    """
    Fill a form with a table.

    Parameters
    ----------
    form : Form
        What is asked.
    data : mapping
        The table; empty for a new one.
    faults : mapping of str to tuple of str
        What is wrong, by key.

    Returns
    -------
    tuple of Entry
        Without keys that only the program sets.
    """
    return tuple(
        Entry(
            field=each,
            name=f"v-{each.key}",
            text=_text(each, data.get(each.key)),
            more=_more(data.get(each.key)),
            faults=faults.get(each.key, ()),
        )
        for each in form.fields
        if each.key not in _ELSEWHERE and each.type != "parts"
    )


def typed_values(
    form: Form, data: Mapping[str, Any], typed: Mapping[str, str], *, has_comma: bool = False
) -> dict[str, Any]:
    """
    Read what was typed into a form.

    Parameters
    ----------
    form : Form
        What is asked.
    data : mapping
        The table as it stands.
    typed : mapping of str to str
        Inputs by name.
    has_comma : bool
        The workshop writes numbers with a decimal comma: one in a quantity is read as that.

    Returns
    -------
    dict of str to object
        Changed values by key; None takes a key out.

    Raises
    ------
    InputError
        Inputs that cannot be written at all, all at once; whether a value makes sense is said by
        the reading of the document.
    """
    values: dict[str, Any] = {}
    wrong: list[Finding] = []
    for entry in entries_of(form, data, {}):
        if entry.name not in typed:
            continue
        key = entry.field.key
        try:
            value = _value(entry, typed, has_comma=has_comma)
        except ValueError as fault:
            wrong.append(error(entry.field.label, f"cannot be read: {fault}."))
            continue
        if not _same(value, data.get(key)):
            values[key] = value
    if wrong:
        raise InputError(wrong)
    return values


def _text(field: FormField, value: Any) -> str:
    """Write a value into an input."""
    if isinstance(value, Mapping) and "value" in value:
        value = value["value"]
    if value is None:
        return ""
    if field.type == "series" and isinstance(value, Mapping):
        return ", ".join(str(each) for each in value.get("values", ()))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and all(isinstance(each, str | int) for each in value):
        return ", ".join(str(each) for each in value)
    if isinstance(value, Mapping | list):
        return json.dumps(value, ensure_ascii=False, default=str, indent=1)
    return str(value)


def _more(value: Any) -> dict[str, str]:
    """Give what stands beside a value."""
    if not isinstance(value, Mapping):
        return {}
    if "values" in value:
        return {"unit": str(value.get("unit", ""))}
    return {key: str(value[key]) for key in SOURCED if key in value}


def _value(entry: Entry, typed: Mapping[str, str], *, has_comma: bool) -> Any:
    """Read one input as the document writes it."""
    text = typed.get(entry.name, "").strip()
    kind = entry.field.type
    if not text:
        return None
    if entry.control == "switch":
        return text == "yes"
    if entry.control == "words":
        words = [word.strip() for word in text.split(",") if word.strip()]
        return [int(word) for word in words] if kind == "counts" else words
    if entry.control == "series":
        # A comma inside a word is the decimal mark only where the workshop says so.
        words = re.split(r"[;\s]+" if has_comma else r"[;\s]+|,\s*", text)
        each = [with_point(word.strip(",")) if has_comma else word for word in words]
        values = [_number(word) for word in each if word]
        return {"unit": typed.get(f"{entry.name}-unit", "").strip(), "values": values}
    if entry.control == "json":
        try:
            return json.loads(text)
        except json.JSONDecodeError as fault:
            raise ValueError(f"{fault.msg} at its line {fault.lineno}") from fault
    is_comma = has_comma and kind in ("quantity", "level")
    text = with_point(text) if is_comma else text
    value = _number(text) if _NUMBER.fullmatch(text) and kind in ("quantity", "count") else text
    beside: dict[str, Any] = {
        key: typed[f"{entry.name}-{key}"].strip()
        for key in SOURCED
        if typed.get(f"{entry.name}-{key}", "").strip()
    }
    if not beside:
        return value
    for key in ("low", "high"):
        if is_comma and key in beside:
            beside[key] = with_point(beside[key])
        if _NUMBER.fullmatch(beside.get(key, "")):
            beside[key] = _number(beside[key])
    return {"value": value, **beside}


def _number(text: str) -> int | float:
    """Read a bare number, whole where it is written so."""
    return int(text) if re.fullmatch(r"[-+]?\d{1,15}", text) else float(text)


def _same(value: Any, before: Any) -> bool:
    """Say whether what was typed is what stands there already."""
    if isinstance(value, Mapping) and isinstance(before, Mapping):
        return dict(value) == dict(before)
    if isinstance(before, Mapping) and set(before) == {"value"}:
        before = before["value"]
    return (type(value) is type(before) and value == before) or str(value) == str(before)
