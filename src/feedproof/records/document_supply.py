"""Elements as filters, fuel as it comes, duty and service of a case document."""

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from feedproof.core.values import SourcedValue
from feedproof.records.document_section import Section, Text
from feedproof.records.quantity import Problem, Quantity, refuse, shown, told

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
        return {"type": "string", **told("particle size with its scale, 4 um(c) or 5 um")}


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
        return {"type": "string", **told("ISO 4406 code at 4, 6 and 14 um(c)")}


Ratio = Annotated[SourcedValue, Quantity("number", "1", "1e6")]
Part = Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
RunningTime = Annotated[SourcedValue, Quantity("duration", "10 h", "8760 h")]
Traces = Annotated[SourcedValue, Quantity("fraction", "0 mg/kg", "5000 mg/kg")]


class RatingPointSection(Section):
    """One published point of a filtration ratio."""

    size: Annotated[ParticleSize, _Size()]
    """Particle size: with its scale, um(c) by ISO 11171 or um by the older one."""
    ratio: Ratio
    """Filtration ratio: particles of this size and larger before over behind, beta of ISO 16889."""


class RatingSection(Section):
    """How an element filters, in the laboratory and as assumed of the vehicle."""

    point: list[RatingPointSection] = Field(min_length=2, max_length=20)
    """Published points: two or more sizes with their filtration ratios."""
    source: Text = Field(min_length=1)
    """Source: data sheet or laboratory."""
    field_size_factor: Annotated[SourcedValue, Quantity("number", "1", "4")] | None = None
    """Field size factor: cut size in the vehicle over that of the laboratory."""
    field_slope_factor: Annotated[SourcedValue, Quantity("number", "0.3", "1")] | None = None
    """Field slope factor: steepness of the rating in the vehicle over the laboratory's."""
    bypass: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")] | None = None
    """Bypass: share of the flow that gets past the seals."""


class SeparatorSection(Section):
    """How an element takes out free water."""

    efficiency: Part
    """Efficiency: share of free water taken out at the rated point."""
    droplet: Annotated[SourcedValue, Quantity("length", "1 um", "2000 um")]
    """Droplet size: median of the rated point."""
    flow: Annotated[SourcedValue, Quantity("flow", "1 L/h", "5000 L/h")]
    """Flow: of the rated point."""
    side: Literal["suction", "pressure"]
    """Side: of the pump that it was rated for."""
    bowl: Annotated[SourcedValue, Quantity("volume", "1 mL", "20 L")]
    """Bowl: water that it holds."""
    sensor: Annotated[SourcedValue, Quantity("volume", "1 mL", "20 L")] | None = None
    """Sensor: water at which it answers; left out where there is none."""
    source: Text = Field(min_length=1)
    """Source: data sheet or laboratory."""


class SupplySection(Section):
    """Fuel as it comes into the tank."""

    cleanliness: Annotated[tuple[int, int, int], _Cleanliness()]
    """Cleanliness: ISO 4406 code at 4, 6 and 14 um(c), such as 20/18/13."""
    contamination: Traces
    """Contamination: particles over fuel by mass, median."""
    spread: Annotated[SourcedValue, Quantity("number", "0", "3")] = SourcedValue(
        value=0.7, text="0.7"
    )
    """Spread: of contamination between fills, standard deviation of its logarithm."""
    soft_matter: Part = SourcedValue(value=0.0, text="0 %")
    """Soft matter: share of the contamination that blocks more than it wears."""
    free_water: Traces = SourcedValue(value=0.0, text="0 mg/kg")
    """Free water: over fuel by mass."""
    dissolved_water: Part = SourcedValue(value=0.5, text="50 %")
    """Dissolved water: over what the fuel can dissolve."""
    delivery_temperature: Annotated[SourcedValue, Quantity("temperature", "-40 degC", "60 degC")]
    """Temperature: of the fuel as it comes."""
    breather_dust: Annotated[SourcedValue, Quantity("density", "0 mg/m^3", "10 g/m^3")] = (
        SourcedValue(value=5e-6, text="5 mg/m^3")
    )
    """Breather dust: in the air that the tank breathes."""
    source: Text = Field(min_length=1)
    """Source: laboratory and date."""


class DutySection(Section):
    """How the vehicle is driven."""

    fuel_use: Annotated[SourcedValue, Quantity("area", "1 L/100km", "200 L/100km")]
    """Fuel use: over distance."""
    distance_per_year: Annotated[SourcedValue, Quantity("length", "100 km", "1000000 km")]
    """Distance per year: that the vehicle is driven."""
    engine_speed: Annotated[SourcedValue, Quantity("rotation", "500 rpm", "6000 rpm")]
    """Engine speed: mean of what is driven."""
    load: Annotated[SourcedValue, Quantity("fraction", "1 %", "100 %")]
    """Load: fuel burnt over that of full load at this speed."""
    running_time_per_year: RunningTime | None = None
    """Running time per year: of the engine."""
    refuel_at: Annotated[SourcedValue, Quantity("fraction", "0.1 %", "99 %")] = SourcedValue(
        value=0.25, text="25 %"
    )
    """Filled up at: level of the tank."""
    refuel_to: Annotated[SourcedValue, Quantity("fraction", "1 %", "100 %")] = SourcedValue(
        value=1.0, text="100 %"
    )
    """Filled up to: level of the tank."""
    source: Text = Field(min_length=1)
    """Source: who says so."""


class ServiceSection(Section):
    """What a service plan must keep."""

    longest_distance: Annotated[SourcedValue, Quantity("length", "100 km", "500000 km")] | None = (
        None
    )
    """Longest distance: between services."""
    longest_time: Annotated[SourcedValue, Quantity("duration", "1 day", "10 year")] | None = None
    """Longest time: between services."""
    chance: Annotated[SourcedValue, Quantity("fraction", "50 %", "99.9 %")] | None = None
    """Chance: share of vehicles that must reach the interval."""
    capacity_spread: Annotated[SourcedValue, Quantity("number", "0", "2")] | None = None
    """Capacity spread: of elements, standard deviation of its logarithm."""
    source: Text = Field(min_length=1)
    """Source: vehicle maker or customer."""
