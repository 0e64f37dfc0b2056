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
    """Id: its own name in this case; a letter, then letters, digits, _ and -."""
    title: Text = ""
    """Title: in words, as reports call it."""
    from_node: Id | None = Field(default=None, alias="from")
    """Begins at: node at its tank side; left out, it follows the part before it."""
    to_node: Id | None = Field(default=None, alias="to")
    """Ends at: node at its pump side; left out, the next part follows it."""


class PipeSection(PartSection):
    """A tube or hose."""

    kind: Literal["pipe"]
    """Kind: pipe."""
    length: Length
    """Length: along the pipe or hose."""
    bore: Bore
    """Bore: inside diameter."""
    roughness: Roughness = SourcedValue(value=0.0, text="0 um")
    """Roughness: height of the wall's roughness; 0 is smooth."""
    collapse_depression: CollapseDepression | None = None
    """Collapse begins at: depression from which a soft hose narrows; left out for a firm one."""
    collapse_span: CollapseSpan = SourcedValue(value=10e3, text="10 kPa")
    """Collapse span: further depression over which it narrows."""
    collapsed_bore: CollapsedBore = SourcedValue(value=0.5, text="50 %")
    """Collapsed bore: what is left of the bore then."""


class FittingSection(PartSection):
    """Connectors, banjos, bends."""

    kind: Literal["fitting"]
    """Kind: fitting."""
    count: int = Field(ge=1, le=200)
    """Count: how many of them, one behind the other."""
    bore: Bore
    """Bore: inside diameter at the narrowest place; a connector is narrower than its hose."""
    laminar_coefficient: Coefficient
    """Laminar coefficient, K1: loss coefficient times Reynolds number, of one fitting."""
    turbulent_coefficient: Coefficient
    """Turbulent coefficient: loss coefficient of turbulent flow, of one fitting."""


class ElementSection(PartSection):
    """A strainer or filter element with its housing."""

    kind: Literal["element"]
    """Kind: element."""
    role: Literal["strainer", "factory", "primary", "secondary"]
    """Role: strainer, factory filter, primary before it or secondary after it."""
    media_resistance: MediaResistance
    """Media resistance: of the clean media; loss is viscosity x resistance / area x flow."""
    face_area: FaceArea
    """Face area: of the media, pleats laid flat."""
    housing_inertial: HousingInertial
    """Housing resistance, inertial: loss is density x resistance x flow squared."""
    housing_viscous: HousingViscous = SourcedValue(value=0.0, text="0 1/m^3")
    """Housing resistance, viscous: loss is viscosity x resistance x flow."""
    loading_law: Literal["cake", "intermediate", "standard", "complete"] = "intermediate"
    """Loading law: how dirt raises the media's resistance."""
    loading_scale: LoadingScale | None = None
    """Loading scale: captured mass that multiplies the resistance by 2.7."""
    volume: HousingVolume = SourcedValue(value=0.0, text="0 mL")
    """Volume: fuel that the housing holds."""
    rating: RatingSection | None = None
    """Filter rating: how well it filters."""
    separator: SeparatorSection | None = None
    """Water separator: how it takes out free water; left out where it does not."""


class CheckValveSection(PartSection):
    """Primer pump or check valves."""

    kind: Literal["check_valve"]
    """Kind: check valve."""
    cracking_pressure: CrackingPressure
    """Cracking pressure: difference that opens it, lost at any flow."""
    housing_inertial: HousingInertial
    """Resistance, inertial: of the opened valve; loss is density x resistance x flow squared."""


class OrificeSection(PartSection):
    """A square-edged plate of known loss."""

    kind: Literal["orifice"]
    """Kind: orifice."""
    bore: Annotated[SourcedValue, Quantity("length", "0.2 mm", "50 mm")]
    """Bore: of the hole."""
    pipe_bore: Bore
    """Bore of the line: around the plate."""
    discharge_coefficient: Discharge
    """Discharge coefficient: flow over that of a hole without contraction."""


class LiftPumpSection(PartSection):
    """An electric pump in the line, by its curve; a stopped one is a resistance."""

    kind: Literal["lift_pump"]
    """Kind: lift pump."""
    shut_off_pressure: ShutOffPressure
    """Shut-off pressure: difference that it holds without flow."""
    free_flow: FreeFlow
    """Free flow: flow at which it adds nothing."""
    curve_exponent: CurveExponent = SourcedValue(value=2.0, text="2")
    """Curve exponent: of the curve between the two; 2 is a parabola."""
    stopped_inertial: HousingInertial
    """Resistance when stopped, inertial: loss is density x resistance x flow squared."""
    running: bool = True
    """Running: false for one that stands."""


class CoolerSection(PartSection):
    """A fuel cooler."""

    kind: Literal["cooler"]
    """Kind: cooler."""
    viscous: HousingViscous = SourcedValue(value=0.0, text="0 1/m^3")
    """Resistance, viscous: loss is viscosity x resistance x flow."""
    inertial: HousingInertial
    """Resistance, inertial: loss is density x resistance x flow squared."""
    effectiveness: Share = SourcedValue(value=0.0, text="0 %")
    """Effectiveness: fall of the fuel's temperature over its distance to the air's."""


class AirHoleSection(PartSection):
    """A leak that draws air, as the round hole of its area."""

    kind: Literal["air_hole"]
    """Kind: air leak."""
    hole_diameter: HoleDiameter
    """Hole diameter: of the round hole that lets in as much air."""
    discharge_coefficient: Discharge = SourcedValue(value=0.61, text="0.61")
    """Discharge coefficient: flow over that of a hole without contraction."""


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
    """Node: where its three parts meet."""
    bore: Bore
    """Bore: inside diameter."""
    branch: Id
    """Branch: the part on its side leg."""


class RecirculationSection(Section):
    """A thermostat that leads a share of the pump's return back into the feed line."""

    to: Id
    """Led back to: node of the feed line."""
    cold_fraction: Share
    """Share when cold: of the return, led back below the lower temperature."""
    warm_fraction: Share
    """Share when warm: of the return, led back above the upper temperature."""
    cold_temperature: ThermostatTemperature
    """Lower temperature: where the thermostat begins to move."""
    warm_temperature: ThermostatTemperature
    """Upper temperature: where it has moved all the way."""


class InsertionSection(Section):
    """Parts of a kit and the part of the line they stand next to."""

    before: Id | None = None
    """Before: the part that it stands in front of, seen from the tank; or after, not both."""
    after: Id | None = None
    """After: the part that it follows, seen from the tank; or before, not both."""
    part: list[AnyPart] = Field(min_length=1, max_length=100)
    """Parts: in the order of flow."""


class KitSection(Section):
    """An add-on kit, or a positive control."""

    id: Id
    """Id: its own name in this case."""
    title: Text
    """Title: in words, as reports call it."""
    control: bool = False
    """Positive control: true where it is built to lose, to show that the test can see a loss."""
    insertion: list[InsertionSection] = Field(min_length=1, max_length=20)
    """Places: where its parts are let into the line."""


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
