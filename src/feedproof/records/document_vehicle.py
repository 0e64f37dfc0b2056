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
    """Engine speed: rising."""
    torque: Annotated[tuple[float, ...], Series("torque", "1 N m", "5000 N m")]
    """Torque: at the crankshaft, one for each speed."""
    specific_consumption: Annotated[
        tuple[float, ...], Series("specific_consumption", "120 g/kWh", "900 g/kWh")
    ]
    """Specific consumption: fuel per work, one for each speed."""


class EngineSection(Section):
    """The engine."""

    displacement: Annotated[SourcedValue, Quantity("volume", "0.3 L", "30 L")]
    """Displacement: swept volume."""
    charge: Literal["natural", "turbo_air", "turbo_liquid"]
    """Charge: natural, or a turbocharger cooled by air or by liquid."""
    boost_ratio: Annotated[SourcedValue, Quantity("number", "1", "6")]
    """Boost ratio: charge over ambient pressure at full load."""
    rated_speed: EngineSpeed
    """Rated speed: engine speed at rated power."""
    full_load: FullLoadSection
    """Full-load curve: torque and consumption by engine speed."""


class GearingSection(Section):
    """From road speed to engine speed."""

    gear_ratio: Annotated[SourcedValue, Quantity("number", "0.2", "20")]
    """Gear ratio: of the gear that is tested in."""
    final_drive_ratio: Annotated[SourcedValue, Quantity("number", "0.5", "20")]
    """Final drive ratio: of the driven axle."""
    rolling_radius: Annotated[SourcedValue, Quantity("length", "0.15 m", "1 m")]
    """Rolling radius: of the driven wheels, loaded."""
    tyre_slip: SmallFraction = ZERO_FRACTION
    """Tyre slip: on the roller."""
    driveline_loss: SmallFraction = ZERO_FRACTION
    """Driveline loss: from crankshaft to roller."""
    engine_side_inertia: Inertia = SourcedValue(value=0.0, text="0 kg m^2")
    """Inertia, engine side: moment of inertia of what turns with the engine."""
    wheel_inertia: Inertia = SourcedValue(value=0.0, text="0 kg m^2")
    """Inertia, wheels: moment of inertia of all driven wheels and shafts together."""


class TankSection(Section):
    """The tank and its place under the pump inlet."""

    capacity: Annotated[SourcedValue, Quantity("volume", "5 L", "2000 L")]
    """Capacity: of the tank."""
    inlet_above_full: Height
    """Pump inlet above full: height of the pump inlet above the fuel of a full tank."""
    inlet_above_empty: Height
    """Pump inlet above empty: height of the pump inlet above the fuel of an empty tank."""
    distance_to_pump: Annotated[SourcedValue, Quantity("length", "-15 m", "15 m")] = SourcedValue(
        value=0.0, text="0 m"
    )
    """Distance to the pump: along the vehicle, positive with the tank behind."""
    # Cap valves open at a few kPa (common practice); more is a blocked breather.
    cap_valve: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "20 kPa")] = SourcedValue(
        value=0.0, text="0 kPa"
    )
    """Cap valve: depression at which the tank's breather opens."""


class PumpSection(Section):
    """The transfer pump and what it must feed."""

    topology: Literal["overflow_to_tank", "internal_recirculation"]
    """Topology: surplus to the tank, or recirculated inside the pump."""
    displacement: Annotated[SourcedValue, Quantity("volume_per_revolution", "0.05 cm^3", "50 cm^3")]
    """Displacement: of the transfer pump, per revolution."""
    speed_ratio: Annotated[SourcedValue, Quantity("number", "0.1", "5")]
    """Speed ratio: pump over engine speed."""
    filling: Annotated[SourcedValue, Quantity("fraction", "30 %", "100 %")]
    """Filling: volumetric efficiency without inlet loss and slip."""
    slip: SmallFlow
    """Slip: leakage through gaps at the regulated feed pressure."""
    slip_viscosity: Annotated[SourcedValue, Quantity("dynamic_viscosity", "0.1 mPa s", "100 mPa s")]
    """Slip viscosity: dynamic viscosity at which the slip was found."""
    feed_pressure_regulated: Annotated[SourcedValue, Quantity("pressure", "50 kPa", "3000 kPa")]
    """Feed pressure, regulated: difference held behind the transfer pump."""
    inlet_half_pressure_abs: Annotated[SourcedValue, Quantity("pressure", "1 kPa", "100 kPa")]
    """Half-filling pressure, absolute: inlet pressure at which half of the filling is left."""
    inlet_softness: Annotated[SourcedValue, Quantity("pressure", "0.1 kPa", "50 kPa")]
    """Inlet softness: over how much pressure the filling falls."""
    port_loss: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "50 kPa")]
    """Port loss: of the inlet port at the speed below."""
    port_loss_speed: Annotated[SourcedValue, Quantity("rotation", "1 rps", "300 rps")]
    """Port loss speed: of the pump's shaft."""
    gas_release: Fraction
    """Gas release: share of equilibrium that comes out of solution before the pump."""
    gas_release_time: Annotated[SourcedValue, Quantity("duration", "1 ms", "3600 s")] | None = None
    """Gas release time: time constant of gas coming out of solution."""
    backleak_rated: SmallFlow
    """Back-leak, rated: of injectors and high-pressure pump at rated power."""
    lubrication: SmallFlow
    """Lubrication: flow that the pump keeps for itself."""
    maker_limit_abs: Annotated[SourcedValue, Quantity("pressure", "5 kPa", "110 kPa")] | None = None
    """
    Maker's limit, absolute: least inlet pressure that the pump's maker allows; without it no
    limit is known.
    """


class VehicleSection(Section):
    """The vehicle without its lines, which stand beside it."""

    name: Text
    """Name: make, model and engine, in words."""
    engine: EngineSection
    """Engine: its size and full-load curve."""
    gearing: GearingSection
    """Gearing: from road speed to engine speed."""
    tank: TankSection
    """Tank: its size and its place under the pump."""
    pump: PumpSection
    """Pump: the transfer pump and what it must feed."""
