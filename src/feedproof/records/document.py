"""
The document of a case, ``case.toml`` version 1, as pydantic models.

They say what each key may hold.  What two keys say together is asked by the cross checks, on the
document as it stands, so that no mistake hides another.
"""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_values import NEEDED
from feedproof.records.document_line import (
    AnyPart,
    KitSection,
    Loading,
    RecirculationSection,
    TeeSection,
)
from feedproof.records.document_measures import AnyMeasure
from feedproof.records.document_rig import RigSection
from feedproof.records.document_runs import (
    AmbientPressure,
    FuelLevel,
    FuelTemperature,
    InstrumentSection,
    RunSection,
)
from feedproof.records.document_section import Id, Section, Text
from feedproof.records.document_supply import DutySection, ServiceSection, SupplySection
from feedproof.records.document_vehicle import VehicleSection
from feedproof.records.quantity import Quantity

FORMAT = "feedproof-case"
VERSION = 1

Viscosity = Annotated[SourcedValue, Quantity("kinematic_viscosity", "0.3 mm^2/s", "1000 mm^2/s")]
Margin = Annotated[SourcedValue, Quantity("fraction", "0 %", "50 %", above_low=True)]
RoadSpeed = Annotated[SourcedValue, Quantity("speed", "5 km/h", "300 km/h")]
Degrees = Annotated[SourcedValue, Quantity("number", "0", "1000")]


class BlendSection(Section):
    """Two fuels of the case or grades of the catalogue; the fraction is the second's, by volume."""

    of: list[Id] = Field(min_length=2, max_length=2)
    fraction: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
    viscosity_rule: Literal["refutas", "kendall_monroe", "arrhenius"] = "refutas"


class FuelSection(Section):
    """
    A fuel: with figures of its own, of a grade of the catalogue, or blended of two.

    Its viscosities stand at 20 and 40 degC, or at two temperatures named beside.  What is written
    beside a grade or a blend goes before it.
    """

    # Which keys a fuel of its own needs is asked by the cross checks; here for editors.
    model_config = ConfigDict(
        json_schema_extra={
            "anyOf": [{"required": ["grade"]}, {"required": ["blend"]}, {"required": [*NEEDED]}]
        }
    )

    grade: Id | None = None
    blend: BlendSection | None = None
    density_15c: (
        Annotated[SourcedValue, Quantity("density", "650 kg/m^3", "1000 kg/m^3")] | None
    ) = None
    viscosity_20c: Viscosity | None = None
    viscosity_40c: Viscosity | None = None
    viscosity_cool: Viscosity | None = None
    viscosity_warm: Viscosity | None = None
    temperature_cool: FuelTemperature | None = None
    temperature_warm: FuelTemperature | None = None
    expansion: (
        Annotated[SourcedValue, Quantity("per_temperature", "1e-4 1/K", "3e-3 1/K")] | None
    ) = None
    cloud_point: Annotated[SourcedValue, Quantity("temperature", "-70 degC", "40 degC")] | None = (
        None
    )
    cfpp: Annotated[SourcedValue, Quantity("temperature", "-80 degC", "40 degC")] | None = None
    ostwald_air: Annotated[SourcedValue, Quantity("number", "0.01", "1")] | None = None
    vapour_pressure_20c_abs: (
        Annotated[SourcedValue, Quantity("pressure", "0 Pa", "90 kPa")] | None
    ) = None
    vapour_pressure_slope: Annotated[
        SourcedValue, Quantity("temperature_difference", "1000 K", "15000 K")
    ] = SourcedValue(value=5500.0, text="5500 K")
    petrol: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")] = SourcedValue(
        value=0.0, text="0 %"
    )
    heating_value: (
        Annotated[SourcedValue, Quantity("specific_energy", "30 MJ/kg", "50 MJ/kg")] | None
    ) = None


class PullSection(Section):
    """The full-load sweep."""

    start: RoadSpeed
    stop: RoadSpeed
    rate: Annotated[SourcedValue, Quantity("acceleration", "0.05 km/h/s", "40 km/h/s")]


