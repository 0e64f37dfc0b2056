"""The forms of bus logs: all give the same readings, and a broken line costs only itself."""

from pathlib import Path

import can
import pytest

from feedproof.core.errors import InputError
from feedproof.records.buslog.frames import BusLog
from feedproof.records.buslog.lines import READERS, form_of, read_asc, read_candump
from feedproof.records.buslog.reader import as_text
from feedproof.records.logs import opened
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.kinds import Kind, kind_of_file
from feedproof.records.logs.looking import LogLook, look_at_log
from tests.records.buslog.bus import START_S, answer, frame, placed, question, write

SPEED = [
    placed(61444, 4, f"{raw & 255:02X}{raw >> 8:02X}", 0.01 * i)
    for i, raw in enumerate(range(8000, 9000))
]


def everything() -> list[can.Message]:
    """Give frames of both lengths of identifier, short ones among them."""
    return sorted(
        [
            *SPEED,
            *(question(0x0D, 0.1 * i + 0.0021) for i in range(100)),
            *(answer(0x0D, f"{i:02X}", 0.1 * i + 0.0043) for i in range(100)),
            *(frame(0.1 * i + 0.0051, 0x123, "0341") for i in range(100)),
        ],
        key=lambda each: each.timestamp,
    )


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Spare a process for each file, but where the process itself is tried."""
    if "every_form" not in request.node.name:
        monkeypatch.setattr(opened, "as_text_guarded", here)


def here(_reader: str, path: Path, hints: dict[str, str], target: Path, **_: object) -> Dialect:
    return as_text(path, hints, target)


def look(path: Path) -> LogLook:
    return look_at_log(path, {})


def column(seen: LogLook, name: str) -> tuple[int, float | None, float | None]:
    (found,) = (each for each in seen.columns if each.name == name)
    return found.readings, found.least, found.greatest


def read_lines(form: str, path: Path) -> BusLog:
    log = BusLog(wanted=lambda _code, _extended: True)
    READERS[form](path, log)
    return log


def warned(seen: LogLook) -> str:
    return " ".join(f.message for f in seen.findings if f.level == "warning")


@pytest.mark.parametrize("ending", [".log", ".asc", ".blf"])
def test_every_form_gives_the_same_readings(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / f"drive{ending}", everything())
    assert kind_of_file(path) in (Kind.BUS_TEXT, Kind.BUS_BINARY)
    seen = look(path)
    assert column(seen, "engine speed (SPN 190)") == (1000, 1000.0, 8999 / 8)
    assert column(seen, "vehicle speed (PID 0D)") == (100, 0.0, 99.0)
    assert column(seen, "time")[1:] == (0.0, 9.99)
    assert seen.rows == 1100
    assert any(
        "not understood: 100 frames of 1 identifiers (123 (100))" in n for n in seen.dialect.notes
    )
    assert any("engine speed (SPN 190): 1000 readings, 100 Hz" in n for n in seen.dialect.notes)
    assert warned(seen) == ""


@pytest.mark.parametrize("ending", [".log", ".asc"])
def test_a_broken_line_costs_itself_and_is_told_with_its_number(
    tmp_path: Path, ending: str
) -> None:
    path = write(tmp_path / f"drive{ending}", everything())
    lines = path.read_text().splitlines(keepends=True)
    lines[500] = lines[500][:-9] + "zz\n"
    lines[700] = "\x00\x07 rubbish\n"
    path.write_text("".join(lines))
    seen = look(path)
    assert column(seen, "engine speed (SPN 190)")[0] + column(seen, "vehicle speed (PID 0D)")[
        0
    ] in range(1098, 1101)
    assert "left out: 2 (line 501:" in warned(seen)
    assert "line 701: " in warned(seen)


def test_a_first_line_that_is_broken_hides_nothing(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.log", everything())
    path.write_text("(14365\n" + path.read_text())
    seen = look(path)
    assert column(seen, "engine speed (SPN 190)")[0] == 1000
    assert "line 1: '(14365'" in warned(seen)


def test_a_line_that_the_end_of_the_file_cuts_is_left_out(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.log", SPEED)
    text = path.read_text().rstrip("\n")
    # Cut behind a whole byte, so that the rest looks like a shorter frame.
    path.write_text(text[: text.rindex("#") + 11])
    seen = look(path)
    assert column(seen, "engine speed (SPN 190)")[0] == 999
    assert "left out: 1 (line 1000:" in warned(seen)


def test_the_form_of_candump_for_eyes_is_read_and_its_lengths_are_checked(tmp_path: Path) -> None:
    path = tmp_path / "eyes.log"
    path.write_text(
        " (000.000000)  can0  0CF00400   [8]  FF FF AF F0 35 FF FF FF\n"
        " (000.010000)  can0  0CF00400   [8]  FF FF AF F0 35\n"
        " (000.020000)  can0       7E8   [4]  03 41 0D 3C\n"
    )
    log = read_lines("candump", path)
    assert (log.frames, log.broken_count, log.broken[0][0]) == (2, 1, 2)
    assert {str(key) for key in log.streams} == {"0CF00400", "7E8"}


def test_remote_error_and_fast_frames_are_counted_or_read(tmp_path: Path) -> None:
    path = tmp_path / "mixed.log"
    path.write_text(
        "(1.000000) can0 123#R\n"
        "(1.100000) can0 20000080#0000000000000000\n"
        "(1.200000) can0 0CF00400##1FFFFAFF035FFFFFF00112233 R\n"
    )
    log = read_lines("candump", path)
    assert (log.remotes, log.errors, log.frames, log.broken_count) == (1, 1, 1, 0)


def test_an_identifier_that_no_bus_has_is_told_and_not_taken_for_another(tmp_path: Path) -> None:
    path = tmp_path / "mixed.log"
    path.write_text(
        "(1.000000) can0 7FF#00\n"
        "(1.100000) can0 800#00\n"
        "(1.200000) can0 1FFFFFFF#00\n"
        "(1.300000) can0 40000080#00\n"
    )
    log = read_lines("candump", path)
    assert (log.frames, [line for line, _ in log.broken]) == (2, [2, 4])


def test_asc_of_decimal_numbers_and_fast_frames_is_read(tmp_path: Path) -> None:
    path = tmp_path / "mixed.asc"
    path.write_text(
        "date Mon Sep 14 09:42:00.000 2026\nbase dec  timestamps absolute\n"
        "no internal events logged\n"
        "   0.010000 1  217056256x       Rx   d 8 255 255 175 240 53 255 255 255 Length = 0\n"
        "   0.020000 1  ErrorFrame\n"
        "   0.030000 1  291             Rx   r\n"
        "   0.040000 1  Statistic: D 0 R 0 XD 0\n"
    )
    log = read_lines("ASC", path)
    assert (log.frames, log.errors, log.remotes, log.broken_count) == (1, 1, 1, 0)
    (key,) = log.streams
    assert str(key) == "0CF00400"
    assert bytes(log.streams[key].payload).hex() == "ffffaff035ffffff"
    fast = write(
        tmp_path / "fast.asc",
        [
            can.Message(
                timestamp=START_S,
                arbitration_id=0x0CF00400,
                is_fd=True,
                data=bytes.fromhex("FFFFAFF035FFFFFF00112233"),
            )
        ],
    )
    (key,) = read_lines("ASC", fast).streams
    assert key.identifier == 0x0CF00400


def test_asc_with_times_from_event_to_event_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "relative.asc"
    line = "   {} 1  CF00400x       Rx   d 2 FF FF\n"
    head = "date Mon Sep 14 09:42:00.000 2026\nbase hex  timestamps relative\n"
    path.write_text(head + line.format("0.010000") + line.format("0.009000"))
    with pytest.raises(InputError, match=r"line 4: .*absolute time stamps"):
        read_asc(path, BusLog(wanted=lambda _code, _extended: True))
    path.write_text(head + line.format("0.010000") + line.format("0.020000"))
    log = read_lines("ASC", path)
    assert log.frames == 2
    assert "times count from the start of the recording" in log.notes[0]


def test_a_clock_set_back_is_refused_with_its_line(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.log", SPEED)
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(lines + lines[:10]))
    with pytest.raises(InputError, match="line 1001: the clock goes back"):
        look(path)


def test_two_buses_written_out_of_order_are_put_in_order(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.log", SPEED)
    lines = path.read_text().splitlines(keepends=True)
    lines[100], lines[101] = lines[101], lines[100]
    path.write_text("".join(lines))
    seen = look(path)
    assert column(seen, "engine speed (SPN 190)") == (1000, 1000.0, 8999 / 8)
    assert any("a little earlier than the one before: 1" in n for n in seen.dialect.notes)


def test_a_log_without_a_frame_or_without_a_signal_says_so(tmp_path: Path) -> None:
    empty = tmp_path / "empty.log"
    empty.write_text("(1.0) can0 nothing\n")
    with pytest.raises(InputError, match="line 1: no line holds a frame"):
        as_text(empty, {}, tmp_path / "out")
    strange = write(tmp_path / "strange.log", [frame(0.0, 0x123, "00")])
    with pytest.raises(InputError, match=r"none that is understood.*123 \(1\)"):
        look(strange)


def test_a_binary_log_that_is_cut_is_told(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.blf", everything())
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    # Cut inside the one packed block: nothing can be unpacked, or what was before the cut.
    assert "its end is missing" in warned(look(path))


def test_text_that_only_looks_a_little_like_a_bus_log_stays_text(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("t;p\n0.01;1\n0.02;2\n")
    assert kind_of_file(path) is Kind.TEXT


def test_both_forms_are_told_apart_by_their_lines(tmp_path: Path) -> None:
    for ending, form in ((".log", "candump"), (".asc", "ASC")):
        assert form_of(write(tmp_path / f"x{ending}", SPEED[:3])) == form
    assert read_candump is READERS["candump"]
