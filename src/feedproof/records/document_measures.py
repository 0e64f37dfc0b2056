"""What is read by hand, and what instruments are known to be off by, of a case document."""

from typing import Annotated, Literal

from pydantic import Field

from feedproof.core.values import SourcedValue
from feedproof.records.document_section import Section, Text
from feedproof.records.quantity import Quantity

# Errors are the largest possible ones; ranges of sense are the project's own (common practice).
VolumeError = Annotated[SourcedValue, Quantity("volume", "0.01 mL", "1 L")]
MassError = Annotated[SourcedValue, Quantity("mass", "0.01 g", "1 kg")]
# Not above 2 s: no thumb is slower, and a figure in milliseconds without its unit would be.
Reaction = Annotated[SourcedValue, Quantity("duration", "0 s", "2 s")]
TemperatureError = Annotated[SourcedValue, Quantity("temperature_difference", "0.01 K", "20 K")]
PowerError = Annotated[SourcedValue, Quantity("fraction", "0 %", "10 %", above_low=True)]


class JugSection(Section):
    """A measure in which return fuel is caught by volume."""

    kind: Literal["volume"]
    title: Text = ""
    error: VolumeError
    step: VolumeError
    by_eye: bool = True
    left_over: Annotated[SourcedValue, Quantity("volume", "0 mL", "1 L")] | None = None
    reaction: Reaction | None = None
    temperature_error: TemperatureError | None = None


class BalanceSection(Section):
    """A balance on which caught return fuel is weighed."""

    kind: Literal["weighing"]
    title: Text = ""
    error: MassError
    step: MassError
    left_over: Annotated[SourcedValue, Quantity("mass", "0 g", "1 kg")] | None = None
    reaction: Reaction | None = None


class AirSensorsSection(Section):
    """Barometer and thermometer from which the air of the runs is written down."""

    kind: Literal["air"]
    title: Text = ""
    pressure_error: Annotated[SourcedValue, Quantity("pressure", "0.001 kPa", "5 kPa")]
    temperature_error: TemperatureError


AnyMeasure = Annotated[JugSection | BalanceSection | AirSensorsSection, Field(discriminator="kind")]


class RollerSection(Section):
    """Largest errors of a roller, of the reading, and what its torque drifts by in a session."""

    torque_error: PowerError
    speed_error: PowerError
    drift: Annotated[SourcedValue, Quantity("fraction", "0 %", "10 %")] | None = None
