"""What is said of a bus log besides its signals."""

import numpy as np

from feedproof.records.buslog.frames import BusLog, FrameKey
from feedproof.records.buslog.obd import PIDS, ObdLog
from feedproof.records.buslog.signals import group_of

_SHOWN = 12
_PACKETS = (0xEC00, 0xEB00)


def log_warnings(log: BusLog) -> tuple[str, ...]:
    """
    Say what is wrong with a file.

    Parameters
    ----------
    log : BusLog
        As it was read.

    Returns
    -------
    tuple of str
        Lines that cannot be read, error frames, a cut end.
    """
    told = list(log.warnings)
    if log.broken_count:
        first = "; ".join(f"line {line}: {text!r}" for line, text in log.broken)
        more = f" and {log.broken_count - len(log.broken)} more" if log.broken_count > 3 else ""
        told.append(
            f"lines that cannot be read as frames and were left out: {log.broken_count}"
            f" ({first}{more})"
        )
    if log.errors:
        told.append(f"error frames: {log.errors}; look at the wiring and the bit rate")
    return tuple(told)


def unknown_told(log: BusLog) -> list[str]:
    """
    Count what was not understood.

    Parameters
    ----------
    log : BusLog
        As it was read.

    Returns
    -------
    list of str
        Identifiers without an entry, messages of several packets, remote requests.
    """
    told = []
    packets = sum(n for key, n in log.others.items() if _is_packet(key))
    others = {key: n for key, n in log.others.items() if not _is_packet(key)}
    if others:
        most = sorted(others.items(), key=lambda item: (-item[1], item[0].identifier))
        shown = ", ".join(f"{key} ({n})" for key, n in most[:_SHOWN])
        more = f" and {len(most) - _SHOWN} more" if len(most) > _SHOWN else ""
        told.append(
            f"not understood: {sum(others.values())} frames of {len(others)} identifiers"
            f" ({shown}{more})"
        )
    if packets:
        told.append(
            f"messages of several packets (J1939 transport) are not put together: {packets}"
        )
    if log.remotes:
        told.append(f"remote requests: {log.remotes}")
    if log.swapped:
        told.append(f"frames a little earlier than the one before: {log.swapped}; put in order")
    return told


def _is_packet(key: FrameKey) -> bool:
    """Say whether a frame is a part of a longer message of J1939."""
    return key.extended and group_of(key.identifier) in _PACKETS


def obd_told(obd: ObdLog) -> list[str]:
    """
    Say how the control units answered.

    Parameters
    ----------
    obd : ObdLog
        As it was read.

    Returns
    -------
    list of str
        Empty where the log holds no OBD-II.
    """
    told = []
    if obd.replies:
        wait = ""
        if obd.latencies_s:
            middle, most = np.median(obd.latencies_s), max(obd.latencies_s)
            wait = f"; from request to reply {1e3 * middle:.3g} ms, at most {1e3 * most:.3g} ms"
        told.append(
            f"OBD-II service 01: {obd.replies} replies, {obd.unasked} without a request in the log"
            f" (taken by their own bytes), {obd.unanswered} requests without a reply{wait}; a"
            " reading stands at the time of its reply and may be older"
        )
    if obd.several:
        told.append(f"OBD-II replies of several frames are not put together: {obd.several}")
    if obd.unknown:
        shown = ", ".join(f"{pid:02X} ({n})" for pid, n in sorted(obd.unknown.items()))
        told.append(f"OBD-II parameters without an entry in the table: {shown}")
    if obd.refused:
        shown = ", ".join(
            f"service {service:02X} code {code:02X} ({n})"
            for (service, code), n in sorted(obd.refused.items())
        )
        told.append(f"OBD-II refusals: {shown}")
    if obd.malformed:
        told.append(f"OBD-II replies whose length does not fit: {obd.malformed}")
    if obd.other:
        told.append(f"OBD-II frames of other services: {obd.other}")
    return [*told, *_bitmaps(obd)]


def _bitmaps(obd: ObdLog) -> list[str]:
    """Compare what control units say they have with what they were asked."""
    told = []
    for (interface, unit), supported in sorted(obd.supported.items()):
        read = {
            each.pid
            for each in obd.readings
            if (each.interface, each.unit_identifier) == (interface, unit)
        }
        unread = [f"{pid:02X} {PIDS[pid].name}" for pid in sorted(supported - read) if pid in PIDS]
        told.append(
            f"control unit {unit:03X} says that it has {len(supported)} parameters; of those in"
            f" the table it was not asked: {', '.join(unread) or 'none'}"
        )
        top = max(supported, default=0) | 0x1F
        beyond = [f"{pid:02X}" for pid in sorted(read - supported) if pid <= top]
        if beyond:
            told.append(
                f"control unit {unit:03X} answers parameters that its bitmap lacks:"
                f" {', '.join(beyond)}; do not trust them before a look"
            )
    return told
