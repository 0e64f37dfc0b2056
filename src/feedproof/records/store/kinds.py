"""What the database keeps, as frozen records, and how each is laid into its columns."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any, Generic, TypeVar

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.core.units import parse_quantity

T = TypeVar("T")
# Common practice (no source): what lies outside was read or typed in another unit.
_READ = {
    "depression": ("pressure", "-5 kPa", "100 kPa"),
    "distance": ("length", "0 km", "10000000 km"),
    "fuel temperature": ("temperature", "-60 degC", "120 degC"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    One row: who kept it, when, why and what it replaces.

    Parameters
    ----------
    kind, subject : str
        Table, and what the row is about.
    seq : int
        Number of the row in its table, from 1. [-]
    action : str
        ``kept``, ``deleted``, ``undone`` or ``purged``.
    supersedes : str
        Hash of the row that it replaces; empty for the first about its subject.
    who, at, why : str
        By whom, when (UTC) and the reason given.
    sha256 : str
        Hash of the row.
    """

    kind: str
    subject: str
    seq: int
    action: str
    supersedes: str
    who: str
    at: str
    why: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept(Generic[T]):
    """
    A record with the row that holds it.

    Parameters
    ----------
    record : object
        What is kept.
    row : Row
        Who, when, why.
    """

    record: T
    row: Row


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """
    An instrument of the workshop.

    Parameters
    ----------
    id : str
        Name in the workshop, as cases use it.
    title, serial : str
        What it is, and its serial number.
    calibrated, due : date or None
        Day of the last calibration, and the day by which it must be calibrated again.
    certificate : str
        Number of the certificate.
    """

    id: str
    title: str
    serial: str = ""
    calibrated: date | None = None
    due: date | None = None
    certificate: str = ""

    def fault_on(self, day: date) -> str:
        """
        Say why the instrument is out of calibration on a day.

        Parameters
        ----------
        day : date
            Such as that of a run.

        Returns
        -------
        str
            Empty when nothing speaks against it.
        """
        if self.calibrated is not None and day < self.calibrated:
            return f"its calibration is of {self.calibrated}, after {day}"
        if self.due is not None and day > self.due:
            return f"it was due for calibration on {self.due}, before {day}"
        return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelColumn:
    """
    What one column of a log means, in the words of a case's ``[instrument.*.channels]``.

    Parameters
    ----------
    column, unit : str
        Header of the column and its unit.
    ceiling, floor, resolution : str
        As in the case; empty when not given.
    """

    column: str
    unit: str = ""
    ceiling: str = ""
    floor: str = ""
    resolution: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedMapping:
    """
    What the columns of an instrument's logs mean, learned for one shape of header.

    Parameters
    ----------
    instrument, shape : str
        The instrument's id and the hash of its header (`header_shape`).
    channels : mapping of str to ChannelColumn
        Columns by channel.
    dialect : mapping of str to str
        Hints about the form of its logs, as in a case.
    """

    instrument: str
    shape: str
    channels: Mapping[str, ChannelColumn]
    dialect: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveLine:
    """
    One line of the archive of repeatability, letter by letter.

    Parameters
    ----------
    line : str
        Without its end of line.
    """

    line: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldReading:
    """
    A reading of the gauge on a vehicle in use.

    Parameters
    ----------
    vehicle, check_point : str
        Label of the vehicle, and at which stated speed and load it was read.
    read_on : date
        Day.
    depression_pa, distance_m, fuel_temperature_k : float or None
        The reading, distance driven so far and fuel temperature; None where not noted.
        [Pa], [m], [K]
    depression_text, distance_text, fuel_temperature_text : str
        The same as they were typed, with their units.
    element_serial : str
        Serial number of the element.
    kits, gauge : str
        What is fitted, and the instrument that was read, by their ids.
    """

    vehicle: str
    check_point: str
    read_on: date
    depression_pa: float
    depression_text: str
    distance_m: float | None = None
    distance_text: str = ""
    fuel_temperature_k: float | None = None
    fuel_temperature_text: str = ""
    element_serial: str = ""
    kits: str = ""
    gauge: str = ""

    @classmethod
    def typed(
        cls,
        *,
        vehicle: str,
        check_point: str,
        read_on: date,
        depression: str,
        distance: str = "",
        fuel_temperature: str = "",
        element_serial: str = "",
        kits: str = "",
        gauge: str = "",
    ) -> "FieldReading":
        """
        Make a reading from what somebody typed.

        Parameters
        ----------
        vehicle, check_point : str
            Vehicle and point.
        read_on : date
            Day.
        depression, distance, fuel_temperature : str
            Numbers with their units, such as ``12 kPa``; the last two may be empty.
        element_serial : str
            Serial number of the element.
        kits, gauge : str
            What is fitted, and the instrument that was read.

        Returns
        -------
        FieldReading
            In SI, beside what was typed.

        Raises
        ------
        InputError
            Every value that cannot be read.
        """
        faults: list[Finding] = []
        values = [
            _typed_value(place, text, faults)
            for place, text in (
                ("depression", depression),
                ("distance", distance),
                ("fuel temperature", fuel_temperature),
            )
        ]
        if not depression.strip():
            faults.append(error("depression", "is empty.", "Give the reading: 12 kPa."))
        if faults:
            raise InputError(faults)
        return cls(
            vehicle=vehicle,
            check_point=check_point,
            read_on=read_on,
            depression_pa=values[0] or 0.0,
            depression_text=depression,
            distance_m=values[1],
            distance_text=distance,
            fuel_temperature_k=values[2],
            fuel_temperature_text=fuel_temperature,
            element_serial=element_serial,
            kits=kits,
            gauge=gauge,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """
    How somebody wants things shown.

    Parameters
    ----------
    units : mapping of str to str
        Unit by kind of quantity, such as ``pressure`` to ``inHg``.
    decimal_comma : bool
        Write 1,5 for 1.5.
    dark_mode : bool or None
        None follows the system.
    """

    units: Mapping[str, str] = field(default_factory=dict)
    decimal_comma: bool = False
    dark_mode: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexedCase:
    """
    What the index knows of a case.

    Parameters
    ----------
    path : str
        Folder of the case.
    title, vehicle : str
        As the case says; empty where it cannot be used.
    document_sha256 : str
        Hash of ``case.toml``.
    kits : str
        Their ids, parted by blanks.
    proof, answer : str
        Id of the last proof, and what it came to for each configuration.
    fault : str
        Why the case cannot be used; empty when it can.
    indexed : str
        When, in UTC.
    """

    path: str
    title: str
    vehicle: str
    document_sha256: str
    kits: str
    proof: str
    answer: str
    fault: str
    indexed: str


def content_of(record: object) -> dict[str, Any]:
    """
    Lay a record into the columns of its table.

    Parameters
    ----------
    record : object
        One of this file's.

    Returns
    -------
    dict
        Text, numbers and None by column.
    """
    laid: dict[str, Any] = {}
    for name, value in asdict(record).items():  # type: ignore[call-overload]
        match value:
            case bool():
                laid[name] = int(value)
            case date():
                laid[name] = value.isoformat()
            case dict():
                laid[name] = json.dumps(value, sort_keys=True, ensure_ascii=False)
            case _:
                laid[name] = value
    if isinstance(record, Instrument):
        del laid["id"]  # the subject of its row
        laid |= {name: laid[name] or "" for name in ("calibrated", "due")}
    return laid


def record_of(kind: str, subject: str, content: Mapping[str, Any]) -> Any:
    """
    Read a record from its columns.

    Parameters
    ----------
    kind, subject : str
        Table and subject.
    content : mapping
        Its columns.

    Returns
    -------
    object
        A record of this file.
    """
    values = dict(content)
    match kind:
        case "instruments":
            days = {name: _day(values[name]) for name in ("calibrated", "due")}
            return Instrument(id=subject, **{**values, **days})
        case "mappings":
            channels = {
                name: ChannelColumn(**each) for name, each in json.loads(values["channels"]).items()
            }
            dialect = json.loads(values["dialect"] or "{}")
            return LearnedMapping(**{**values, "channels": channels, "dialect": dialect})
        case "archive_lines":
            return ArchiveLine(**values)
        case "readings":
            values |= {name: values[name] or "" for name in ("kits", "gauge")}
            return FieldReading(**{**values, "read_on": date.fromisoformat(values["read_on"])})
    dark = values["dark_mode"]
    return Settings(
        units=json.loads(values["units"]),
        decimal_comma=bool(values["decimal_comma"]),
        dark_mode=None if dark is None else bool(dark),
    )


def _typed_value(place: str, text: str, faults: list[Finding]) -> float | None:
    """Read one value, or note why it cannot be one."""
    if not text.strip():
        return None
    kind, low, high = _READ[place]
    try:
        value = parse_quantity(text, kind)
        if parse_quantity(low, kind) <= value <= parse_quantity(high, kind):
            return value
        faults.append(error(place, f"{text} is not between {low} and {high}.", "Mend it."))
    except ValueError as fault:
        faults.append(error(place, f"{fault}.", "Give a number with its unit."))
    return None


def _day(text: str) -> date | None:
    """Read a day, or none."""
    return date.fromisoformat(text) if text else None
