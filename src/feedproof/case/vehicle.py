"""The vehicle around the feed line: engine, gearing, tank and injection pump."""

from dataclasses import dataclass
from enum import StrEnum

from feedproof.case.line import Line, Recirculation, Tee


class Topology(StrEnum):
    """Where the pump's surplus goes; it decides what the caught return can show."""

    OVERFLOW_TO_TANK = "overflow_to_tank"
    INTERNAL_RECIRCULATION = "internal_recirculation"


class ChargeCooling(StrEnum):
    """How the engine breathes, for the power correction."""

    NATURAL = "natural"
    TURBO_AIR = "turbo_air"
    TURBO_LIQUID = "turbo_liquid"


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """
    Full-load engine as the feed line needs it.

    Parameters
    ----------
    displacement_m3 : float
        Swept volume. [m3]
    charge : ChargeCooling
        Breathing and charge cooling.
    boost_ratio : float
        Charge over ambient pressure at rated speed, 1 without a charger. [-]
    speed_rev_per_s : tuple of float, shape (n,)
        Speeds of the full-load curve, increasing. [rev/s]
    torque_nm : tuple of float, shape (n,)
        Full-load torque. [N m]
    specific_consumption_kg_per_j : tuple of float, shape (n,)
        Fuel per energy at full load. [kg/J]
    rated_speed_rev_per_s : float
        Rated speed. [rev/s]
    """

    displacement_m3: float
    charge: ChargeCooling
    boost_ratio: float
    speed_rev_per_s: tuple[float, ...]
    torque_nm: tuple[float, ...]
    specific_consumption_kg_per_j: tuple[float, ...]
    rated_speed_rev_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gearing:
    """
    From road speed to engine speed, and from the wheel to the crankshaft.

    Parameters
    ----------
    gear_ratio, final_drive_ratio : float
        Engine over output speed of gearbox (in the gear of the test) and axle. [-]
    rolling_radius_m : float
        Dynamic rolling radius. [m]
    tyre_slip_fraction : float
        Slip on the rollers at full load. [-]
    driveline_loss_fraction : float
        Share of engine power lost before the roller. [-]
    engine_side_inertia_kg_m2 : float
        Turning with the engine. [kg m2]
    wheel_inertia_kg_m2 : float
        All driven wheels and shafts together, not one wheel. [kg m2]
    """

    gear_ratio: float
    final_drive_ratio: float
    rolling_radius_m: float
    tyre_slip_fraction: float = 0.0
    driveline_loss_fraction: float = 0.0
    engine_side_inertia_kg_m2: float = 0.0
    wheel_inertia_kg_m2: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank:
    """
    Tank and its place under the pump inlet.

    Parameters
    ----------
    capacity_m3 : float
        Usable volume. [m3]
    inlet_above_full_m, inlet_above_empty_m : float
        Height of the pump inlet above the fuel surface, tank full and tank empty. [m]
    distance_to_pump_m : float
        Horizontal distance along the vehicle, tank behind the pump; a climb turns it into
        head. [m]
    cap_valve_pa : float
        Depression at which the breather lets air in; 0 for an open one. [Pa]
    """

    capacity_m3: float
    inlet_above_full_m: float
    inlet_above_empty_m: float
    distance_to_pump_m: float = 0.0
    cap_valve_pa: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pump:
    """
    Transfer pump with its metering valve and what it must feed.

    Parameters
    ----------
    topology : Topology
        Where surplus goes.
    displacement_m3_per_rev : float
        Displacement. [m3/rev]
    speed_ratio : float
        Pump over engine speed. [-]
    filling_fraction : float
        Volumetric efficiency without inlet loss and slip. [-]
    slip_m3_per_s : float
        Gap leakage at the regulated feed pressure and the viscosity below. [m3/s]
    slip_viscosity_pa_s : float
        Dynamic viscosity at which the slip is given. [Pa s]
    feed_pressure_regulated_pa : float
        Difference that the pressure valve holds after the transfer pump. [Pa]
    inlet_half_pressure_abs_pa : float
        Absolute inlet pressure at which filling halves. [Pa]
    inlet_softness_pa : float
        Width of that fall. [Pa]
    port_loss_pa, port_loss_speed_rev_per_s : float
        Loss of the inlet port at a pump speed. [Pa], [rev/s]
    gas_release_fraction : float
        Share of the equilibrium release that comes out before the pump. [-]
    gas_release_time_s : float or None
        Time constant of first-order release; where it is given, the share released follows from
        the time that the fuel spends below saturation, part by part, and the fixed share above
        is passed over. [s]
    backleak_rated_m3_per_s : float
        Injector back-leak at rated engine speed; taken as proportional to speed. [m3/s]
    lubrication_m3_per_s : float
        Least flow through lubrication at the regulated feed pressure. [m3/s]
    maker_limit_abs_pa : float or None
        Least absolute inlet pressure that the pump's maker states; None when unknown, and then
        no verdict grants a pass. [Pa]
    maker_limit_source : str
        Where the limit is stated.
    """

    topology: Topology
    displacement_m3_per_rev: float
    speed_ratio: float
    filling_fraction: float
    slip_m3_per_s: float
    slip_viscosity_pa_s: float
    feed_pressure_regulated_pa: float
    inlet_half_pressure_abs_pa: float
    inlet_softness_pa: float
    port_loss_pa: float
    port_loss_speed_rev_per_s: float
    gas_release_fraction: float
    backleak_rated_m3_per_s: float
    lubrication_m3_per_s: float
    maker_limit_abs_pa: float | None = None
    maker_limit_source: str = ""
    gas_release_time_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """
    A vehicle with its factory feed line.

    Parameters
    ----------
    name : str
        Name in words.
    engine, gearing, tank, pump : Engine, Gearing, Tank, Pump
        As above.
    line : Line
        Factory feed line, tank to pump inlet.
    return_line : Line
        Return line, pump to tank; empty when it is not described.
    recirculation : Recirculation or None
        Thermostatic return into the feed line.
    tees : tuple of Tee
        Tee pieces at named nodes; a node without one has no loss of its own.
    """

    name: str
    engine: Engine
    gearing: Gearing
    tank: Tank
    pump: Pump
    line: Line
    return_line: Line
    recirculation: Recirculation | None = None
    tees: tuple[Tee, ...] = ()
