"""What two keys of a case say together: instruments and runs."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from typing import NamedTuple

from feedproof.case.run import Channel
from feedproof.core.findings import Finding
from feedproof.records.lineup import Lineup
from feedproof.records.logs.channels import USUAL_UNITS, kind_of, known_unit
from feedproof.records.logs.hints import HINTS
from feedproof.records.mistakes import Places, did_you_mean
from feedproof.records.names import name_fault
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, entries, named, number, table, text, texts

# The lowest dry-land air pressure to the highest, with room; a depression cannot be larger.
_LARGEST_DEPRESSION_PA = 105_000.0
_LONGEST_SESSION = timedelta(hours=16)


def check_instruments(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check each instrument's channels: names, units, ends, and what kind of pressure they are."""
    del lineup
    for location, _, instrument in named(document, "instrument"):
        for key in table(instrument, "dialect"):
            if key not in HINTS:
                yield places.error(
                    (*location, "dialect", key),
                    "key is not known here.",
                    did_you_mean(key, HINTS),
                )
        channels = table(instrument, "channels")
        if channels and "time" not in channels:
            yield places.error(
                (*location, "channels"), "there is no time channel.", "Name the column of time."
            )
        first: dict[str, str] = {}
        for name, channel in channels.items():
            at = (*location, "channels", name)
            if name not in list(Channel):
                yield places.error(at, "channel is not known.", did_you_mean(name, list(Channel)))
            elif isinstance(channel, dict):
                yield from _check_channel(Channel(name), channel, at, places)
            column = text(channel, "column") if isinstance(channel, dict) else None
            if column is not None and column in first:
                yield places.error(
                    (*at, "column"),
                    f"column {shown(column)} is the channel {first[column]} too.",
                    "One column is one channel.",
                )
            if column is not None:
                first.setdefault(column, name)


def _check_channel(
    channel: Channel, found: Table, at: Location, places: Places
) -> Iterator[Finding]:
    """Check one channel's unit and the ends of its sensor."""
    kind = kind_of(channel)
    unit = text(found, "unit")
    if unit and channel is not Channel.TIME and known_unit(unit, kind) is None:
        hint = ""
        if kind == "pressure":
            hint = " Whether it is absolute or gauge is said by the channel's name, not the unit."
        yield places.error(
            (*at, "unit"),
            f"{shown(unit)} is not a unit that a {channel} channel can have.",
            f"Write one of: {', '.join(USUAL_UNITS.get(kind, ()))}.{hint}",
        )
    ends: dict[str, float] = {}
    for key in ("ceiling", "floor", "resolution"):
        if key not in found:
            continue
        value = number(found, key, kind if key != "resolution" else _step_kind(kind))
        if value is None:
            yield places.error(
                (*at, key),
                f"{shown(found[key])} is no {channel} with a unit.",
                f"Write it with one of: {', '.join(USUAL_UNITS.get(kind, ()))}.",
            )
        else:
            ends[key] = value
    yield from _check_ends(ends, at, places)
    yield from _check_reference(channel, found, ends, at, places)


def _step_kind(kind: str) -> str:
    """Give the kind of a step between readings: a step of temperature is a difference."""
    return "temperature_difference" if kind == "temperature" else kind


def _check_ends(ends: dict[str, float], at: Location, places: Places) -> Iterator[Finding]:
    """Check that floor, ceiling and resolution belong together."""
    floor, ceiling = ends.get("floor"), ends.get("ceiling")
    if floor is not None and ceiling is not None and floor >= ceiling:
        yield places.error(
            (*at, "floor"),
            f"floor {floor:g} is not below ceiling {ceiling:g} (SI).",
            "Swapped?",
        )
    step = ends.get("resolution")
    if step is None:
        return
    span = ceiling - floor if ceiling is not None and floor is not None else None
    if step <= 0.0 or (span is not None and 0.0 < span < step):
        yield places.error(
            (*at, "resolution"),
            f"a step of {step:g} (SI) is not above 0 and below the sensor's span.",
            "Write the smallest step between two readings.",
        )


