"""MDF 4 logs: rates, units, conversions, invalid readings, texts, and files that are damaged."""

import sys
from pathlib import Path

import numpy as np
import pytest

from feedproof.case.run import Channel, ChannelMap, Instrument
from feedproof.core.errors import InputError
from feedproof.records.logs import mdf, opened
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.kinds import Kind, kind_of_file
from feedproof.records.logs.looking import ColumnLook, LogLook, look_at_log
from feedproof.records.logs.mdf import as_text
from feedproof.records.logs.reading import read_log
from tests.records.logs.books import table
from tests.records.logs.mdfs import signal, write_groups, write_mdf
from tests.records.logs.writer import Form, instrument, write

FAST = 0.01 * np.arange(1000)
SLOW = 0.1 * np.arange(100) + 0.0033
SPEED = signal("nEng", "1/min", FAST, np.linspace(1000.0, 3000.0, 1000))
TEMPERATURE = signal("tFuel", "°C", SLOW, np.full(100, 40.0))


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Spare a process for each file, but where the process itself is tried."""
    if "guarded" not in request.node.name:

        def here(
            _reader: str, path: Path, hints: dict[str, str], target: Path, **_: object
        ) -> Dialect:
            return as_text(path, hints, target)

        monkeypatch.setattr(opened, "as_text_guarded", here)


def look(path: Path) -> LogLook:
    return look_at_log(path, {})


def column(seen: LogLook, name: str) -> ColumnLook:
    (found,) = (each for each in seen.columns if each.name == name)
    return found


def logger(*channels: tuple[Channel, str], unit: str = "") -> Instrument:
    maps = (ChannelMap(channel=channel, column=name, unit=unit) for channel, name in channels)
    time = ChannelMap(channel=Channel.TIME, column="time")
    return Instrument(id="mdf", title="invented recorder", channels=(time, *maps))


def test_a_guarded_mdf_file_gives_the_numbers_of_the_text(tmp_path: Path) -> None:
    form = Form(delimiter=";", decimal=",")
    write(tmp_path / "log.csv", form)
    path = write_mdf(tmp_path / "log.mf4", table(form))
    assert kind_of_file(path) is Kind.MDF
    of_text = read_log(tmp_path / "log.csv", instrument()).log
    named = instrument()
    time = ChannelMap(channel=Channel.TIME, column="time")
    maps = (time, *(c for c in named.channels if c.channel is not Channel.TIME))
    of_mdf = read_log(path, Instrument(id="logger", title="", channels=maps)).log
    assert of_mdf.time_s.tolist() == of_text.time_s.tolist()
    assert set(of_mdf.values) == set(of_text.values)
    for channel, values in of_text.values.items():
        assert of_mdf.values[channel].tolist() == values.tolist(), channel


def test_groups_of_other_rates_keep_their_own_times(tmp_path: Path) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED], [TEMPERATURE])
    log = read_log(
        path, logger((Channel.ENGINE_SPEED, "nEng"), (Channel.FUEL_TEMPERATURE, "tFuel"))
    ).log
    temperature = log.values[Channel.FUEL_TEMPERATURE]
    assert log.time_s.size == 1100
    assert log.time_s[np.isfinite(temperature)].tolist() == SLOW.tolist()
    assert temperature[np.isfinite(temperature)] == pytest.approx(313.15)
    speed = log.values[Channel.ENGINE_SPEED]
    assert speed[np.isfinite(speed)] * 60 == pytest.approx(np.linspace(1000.0, 3000.0, 1000))
    seen = look(path)
    rates = [round(each.rate_hz or 0.0, 6) for each in seen.columns]
    assert rates == [0.0, 100.0, 10.0]
    assert any("nEng: 1000 readings, 100 Hz" in note for note in seen.dialect.notes)
    assert any("no checksum over its data" in note for note in seen.dialect.notes)


def test_a_unit_of_the_file_is_taken_and_a_contradiction_refused(tmp_path: Path) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED])
    assert column(look(path), "nEng").unit == "1/min"
    with pytest.raises(InputError, match="the log says '1/min'"):
        read_log(path, logger((Channel.ENGINE_SPEED, "nEng"), unit="rad/s"))


def test_readings_that_the_file_marks_invalid_are_left_out_and_counted(tmp_path: Path) -> None:
    bits = np.zeros(1000, dtype=bool)
    bits[400:450] = True
    samples = np.where(bits, 9e9, 2000.0)
    marked = signal("nEng", "1/min", FAST, samples, invalidation_bits=bits)
    other = signal("load", "%", FAST, np.full(1000, 50.0))
    none = signal("dead", "kPa", FAST, samples, invalidation_bits=np.ones(1000, dtype=bool))
    seen = look(write_groups(tmp_path / "log.mf4", [marked, other, none]))
    assert column(seen, "nEng").readings == 950
    assert column(seen, "nEng").greatest == 2000.0
    assert column(seen, "load").readings == 1000
    notes = "\n".join(seen.dialect.notes)
    assert "50 marked invalid by the file and left out" in notes
    assert "dead: all 1000 readings are marked invalid" in notes


def test_conversions_of_the_file_are_applied(tmp_path: Path) -> None:
    raw = (np.arange(1000) % 200).astype(np.uint16)
    linear = signal("pInlet", "kPa", FAST, raw, conversion={"a": 0.5, "b": -2.0})
    words = {"val_0": 0, "text_0": b"off", "val_1": 1, "text_1": b"on", "default": b"?"}
    switch = signal("switch", "", FAST, (np.arange(1000) % 2).astype(np.uint8), conversion=words)
    seen = look(write_groups(tmp_path / "log.mf4", [linear, switch]))
    assert (column(seen, "pInlet").least, column(seen, "pInlet").greatest) == (-2.0, 97.5)
    assert column(seen, "switch").form == "text"


def test_channels_of_text_are_texts_and_suggest_nothing(tmp_path: Path) -> None:
    text = signal("state", "", FAST, np.array([b"idle", b"pull"] * 500), encoding="utf-8")
    seen = look(write_groups(tmp_path / "log.mf4", [SPEED], [text]))
    assert column(seen, "state").form == "text"
    assert column(seen, "state").candidates == ()
    assert column(seen, "nEng").readings == 1000


def test_one_name_in_two_groups_is_told_apart(tmp_path: Path) -> None:
    path = write_groups(
        tmp_path / "log.mf4", [SPEED], [signal("nEng", "1/min", SLOW, np.full(100, 900.0))]
    )
    names = [each.name for each in look(path).columns]
    assert names == ["time", "nEng of group 1", "nEng of group 2"]


def test_a_time_that_goes_back_is_refused_with_its_place(tmp_path: Path) -> None:
    back = FAST.copy()
    back[500:] -= 2.0
    path = write_groups(tmp_path / "log.mf4", [signal("nEng", "1/min", back, np.ones(1000))])
    with pytest.raises(InputError, match=r"nEng, reading 501: the time goes back from 4\.99 s"):
        look(path)


def test_version_3_and_a_cut_head_are_refused(tmp_path: Path) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED])
    data = bytearray(path.read_bytes())
    data[28:30] = (330).to_bytes(2, "little")
    path.write_bytes(data)
    with pytest.raises(InputError, match=r"MDF of version 3\.30; version 4 is read"):
        look(path)
    path.write_bytes(data[:40])
    with pytest.raises(InputError, match="cut in its first block"):
        look(path)


def test_without_the_extra_the_error_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED])
    monkeypatch.setitem(sys.modules, "asammdf", None)
    with pytest.raises(InputError, match=r'pip install "feedproof\[mdf\]"'):
        look(path)


def test_a_damaged_file_is_one_clear_error_when_guarded(tmp_path: Path) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED], [TEMPERATURE])
    whole = path.read_bytes()
    # The list of groups begins at an address in the header block, which stands behind byte 64.
    for data in (whole[:700], whole[:88] + b"\xff" * 8 + whole[96:], whole[:64] + bytes(2000)):
        path.write_bytes(data)
        with pytest.raises(InputError, match=r"log\.mf4, .*(damaged|no channel)") as refused:
            look(path)
        assert len(refused.value.findings) == 1


def test_a_library_that_breaks_is_told_as_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_groups(tmp_path / "log.mf4", [SPEED])

    def broken(_: object) -> None:
        raise KeyError("##CN")

    monkeypatch.setattr(mdf, "_channels", broken)
    with pytest.raises(InputError, match=r"damaged or cut \(KeyError"):
        look(path)
