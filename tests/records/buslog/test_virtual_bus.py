"""Frames that went over a bus: recorded from a virtual one, then read as a log."""

from pathlib import Path

import can
import pytest

from feedproof.records.buslog.frames import BusLog
from feedproof.records.buslog.lines import read_candump
from feedproof.records.buslog.obd import is_obd, read_obd
from tests.records.buslog.bus import WRITERS, answer, question, write
from tests.records.buslog.test_lines import everything

ASKED = {0x0C: "1AF8", 0x0D: "3C", 0x23: "0DAC"}


def test_a_talk_with_a_virtual_control_unit_is_read_from_its_record(tmp_path: Path) -> None:
    record: list[can.Message] = []
    with (
        can.Bus(interface="virtual", channel="talk") as asker,
        can.Bus(interface="virtual", channel="talk") as unit,
        can.Bus(interface="virtual", channel="talk") as recorder,
    ):
        for turn in range(60):
            pid = list(ASKED)[turn % 3]
            asker.send(question(pid))
            asked = unit.recv(timeout=1.0)
            assert asked is not None
            unit.send(answer(asked.data[2], ASKED[asked.data[2]]))
            for _ in range(2):
                heard = recorder.recv(timeout=1.0)
                assert heard is not None
                record.append(heard)
    log = BusLog(wanted=is_obd)
    read_candump(write(tmp_path / "talk.log", record), log)
    found = read_obd(log)
    assert (found.replies, found.unasked, found.unanswered) == (60, 0, 0)
    values = {each.pid: set(each.values) for each in found.readings}
    assert values == {0x0C: {1726.0}, 0x0D: {60.0}, 0x23: {35_000.0}}


@pytest.mark.parametrize("ending", sorted(WRITERS))
def test_a_log_played_again_over_a_virtual_bus_brings_every_frame(
    tmp_path: Path, ending: str
) -> None:
    original = everything()[:300]
    path = write(tmp_path / f"drive{ending}", original)
    with (
        can.Bus(interface="virtual", channel="again") as player,
        can.Bus(interface="virtual", channel="again") as listener,
        can.LogReader(path) as reader,
    ):
        for message in can.MessageSync(reader, timestamps=False, gap=0.0, skip=0.0):
            player.send(message)
        heard = [listener.recv(timeout=1.0) for _ in original]
    assert [(m.arbitration_id, bytes(m.data)) for m in heard if m] == [
        (m.arbitration_id, bytes(m.data)) for m in original
    ]
