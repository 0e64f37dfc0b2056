"""Channels out of a bus log: own times, own rates, senders apart, refusals, a DBC of the case."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from feedproof.case.run import Channel, Instrument
from feedproof.core.errors import InputError
from feedproof.records.buslog.own_dbc import with_dbc
from feedproof.records.buslog.reader import as_text
from feedproof.records.logs import opened
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import LogReading, read_log
from tests.records.buslog.bus import answer, group_frame, instrument, placed, write

ENGINE = (Channel.ENGINE_SPEED, "engine speed (SPN 190)")
ROAD = (Channel.ROAD_SPEED, "wheel-based vehicle speed (SPN 84)")
FUEL = (Channel.FUEL_TEMPERATURE, "fuel temperature (SPN 174)")


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    def here(_reader: str, path: Path, hints: dict[str, str], target: Path, **_: object) -> Dialect:
        return as_text(path, hints, target)

    monkeypatch.setattr(opened, "as_text_guarded", here)


def engine(i: int, source: int = 0) -> object:
    raw = 8 * (1000 + i)
    return group_frame(61444, f"FFFFAF{raw & 255:02X}{raw >> 8:02X}", 0.01 * i, source)


def drive(path: Path) -> Path:
    """Write ten seconds: engine 100 Hz, road speed 10 Hz, temperature 1 Hz, half of it missing."""
    frames = [engine(i) for i in range(1000)]
    frames += [placed(65265, 2, f"00{20 + i // 2:02X}", 0.1 * i + 0.0031) for i in range(100)]
    frames += [placed(65262, 2, "50" if i % 2 else "FF", 1.0 * i + 0.0052) for i in range(10)]
    return write(path, sorted(frames, key=lambda each: each.timestamp))


def warnings(reading: LogReading) -> str:
    return "\n".join(f"{f.place}: {f.message}" for f in reading.findings if f.level == "warning")


def test_each_channel_keeps_its_own_times_and_nothing_is_held_between(tmp_path: Path) -> None:
    log = read_log(drive(tmp_path / "d.log"), instrument(ENGINE, ROAD, FUEL)).log
    engine_speed, road = log.values[Channel.ENGINE_SPEED], log.values[Channel.ROAD_SPEED]
    assert np.isfinite(engine_speed).sum() == 1000
    assert np.isfinite(road).sum() == 100
    assert np.isfinite(log.values[Channel.FUEL_TEMPERATURE]).sum() == 5
    assert log.time_s.size == 1105
    times = log.time_s[np.isfinite(road)]
    assert times == pytest.approx(0.1 * np.arange(100) + 0.0031, abs=1e-9)
    assert road[np.isfinite(road)] * 3.6 == pytest.approx(20 + np.arange(100) // 2)
    assert engine_speed[np.isfinite(engine_speed)] * 60 == pytest.approx(1000 + np.arange(1000))


def test_rows_of_signals_that_are_not_mapped_are_left_out(tmp_path: Path) -> None:
    log = read_log(drive(tmp_path / "d.log"), instrument(FUEL)).log
    assert log.time_s.size == 5
    assert log.values[Channel.FUEL_TEMPERATURE] == pytest.approx(313.15)


def test_a_lively_channel_that_comes_too_seldom_is_warned_of_and_a_slow_one_is_not(
    tmp_path: Path,
) -> None:
    told = warnings(read_log(drive(tmp_path / "d.log"), instrument(ENGINE, ROAD, FUEL)))
    assert told.count("sampled at") == 1
    assert "channel road_speed: sampled at 10 Hz" in told
    assert "not finite" not in told


def test_masked_readings_are_counted_by_signal(tmp_path: Path) -> None:
    seen = look_at_log(drive(tmp_path / "d.log"), {})
    (note,) = (n for n in seen.dialect.notes if n.startswith("fuel temperature (SPN 174)"))
    assert "5 readings, 0.5 Hz" in note
    assert "5 of error or not available left out" in note
    rates = {each.name: each.rate_hz for each in seen.columns}
    assert rates["engine speed (SPN 190)"] == pytest.approx(100.0)
    assert rates["wheel-based vehicle speed (SPN 84)"] == pytest.approx(10.0)


def test_a_pause_of_a_channel_is_told(tmp_path: Path) -> None:
    frames = [engine(i) for i in range(1000) if not 400 <= i < 450]
    seen = look_at_log(write(tmp_path / "d.log", frames), {})
    assert any("1 gaps, the longest 0.51 s" in note for note in seen.dialect.notes)


def test_two_senders_of_one_signal_are_kept_apart(tmp_path: Path) -> None:
    frames = [engine(i, source) for i in range(600) for source in (0, 1)]
    names = [each.name for each in look_at_log(write(tmp_path / "d.log", frames), {}).columns]
    assert "engine speed (SPN 190) from source 00 on can0" in names
    assert "engine speed (SPN 190) from source 01 on can0" in names
    with pytest.raises(InputError, match="no column is named 'engine speed"):
        read_log(tmp_path / "d.log", instrument(ENGINE))


INLET = (Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_ABS, Channel.INLET_PRESSURE_GAUGE)


@pytest.mark.parametrize("channel", INLET)
@pytest.mark.parametrize(
    ("column", "why"),
    [
        ("fuel delivery pressure (SPN 94)", "SPN 94 counts in steps of 4 kPa from 0"),
        ("fuel pressure, gauge from 0 (PID 0A)", "PID 0A counts in steps of 3 kPa from 0"),
        ("fuel filter differential (SPN 95)", "SPN 95 is the difference across the fuel filter"),
    ],
)
def test_a_pressure_of_the_bus_is_refused_as_the_inlets(
    tmp_path: Path, channel: Channel, column: str, why: str
) -> None:
    frames = []
    for i in range(600):
        frames += [placed(65263, 1, "19", 0.01 * i), placed(65276, 3, "0A", 0.01 * i)]
        frames += [answer(0x0A, "1E", 0.01 * i)]
    path = write(tmp_path / "d.log", frames)
    with pytest.raises(InputError, match=why) as refused:
        read_log(path, instrument((channel, column)))
    assert "absolute or compound pressure transducer" in str(refused.value)
    (seen,) = (each for each in look_at_log(path, {}).columns if each.name == column)
    assert not {each.channel for each in seen.candidates} & set(INLET)


def test_the_refusal_follows_the_column_into_a_text_log(tmp_path: Path) -> None:
    path = tmp_path / "export.csv"
    rows = "".join(f"{0.02 * i:.2f};{30 + i % 3}\n" for i in range(400))
    path.write_text(f"time [s];Fuel pressure SPN 94 [kPa]\n{rows}")
    with pytest.raises(InputError, match="cannot show a depression"):
        read_log(path, instrument((Channel.INLET_DEPRESSION, "Fuel pressure SPN 94")))


THEIRS = (
    'VERSION ""\nNS_ :\nBS_:\nBU_: A\n'
    "BO_ 2364540158 EEC1: 8 A\n"
    ' SG_ EngSpeed : 24|16@1+ (0.25,0) [0|16000] "rpm" A\n'
    "BO_ 2566844414 FP: 8 A\n"
    ' SG_ LowPressure : 0|8@1+ (4,0) [0|1000] "kPa" A\n'
    "BO_ 291 Analogue: 8 A\n"
    ' SG_ PumpInlet : 0|16@1+ (0.01,0) [0|0] "kPa" A\n'
    'BA_DEF_ BO_ "VFrameFormat" ENUM "StandardCAN","ExtendedCAN","reserved","J1939PG";\n'
    'BA_DEF_ SG_ "SPN" INT 0 524287;\n'
    'BA_DEF_DEF_ "VFrameFormat" "StandardCAN";\nBA_DEF_DEF_ "SPN" 0;\n'
    'BA_ "VFrameFormat" BO_ 2364540158 3;\nBA_ "VFrameFormat" BO_ 2566844414 3;\n'
    'BA_ "SPN" SG_ 2364540158 EngSpeed 190;\n'
)


def with_theirs(folder: Path, **more: str) -> tuple[Path, Instrument]:
    (folder / "vehicle.dbc").write_text(THEIRS)
    wanted = instrument((Channel.ENGINE_SPEED, "EngSpeed (SPN 190)"), dbc="vehicle.dbc", **more)
    return drive(folder / "d.log"), wanted


def test_a_dbc_of_the_case_counts_and_its_contradiction_to_ours_is_told(tmp_path: Path) -> None:
    path, wanted = with_theirs(tmp_path)
    settled, told = with_dbc(wanted, tmp_path)
    digest = hashlib.sha256(THEIRS.encode()).hexdigest()
    assert f'dbc_sha256 = "{digest}"' in told[0].remedy
    reading = read_log(path, settled)
    speed = reading.log.values[Channel.ENGINE_SPEED] * 60
    assert speed[0] == pytest.approx(2000.0)
    assert "SPN 190: the DBC of the case says group 61444, bit 24, 16 bits, 0.25 per bit" in (
        warnings(reading)
    )
    assert "ours says group 61444, bit 24, 16 bits, 0.125 per bit" in warnings(reading)


def test_a_hash_that_is_stated_is_kept_to(tmp_path: Path) -> None:
    digest = hashlib.sha256(THEIRS.encode()).hexdigest()
    path, wanted = with_theirs(tmp_path, dbc_sha256=digest)
    settled, told = with_dbc(wanted, tmp_path)
    assert told == ()
    read_log(path, settled)
    (tmp_path / "vehicle.dbc").write_text(THEIRS.replace("0.25", "0.5"))
    with pytest.raises(InputError, match="It was changed"):
        read_log(path, with_dbc(wanted, tmp_path)[0])


@pytest.mark.parametrize("stated", ["../vehicle.dbc", "/etc/passwd", "nothing.dbc", ""])
def test_a_dbc_outside_the_case_or_missing_is_refused(tmp_path: Path, stated: str) -> None:
    (tmp_path / "vehicle.dbc").write_text(THEIRS)
    folder = tmp_path / "case"
    folder.mkdir()
    with pytest.raises(InputError, match=r"leads out of the case folder|there is no file"):
        with_dbc(instrument(ENGINE, dbc=stated), folder)


def test_a_signal_in_the_place_of_spn_94_is_known_under_any_name(tmp_path: Path) -> None:
    (tmp_path / "vehicle.dbc").write_text(THEIRS)
    path = write(tmp_path / "d.log", [placed(65263, 1, "19", 0.01 * i) for i in range(600)])
    wanted = instrument((Channel.INLET_PRESSURE_ABS, "LowPressure (SPN 94)"), dbc="vehicle.dbc")
    with pytest.raises(InputError, match="cannot show a depression"):
        read_log(path, with_dbc(wanted, tmp_path)[0])


@pytest.mark.parametrize(
    "text", ["", "nonsense", THEIRS.replace("24|16", "56|16"), THEIRS[:85], "BO_ " * 1000]
)
def test_a_dbc_that_cannot_be_read_is_one_clear_error(tmp_path: Path, text: str) -> None:
    (tmp_path / "vehicle.dbc").write_text(text)
    path = drive(tmp_path / "d.log")
    settled, _ = with_dbc(instrument(ENGINE, dbc="vehicle.dbc"), tmp_path)
    with pytest.raises(InputError, match=r"cannot be read as a DBC|holds no message") as refused:
        read_log(path, settled)
    assert len(refused.value.findings) == 1
