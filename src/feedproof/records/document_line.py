"""The parts of a line and the kits of a case document."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from feedproof.core.values import SourcedValue
from feedproof.records.quantity import Quantity

ID_PATTERN = "^[A-Za-z][A-Za-z0-9_-]{0,39}$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
"""Name of a part, kit, fuel, instrument: a letter, then letters, digits, ``_`` and ``-``."""
Name = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9_. -]{0,39}$")]
"""Name of a session or a plumbing: letters, digits, ``_``, ``.``, ``-`` and spaces."""
Text = Annotated[str, StringConstraints(max_length=500, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
"""Free text without control characters."""

Bore = Annotated[SourcedValue, Quantity("length", "1 mm", "50 mm")]
Length = Annotated[SourcedValue, Quantity("length", "0 m", "20 m", above_low=True)]
Roughness = Annotated[SourcedValue, Quantity("length", "0 um", "1000 um")]
Coefficient = Annotated[SourcedValue, Quantity("number", "0", "100000")]
MediaResistance = Annotated[SourcedValue, Quantity("per_length", "1e6 1/m", "1e12 1/m")]
FaceArea = Annotated[SourcedValue, Quantity("area", "1 cm^2", "10 m^2")]
HousingInertial = Annotated[SourcedValue, Quantity("inertial", "0 1/m^4", "1e13 1/m^4")]
HousingViscous = Annotated[SourcedValue, Quantity("per_volume", "0 1/m^3", "1e15 1/m^3")]
LoadingScale = Annotated[SourcedValue, Quantity("mass", "0 kg", "1 kg", above_low=True)]
Loading = Annotated[SourcedValue, Quantity("mass", "0 kg", "1 kg")]
CrackingPressure = Annotated[SourcedValue, Quantity("pressure", "0 kPa", "50 kPa")]
Discharge = Annotated[SourcedValue, Quantity("number", "0.3", "1")]


class Section(BaseModel):
    """A table of the document: strict, and no key that it does not know."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        frozen=True,
        arbitrary_types_allowed=True,
        # A part may be written by its key in the document only.
        populate_by_name=False,
    )


class PartSection(Section):
    """What every part has."""

    id: Id
    title: Text = ""
    from_node: Id | None = Field(default=None, alias="from")
    to_node: Id | None = Field(default=None, alias="to")


class PipeSection(PartSection):
    """A tube or hose."""

    kind: Literal["pipe"]
    length: Length
    bore: Bore
    roughness: Roughness = SourcedValue(value=0.0, text="0 um")


class FittingSection(PartSection):
    """Connectors, banjos, bends."""

    kind: Literal["fitting"]
    count: int = Field(ge=1, le=200)
    bore: Bore
    laminar_coefficient: Coefficient
    turbulent_coefficient: Coefficient


class ElementSection(PartSection):
    """A strainer or filter element with its housing."""

    kind: Literal["element"]
    role: Literal["strainer", "factory", "primary", "secondary"]
    media_resistance: MediaResistance
    face_area: FaceArea
    housing_inertial: HousingInertial
    housing_viscous: HousingViscous = SourcedValue(value=0.0, text="0 1/m^3")
    loading_scale: LoadingScale | None = None


class CheckValveSection(PartSection):
    """Primer pump or check valves."""

    kind: Literal["check_valve"]
    cracking_pressure: CrackingPressure
    housing_inertial: HousingInertial


class OrificeSection(PartSection):
    """A square-edged plate of known loss."""

    kind: Literal["orifice"]
    bore: Annotated[SourcedValue, Quantity("length", "0.2 mm", "50 mm")]
    pipe_bore: Bore
    discharge_coefficient: Discharge


AnyPart = Annotated[
    PipeSection | FittingSection | ElementSection | CheckValveSection | OrificeSection,
    Field(discriminator="kind"),
]


class InsertionSection(Section):
    """Parts of a kit and the part of the line they stand next to."""

    before: Id | None = None
    after: Id | None = None
    part: list[AnyPart] = Field(min_length=1, max_length=100)


class KitSection(Section):
    """An add-on kit, or a positive control."""

    id: Id
    title: Text
    control: bool = False
    insertion: list[InsertionSection] = Field(min_length=1, max_length=20)


def part_kinds() -> tuple[str, ...]:
    """
    List the kinds of part.

    Returns
    -------
    tuple of str
        As the document writes them.
    """
    sections: tuple[Any, ...] = (
        PipeSection,
        FittingSection,
        ElementSection,
        CheckValveSection,
        OrificeSection,
    )
    return tuple(s.model_fields["kind"].annotation.__args__[0] for s in sections)