class ConditionsSection(Section):
    """Conditions under which the line is asked; air by altitude or by its pressure."""

    name: Text = ""
    fuel: Id
    fuel_temperature: FuelTemperature
    tank_fuel_temperature: FuelTemperature | None = None
    return_fuel_temperature: FuelTemperature | None = None
    altitude: Annotated[SourcedValue, Quantity("altitude", "-500 m", "8000 m")] | None = None
    ambient_pressure_abs: AmbientPressure | None = None
    fuel_level: FuelLevel
    road_pitch: Annotated[SourcedValue, Quantity("angle", "-45 deg", "45 deg")] = SourcedValue(
        value=0.0, text="0 deg"
    )
    tank_depression: Annotated[SourcedValue, Quantity("pressure", "-20 kPa", "50 kPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )
    loading: dict[str, Loading] = Field(default_factory=dict, max_length=100)


class MarginsSection(Section):
    """What was agreed before the first run."""

    wheel_power: Margin
    caught_return: Margin
    return_do_not_release: Margin
    rail_deviation: Annotated[
        SourcedValue, Quantity("pressure", "0 MPa", "200 MPa", above_low=True)
    ]
    rail_deviation_duration: Annotated[SourcedValue, Quantity("duration", "0.01 s", "600 s")]
    source: Text = ""
    # Runs with the kit after which the answer is looked at; left out, once when all are done.
    looks: list[Annotated[int, Field(ge=1, le=100)]] = Field(default_factory=list, max_length=4)
    primary: Literal["wheel_power", "caught_return"] = "wheel_power"


class RatioRepeatabilitySection(Section):
    """Repeatability of a measure that is judged as a ratio."""

    standard_deviation: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %", above_low=True)]
    degrees_of_freedom: Degrees
    source: Text
    setup_standard_deviation: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = (
        SourcedValue(value=0.0, text="0 %")
    )
    drift_per_run: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = SourcedValue(
        value=0.0, text="0 %"
    )
    drift_bound_per_run: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = (
        SourcedValue(value=0.0, text="0 %")
    )


class PressureRepeatabilitySection(Section):
    """Repeatability of a measure that is judged as a pressure."""

    standard_deviation: Annotated[
        SourcedValue, Quantity("pressure", "0 kPa", "20 MPa", above_low=True)
    ]
    degrees_of_freedom: Degrees
    source: Text
    setup_standard_deviation: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )
    drift_per_run: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = SourcedValue(
        value=0.0, text="0 kPa"
    )
    drift_bound_per_run: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )


class RepeatabilitySection(Section):
    """Declared repeatability, by measure."""

    wheel_power: RatioRepeatabilitySection | None = None
    caught_return: RatioRepeatabilitySection | None = None
    inlet_depression: PressureRepeatabilitySection | None = None
    rail_pressure: PressureRepeatabilitySection | None = None


class CaseDocument(Section):
    """A case: one vehicle with its fuels, kits, conditions, margins and runs."""

    format: Literal["feedproof-case"]
    version: Literal[1]
    title: Text
    note: Text = ""
    friction_rule: Literal["blend_colebrook", "blend_blasius", "churchill"] = "blend_colebrook"
    vehicle: VehicleSection
    line: list[AnyPart] = Field(min_length=1, max_length=500)
    return_line: list[AnyPart] = Field(default_factory=list, alias="return", max_length=500)
    recirculation: RecirculationSection | None = None
    tee: list[TeeSection] = Field(default_factory=list, max_length=40)
    kit: list[KitSection] = Field(default_factory=list, max_length=200)
    fuel: dict[str, FuelSection] = Field(min_length=1, max_length=100)
    pull: PullSection
    reference: ConditionsSection
    worst: list[ConditionsSection] = Field(default_factory=list, max_length=100)
    margins: MarginsSection
    repeatability: RepeatabilitySection = RepeatabilitySection()
    supply: SupplySection | None = None
    duty: DutySection | None = None
    service: ServiceSection | None = None
    rig: RigSection | None = None
    instrument: dict[str, InstrumentSection] = Field(default_factory=dict, max_length=100)
    measure: dict[Id, AnyMeasure] = Field(default_factory=dict, max_length=20)
    run: list[RunSection] = Field(default_factory=list, max_length=5000)
