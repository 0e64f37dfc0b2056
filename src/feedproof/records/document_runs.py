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
    unit: Annotated[str, StringConstraints(max_length=40)] = ""
    ceiling: str | int | float | None = None
    floor: str | int | float | None = None
    resolution: str | int | float | None = None


class InstrumentSection(Section):
    """An instrument that writes logs."""

    title: Text
    gauge_above_inlet: Annotated[SourcedValue, Quantity("length", "-5 m", "5 m")] = SourcedValue(
        value=0.0, text="0 m"
    )
    gauge_line_filled: bool = True
    span: Annotated[SourcedValue, Quantity("pressure", "1 kPa", "1000 kPa")] | None = None
    accuracy_class: Annotated[SourcedValue, Quantity("number", "0.05", "10")] | None = Field(
        default=None, alias="class"
    )
    gauge_place_error: HeightError | None = None
    gauge_again_error: HeightError | None = None
    zero_error: Annotated[SourcedValue, Quantity("pressure", "0 kPa", "3 kPa")] | None = None
    roller: RollerSection | None = None
    channels: dict[str, ChannelSection] = Field(min_length=1, max_length=100)
    dialect: dict[str, str] = Field(default_factory=dict, max_length=20)


class AmbientSection(Section):
    """Air in the cell."""

    pressure_abs: AmbientPressure
    temperature: Annotated[SourcedValue, Quantity("temperature", "-50 degC", "70 degC")]
    humidity: Fraction


class ZeroSection(Section):
    """Reading of the depression sensor at rest, before and after the run."""

    before: Zero | None = None
    after: Zero | None = None


class LogSection(Section):
    """One log file of a run."""

    file: Serial
    sha256: Sha256
    instrument: Id


class CaughtReturnSection(Section):
    """Return fuel caught in a measure."""

    volume: Annotated[SourcedValue, Quantity("volume", "1 mL", "100 L")] | None = None
    mass: Annotated[SourcedValue, Quantity("mass", "1 g", "100 kg")] | None = None
    duration: Annotated[SourcedValue, Quantity("duration", "1 s", "3600 s")]
    temperature: FuelTemperature | None = None
    measure: Id | None = None
    hold: Literal["steady", "pull"] = "steady"
    engine_speed: EngineSpeed | None = None


class RunSection(Section):
    """One pull with its logs and notes."""

    number: int = Field(ge=1, le=1_000_000)
    kits: list[Id] = Field(max_length=20)
    session: Name
    started: datetime
    role: Literal["warm_up", "compare", "loaded", "control"]
    setup: Name
    fuel: Id
    ambient: AmbientSection
    fuel_level: FuelLevel
    zero: ZeroSection = ZeroSection()
    elements: dict[str, Serial] = Field(default_factory=dict, max_length=100)
    loading: dict[str, Loading] = Field(default_factory=dict, max_length=100)
    logs: list[LogSection] = Field(default_factory=list, max_length=50)
    caught_return: CaughtReturnSection | None = None
    note: Text = ""
