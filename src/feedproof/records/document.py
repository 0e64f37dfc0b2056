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
    """Of: two fuels of the case or grades of the catalogue."""
    fraction: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
    """Fraction: of the second, by volume."""
    viscosity_rule: Literal["refutas", "kendall_monroe", "arrhenius"] = "refutas"
    """Viscosity rule: by which the two are mixed."""


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
    """Grade: item of the catalogue; what is written beside it goes before it."""
    blend: BlendSection | None = None
    """Blend: of two fuels."""
    density_15c: (
        Annotated[SourcedValue, Quantity("density", "650 kg/m^3", "1000 kg/m^3")] | None
    ) = None
    """Density at 15 degC: by ISO 3675 or ISO 12185."""
    viscosity_20c: Viscosity | None = None
    """Viscosity at 20 degC: kinematic."""
    viscosity_40c: Viscosity | None = None
    """Viscosity at 40 degC: kinematic, ISO 3104."""
    viscosity_cool: Viscosity | None = None
    """Viscosity, cool: kinematic, at the cooler of two other temperatures."""
    viscosity_warm: Viscosity | None = None
    """Viscosity, warm: kinematic, at the warmer of two other temperatures."""
    temperature_cool: FuelTemperature | None = None
    """Temperature, cool: of the viscosity named cool."""
    temperature_warm: FuelTemperature | None = None
    """Temperature, warm: of the viscosity named warm."""
    expansion: (
        Annotated[SourcedValue, Quantity("per_temperature", "1e-4 1/K", "3e-3 1/K")] | None
    ) = None
    """Expansion: change of density with temperature, relative."""
    cloud_point: Annotated[SourcedValue, Quantity("temperature", "-70 degC", "40 degC")] | None = (
        None
    )
    """Cloud point: temperature at which wax is first seen."""
    cfpp: Annotated[SourcedValue, Quantity("temperature", "-80 degC", "40 degC")] | None = None
    """CFPP: cold filter plugging point."""
    ostwald_air: Annotated[SourcedValue, Quantity("number", "0.01", "1")] | None = None
    """Dissolved air: Ostwald coefficient at 20 degC, air over fuel by volume."""
    vapour_pressure_20c_abs: (
        Annotated[SourcedValue, Quantity("pressure", "0 Pa", "90 kPa")] | None
    ) = None
    """Vapour pressure at 20 degC: absolute."""
    vapour_pressure_slope: Annotated[
        SourcedValue, Quantity("temperature_difference", "1000 K", "15000 K")
    ] = SourcedValue(value=5500.0, text="5500 K")
    """Vapour pressure slope: rise with temperature, as a temperature."""
    petrol: Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")] = SourcedValue(
        value=0.0, text="0 %"
    )
    """Petrol: share by volume; no filter takes it out."""
    heating_value: (
        Annotated[SourcedValue, Quantity("specific_energy", "30 MJ/kg", "50 MJ/kg")] | None
    ) = None
    """Heating value: net, by mass."""


class PullSection(Section):
    """The full-load sweep."""

    start: RoadSpeed
    """Start: road speed at which the sweep begins."""
    stop: RoadSpeed
    """Stop: road speed at which it ends."""
    rate: Annotated[SourcedValue, Quantity("acceleration", "0.05 km/h/s", "40 km/h/s")]
    """Sweep rate: rise of the road speed."""