def _check_reference(
    channel: Channel, found: Table, ends: dict[str, float], at: Location, places: Places
) -> Iterator[Finding]:
    """Find pressures that are declared against the wrong reference."""
    floor, ceiling = ends.get("floor"), ends.get("ceiling")
    words = (text(found, "column") or "").lower().replace(".", " ").split()
    if channel is Channel.INLET_DEPRESSION:
        if ceiling is not None and ceiling <= 0.0:
            yield places.error(
                (*at, "ceiling"),
                f"ceiling {ceiling / 1e3:.1f} kPa, but a depression is positive below ambient.",
                "Write a positive ceiling; a column that reads negative under suction is the"
                " channel inlet_pressure_gauge.",
            )
        elif ceiling is not None and ceiling > _LARGEST_DEPRESSION_PA:
            yield places.warning(
                (*at, "ceiling"),
                f"ceiling {ceiling / 1e3:.1f} kPa is more than air pressure, which no depression"
                " can exceed.",
                "Is the column an absolute pressure (inlet_pressure_abs)?",
            )
        if {"abs", "absolute", "absolut"} & set(words):
            yield places.warning(
                (*at, "column"),
                f"the column's name {shown(text(found, 'column'))} says absolute.",
                "If it is, the channel is inlet_pressure_abs.",
            )
    absolute = channel in (Channel.INLET_PRESSURE_ABS, Channel.AIR_PRESSURE_ABS)
    if absolute and floor is not None and floor < 0.0:
        yield places.error(
            (*at, "floor"),
            f"floor {floor / 1e3:.1f} kPa, but no absolute pressure is negative.",
            "A sensor that reads 0 in open air is gauge: the channel is inlet_pressure_gauge.",
        )
    if channel is Channel.AIR_PRESSURE_ABS and ceiling is not None and ceiling < 50e3:
        yield places.warning(
            (*at, "ceiling"),
            f"ceiling {ceiling / 1e3:.1f} kPa is below any air pressure that roads reach.",
            "Is the column a gauge pressure?",
        )
    if channel is Channel.INLET_PRESSURE_GAUGE and floor is not None and floor >= 0.0:
        yield places.warning(
            (*at, "floor"),
            f"floor {floor / 1e3:.1f} kPa: a gauge sensor without a range below 0 cannot show a"
            " depression.",
            "Is it absolute (inlet_pressure_abs), or a depression (inlet_depression)?",
        )


