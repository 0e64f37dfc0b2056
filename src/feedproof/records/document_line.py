"""The parts of a line and the kits of a case document."""

from typing import Annotated, Any, Literal

from pydantic import Field

from feedproof.core.values import SourcedValue
from feedproof.records.document_section import Id, Section, Text
from feedproof.records.document_supply import RatingSection, SeparatorSection
from feedproof.records.quantity import Quantity

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
HousingVolume = Annotated[SourcedValue, Quantity("volume", "0 mL", "20 L")]
CrackingPressure = Annotated[SourcedValue, Quantity("pressure", "0 kPa", "50 kPa")]
Discharge = Annotated[SourcedValue, Quantity("number", "0.3", "1")]
# A hose cannot be asked to narrow beyond a vacuum, nor within no depression at all: a step has no
# steady state, and a hose that shuts wholly has no flow.
CollapseDepression = Annotated[SourcedValue, Quantity("pressure", "0 kPa", "100 kPa")]
CollapseSpan = Annotated[SourcedValue, Quantity("pressure", "0.1 kPa", "100 kPa")]
CollapsedBore = Annotated[SourcedValue, Quantity("fraction", "5 %", "100 %")]
# From a pump that only helps the suction to one that feeds the high-pressure pump under pressure.
ShutOffPressure = Annotated[SourcedValue, Quantity("pressure", "0 kPa", "1000 kPa", above_low=True)]
FreeFlow = Annotated[SourcedValue, Quantity("flow", "0 L/h", "2000 L/h", above_low=True)]
CurveExponent = Annotated[SourcedValue, Quantity("number", "1", "10")]
HoleDiameter = Annotated[SourcedValue, Quantity("length", "0 mm", "5 mm")]
Share = Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
ThermostatTemperature = Annotated[SourcedValue, Quantity("temperature", "-60 degC", "120 degC")]


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
    collapse_depression: CollapseDepression | None = None
    collapse_span: CollapseSpan = SourcedValue(value=10e3, text="10 kPa")
    collapsed_bore: CollapsedBore = SourcedValue(value=0.5, text="50 %")


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
    loading_law: Literal["cake", "intermediate", "standard", "complete"] = "intermediate"
    loading_scale: LoadingScale | None = None
    volume: HousingVolume = SourcedValue(value=0.0, text="0 mL")
    rating: RatingSection | None = None
    separator: SeparatorSection | None = None


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


class LiftPumpSection(PartSection):
    """An electric pump in the line, by its curve; a stopped one is a resistance."""

    kind: Literal["lift_pump"]
    shut_off_pressure: ShutOffPressure
    free_flow: FreeFlow
    curve_exponent: CurveExponent = SourcedValue(value=2.0, text="2")
    stopped_inertial: HousingInertial
    running: bool = True


class CoolerSection(PartSection):
    """A fuel cooler."""

    kind: Literal["cooler"]
    viscous: HousingViscous = SourcedValue(value=0.0, text="0 1/m^3")
    inertial: HousingInertial
    effectiveness: Share = SourcedValue(value=0.0, text="0 %")


class AirHoleSection(PartSection):
    """A leak that draws air, as the round hole of its area."""

    kind: Literal["air_hole"]
    hole_diameter: HoleDiameter
    discharge_coefficient: Discharge = SourcedValue(value=0.61, text="0.61")


AnyPart = Annotated[
    PipeSection
    | FittingSection
    | ElementSection
    | CheckValveSection
    | OrificeSection
    | LiftPumpSection
    | CoolerSection
    | AirHoleSection,
    Field(discriminator="kind"),
]


class TeeSection(Section):
    """A tee piece at a node where three parts meet; the branch is the part on its side leg."""

    node: Id
    bore: Bore
    branch: Id


class RecirculationSection(Section):
    """A thermostat that leads a share of the pump's return back into the feed line."""

    to: Id
    cold_fraction: Share
    warm_fraction: Share
    cold_temperature: ThermostatTemperature
    warm_temperature: ThermostatTemperature


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
        LiftPumpSection,
        CoolerSection,
        AirHoleSection,
    )
    return tuple(s.model_fields["kind"].annotation.__args__[0] for s in sections)
