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
    """Kind: by volume."""
    title: Text = ""
    """Title: in words."""
    error: VolumeError
    """Error: largest possible one."""
    step: VolumeError
    """Step: from mark to mark, or of the display."""
    by_eye: bool = True
    """Read by eye: false for a display."""
    left_over: Annotated[SourcedValue, Quantity("volume", "0 mL", "1 L")] | None = None
    """Left over: fuel that stays in hose and jug, at most."""
    reaction: Reaction | None = None
    """Reaction: scatter of one press of the watch."""
    temperature_error: TemperatureError | None = None
    """Temperature error: of the caught fuel's temperature, largest possible one."""


class BalanceSection(Section):
    """A balance on which caught return fuel is weighed."""

    kind: Literal["weighing"]
    """Kind: by mass."""
    title: Text = ""
    """Title: in words."""
    error: MassError
    """Error: largest possible one."""
    step: MassError
    """Step: of the display."""
    left_over: Annotated[SourcedValue, Quantity("mass", "0 g", "1 kg")] | None = None
    """Left over: fuel that stays in the hose, at most."""
    reaction: Reaction | None = None
    """Reaction: scatter of one press of the watch."""


class AirSensorsSection(Section):
    """Barometer and thermometer from which the air of the runs is written down."""

    kind: Literal["air"]
    """Kind: air."""
    title: Text = ""
    """Title: in words."""
    pressure_error: Annotated[SourcedValue, Quantity("pressure", "0.001 kPa", "5 kPa")]
    """Pressure error: of the barometer, largest possible one."""
    temperature_error: TemperatureError
    """Temperature error: of the thermometer, largest possible one."""


AnyMeasure = Annotated[JugSection | BalanceSection | AirSensorsSection, Field(discriminator="kind")]


class RollerSection(Section):
    """Largest errors of a roller, of the reading, and what its torque drifts by in a session."""

    torque_error: PowerError
    """Torque error: of the reading, largest possible one."""
    speed_error: PowerError
    """Speed error: of the reading, largest possible one."""
    drift: Annotated[SourcedValue, Quantity("fraction", "0 %", "10 %")] | None = None
    """Drift: of torque within a session."""
