"""OBD-II in a log: requests paired with replies; what is not understood is counted, not guessed."""

from collections.abc import Iterable
from pathlib import Path

import can
import pytest

from feedproof.records.buslog.frames import BusLog
from feedproof.records.buslog.lines import read_candump
from feedproof.records.buslog.obd import ObdLog, is_obd, read_obd
from feedproof.records.buslog.told import obd_told
from tests.records.buslog.bus import answer, frame, question, write


def talk(tmp_path: Path, frames: Iterable[can.Message]) -> ObdLog:
    log = BusLog(wanted=is_obd)
    read_candump(write(tmp_path / "talk.log", frames), log)
    return read_obd(log)


def test_a_reply_is_paired_with_its_request(tmp_path: Path) -> None:
    found = talk(
        tmp_path,
        [question(0x0C), answer(0x0C, "1AF8", 0.02), question(0x0C, 0.1), question(0x0D, 0.2)],
    )
    assert found.readings[0].values == (1726.0,)
    assert found.latencies_s == pytest.approx([0.02], abs=1e-5)
    assert (found.replies, found.unasked, found.unanswered) == (1, 0, 2)


def test_a_request_to_one_control_unit_is_answered_by_that_one_only(tmp_path: Path) -> None:
    found = talk(
        tmp_path,
        [question(0x0C, 0.0, 0x7E1), answer(0x0C, "1AF8", 0.02), answer(0x0C, "1AF8", 0.03, 0x7E9)],
    )
    assert (found.replies, found.unasked, found.unanswered) == (2, 1, 0)


def test_a_reply_long_after_its_request_is_not_its_answer(tmp_path: Path) -> None:
    found = talk(tmp_path, [question(0x0C), answer(0x0C, "1AF8", 1.5)])
    assert (found.unasked, found.unanswered) == (1, 1)
    assert found.readings[0].values == (1726.0,)


def test_answers_to_several_parameters_in_one_frame_are_read_in_turn(tmp_path: Path) -> None:
    found = talk(
        tmp_path,
        [frame(0.0, 0x7DF, "03010D0C00000000"), frame(0.01, 0x7E8, "06410D3C0C1AF800")],
    )
    assert {each.pid: each.values for each in found.readings} == {0x0D: (60.0,), 0x0C: (1726.0,)}
    assert (found.unasked, found.unanswered) == (0, 0)


def test_replies_of_several_frames_are_told_and_not_guessed(tmp_path: Path) -> None:
    found = talk(
        tmp_path,
        [
            frame(0.0, 0x7DF, "02010C0000000000"),
            frame(0.01, 0x7E8, "100A410C1AF80D3C"),
            frame(0.02, 0x7E0, "3000000000000000"),
            frame(0.03, 0x7E8, "21331165AAAAAAAA"),
        ],
    )
    assert found.readings == []
    assert found.several == 1
    assert "several frames are not put together: 1" in " ".join(obd_told(found))


def test_refusals_other_services_and_odd_lengths_are_counted(tmp_path: Path) -> None:
    found = talk(
        tmp_path,
        [
            frame(0.0, 0x7E8, "037F011200000000"),
            frame(0.1, 0x7E8, "0443000000000000"),
            frame(0.2, 0x7E8, "03410C1A00000000"),
            frame(0.3, 0x7E8, "04410C"),
            frame(0.4, 0x7E8, "04411F0000000000"),
        ],
    )
    assert found.refused == {(0x01, 0x12): 1}
    assert (found.other, found.malformed) == (1, 2)
    assert found.unknown == {0x1F: 1}
    assert found.readings == []
    told = " ".join(obd_told(found))
    assert "without an entry in the table: 1F (1)" in told
    assert "service 01 code 12 (1)" in told


def test_bitmaps_say_what_was_not_asked_and_what_cannot_be(tmp_path: Path) -> None:
    # Bits from the first parameter on: 0C, 0D and 20 of the first map; 23 of the second.
    found = talk(
        tmp_path,
        [
            answer(0x00, "00180001", 0.0),
            answer(0x20, "20000000", 0.1),
            answer(0x0C, "1AF8", 0.2),
            answer(0x05, "82", 0.3),
            answer(0x5E, "0190", 0.4),
        ],
    )
    assert found.supported == {("can0", 0x7E8): {0x0C, 0x0D, 0x20, 0x23}}
    told = " ".join(obd_told(found))
    assert "was not asked: 0D vehicle speed, 23 rail pressure, gauge" in told
    # 5E lies beyond the maps that were asked for, so that nothing is known of it.
    assert "answers parameters that its bitmap lacks: 05;" in told


def test_a_log_without_obd_says_nothing_of_it() -> None:
    assert obd_told(ObdLog()) == []
