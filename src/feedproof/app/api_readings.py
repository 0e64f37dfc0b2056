"""The verbs of field readings, as functions."""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path

from feedproof.app.asking import day_asked
from feedproof.app.record_result import ReadingEntry, ReadingReport
from feedproof.core.errors import FeedproofError, InputError, MissingError
from feedproof.core.findings import Finding, error, warning
from feedproof.records.journal import require_words
from feedproof.records.store.kinds import FieldReading, Kept
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store

_LEAST_DIGITS = 4


def reading_add(
    vehicle: str,
    *,
    check_point: str,
    read_on: str,
    depression: str,
    who: str,
    distance: str = "",
    fuel_temperature: str = "",
    kits: Sequence[str] = (),
    gauge: str = "",
    element: str = "",
    instead_of: str = "",
    why: str = "",
    store: str | Path | None = None,
) -> ReadingReport:
    """
    Keep a reading of the gauge on a vehicle in use, or a correction of one.

    Parameters
    ----------
    vehicle : str
        Label of the vehicle.
    check_point : str
        At which stated speed and load it was read.
    read_on : str
        Day, such as ``2026-03-31``.
    depression : str
        Reading with its unit, such as ``12 kPa``.
    who : str
        Who read it.
    distance, fuel_temperature : str
        Distance driven so far and fuel temperature with their units.
    kits : sequence of str
        Ids of the kits that are fitted.
    gauge, element : str
        Id of the instrument, and serial number of the element.
    instead_of, why : str
        Id of the reading that it corrects, and the reason.
    store : str or Path, optional
        Database.

    Returns
    -------
    ReadingReport
        The vehicle's readings.

    Raises
    ------
    InputError
        Everything that cannot be read, at once.
    MissingError
        There is no such reading to correct.
    WriteError
        Nothing could be written.
    """
    faults: list[Finding] = []
    words = {"vehicle": vehicle, "--at": check_point, "--on": read_on, "--who": who}
    if instead_of:
        words["--why"] = why
    faults += [error(p, "is empty.", "Say it.") for p, text in words.items() if not text.strip()]
    day = day_asked("--on", read_on, faults)
    reading = None
    try:
        reading = FieldReading.typed(
            vehicle=vehicle.strip(),
            check_point=check_point.strip(),
            read_on=day or date.min,
            depression=depression,
            distance=distance,
            fuel_temperature=fuel_temperature,
            element_serial=element,
            kits="+".join(kits),
            gauge=gauge,
        )
    except InputError as fault:
        faults += fault.findings
    if faults or reading is None:
        raise InputError(faults)
    with Store.open(store) as opened:
        told = _doubts(opened, reading, instead_of)
        before = _named(opened, instead_of) if instead_of else None
        opened.keep_reading(
            reading,
            Signed(who=who, why=why),
            instead_of=before.row.subject if before else "",
            seen=before.row.sha256 if before else None,
        )
        return _report(opened, reading.vehicle, told)


def reading_show(vehicle: str = "", *, store: str | Path | None = None) -> ReadingReport:
    """
    Give the readings that stand.

    Parameters
    ----------
    vehicle : str
        Only of this one.
    store : str or Path, optional
        Database.

    Returns
    -------
    ReadingReport
        By day.
    """
    with Store.open(store) as opened:
        return _report(opened, vehicle or None, [])


def reading_withdraw(
    identity: str, *, who: str, why: str, store: str | Path | None = None
) -> ReadingReport:
    """
    Withdraw a reading; it can be brought back for 30 days.

    Parameters
    ----------
    identity : str
        Its id, or the first four digits or more.
    who, why : str
        Who withdraws it, and the reason.
    store : str or Path, optional
        Database.

    Returns
    -------
    ReadingReport
        What stands of the vehicle.

    Raises
    ------
    MissingError
        There is no such reading.
    InputError
        Nobody stands for it, or more than one id begins so.
    """
    require_words({"who": who, "why": why})
    with Store.open(store) as opened:
        found = _named(opened, identity)
        signed = Signed(who=who, why=why)
        opened.delete("readings", found.row.subject, signed, seen=found.row.sha256)
        return _report(opened, found.record.vehicle, [])


def _named(opened: Store, identity: str) -> Kept[FieldReading]:
    """Find a reading by the beginning of its id."""
    word = identity.strip().lower()
    found = [each for each in opened.readings() if each.row.subject.startswith(word)]
    if not found or len(word) < _LEAST_DIGITS:
        raise MissingError.at(
            f"reading {identity}",
            "there is no reading with this id.",
            "See feedproof reading show; give four digits or more.",
        )
    if len(found) > 1:
        raise InputError.at(
            f"reading {identity}", f"{len(found)} ids begin so.", "Give more digits."
        )
    return found[0]


def _doubts(opened: Store, reading: FieldReading, instead_of: str) -> list[Finding]:
    """Say what does not go together with what is known; nothing is refused for it."""
    told = []
    today = datetime.now(UTC).astimezone().date()
    if reading.read_on > today:
        told.append(warning("--on", f"{reading.read_on} is after today, {today}.", "Mend it."))
    earlier = [
        each.record
        for each in opened.readings(reading.vehicle)
        if not (instead_of and each.row.subject.startswith(instead_of.strip().lower()))
    ]
    for other in earlier:
        if reading.distance_m is None or other.distance_m is None:
            continue
        later = other.read_on <= reading.read_on
        if reading.read_on != other.read_on and (other.distance_m > reading.distance_m) == later:
            told.append(
                warning(
                    "--distance",
                    f"{reading.distance_text} on {reading.read_on} does not go with"
                    f" {other.distance_text} on {other.read_on}.",
                    "Mend the wrong one: feedproof reading add --instead-of ID.",
                )
            )
            break
    if reading.gauge:
        try:
            fault = opened.instrument(reading.gauge).record.fault_on(reading.read_on)
        except FeedproofError:
            fault = ""  # Of a gauge that is not registered nothing is said.
        if fault:
            told.append(warning(f"instrument {reading.gauge}", f"{fault}.", "Have it calibrated."))
    return told


def _report(opened: Store, vehicle: str | None, told: Iterable[Finding]) -> ReadingReport:
    """Lay readings out."""
    return ReadingReport(
        format="feedproof-readings",
        version=1,
        store=opened.name,
        readings=tuple(_entry(each) for each in opened.readings(vehicle)),
        findings=tuple(told),
    )


def _entry(kept: Kept[FieldReading]) -> ReadingEntry:
    """Lay one reading out."""
    record, row = kept.record, kept.row
    return ReadingEntry(
        id=row.subject,
        vehicle=record.vehicle,
        kits=record.kits,
        gauge=record.gauge,
        element_serial=record.element_serial,
        check_point=record.check_point,
        read_on=record.read_on.isoformat(),
        depression_pa=record.depression_pa,
        depression=record.depression_text,
        distance_m=record.distance_m,
        distance=record.distance_text,
        fuel_temperature_k=record.fuel_temperature_k,
        fuel_temperature=record.fuel_temperature_text,
        action=row.action,
        who=row.who,
        at=row.at,
        why=row.why,
        sha256=row.sha256,
    )
