"""Elements as filters, fuel as it comes, duty and service of a case document."""

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from feedproof.core.values import SourcedValue
from feedproof.records.document_section import Section, Text
from feedproof.records.quantity import Problem, Quantity, refuse, shown

_SIZE = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(?:um|µm|μm)\s*(\(c\))?\s*$")
_CODE = re.compile(r"^\s*(\d{1,2})\s*/\s*(\d{1,2})\s*/\s*(\d{1,2})\s*$")
_LARGEST_CODE = 28
SMALLEST_UM, LARGEST_UM = 0.5, 200.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ParticleSize:
    """
    A particle size with its scale.

    Parameters
    ----------
    size_m : float
        The size. [m]
    calibrated : bool
        True when it was written um(c).
    text : str
        As written.
    """

    size_m: float
    calibrated: bool
    text: str


def read_size(found: object) -> ParticleSize | None:
    """
    Read a particle size with its scale.

    Parameters
    ----------
    found : object
        What the document holds.

    Returns
    -------
    ParticleSize or None
        None where it is no such size; the range of sense is not looked at.
    """
    match = _SIZE.match(found) if isinstance(found, str) else None
    if match is None:
        return None
    return ParticleSize(
        size_m=float(match[1]) * 1e-6, calibrated=match[2] is not None, text=str(found)
    )


class _Size:
    """Marker of a field that holds a particle size, such as ``"4 um(c)"``."""

    def read(self, found: object) -> ParticleSize:
        """Read a size with its scale."""
        size = read_size(found)
        if size is None:
            refuse(
                [
                    Problem(
                        message=f"{shown(found)} is not a particle size with its scale.",
                        remedy='Write it as "4 um(c)" (ISO 11171) or "5 um" (the older scale).',
                    )
                ]
            )
        assert size is not None
        if not SMALLEST_UM <= size.size_m * 1e6 <= LARGEST_UM:
            refuse(
                [
                    Problem(
                        message=f"{shown(found)} is outside {SMALLEST_UM:g} to {LARGEST_UM:g} um.",
                        remedy="Check the number.",
                    )
                ]
            )
        return size

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have the field read by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the field to the JSON Schema."""
        return {"type": "string", "description": "particle size with its scale, 4 um(c) or 5 um"}


class _Cleanliness:
    """Marker of a field that holds an ISO 4406 code, such as ``"20/18/13"``."""

    def read(self, found: object) -> tuple[int, int, int]:
        """Read a code of three numbers, none above the one before."""
        match = _CODE.match(found) if isinstance(found, str) else None
        numbers = tuple(int(each) for each in match.groups()) if match else ()
        if not match or max(numbers) > _LARGEST_CODE:
            refuse(
                [
                    Problem(
                        message=f"{shown(found)} is no ISO 4406 code of three numbers up to"
                        f" {_LARGEST_CODE}.",
                        remedy='Write the counts at 4, 6 and 14 um(c) as in "20/18/13".',
                    )
                ]
            )
        first, second, third = numbers
        if not first > second > third:
            refuse(
                [
                    Problem(
                        message=f"{shown(found)} counts no fewer large particles than small ones:"
                        " between equal classes no size distribution can be laid.",
                        remedy="The numbers fall from 4 um(c) to 14 um(c).",
                    )
                ]
            )
        return first, second, third

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Have the field read by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, _schema: CoreSchema, _handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the field to the JSON Schema."""
        return {"type": "string", "description": "ISO 4406 code at 4, 6 and 14 um(c)"}


Ratio = Annotated[SourcedValue, Quantity("number", "1", "1e6")]
Part = Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
RunningTime = Annotated[SourcedValue, Quantity("duration", "10 h", "8760 h")]
Traces = Annotated[SourcedValue, Quantity("fraction", "0 mg/kg", "5000 mg/kg")]


class RatingPointSection(Section):
    """One published point of a filtration ratio."""

    size: Annotated[ParticleSize, _Size()]
    ratio: Ratio


class RatingSection(Section):
    """How an element filters, in the laboratory and as assumed of the vehicle."""

    point: list[RatingPointSection] = Field(min_length=2, max_length=20)
    source: Text = Field(min_length=1)
    field_size_factor: Annotated[SourcedValue, Quantity("number", "1", "4")] | None = None
    field_slope_factor: Annotated[SourcedValue, Quantity("number", "0.3", "1")] | None = None
    bypass: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")] | None = None


class SeparatorSection(Section):
    """How an element takes out free water."""

    efficiency: Part
    droplet: Annotated[SourcedValue, Quantity("length", "1 um", "2000 um")]
    flow: Annotated[SourcedValue, Quantity("flow", "1 L/h", "5000 L/h")]
    side: Literal["suction", "pressure"]
    bowl: Annotated[SourcedValue, Quantity("volume", "1 mL", "20 L")]
    sensor: Annotated[SourcedValue, Quantity("volume", "1 mL", "20 L")] | None = None
    source: Text = Field(min_length=1)


class SupplySection(Section):
    """Fuel as it comes into the tank."""

    cleanliness: Annotated[tuple[int, int, int], _Cleanliness()]
    contamination: Traces
    spread: Annotated[SourcedValue, Quantity("number", "0", "3")] = SourcedValue(
        value=0.7, text="0.7"
    )
    soft_matter: Part = SourcedValue(value=0.0, text="0 %")
    free_water: Traces = SourcedValue(value=0.0, text="0 mg/kg")
    dissolved_water: Part = SourcedValue(value=0.5, text="50 %")
    delivery_temperature: Annotated[SourcedValue, Quantity("temperature", "-40 degC", "60 degC")]
    breather_dust: Annotated[SourcedValue, Quantity("density", "0 mg/m^3", "10 g/m^3")] = (
        SourcedValue(value=5e-6, text="5 mg/m^3")
    )
    source: Text = Field(min_length=1)


class DutySection(Section):
    """How the vehicle is driven."""

    fuel_use: Annotated[SourcedValue, Quantity("area", "1 L/100km", "200 L/100km")]
    distance_per_year: Annotated[SourcedValue, Quantity("length", "100 km", "1000000 km")]
    engine_speed: Annotated[SourcedValue, Quantity("rotation", "500 rpm", "6000 rpm")]
    load: Annotated[SourcedValue, Quantity("fraction", "1 %", "100 %")]
    running_time_per_year: RunningTime | None = None
    refuel_at: Annotated[SourcedValue, Quantity("fraction", "0.1 %", "99 %")] = SourcedValue(
        value=0.25, text="25 %"
    )
    refuel_to: Annotated[SourcedValue, Quantity("fraction", "1 %", "100 %")] = SourcedValue(
        value=1.0, text="100 %"
    )
    source: Text = Field(min_length=1)


class ServiceSection(Section):
    """What a service plan must keep."""

    longest_distance: Annotated[SourcedValue, Quantity("length", "100 km", "500000 km")] | None = (
        None
    )
    longest_time: Annotated[SourcedValue, Quantity("duration", "1 day", "10 year")] | None = None
    chance: Annotated[SourcedValue, Quantity("fraction", "50 %", "99.9 %")] | None = None
    capacity_spread: Annotated[SourcedValue, Quantity("number", "0", "2")] | None = None
    source: Text = Field(min_length=1)