class ConditionsSection(Section):
    """Conditions under which the line is asked; air by altitude or by its pressure."""

    name: Text = ""
    """Name: in words, as reports call them."""
    fuel: Id
    """Fuel: of the case."""
    fuel_temperature: FuelTemperature
    """Fuel temperature: at the pump inlet."""
    tank_fuel_temperature: FuelTemperature | None = None
    """Fuel temperature, tank: of what leaves the tank; left out, as at the pump."""
    return_fuel_temperature: FuelTemperature | None = None
    """Fuel temperature, return: in the return line; left out, as at the pump."""
    altitude: Annotated[SourcedValue, Quantity("altitude", "-500 m", "8000 m")] | None = None
    """Altitude: for the air pressure; or the pressure itself, not both."""
    ambient_pressure_abs: AmbientPressure | None = None
    """Air pressure, absolute: as measured; or the altitude, not both."""
    fuel_level: FuelLevel
    """Fuel level: share of the tank, or litres."""
    road_pitch: Annotated[SourcedValue, Quantity("angle", "-45 deg", "45 deg")] = SourcedValue(
        value=0.0, text="0 deg"
    )
    """Road pitch: positive uphill."""
    tank_depression: Annotated[SourcedValue, Quantity("pressure", "-20 kPa", "50 kPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )
    """Tank depression: tank below ambient, of a breather that is blocked."""
    loading: dict[str, Loading] = Field(default_factory=dict, max_length=100)
    """Loading: captured mass by element."""


class MarginsSection(Section):
    """What was agreed before the first run."""

    wheel_power: Margin
    """Wheel power: loss that is agreed to be harmless."""
    caught_return: Margin
    """Caught return: loss that is agreed to be harmless."""
    return_do_not_release: Margin
    """Return, do not release: loss from which the kit is not released."""
    rail_deviation: Annotated[
        SourcedValue, Quantity("pressure", "0 MPa", "200 MPa", above_low=True)
    ]
    """Rail deviation: demanded minus actual rail pressure that is allowed."""
    rail_deviation_duration: Annotated[SourcedValue, Quantity("duration", "0.01 s", "600 s")]
    """Rail deviation, duration: for how long."""
    source: Text = ""
    """Source: who agreed it."""
    # Runs with the kit after which the answer is looked at; left out, once when all are done.
    looks: list[Annotated[int, Field(ge=1, le=100)]] = Field(default_factory=list, max_length=4)
    """
    Looks: runs with the kit after which the answer is looked at; left out, once when all are
    done.
    """
    primary: Literal["wheel_power", "caught_return"] = "wheel_power"
    """Primary measure: the one that headlines."""


class RatioRepeatabilitySection(Section):
    """Repeatability of a measure that is judged as a ratio."""

    standard_deviation: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %", above_low=True)]
    """Standard deviation: from run to run."""
    degrees_of_freedom: Degrees
    """Degrees of freedom: how well the scatter is known."""
    source: Text
    """Source: which repeats."""
    setup_standard_deviation: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = (
        SourcedValue(value=0.0, text="0 %")
    )
    """Standard deviation, set-up: from one plumbing to the next."""
    drift_per_run: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = SourcedValue(
        value=0.0, text="0 %"
    )
    """Drift per run: known drift within a session."""
    drift_bound_per_run: Annotated[SourcedValue, Quantity("fraction", "0 %", "20 %")] = (
        SourcedValue(value=0.0, text="0 %")
    )
    """Drift bound per run: largest drift that may be there."""


class PressureRepeatabilitySection(Section):
    """Repeatability of a measure that is judged as a pressure."""

    standard_deviation: Annotated[
        SourcedValue, Quantity("pressure", "0 kPa", "20 MPa", above_low=True)
    ]
    """Standard deviation: from run to run."""
    degrees_of_freedom: Degrees
    """Degrees of freedom: how well the scatter is known."""
    source: Text
    """Source: which repeats."""
    setup_standard_deviation: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )
    """Standard deviation, set-up: from one plumbing to the next."""
    drift_per_run: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = SourcedValue(
        value=0.0, text="0 kPa"
    )
    """Drift per run: known drift within a session."""
    drift_bound_per_run: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 MPa")] = (
        SourcedValue(value=0.0, text="0 kPa")
    )
    """Drift bound per run: largest drift that may be there."""


class RepeatabilitySection(Section):
    """Declared repeatability, by measure."""

    wheel_power: RatioRepeatabilitySection | None = None
    """Wheel power: scatter of the roller's power."""
    caught_return: RatioRepeatabilitySection | None = None
    """Caught return: scatter of the return flow."""
    inlet_depression: PressureRepeatabilitySection | None = None
    """Inlet depression: scatter of the depression at the pump inlet."""
    rail_pressure: PressureRepeatabilitySection | None = None
    """Rail pressure: scatter of the rail pressure."""


class CaseDocument(Section):
    """A case: one vehicle with its fuels, kits, conditions, margins and runs."""

    format: Literal["feedproof-case"]
    """Format: of the document."""
    version: Literal[1]
    """Version: of the format."""
    title: Text
    """Title: in words, on every report."""
    note: Text = ""
    """Note: what a reader must know."""
    friction_rule: Literal["blend_colebrook", "blend_blasius", "churchill"] = "blend_colebrook"
    """Friction rule: between laminar and turbulent flow."""
    vehicle: VehicleSection
    """Vehicle: engine, gearing, tank and pump."""
    line: list[AnyPart] = Field(min_length=1, max_length=500)
    """Feed line: parts from tank to pump inlet, in the order of flow."""
    return_line: list[AnyPart] = Field(default_factory=list, alias="return", max_length=500)
    """Return line: parts from the pump back to the tank."""
    recirculation: RecirculationSection | None = None
    """Return led back: into the feed line, by a thermostat."""
    tee: list[TeeSection] = Field(default_factory=list, max_length=40)
    """Tee pieces: where three parts meet."""
    kit: list[KitSection] = Field(default_factory=list, max_length=200)
    """Kits: and positive controls."""
    fuel: dict[str, FuelSection] = Field(min_length=1, max_length=100)
    """Fuels: by name."""
    pull: PullSection
    """Pull: the full-load sweep of every run."""
    reference: ConditionsSection
    """Reference conditions: predictions and comparisons are brought to them."""
    worst: list[ConditionsSection] = Field(default_factory=list, max_length=100)
    """Worst conditions: the limit must hold over them."""
    margins: MarginsSection
    """Margins: what loss is agreed to be harmless."""
    repeatability: RepeatabilitySection = RepeatabilitySection()
    """Repeatability: declared scatter, by measure."""
    supply: SupplySection | None = None
    """Supply: the fuel as it comes."""
    duty: DutySection | None = None
    """Duty: how the vehicle is driven."""
    service: ServiceSection | None = None
    """Service: what a service plan must keep."""
    rig: RigSection | None = None
    """Rig: names under which repeats are pooled."""
    instrument: dict[str, InstrumentSection] = Field(default_factory=dict, max_length=100)
    """Instruments: that write logs, by name."""
    measure: dict[Id, AnyMeasure] = Field(default_factory=dict, max_length=20)
    """Measures: what is read by hand, by name."""
    run: list[RunSection] = Field(default_factory=list, max_length=5000)
    """Runs: each pull with its logs."""
