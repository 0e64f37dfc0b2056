"""The vehicle of a case document: engine, gearing, tank and pump."""

from typing import Annotated, Literal

from feedproof.core.values import SourcedValue
from feedproof.records.document_section import Section, Text
from feedproof.records.quantity import Quantity
from feedproof.records.series import Series

ZERO_FRACTION = SourcedValue(value=0.0, text="0 %")
Fraction = Annotated[SourcedValue, Quantity("fraction", "0 %", "100 %")]
SmallFraction = Annotated[SourcedValue, Quantity("fraction", "0 %", "50 %")]
Inertia = Annotated[SourcedValue, Quantity("inertia", "0 kg m^2", "200 kg m^2")]
Height = Annotated[SourcedValue, Quantity("length", "-3 m", "3 m")]
EngineSpeed = Annotated[SourcedValue, Quantity("rotation", "100 rpm", "10000 rpm")]
SmallFlow = Annotated[SourcedValue, Quantity("flow", "0 L/h", "500 L/h")]


class FullLoadSection(Section):
    """The full-load curve."""

    speed: Annotated[tuple[float, ...], Series("rotation", "100 rpm", "10000 rpm")]
    torque: Annotated[tuple[float, ...], Series("torque", "1 N m", "5000 N m")]
    specific_consumption: Annotated[
        tuple[float, ...], Series("specific_consumption", "120 g/kWh", "900 g/kWh")
    ]


class EngineSection(Section):
    """The engine."""

    displacement: Annotated[SourcedValue, Quantity("volume", "0.3 L", "30 L")]
    charge: Literal["natural", "turbo_air", "turbo_liquid"]
    boost_ratio: Annotated[SourcedValue, Quantity("number", "1", "6")]
    rated_speed: EngineSpeed
    full_load: FullLoadSection


class GearingSection(Section):
    """From road speed to engine speed."""

    gear_ratio: Annotated[SourcedValue, Quantity("number", "0.2", "20")]
    final_drive_ratio: Annotated[SourcedValue, Quantity("number", "0.5", "20")]
    rolling_radius: Annotated[SourcedValue, Quantity("length", "0.15 m", "1 m")]
    tyre_slip: SmallFraction = ZERO_FRACTION
    driveline_loss: SmallFraction = ZERO_FRACTION
    engine_side_inertia: Inertia = SourcedValue(value=0.0, text="0 kg m^2")
    wheel_inertia: Inertia = SourcedValue(value=0.0, text="0 kg m^2")


class TankSection(Section):
    """The tank and its place under the pump inlet."""

    capacity: Annotated[SourcedValue, Quantity("volume", "5 L", "2000 L")]
    inlet_above_full: Height
    inlet_above_empty: Height
    distance_to_pump: Annotated[SourcedValue, Quantity("length", "-15 m", "15 m")] = SourcedValue(
        value=0.0, text="0 m"
    )
    # Cap valves open at a few kPa (common practice); more is a blocked breather.
    cap_valve: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 kPa")] = SourcedValue(
        value=0.0, text="0 kPa"
    )


class PumpSection(Section):
    """The transfer pump and what it must feed."""

    topology: Literal["overflow_to_tank", "internal_recirculation"]
    displacement: Annotated[SourcedValue, Quantity("volume_per_revolution", "0.05 cm^3", "50 cm^3")]
    speed_ratio: Annotated[SourcedValue, Quantity("number", "0.1", "5")]
    filling: Annotated[SourcedValue, Quantity("fraction", "30 %", "100 %")]
    slip: SmallFlow
    slip_viscosity: Annotated[SourcedValue, Quantity("dynamic_viscosity", "0.1 mPa s", "100 mPa s")]
    feed_pressure_regulated: Annotated[SourcedValue, Quantity("pressure", "50 kPa", "3000 kPa")]
    inlet_half_pressure_abs: Annotated[SourcedValue, Quantity("pressure", "1 kPa", "100 kPa")]
    inlet_softness: Annotated[SourcedValue, Quantity("pressure", "0.1 kPa", "50 kPa")]
    port_loss: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "50 kPa")]
    port_loss_speed: Annotated[SourcedValue, Quantity("rotation", "1 rps", "300 rps")]
    gas_release: Fraction
    gas_release_time: Annotated[SourcedValue, Quantity("duration", "1 ms", "3600 s")] | None = None
    backleak_rated: SmallFlow
    lubrication: SmallFlow
    maker_limit_abs: Annotated[SourcedValue, Quantity("pressure", "5 kPa", "110 kPa")] | None = None


class VehicleSection(Section):
    """The vehicle without its lines, which stand beside it."""

    name: Text
    engine: EngineSection
    gearing: GearingSection
    tank: TankSection
    pump: PumpSection
