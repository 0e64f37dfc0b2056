"""Results as documents: frozen dataclasses to plain JSON, and the schema that describes them."""

import dataclasses
import math
import types
from collections.abc import Mapping
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np

DIGITS = 12
"""Significant digits that are stored: processors differ in the last ones of a double."""


def to_document(value: Any, digits: int = DIGITS) -> Any:
    """
    Turn a result into what JSON can hold.

    Parameters
    ----------
    value : object
        Frozen dataclasses, mappings, sequences, arrays, enumerations, dates, numbers, text.
    digits : int
        Significant digits of floats.

    Returns
    -------
    object
        Dictionaries, lists, strings, numbers, booleans and None; floats rounded to
        these digits, "not measured" (NaN) and unbounded numbers as None.

    Raises
    ------
    TypeError
        Something that no result may hold.
    """
    match value:
        case None | bool() | str() | int() if not isinstance(value, Enum):
            return value
        case Enum():
            return value.value
        case float():
            return _rounded(value, digits)
        case np.generic():
            return to_document(value.item(), digits)
        case np.ndarray():
            return [to_document(item, digits) for item in value.tolist()]
        case datetime():
            return value.isoformat()
        case Path():
            return value.as_posix()
        case Mapping():
            return {str(to_document(key)): to_document(item, digits) for key, item in value.items()}
        case list() | tuple() | set() | frozenset():
            return [to_document(item, digits) for item in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: to_document(getattr(value, field.name), digits)
            for field in dataclasses.fields(value)
        }
    raise TypeError(f"a result may not hold a {type(value).__name__}")


def _rounded(value: float, digits: int) -> float | None:
    """Round to significant digits."""
    return float(f"{value:.{digits}g}") if math.isfinite(value) else None


def schema_of(kind: type) -> dict[str, Any]:
    """
    Describe a document by a JSON Schema, from the dataclass that it is made of.

    Parameters
    ----------
    kind : type
        Frozen dataclass of the result.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    definitions: dict[str, Any] = {}
    root = _describe(kind, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **root,
        "$defs": definitions,
    }


def _describe(kind: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    """Describe one annotation."""
    simple: dict[Any, dict[str, Any]] = {
        bool: {"type": "boolean"},
        int: {"type": "integer"},
        float: {"type": ["number", "null"]},
        str: {"type": "string"},
        Path: {"type": "string"},
        datetime: {"type": "string", "format": "date-time"},
        Any: {},
        type(None): {"type": "null"},
    }
    if kind in simple:
        return simple[kind]
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        return {"anyOf": [_describe(each, definitions) for each in get_args(kind)]}
    if origin is Literal:
        return {"enum": list(get_args(kind))}
    if origin is np.ndarray:
        return {"type": "array"}
    if origin in (tuple, list):
        return {"type": "array", "items": _describe(get_args(kind)[0], definitions)}
    if origin is not None and issubclass(origin, Mapping):
        return {
            "type": "object",
            "additionalProperties": _describe(get_args(kind)[1], definitions),
        }
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [member.value for member in kind]}
    if dataclasses.is_dataclass(kind):
        return _describe_dataclass(kind, definitions)
    raise TypeError(f"no schema for {kind!r}")


def _describe_dataclass(kind: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    """Describe a dataclass once and refer to it."""
    name = kind.__name__
    if name not in definitions:
        definitions[name] = {}
        hints = get_type_hints(kind)
        names = [field.name for field in dataclasses.fields(kind)]
        summary = (kind.__doc__ or "").strip().split("\n\n")[0]
        definitions[name] = {
            "type": "object",
            "description": " ".join(summary.split()),
            "properties": {each: _describe(hints[each], definitions) for each in names},
            "required": names,
            "additionalProperties": False,
        }
    return {"$ref": f"#/$defs/{name}"}