def check_runs(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check every run against the case, then the runs against each other."""
    runs = list(entries(document, "run"))
    for location, run in runs:
        yield from lineup.check_fuel(run, location, places)
        yield from lineup.check_level(run, location, places)
        yield from _check_line(run, location, lineup, places)
        yield from _check_logs(run, location, lineup, places)
        started = run.get("started")
        if isinstance(started, datetime) and started.tzinfo is None:
            yield places.error(
                (*location, "started"),
                f"{started.isoformat()} has no offset.",
                f"Write it with one, such as {started.isoformat()}+02:00.",
            )
    yield from _check_numbers(runs, places)
    yield from _check_shared_logs(runs, places)
    yield from _check_order(document, runs, places)


def _check_line(
    run: Table, location: Location, lineup: Lineup, places: Places
) -> Iterator[Finding]:
    """Check a run's kits and the elements that it names."""
    kits = texts(run, "kits")
    for position, name in enumerate(kits):
        at = (*location, "kits", position)
        if name not in lineup.kits:
            yield places.error(
                at, f"the case has no kit {shown(name)}.", did_you_mean(name, lineup.kits)
            )
        elif name in kits[:position]:
            yield places.error(at, f"kit {shown(name)} is named twice.", "Name it once.")
    missing = lineup.missing_place(kits)
    if missing is not None:
        yield places.error(
            (*location, "kits"),
            f"kit {shown(missing[0])} stands next to {shown(missing[1])}, which is not in this"
            " line.",
            "Name the kit that brings it first.",
        )
    elements = lineup.elements_with(kits)
    for name in table(run, "elements"):
        if name not in elements:
            yield places.error(
                (*location, "elements", name),
                f"{shown(name)} is no element of this run's line.",
                did_you_mean(name, elements),
            )
    yield from lineup.check_loading(run, location, elements, places)


def _check_logs(
    run: Table, location: Location, lineup: Lineup, places: Places
) -> Iterator[Finding]:
    """Check the names and instruments of a run's logs."""
    if not run.get("logs"):
        yield places.warning(
            (*location, "logs"), "the run has no log.", "Only its caught return can be judged."
        )
    for at, log in entries(run, "logs", location):
        instrument = text(log, "instrument")
        if instrument is not None and instrument not in lineup.instruments:
            yield places.error(
                (*at, "instrument"),
                f"the case has no instrument {shown(instrument)}.",
                did_you_mean(instrument, lineup.instruments),
            )
        fault = name_fault(text(log, "file") or "log")
        if fault:
            yield places.error(
                (*at, "file"),
                f"{shown(log['file'])} {fault}.",
                "Write the name of the file alone, without folders.",
            )


def _check_numbers(runs: list[tuple[Location, Table]], places: Places) -> Iterator[Finding]:
    """Find run numbers that are used twice."""
    first: dict[int, Location] = {}
    for location, run in runs:
        found = run.get("number")
        if not isinstance(found, int):
            continue
        if found in first:
            yield places.error(
                (*location, "number"),
                f"run number {shown(found)} is used before, at {places.place(first[found])}.",
                "Give each run the number of its sheet.",
            )
        first.setdefault(found, location)


def _check_shared_logs(runs: list[tuple[Location, Table]], places: Places) -> Iterator[Finding]:
    """Find a log that stands for two measurements."""
    first: dict[str, Location] = {}
    for location, run in runs:
        for at, log in entries(run, "logs", location):
            found = text(log, "sha256")
            if found is None:
                continue
            if found in first:
                yield places.error(
                    (*at, "sha256"),
                    f"the log {shown(log.get('file'))} is the same bytes as the log of"
                    f" {places.place(first[found])}.",
                    "One log is one measurement: name the right file.",
                )
            first.setdefault(found, at)


class _Start(NamedTuple):
    """When a run of a session began."""

    started: datetime
    number: int
    location: Location


def _check_order(
    document: Table, runs: list[tuple[Location, Table]], places: Places
) -> Iterator[Finding]:
    """Find runs of one session that overlap, or whose numbers and times disagree."""
    sessions: dict[str, list[_Start]] = {}
    for location, run in runs:
        session, started, index = text(run, "session"), run.get("started"), run.get("number")
        if session is None or not isinstance(started, datetime) or not isinstance(index, int):
            continue
        if started.tzinfo is not None:
            sessions.setdefault(session, []).append(_Start(started, index, location))
    shortest = _pull_duration(document)
    for session, starts in sessions.items():
        starts.sort()
        for one, two in pairwise(starts):
            gap = two.started - one.started
            at = (*two.location, "started")
            if gap <= shortest:
                yield places.error(
                    at,
                    f"starts {gap.total_seconds():.0f} s after run {one.number} of session"
                    f" {shown(session)}, whose pull takes {shortest.total_seconds():.0f} s.",
                    "Two pulls cannot overlap: check the times.",
                )
            if two.number < one.number:
                yield places.warning(
                    at,
                    f"run {two.number} of session {shown(session)} started after run {one.number}.",
                    "Times give the order; check them against the run sheet.",
                )
        if starts[-1].started - starts[0].started > _LONGEST_SESSION:
            yield places.warning(
                (*starts[-1].location, "session"),
                f"session {shown(session)} spans more than"
                f" {_LONGEST_SESSION.total_seconds() / 3600:.0f} h.",
                "A session is one set-up of the rig on one day; name the next day's otherwise.",
            )


def _pull_duration(document: Table) -> timedelta:
    """Give how long the declared sweep takes, 0 where it cannot be read."""
    pull = table(document, "pull")
    start, stop = number(pull, "start", "speed"), number(pull, "stop", "speed")
    rate = number(pull, "rate", "acceleration")
    if start is None or stop is None or rate is None or rate <= 0.0 or not start < stop < 1e3:
        return timedelta(0)
    return timedelta(seconds=min((stop - start) / rate, 86400.0))
