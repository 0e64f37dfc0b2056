"""A bus log as the text that the one reader of logs takes: a column for each signal."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from feedproof.core.errors import InputError
from feedproof.records.buslog.blf import read_blf
from feedproof.records.buslog.extract import extract
from feedproof.records.buslog.frames import BusLog, FrameKey
from feedproof.records.buslog.lines import READERS, form_of
from feedproof.records.buslog.obd import PIDS, ObdLog, is_obd, read_obd
from feedproof.records.buslog.own_dbc import checked_dbc
from feedproof.records.buslog.signals import Places, SignalPlace, load_places, source_of
from feedproof.records.buslog.told import log_warnings, obd_told, unknown_told
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.frames import write_frame
from feedproof.records.logs.sparse import TIME, FloatArray, Series, on_one_clock

_TIME_DIGITS = 6
"""Digits of a second that are kept: candump and ASC write as many, a double of 1970 holds more."""


@dataclass(slots=True)
class _Found:
    """One signal from one sender."""

    place: SignalPlace
    sender: str
    times: list[FloatArray] = field(default_factory=list)
    values: list[FloatArray] = field(default_factory=list)
    masked: int = 0
    short: int = 0


def as_text(path: Path, hints: Mapping[str, str], target: Path) -> Dialect:
    """
    Write a bus log as text.

    Parameters
    ----------
    path : Path
        Log in candump's form, ASC or BLF; its first bytes say which.
    hints : mapping of str to str
        ``dbc`` names a DBC of the user, ``dbc_sha256`` its hash.
    target : Path
        Text to write.

    Returns
    -------
    Dialect
        Form of the text; its notes name every signal with its rate, and what was not understood.

    Raises
    ------
    InputError
        A damaged file, a DBC that cannot be read, or no signal that is understood.
    """
    places = load_places(checked_dbc(hints))
    log, kind = _frames(path, places)
    found, empty = _signals(log, places)
    obd = read_obd(log)
    series = [*_as_series(found, log.first_s), *_obd_series(obd, log.first_s)]
    notes = [*log.notes, *_buses(log), *places.notes]
    notes += [*obd_told(obd), *unknown_told(log)]
    notes += [f"{each.place.name}{each.sender}: only error or not available" for each in empty]
    if not series:
        raise InputError.at(
            "file",
            f"holds {log.frames} frames and none that is understood. {'; '.join(notes)}.",
            'Name a DBC that fits the vehicle: dbc = "..." in the instrument\'s dialect.',
        )
    frame, told = on_one_clock(series, 0.0)
    dialect = write_frame(
        frame,
        target,
        kind=kind,
        units={TIME: "s", **{each.name: each.unit for each in series}},
        notes=(f"form: {kind}", *notes, *told),
        hints={},
    )
    return replace(dialect, sparse=True, warnings=(*log_warnings(log), *places.warnings))


def _frames(path: Path, places: Places) -> tuple[BusLog, str]:
    """Read the frames by the reader of the file's form."""
    log = BusLog(wanted=lambda code, ext: is_obd(code, ext) or places.of(code, ext) is not None)
    with path.open("rb") as file:
        binary = file.read(4) == b"LOGG"
    kind = "BLF" if binary else form_of(path)
    if binary:
        read_blf(path, log)
    else:
        READERS[kind](path, log)
    if not log.frames:
        line, text = log.broken[0] if log.broken else (1, "nothing")
        raise InputError.at(
            f"line {line}", f"no line holds a frame; here stands {text!r}.", "Export the log again."
        )
    return log, kind


def _signals(log: BusLog, places: Places) -> tuple[list[_Found], list[_Found]]:
    """Read every signal of every sender; apart those that never had a value."""
    by_name: dict[tuple[str, str], _Found] = {}
    senders: defaultdict[str, set[str]] = defaultdict(set)
    for extended in (False, True):
        for key, stream in log.of(extended):
            message = places.of(key.identifier, extended)
            if message is None:
                continue
            times, payload, lengths = stream.arrays()
            for place in message.signals:
                sender = _sender(key, message.group is not None)
                entry = by_name.setdefault((place.name, sender), _Found(place, sender))
                got = extract(place, payload, lengths)
                entry.masked += got.masked
                entry.short += got.short
                if got.values.size:
                    entry.times.append(times[got.taken])
                    entry.values.append(got.values)
                    senders[place.name].add(sender)
    some = [each for each in by_name.values() if each.times]
    for each in some:
        # A name stays plain while one sender only gives it.
        if len(senders[each.place.name]) == 1:
            each.sender = ""
    return some, [each for each in by_name.values() if not each.times]


def _sender(key: FrameKey, j1939: bool) -> str:
    """Say who sent a frame, for names that several give."""
    who = f"source {source_of(key.identifier):02X}" if j1939 else f"identifier {key}"
    return f" from {who} on {key.interface}"


def _as_series(found: list[_Found], start_s: float) -> list[Series]:
    """Join the frames of one sender by time."""
    series = []
    for each in found:
        times, values = np.concatenate(each.times), np.concatenate(each.values)
        order = np.argsort(times, kind="stable")
        remarks = [each.place.remark] if each.place.remark else []
        if each.masked:
            remarks.insert(0, f"{each.masked} of error or not available left out")
        if each.short:
            remarks.append(f"{each.short} frames too short for it")
        series.append(
            Series(
                name=f"{each.place.name}{each.sender}",
                unit=each.place.unit,
                times=np.round(times[order] - start_s, _TIME_DIGITS),
                values=values[order],
                remark="; ".join(remarks),
            )
        )
    return series


def _obd_series(obd: ObdLog, start_s: float) -> list[Series]:
    """Give the answers of OBD-II, apart for each control unit where several answer."""
    units: defaultdict[int, set[tuple[str, int]]] = defaultdict(set)
    for each in obd.readings:
        units[each.pid].add((each.interface, each.unit_identifier))
    series = []
    for each in obd.readings:
        entry = PIDS[each.pid]
        several = len(units[each.pid]) > 1
        sender = f" from {each.unit_identifier:03X} on {each.interface}" if several else ""
        series.append(
            Series(
                name=f"{entry.name} (PID {each.pid:02X}){sender}",
                unit=entry.unit,
                times=np.round(np.array(each.times) - start_s, _TIME_DIGITS),
                values=np.array(each.values),
                remark="scale from memory" if each.pid == 0x22 else "",
            )
        )
    return series


def _buses(log: BusLog) -> list[str]:
    """Say how many frames there are, on which buses."""
    return [
        f"{log.frames} frames on {', '.join(log.interfaces())}, the first at {log.first_s:.6f} s,"
        " which is 0 in column time"
    ]
