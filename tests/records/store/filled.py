"""A database with something of every kind in it."""

from datetime import UTC, date, datetime
from pathlib import Path

from feedproof.records.store.kinds import ChannelColumn, FieldReading, Instrument, Settings
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

COLUMNS = ("Time", "Depression")
UNITS = ("s", "kPa")
CHANNELS = {
    "time": ChannelColumn(column="Time", unit="s"),
    "inlet_depression": ChannelColumn(column="Depression", unit="kPa", ceiling="60 kPa"),
}
GAUGE = Instrument(
    id="gauge",
    title="Pressure gauge, invented",
    serial="A-17",
    calibrated=date(2026, 1, 10),
    due=date(2027, 1, 10),
    certificate="C-1",
)


def signed(day: int = 1, who: str = "Ann", why: str = "first entry") -> Signed:
    """Sign on a day of March."""
    return Signed(who=who, why=why, when=datetime(2026, 3, day, 12, tzinfo=UTC))


def reading(depression: str = "12 kPa", vehicle: str = "Truck 7, invented") -> FieldReading:
    """Make an invented reading."""
    return FieldReading.typed(
        vehicle=vehicle,
        check_point="80 km/h, full load",
        read_on=date(2026, 2, 3),
        depression=depression,
        distance="45210 km",
        fuel_temperature="31 degC",
        element_serial="E-3",
    )


def fill(store: Store) -> str:
    """Put something of every kind in; give the id of the field reading."""
    store.keep_instrument(GAUGE, signed())
    store.remember_mapping("gauge", COLUMNS, CHANNELS, signed(), units=UNITS)
    store.keep_settings(Settings(units={"pressure": "inHg"}, decimal_comma=True), signed())
    return store.keep_reading(reading(), signed()).subject


def archive_file(path: Path) -> Path:
    """Write an invented archive of repeatability with one session."""
    from feedproof.records.archive import ArchiveFile
    from tests.evidence.archives.archive_sessions import session_data

    file = ArchiveFile(path)
    file.add(session_data(), who="Ann \u2028 with a line separator", when=signed(2).when)
    return path
