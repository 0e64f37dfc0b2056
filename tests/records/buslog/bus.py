"""Frames of an invented vehicle, and logs of them by the writers of python-can."""

from collections.abc import Iterable
from pathlib import Path

import can

from feedproof.case.run import Channel, ChannelMap, Instrument

START_S = 1436509052.0
WRITERS = {".log": can.CanutilsLogWriter, ".asc": can.ASCWriter, ".blf": can.BLFWriter}
RAISED = "FF" * 8


def frame(time_s: float, identifier: int, data: str, bus: int = 0) -> can.Message:
    """Give a frame; identifiers of more than three digits have 29 bits."""
    return can.Message(
        timestamp=START_S + time_s,
        arbitration_id=identifier,
        is_extended_id=identifier > 0x7FF,
        data=bytes.fromhex(data),
        channel=bus,
    )


def group_frame(group: int, data: str, time_s: float = 0.0, source: int = 0) -> can.Message:
    """Give a frame of J1939, filled up with FF."""
    return frame(time_s, 6 << 26 | group << 8 | source, (data + RAISED)[:16])


def placed(group: int, first_byte: int, data: str, time_s: float = 0.0) -> can.Message:
    """Give a frame of J1939 with some bytes from a place counted from 1."""
    return group_frame(group, "FF" * (first_byte - 1) + data, time_s)


def answer(pid: int, data: str, time_s: float = 0.0, unit: int = 0x7E8) -> can.Message:
    """Give a reply of service 01."""
    content = f"41{pid:02X}{data}"
    return frame(time_s, unit, f"{len(content) // 2:02X}{content}".ljust(16, "0"))


def question(pid: int, time_s: float = 0.0, target: int = 0x7DF) -> can.Message:
    """Give a request of service 01."""
    return frame(time_s, target, f"0201{pid:02X}0000000000")


def write(path: Path, frames: Iterable[can.Message]) -> Path:
    """Write a log in the form of its ending."""
    with WRITERS[path.suffix](str(path)) as writer:
        for each in frames:
            writer.on_message_received(each)
    return path


def instrument(*channels: tuple[Channel, str], **hints: str) -> Instrument:
    """Describe a bus recorder."""
    return Instrument(
        id="bus",
        title="invented recorder",
        channels=(
            ChannelMap(channel=Channel.TIME, column="time"),
            *(ChannelMap(channel=channel, column=column) for channel, column in channels),
        ),
        dialect=hints,
    )
