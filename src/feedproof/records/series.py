"""Lists with one unit, and fuel levels, as a document writes them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from feedproof.core.units import DIMENSIONS, split_quantity, unit_fits
from feedproof.records.quantity import (
    LevelValue,
    Problem,
    Quantity,
    described,
    read_number,
    refuse,
    shown,
    told,
    units_of,
)

_SERIES_KEYS = ("unit", "values")
_LONGEST_SERIES = 10_000


@dataclass(frozen=True, slots=True)
class Series:
    """
    Marker of a field that holds a list with one unit.

    Parameters
    ----------
    kind : str
        Key of ``core.units.DIMENSIONS``.
    low, high : str
        Range of sense of each entry.
    """

    kind: str
    low: str
    high: str

    def read(self, found: object) -> tuple[float, ...]:
        """
        Read ``{ unit = "rpm", values = [...] }``.

        Parameters
        ----------
        found : object
            What the document holds.

        Returns
        -------
        tuple of float
            In SI.

        Raises
        ------
        PydanticCustomError
            With every problem of the list in its context.
        """
        example = f'Write {{ unit = "{DIMENSIONS[self.kind].examples[0]}", values = [...] }}.'
        if not isinstance(found, Mapping):
            refuse([Problem(message=f"{shown(found)} is not a list with a unit.", remedy=example)])
        assert isinstance(found, Mapping)
        problems = [
            Problem(key=(key,), message=f"key {shown(key)} is not known here.", remedy=example)
            for key in found
            if key not in _SERIES_KEYS
        ]
        problems += [
            Problem(key=(key,), message="key is missing.", remedy=example)
            for key in _SERIES_KEYS
            if key not in found
        ]
        refuse(problems)
        unit, values = found["unit"], found["values"]
        if not isinstance(unit, str) or not _fits(unit, self.kind):
            problems.append(
                Problem(
                    key=("unit",),
                    message=f"{shown(unit)} is not a unit of {DIMENSIONS[self.kind].name}.",
                    remedy=f"Write one of: {units_of(self.kind)}.",
                )
            )
        if not isinstance(values, list) or not 2 <= len(values) <= _LONGEST_SERIES:
            problems.append(
                Problem(key=("values",), message="a list of two numbers or more is needed.")
            )
        refuse(problems)
        one = Quantity(self.kind, self.low, self.high)
        texts = [v if isinstance(v, (bool, str)) else f"{v!r} {unit}" for v in map(_safe, values)]
        for position, text in enumerate(texts):
            problems += one.problems_of(text, ("values", position))
        refuse(problems)
        return tuple(read_number(text, self.kind) for text in texts)

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have the field read by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the field to the JSON Schema."""
        return {
            **told(f"{DIMENSIONS[self.kind].name}, each {self.low} to {self.high}"),
            "type": "object",
            "required": list(_SERIES_KEYS),
            "additionalProperties": False,
            "properties": {
                "unit": {"type": "string"},
                "values": {"type": "array", "minItems": 2, "items": {"type": "number"}},
            },
        }


@dataclass(frozen=True, slots=True)
class Level:
    """Marker of a fuel level: ``"58 %"`` of the tank, or ``"52 L"``."""

    def read(self, found: object) -> LevelValue:
        """
        Read a level.

        Parameters
        ----------
        found : object
            What the document holds.

        Returns
        -------
        LevelValue
            A fraction or a volume.

        Raises
        ------
        PydanticCustomError
            With every problem of the level in its context.
        """
        text = found.get("value") if isinstance(found, Mapping) else found
        is_volume = isinstance(text, str) and _is_volume(text)
        marker = (
            Quantity("volume", "0 L", "2000 L")
            if is_volume
            else Quantity("fraction", "0 %", "100 %")
        )
        return LevelValue(sourced=marker.read(found), is_volume=is_volume)

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have the field read by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the field to the JSON Schema."""
        return described("fraction", "0 % to 100 %, or litres up to the tank's capacity")


def _safe(value: object) -> object:
    """Give a value that can be written, for an integer of thousands of digits its words."""
    if isinstance(value, int) and abs(value) > 10**300:
        return "a number of thousands of digits"
    return value


def _is_volume(text: str) -> bool:
    """Say whether a text carries a unit of volume."""
    try:
        unit = split_quantity(text)[1]
        return bool(unit) and unit_fits(unit, "volume")
    except ValueError:
        return False


def _fits(unit: str, kind: str) -> bool:
    """Say whether a unit is known and of the kind."""
    try:
        return unit_fits(unit, kind)
    except ValueError:
        return False
