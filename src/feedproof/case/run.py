"""A recorded run: who wrote which log, under what conditions, with which kits in the line."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from feedproof.case.measures import Roller


class Role(StrEnum):
    """What a run is for."""

    WARM_UP = "warm_up"
    COMPARE = "compare"
    LOADED = "loaded"
    CONTROL = "control"


class Channel(StrEnum):
    """Quantities that a log can hold, by the names that the whole program uses."""

    TIME = "time"
    ROAD_SPEED = "road_speed"
    ENGINE_SPEED = "engine_speed"
    WHEEL_POWER = "wheel_power"
    INLET_DEPRESSION = "inlet_depression"
    INLET_PRESSURE_ABS = "inlet_pressure_abs"
    INLET_PRESSURE_GAUGE = "inlet_pressure_gauge"
    FUEL_TEMPERATURE = "fuel_temperature"
    RAIL_PRESSURE = "rail_pressure"
    RAIL_PRESSURE_DEMAND = "rail_pressure_demand"
    THROTTLE = "throttle"
    AIR_TEMPERATURE = "air_temperature"
    AIR_PRESSURE_ABS = "air_pressure_abs"
    RELATIVE_HUMIDITY = "relative_humidity"
    FUEL_LEVEL = "fuel_level"
    FUEL_RATE = "fuel_rate"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelMap:
    """
    How one channel stands in an instrument's logs.

    Parameters
    ----------
    channel : Channel
        What it is.
    column : str
        Header of the column.
    unit : str
        Unit of the column; empty when the log's own unit row must say.
    ceiling, floor : float or None
        Ends of the sensor's range in SI; None when not declared.
    resolution : float or None
        Step of the readings in SI; None when not declared.
    """

    channel: Channel
    column: str
    unit: str = ""
    ceiling: float | None = None
    floor: float | None = None
    resolution: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """
    An instrument that writes logs.

    Parameters
    ----------
    id : str
        Name in the case.
    title : str
        What it is, in words.
    channels : tuple of ChannelMap
        What its columns mean.
    gauge_above_inlet_m : float
        Height of the pressure sensor above the pump inlet. [m]
    gauge_line_filled : bool
        True when the line to the sensor holds fuel, so that its head counts.
    span_pa, class_percent : float or None
        Span and accuracy class (percent of span) of the pressure sensor. [Pa], [%]
    gauge_place_error_m, gauge_again_error_m : float or None
        Largest error of the sensor's height above the inlet, and of setting it there again. [m]
    zero_error_pa : float or None
        Most that the sensor's zero is off after it was read. [Pa]
    roller : Roller or None
        Errors of the roller, where it writes the power.
    dialect : mapping
        Corrections of what is concluded about its files (delimiter, decimal, encoding, sheet).
    """

    id: str
    title: str
    channels: tuple[ChannelMap, ...]
    gauge_above_inlet_m: float = 0.0
    gauge_line_filled: bool = True
    span_pa: float | None = None
    class_percent: float | None = None
    gauge_place_error_m: float | None = None
    gauge_again_error_m: float | None = None
    zero_error_pa: float | None = None
    roller: Roller | None = None
    dialect: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogFile:
    """
    One log as it came.

    Parameters
    ----------
    name : str
        Name under which it came.
    sha256 : str
        Hash of its bytes.
    instrument : str
        Id of the instrument that wrote it.
    """

    name: str
    sha256: str
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CaughtReturn:
    """
    Return fuel caught in a measure.

    Parameters
    ----------
    volume_m3 : float or None
        As read, at its temperature; None when it was weighed. [m3]
    mass_kg : float or None
        As read on a balance; None when its volume was read. [kg]
    duration_s : float
        How long it was caught. [s]
    temperature_k : float or None
        Of the fuel in the measure; a mass needs none. [K]
    hold : str
        ``steady`` (a held engine speed) or ``pull`` (over the sweep).
    engine_speed_rev_per_s : float or None
        Speed of the steady hold. [rev/s]
    measure : str
        Id of the jug or balance; empty where the case declares none.
    """

    volume_m3: float | None = None
    mass_kg: float | None = None
    duration_s: float
    temperature_k: float | None = None
    hold: str = "steady"
    engine_speed_rev_per_s: float | None = None
    measure: str = ""

    @property
    def amount(self) -> float:
        """Give what was read: volume in m3 or mass in kg; not a number where neither was."""
        found = self.volume_m3 if self.mass_kg is None else self.mass_kg
        return math.nan if found is None else found


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """
    One pull with its logs and notes.

    Parameters
    ----------
    number : int
        Number on the run sheet, unique in the case.
    kits : tuple of str
        Ids of the kits in the line; empty is the baseline.
    session : str
        Runs are compared inside one session.
    started : datetime
        When, with offset; gives the order.
    role : Role
        What it is for.
    setup : str
        Id of the plumbing; a new one each time hose was cut or moved.
    logs : tuple of LogFile
        As they came.
    ambient_pressure_abs_pa, air_temperature_k, relative_humidity_fraction : float
        Air in the cell. [Pa], [K], [-]
    fuel_level_fraction : float
        Fuel in the tank over its capacity. [-]
    zero_before_pa, zero_after_pa : float or None
        Reading of the depression sensor at rest, as depression. [Pa]
    elements : mapping of str to str
        Serial of the element fitted, by part id.
    captured_mass_kg : mapping of str to float
        Known loading by part id. [kg]
    caught_return : CaughtReturn or None
        None when none was caught.
    excluded : str
        Reason for leaving the run out, from the journal; empty when it counts.
    note : str
        Operator's note.
    """

    number: int
    kits: tuple[str, ...]
    session: str
    started: datetime
    role: Role
    setup: str
    logs: tuple[LogFile, ...]
    ambient_pressure_abs_pa: float
    air_temperature_k: float
    relative_humidity_fraction: float
    fuel_level_fraction: float
    fuel: str
    zero_before_pa: float | None = None
    zero_after_pa: float | None = None
    elements: Mapping[str, str] = field(default_factory=dict)
    captured_mass_kg: Mapping[str, float] = field(default_factory=dict)
    caught_return: CaughtReturn | None = None
    excluded: str = ""
    note: str = ""

    @property
    def configuration(self) -> str:
        """Give the name of what was in the line: ``baseline`` or the kits joined by ``+``."""
        return "+".join(self.kits) if self.kits else "baseline"
