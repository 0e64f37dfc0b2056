"""Every signal and every parameter against its worked vector, and codes that are no numbers."""

import random
from pathlib import Path

import cantools
import numpy as np
import pytest

from feedproof.records.buslog.extract import Extracted, extract
from feedproof.records.buslog.obd import PIDS, decode
from feedproof.records.buslog.signals import OWN, SignalPlace, load_places

# SPN, group, first byte, bytes, value: from a public table of worked values.
J1939 = (
    (190, 61444, 4, "F035", 1726.0),
    (513, 61444, 3, "AF", 50.0),
    (512, 61444, 2, "AF", 50.0),
    (92, 61443, 3, "32", 50.0),
    (84, 65265, 2, "003C", 60.0),
    (94, 65263, 1, "19", 100.0),
    (95, 65276, 3, "0A", 20.0),
    (110, 65262, 1, "82", 90.0),
    (174, 65262, 2, "50", 40.0),
    (183, 65266, 1, "9001", 20.0),
    (108, 65269, 1, "CA", 101.0),
    (171, 65269, 4, "E024", 22.0),
    (172, 65269, 6, "41", 25.0),
    (157, 65243, 3, "0078", 120.0),
)
OBD = (
    (0x0C, "1AF8", 1726.0, "rpm"),
    (0x0D, "3C", 60.0, "km/h"),
    (0x04, "80", 50.196, "%"),
    (0x05, "82", 90.0, "degC"),
    (0x0F, "41", 25.0, "degC"),
    (0x46, "3E", 22.0, "degC"),
    (0x5C, "87", 95.0, "degC"),
    (0x0A, "64", 300.0, "kPa"),
    (0x0B, "B4", 180.0, "kPa"),
    (0x33, "65", 101.0, "kPa"),
    (0x10, "0FA0", 40.0, "g/s"),
    (0x22, "03E8", 79.0, "kPa"),
    (0x23, "0DAC", 35_000.0, "kPa"),
    (0x59, "2EE0", 120_000.0, "kPa"),
    (0x5E, "0190", 20.0, "L/h"),
    (0x61, "AF", 50.0, "%"),
    (0x62, "AF", 50.0, "%"),
    (0x63, "0190", 400.0, "N m"),
)


def place_of(spn: int, group: int) -> SignalPlace:
    (found,) = (s for s in load_places().by_group[group].signals if s.spn == spn)
    return found


def read(place: SignalPlace, *rows: str, length: int = 8) -> Extracted:
    payload = np.array([list(bytes.fromhex(row.ljust(16, "F"))) for row in rows], dtype=np.uint8)
    return extract(place, payload, np.full(len(rows), length, dtype=np.uint8))


def row(first: int, data: str) -> str:
    return "FF" * (first - 1) + data


@pytest.mark.parametrize(("spn", "group", "first", "data", "value"), J1939)
def test_a_signal_of_j1939_gives_its_worked_value(
    spn: int, group: int, first: int, data: str, value: float
) -> None:
    assert read(place_of(spn, group), row(first, data)).values.tolist() == [value]


def test_every_signal_of_our_dbc_has_a_worked_vector() -> None:
    ours = {s.spn for places in load_places().by_group.values() for s in places.signals}
    assert ours == {spn for spn, *_ in J1939} | {97}


@pytest.mark.parametrize(("pid", "data", "value", "unit"), OBD)
def test_a_parameter_of_obd_gives_its_worked_value(
    pid: int, data: str, value: float, unit: str
) -> None:
    assert len(bytes.fromhex(data)) == PIDS[pid].length
    assert decode(pid, bytes.fromhex(data)) == pytest.approx(value, abs=5e-4)
    assert PIDS[pid].unit == unit


def test_every_parameter_of_the_table_has_a_worked_vector() -> None:
    assert set(PIDS) == {pid for pid, *_ in OBD}


@pytest.mark.parametrize(("spn", "group", "first", "data", "value"), J1939)
def test_codes_for_error_and_not_available_are_no_numbers(
    spn: int, group: int, first: int, data: str, value: float
) -> None:
    wide = len(data) == 4
    last, codes = (
        ("FFFA", ("00FB", "FFFD", "00FE", "FFFE", "FFFF"))
        if wide
        else (
            "FA",
            ("FB", "FC", "FD", "FE", "FF"),
        )
    )
    got = read(place_of(spn, group), *(row(first, code) for code in (data, *codes, last)))
    place = place_of(spn, group)
    largest = (0xFAFF if wide else 0xFA) * place.scale + place.offset
    assert got.values.tolist() == [value, largest]
    assert got.masked == 5
    assert got.taken.tolist() == [True, *[False] * 5, True]


