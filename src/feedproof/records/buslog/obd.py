"""
OBD-II, service 01: requests and replies in a bus log, by the table of the parameters.

Source of the scalings: public secondary tables; the standard itself was not seen.  The scale of
PID 22 is from memory.  What is not understood (replies in several frames, parameters without an
entry, refusals) is counted and told, never guessed.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from feedproof.records.buslog.frames import BusLog, FrameKey

FUNCTIONAL = 0x7DF
REQUESTS = range(0x7E0, 0x7E8)
REPLIES = range(0x7E8, 0x7F0)
BITMAPS = (0x00, 0x20, 0x40, 0x60)
ANSWER_S = 1.0
"""Longest time after its request at which a reply is taken for its answer (own rule)."""
_CURRENT_DATA = 0x01
_REPLY = 0x40
_REFUSAL = 0x7F


@dataclass(frozen=True, slots=True, kw_only=True)
class Pid:
    """
    One parameter of service 01.

    Parameters
    ----------
    name : str
        In words.
    length : int
        Bytes of its data.
    scale, offset : float
        Value = bytes as a whole number times scale, plus offset.
    unit : str
        Of the value.
    """

    name: str
    length: int
    scale: float
    offset: float
    unit: str


PIDS: Mapping[int, Pid] = {
    number: Pid(name=name, length=length, scale=scale, offset=offset, unit=unit)
    for number, name, length, scale, offset, unit in (
        (0x04, "calculated load", 1, 100 / 255, 0.0, "%"),
        (0x05, "coolant temperature", 1, 1.0, -40.0, "degC"),
        (0x0A, "fuel pressure, gauge from 0", 1, 3.0, 0.0, "kPa"),
        (0x0B, "manifold pressure, absolute", 1, 1.0, 0.0, "kPa"),
        (0x0C, "engine speed", 2, 0.25, 0.0, "rpm"),
        (0x0D, "vehicle speed", 1, 1.0, 0.0, "km/h"),
        (0x0F, "intake temperature", 1, 1.0, -40.0, "degC"),
        (0x10, "air mass flow", 2, 0.01, 0.0, "g/s"),
        (0x22, "rail pressure relative to the manifold", 2, 0.079, 0.0, "kPa"),
        (0x23, "rail pressure, gauge", 2, 10.0, 0.0, "kPa"),
        (0x33, "barometric pressure", 1, 1.0, 0.0, "kPa"),
        (0x46, "ambient air temperature", 1, 1.0, -40.0, "degC"),
        (0x59, "rail pressure, absolute", 2, 10.0, 0.0, "kPa"),
        (0x5C, "oil temperature", 1, 1.0, -40.0, "degC"),
        (0x5E, "engine fuel rate", 2, 0.05, 0.0, "L/h"),
        (0x61, "demanded torque", 1, 1.0, -125.0, "%"),
        (0x62, "actual torque", 1, 1.0, -125.0, "%"),
        (0x63, "reference torque", 2, 1.0, 0.0, "N m"),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PidReadings:
    """
    Readings of one parameter from one control unit.

    Parameters
    ----------
    interface : str
        Name of the bus.
    unit_identifier : int
        Identifier of the replies.
    pid : int
        Number of the parameter.
    times, values : tuple of float
        Times of the replies and values in the unit of `PIDS`. [s], [unit]
    """

    interface: str
    unit_identifier: int
    pid: int
    times: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(slots=True)
class ObdLog:
    """
    What the OBD frames of a log say.

    Parameters
    ----------
    readings : list of PidReadings
        Sorted by bus, control unit and parameter.
    supported : dict of (str, int) to set of int
        Parameters that a control unit says it has, by bus and identifier.
    latencies_s : list of float
        Time from request to reply. [s]
    replies : int
        Replies of service 01 that were understood.
    unasked, unanswered : int
        Replies without a request in the log; requests without any reply.
    several : int
        Replies of several frames.
    unknown : Counter of int
        Replies by parameters that have no entry.
    refused : Counter of (int, int)
        Refusals, by service and code.
    malformed : int
        Replies whose length does not fit.
    other : int
        Frames of other services and of flow control.
    """

    readings: list[PidReadings] = field(default_factory=list)
    supported: dict[tuple[str, int], set[int]] = field(default_factory=dict)
    latencies_s: list[float] = field(default_factory=list)
    replies: int = 0
    unasked: int = 0
    unanswered: int = 0
    several: int = 0
    unknown: "Counter[int]" = field(default_factory=Counter)
    refused: "Counter[tuple[int, int]]" = field(default_factory=Counter)
    malformed: int = 0
    other: int = 0


@dataclass(slots=True)
class _Asked:
    """A request that waits for replies."""

    time_s: float
    answered: bool = False


def is_obd(identifier: int, extended: bool) -> bool:
    """
    Say whether an identifier belongs to OBD-II on 11 bits.

    Parameters
    ----------
    identifier : int
        Without flags.
    extended : bool
        True for 29 bits.

    Returns
    -------
    bool
        True for requests to all, requests to one control unit, and replies.
    """
    return not extended and (identifier == FUNCTIONAL or 0x7E0 <= identifier <= 0x7EF)


def decode(pid: int, data: bytes) -> float:
    """
    Scale the data of a reply.

    Parameters
    ----------
    pid : int
        Number of the parameter.
    data : bytes
        As many as its entry says.

    Returns
    -------
    float
        Value in the unit of the entry.

    Examples
    --------
    >>> decode(0x0C, bytes([0x1A, 0xF8]))
    1726.0
    """
    entry = PIDS[pid]
    return int.from_bytes(data[: entry.length], "big") * entry.scale + entry.offset


def read_obd(log: BusLog) -> ObdLog:
    """
    Pair requests with replies and scale what the replies hold.

    Parameters
    ----------
    log : BusLog
        With the frames of the OBD identifiers among its streams.

    Returns
    -------
    ObdLog
        Readings, each at the time of its reply, and all that was not understood.
    """
    found = ObdLog()
    taken: dict[tuple[str, int, int], tuple[list[float], list[float]]] = {}
    waiting: dict[tuple[str, int, int], _Asked] = {}
    for time_s, key, data in _in_order(log):
        if key.identifier in REPLIES:
            _reply(time_s, key, data, found, taken, waiting)
        else:
            _request(time_s, key, data, found, waiting)
    found.unanswered += sum(not asked.answered for asked in waiting.values())
    for (interface, unit, pid), (times, values) in sorted(taken.items()):
        found.readings.append(
            PidReadings(
                interface=interface,
                unit_identifier=unit,
                pid=pid,
                times=tuple(times),
                values=tuple(values),
            )
        )
    return found


def _in_order(log: BusLog) -> list[tuple[float, FrameKey, bytes]]:
    """Give all OBD frames by time, each cut to the bytes that it had."""
    events: list[tuple[float, FrameKey, bytes]] = []
    for key, stream in log.of(extended=False):
        if not is_obd(key.identifier, False):
            continue
        times, payload, lengths = stream.arrays()
        cut = np.minimum(lengths, 8)
        events += [
            (float(t), key, bytes(row[:n])) for t, row, n in zip(times, payload, cut, strict=True)
        ]
    # Requests stand before replies of the same time.
    events.sort(key=lambda event: (event[0], event[1].identifier in REPLIES))
    return events


def _request(
    time_s: float,
    key: FrameKey,
    data: bytes,
    found: ObdLog,
    waiting: dict[tuple[str, int, int], _Asked],
) -> None:
    """Remember what was asked."""
    if len(data) < 3 or data[0] >> 4 or data[1] != _CURRENT_DATA or len(data) < data[0] + 1:
        found.other += 1
        return
    target = 0 if key.identifier == FUNCTIONAL else key.identifier + 8
    for pid in data[2 : data[0] + 1]:
        before = waiting.get((key.interface, target, pid))
        if before is not None and not before.answered:
            found.unanswered += 1
        waiting[key.interface, target, pid] = _Asked(time_s)


def _reply(
    time_s: float,
    key: FrameKey,
    data: bytes,
    found: ObdLog,
    taken: dict[tuple[str, int, int], tuple[list[float], list[float]]],
    waiting: dict[tuple[str, int, int], _Asked],
) -> None:
    """Take a reply of one frame; count all others."""
    kind = data[0] >> 4 if data else 15
    if kind == 1:
        found.several += 1
        return
    if kind in (2, 3):  # what follows a first frame, and flow control
        return
    content = data[1 : 1 + (data[0] & 15)] if data else b""
    if kind or len(data) < 1 + (data[0] & 15) or len(content) < 2:
        found.malformed += 1
        return
    if content[0] == _REFUSAL:
        found.refused[content[1], content[2] if len(content) > 2 else 0] += 1
        return
    if content[0] != _REPLY + _CURRENT_DATA:
        found.other += 1
        return
    rest = content[1:]
    # A request may name up to six parameters; their answers stand one after the other.
    while rest:
        pid = rest[0]
        length = 4 if pid in BITMAPS else PIDS[pid].length if pid in PIDS else 0
        if not length:
            found.unknown[pid] += 1
            _answered(time_s, key, pid, found, waiting, count=False)
            return
        if len(rest) < 1 + length:
            found.malformed += 1
            return
        part, rest = rest[1 : 1 + length], rest[1 + length :]
        _answered(time_s, key, pid, found, waiting, count=True)
        if pid in BITMAPS:
            bits = int.from_bytes(part, "big")
            known = found.supported.setdefault((key.interface, key.identifier), set())
            known |= {pid + 1 + k for k in range(32) if bits >> (31 - k) & 1}
            continue
        times, values = taken.setdefault((key.interface, key.identifier, pid), ([], []))
        times.append(time_s)
        values.append(decode(pid, part))


def _answered(
    time_s: float,
    key: FrameKey,
    pid: int,
    found: ObdLog,
    waiting: dict[tuple[str, int, int], _Asked],
    *,
    count: bool,
) -> None:
    """Find the request of a reply."""
    found.replies += count
    for target in (key.identifier, 0):
        asked = waiting.get((key.interface, target, pid))
        if asked is not None and time_s - asked.time_s <= ANSWER_S:
            asked.answered = True
            found.latencies_s.append(time_s - asked.time_s)
            return
    found.unasked += 1
