"""
Quantities as a document writes them: ``"8 mm"``, or a table with value, low, high and source.

A field of a document is annotated with a `Quantity`, which reads the text into SI, holds it
against its range of sense and describes itself in the JSON Schema.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from feedproof.core.units import DIMENSIONS, parse_quantity, split_quantity
from feedproof.core.values import SourcedValue

TABLE_KEYS = ("value", "low", "high", "source")


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """
    One mistake inside a quantity.

    Parameters
    ----------
    key : tuple of str or int
        Keys below the quantity's own, empty for itself.
    message : str
        What was found and what is allowed.
    remedy : str
        What to do.
    """

    key: tuple[str | int, ...] = ()
    message: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelValue:
    """
    A fuel level, as a fraction or as a volume that the tank's capacity divides.

    Parameters
    ----------
    sourced : SourcedValue
        The value, in SI of what was written.
    is_volume : bool
        True for a volume, in m3.
    """

    sourced: SourcedValue
    is_volume: bool


def shown(value: object) -> str:
    """
    Write a found value for a message, cut where it is long.

    Parameters
    ----------
    value : object
        Anything that a document can hold.

    Returns
    -------
    str
        At most 60 characters.
    """
    try:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    except ValueError:  # an integer of thousands of digits cannot be written
        text = "a number of thousands of digits"
    return text if len(text) <= 60 else text[:57] + "..."


def read_number(text: object, kind: str) -> float:
    """
    Read one number with its unit into SI, whatever stands in its place.

    Parameters
    ----------
    text : object
        What the document holds.
    kind : str
        Key of ``core.units.DIMENSIONS``.

    Returns
    -------
    float
        In SI.

    Raises
    ------
    ValueError
        Not a quantity of this kind.
    """
    if not isinstance(text, (str, int, float)):
        raise ValueError(f"{shown(text)} is not a {DIMENSIONS[kind].name}")
    if isinstance(text, str) and kind == "rotation" and _rotation_trap(text):
        # The unit library takes a hertz for a radian per second.
        raise ValueError(f"{shown(text)} is not a unit of rotation: write rpm or rps")
    if isinstance(text, str) and kind == "temperature_difference":
        text = _as_step(text)
    try:
        return parse_quantity(text, kind)
    except OverflowError:
        raise ValueError(f"{shown(text)} is too large a number") from None


def _as_step(text: str) -> str:
    """Read degrees of a difference as steps: 0.1 degC is 0.1 K, not 273.25 K."""
    try:
        value, unit = split_quantity(text)
    except ValueError:
        return text
    step = {"degC": "delta_degC", "°C": "delta_degC", "C": "delta_degC", "degF": "delta_degF"}
    return f"{value!r} {step[unit]}" if unit in step else text


def _rotation_trap(text: str) -> bool:
    """Say whether a rotational speed is written in a unit that does not name a turn."""
    try:
        unit = split_quantity(text)[1].replace(" ", "")
    except ValueError:
        return False
    return unit in {"Hz", "1/s", "s^-1", "hertz", "kHz"}


@dataclass(frozen=True, slots=True)
class Quantity:
    """
    Marker of a field that holds one quantity.

    Parameters
    ----------
    kind : str
        Key of ``core.units.DIMENSIONS``.
    low, high : str
        Range of sense, as text with a unit.
    above_low : bool
        True when the low end itself makes no sense.
    """

    kind: str
    low: str
    high: str
    above_low: bool = False

    @property
    def allowed(self) -> str:
        """Give the allowed range in words."""
        return f"{'above ' if self.above_low else ''}{self.low} to {self.high}"

    @property
    def example(self) -> str:
        """Give how such a value is written."""
        return f'such as "{self.high}" or {{ value = "{self.high}", source = "..." }}'

    def problems_of(self, text: object, key: tuple[str | int, ...] = ()) -> list[Problem]:
        """
        Say what is wrong with one number.

        Parameters
        ----------
        text : object
            What the document holds.
        key : tuple of str or int
            Where it stands below the field.

        Returns
        -------
        list of Problem
            Empty when it is a quantity of this kind inside the range.
        """
        try:
            value = read_number(text, self.kind)
        except ValueError as fault:
            return [Problem(key=key, message=f"{fault}.", remedy=f"Allowed is {self.allowed}.")]
        low, high = _ends(self)
        if low <= value <= high and not (self.above_low and value == low):
            return []
        return [
            Problem(
                key=key,
                message=f"{shown(text)} is outside the allowed range {self.allowed}.",
                remedy=f"Check the number and its unit ({units_of(self.kind)}).",
            )
        ]

    def read(self, found: object) -> SourcedValue:
        """
        Read a quantity, bare or as a table.

        Parameters
        ----------
        found : object
            What the document holds.

        Returns
        -------
        SourcedValue
            In SI.

        Raises
        ------
        PydanticCustomError
            With every problem of the quantity in its context.
        """
        if not isinstance(found, Mapping):
            refuse(self.problems_of(found))
            return SourcedValue(value=read_number(found, self.kind), text=str(found))
        problems = _table_problems(found)
        for key in ("value", "low", "high"):
            if key in found:
                problems += self.problems_of(found[key], (key,))
        refuse(problems)
        value, low, high = (
            read_number(found[key], self.kind) if key in found else None
            for key in ("value", "low", "high")
        )
        assert value is not None
        refuse(_bracket_problems(found, value, low, high))
        return SourcedValue(
            value=value,
            low=low,
            high=high,
            source=str(found.get("source", "")),
            text=str(found["value"]),
        )

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have the field read by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the field to the JSON Schema."""
        return described(self.kind, self.allowed)