def test_water_in_fuel_knows_no_and_yes_only() -> None:
    got = read(place_of(97, 65279), "FC", "FD", "FE", "FF")
    assert got.values.tolist() == [0.0, 1.0]
    assert got.masked == 2


def test_a_frame_too_short_for_a_signal_gives_no_reading() -> None:
    speed = place_of(190, 61444)
    assert read(speed, row(4, "F035"), length=4).short == 1
    assert read(speed, row(4, "F035"), length=4).values.size == 0
    assert read(speed, row(4, "F035"), length=5).values.tolist() == [1726.0]


def test_comments_of_our_dbc_say_which_places_are_from_memory() -> None:
    seen = {
        s.spn
        for places in load_places().by_group.values()
        for s in places.signals
        if s.remark.endswith("byte place seen in a public table")
    }
    assert seen == {95, 174}
    rest = [s for p in load_places().by_group.values() for s in p.signals if s.spn not in seen]
    assert all("from memory" in s.remark for s in rest)


def test_our_dbc_is_read_alike_by_another_reader() -> None:
    base = cantools.database.load_file(OWN)
    assert {m.frame_id >> 8 & 0x3FFFF for m in base.messages} == set(load_places().by_group)


def made_dbc(path: Path, rng: random.Random) -> tuple[Path, list[bytes]]:
    """Write a DBC of signals of any length and sign in one byte order, and frames for it."""
    order = rng.choice("01")
    lines = ['VERSION ""', "NS_ :", "BS_:", "BU_: A", "BO_ 291 M: 8 A"]
    bit = 0
    while bit < 60:
        length = rng.randint(1, min(20, 64 - bit))
        sign = rng.choice("+-")
        # Big-endian starts are counted from the highest bit of their first byte.
        start = bit if order == "1" else 8 * (bit // 8) + 7 - bit % 8
        lines.append(f' SG_ S{bit} : {start}|{length}@{order}{sign} (0.5,-3) [0|0] "rpm" A')
        bit += length
    path.write_text("\n".join(lines) + "\n")
    return path, [bytes(rng.randrange(256) for _ in range(8)) for _ in range(20)]


@pytest.mark.parametrize("seed", range(40))
def test_bits_are_read_as_another_reader_reads_them(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    path, frames = made_dbc(tmp_path / "made.dbc", rng)
    other = cantools.database.load_file(path)
    ours = load_places(path).by_identifier[291, False]
    payload = np.array([list(each) for each in frames], dtype=np.uint8)
    lengths = np.full(len(frames), 8, dtype=np.uint8)
    expected = [other.decode_message(291, each) for each in frames]
    assert ours.signals
    for signal in ours.signals:
        got = extract(signal, payload, lengths).values
        assert got.tolist() == [each[signal.name] for each in expected], signal.name


def test_real_numbers_and_chosen_signals_are_read_as_another_reader_reads_them(
    tmp_path: Path,
) -> None:
    path = tmp_path / "chosen.dbc"
    path.write_text(
        'VERSION ""\nNS_ :\nBS_:\nBU_: A\nBO_ 291 M: 8 A\n'
        ' SG_ Which M : 0|8@1+ (1,0) [0|0] "" A\n'
        ' SG_ Real m1 : 8|32@1- (1,0) [0|0] "kPa" A\n'
        ' SG_ Whole m2 : 8|16@1- (0.1,0) [0|0] "rpm" A\n'
        "SIG_VALTYPE_ 291 Real : 1;\n"
    )
    other = cantools.database.load_file(path)
    real = np.float32(101.325).tobytes()
    frames = [b"\x01" + real + b"\0" * 3, b"\x02\x0c\xfe" + b"\0" * 5, b"\x03" + b"\0" * 7]
    payload = np.array([list(each) for each in frames], dtype=np.uint8)
    lengths = np.full(3, 8, dtype=np.uint8)
    by_name = {s.name: s for s in load_places(path).by_identifier[291, False].signals}
    for name, k in (("Real", 0), ("Whole", 1)):
        got = extract(by_name[name], payload, lengths)
        assert got.taken.tolist() == [i == k for i in range(3)]
        assert got.values.tolist() == [other.decode_message(291, frames[k])[name]]
        assert got.short == 0
