"""Instruments and runs of a case document."""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from feedproof.core.values import SourcedValue
from feedproof.records.document_line import Loading
from feedproof.records.document_measures import RollerSection
from feedproof.records.document_section import Id, Name, Section, Text
from feedproof.records.document_vehicle import EngineSpeed, Fraction
from feedproof.records.quantity import LevelValue, Quantity
from feedproof.records.series import Level

FuelTemperature = Annotated[SourcedValue, Quantity("temperature", "-60 degC", "120 degC")]
AmbientPressure = Annotated[SourcedValue, Quantity("pressure", "45 kPa", "115 kPa")]
FuelLevel = Annotated[LevelValue, Level()]
# A zero further off is a broken sensor or another unit (common practice, no source).
Zero = Annotated[SourcedValue, Quantity("pressure", "-3 kPa", "3 kPa")]
# A height is read with a rule; a metre off is another place (common practice).
HeightError = Annotated[SourcedValue, Quantity("length", "0 mm", "1 m")]
Serial = Annotated[str, StringConstraints(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f]*$")]
Sha256 = Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]


class ChannelSection(Section):
    """One column of an instrument's logs; its ends are read by the kind of its channel."""

    column: Serial
    """Column: its name in the log."""
    unit: Annotated[str, StringConstraints(max_length=40)] = ""
    """Unit: of the column."""
    ceiling: str | int | float | None = None
    """Ceiling: highest value that the sensor can show, with its unit."""
    floor: str | int | float | None = None
    """Floor: lowest value that the sensor can show, with its unit."""
    resolution: str | int | float | None = None
    """Resolution: smallest step, with its unit."""


class InstrumentSection(Section):
    """An instrument that writes logs."""

    title: Text
    """Title: in words."""
    gauge_above_inlet: Annotated[SourcedValue, Quantity("length", "-5 m", "5 m")] = SourcedValue(
        value=0.0, text="0 m"
    )
    """Gauge above inlet: height of the pressure sensor above the pump inlet."""
    gauge_line_filled: bool = True
    """Gauge line filled: true where fuel stands in the line to the sensor."""
    span: Annotated[SourcedValue, Quantity("pressure", "1 kPa", "1000 kPa")] | None = None
    """Span: of the gauge."""
    accuracy_class: Annotated[SourcedValue, Quantity("number", "0.05", "10")] | None = Field(
        default=None, alias="class"
    )
    """Class: largest error in percent of the span."""
    gauge_place_error: HeightError | None = None
    """Height error: largest error of the gauge's height."""
    gauge_again_error: HeightError | None = None
    """Height error, hung up again: largest change when it is put in its place again."""
    zero_error: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "3 kPa")] | None = None
    """Zero error: largest error of the zero; left out, its largest change over a run."""
    roller: RollerSection | None = None
    """Roller: its errors, where the instrument is one."""
    channels: dict[str, ChannelSection] = Field(min_length=1, max_length=100)
    """Channels: which column is what."""
    dialect: dict[str, str] = Field(default_factory=dict, max_length=20)
    """Dialect: how its files are written, where that cannot be told from them."""


class AmbientSection(Section):
    """Air in the cell."""

    pressure_abs: AmbientPressure
    """Air pressure, absolute: in the cell."""
    temperature: Annotated[SourcedValue, Quantity("temperature", "-50 degC", "70 degC")]
    """Air temperature: at the intake."""
    humidity: Fraction
    """Humidity: relative."""


class ZeroSection(Section):
    """Reading of the depression sensor at rest, before and after the run."""

    before: Zero | None = None
    """Before: depression sensor at rest, before the run."""
    after: Zero | None = None
    """After: depression sensor at rest, after the run."""


class LogSection(Section):
    """One log file of a run."""

    file: Serial
    """File: its name as it came."""
    sha256: Sha256
    """SHA-256: of its bytes."""
    instrument: Id
    """Instrument: that wrote it."""


class CaughtReturnSection(Section):
    """Return fuel caught in a measure."""

    volume: Annotated[SourcedValue, Quantity("volume", "1 mL", "100 L")] | None = None
    """Volume: caught, or its mass."""
    mass: Annotated[SourcedValue, Quantity("mass", "1 g", "100 kg")] | None = None
    """Mass: caught, or its volume."""
    duration: Annotated[SourcedValue, Quantity("duration", "1 s", "3600 s")]
    """Duration: of the catch."""
    temperature: FuelTemperature | None = None
    """Temperature: of the caught fuel."""
    measure: Id | None = None
    """Measure: jug or balance that it was read from."""
    hold: Literal["steady", "pull"] = "steady"
    """Hold: at a steady speed, or over the pull."""
    engine_speed: EngineSpeed | None = None
    """Engine speed: while it was caught."""


class RunSection(Section):
    """One pull with its logs and notes."""

    number: int = Field(ge=1, le=1_000_000)
    """Number: of the run, never used twice."""
    kits: list[Id] = Field(max_length=20)
    """Kits: let into the line; none is the baseline."""
    session: Name
    """Session: runs are compared inside one."""
    started: datetime
    """Started: date and time with offset."""
    role: Literal["warm_up", "compare", "loaded", "control"]
    """Role: warm-up, compared, with loaded elements, or positive control."""
    setup: Name
    """Set-up: a new one each time hose was cut or moved."""
    fuel: Id
    """Fuel: of the case."""
    ambient: AmbientSection
    """Air: in the cell."""
    fuel_level: FuelLevel
    """Fuel level: share of the tank, or litres."""
    zero: ZeroSection = ZeroSection()
    """Zero: of the depression sensor."""
    elements: dict[str, Serial] = Field(default_factory=dict, max_length=100)
    """Elements: serial number by element."""
    loading: dict[str, Loading] = Field(default_factory=dict, max_length=100)
    """Loading: captured mass by element."""
    logs: list[LogSection] = Field(default_factory=list, max_length=50)
    """Logs: files as they came."""
    caught_return: CaughtReturnSection | None = None
    """Caught return: fuel caught in a measure."""
    note: Text = ""
    """Note: what a reader must know."""