@cache
def _ends(marker: Quantity) -> tuple[float, float]:
    """Give the ends of a range in SI."""
    return parse_quantity(marker.low, marker.kind), parse_quantity(marker.high, marker.kind)


def units_of(kind: str) -> str:
    """List units of a kind."""
    return ", ".join(DIMENSIONS[kind].examples)


def _table_problems(found: Mapping[Any, Any]) -> list[Problem]:
    """Say what keys of a quantity's table are wrong."""
    problems = [
        Problem(
            key=(str(key),),
            message=f"key {shown(key)} is not known here.",
            remedy=f"A quantity has {', '.join(TABLE_KEYS)}.",
        )
        for key in found
        if key not in TABLE_KEYS
    ]
    if "value" not in found:
        problems.append(Problem(key=("value",), message="key is missing.", remedy="Add value."))
    if not isinstance(found.get("source", ""), str):
        problems.append(Problem(key=("source",), message="a text is needed."))
    return problems


def _bracket_problems(
    found: Mapping[Any, Any], value: float, low: float | None, high: float | None
) -> list[Problem]:
    """Say whether low and high stand on the wrong side of the value."""
    problems = []
    if low is not None and low > value:
        problems.append(("low", "above"))
    if high is not None and high < value:
        problems.append(("high", "below"))
    return [
        Problem(
            key=(key,),
            message=f"{shown(found[key])} is {side} the value {shown(found['value'])}.",
            remedy="low and high must bracket the value.",
        )
        for key, side in problems
    ]


def refuse(problems: list[Problem]) -> None:
    """Raise all problems of one quantity together."""
    if problems:
        raise PydanticCustomError(
            "quantity", "{count} problems", {"count": len(problems), "problems": problems}
        )


ALLOWED = "x-allowed"
"""Key under which what is allowed goes along until the schema is whole."""


def told(allowed: str) -> dict[str, Any]:
    """
    Tell the JSON Schema what is allowed, in words that a field's own words do not replace.

    Parameters
    ----------
    allowed : str
        In words.

    Returns
    -------
    dict
        Part of a schema.
    """
    return {"description": allowed, ALLOWED: allowed}


def described(kind: str, allowed: str) -> dict[str, Any]:
    """Describe a quantity to the JSON Schema."""
    number: dict[str, Any] = {"type": "string"}
    if DIMENSIONS[kind].si_unit == "dimensionless":
        number = {"type": ["string", "number"]}
    return {
        **told(f"{DIMENSIONS[kind].name}, {allowed} ({units_of(kind)})"),
        "anyOf": [
            number,
            {
                "type": "object",
                "required": ["value"],
                "additionalProperties": False,
                "properties": {
                    "value": number,
                    "low": number,
                    "high": number,
                    "source": {"type": "string"},
                },
            },
        ],
    }
