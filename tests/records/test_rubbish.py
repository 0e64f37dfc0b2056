"""
Rubbish in place of a document.

Promised: one clear error with file and place, never an exception of another kind, and never a
case; numbers that are none are refused wherever they stand.
"""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.core.findings import Level
from feedproof.records.reading import read_case
from tests.records.documents import BRANCHED, VEHICLE, errors_of, reading_of, run_text

LENGTH = 'length = "0.50 m"'


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty"),
        (b"\n  \n", "is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\xff\xfe", "UTF-8"),
        (b"title = 'x'\n\xff\n", "UTF-8"),
        ("format = 'x'".encode("utf-16"), "UTF-8"),
        (b"\x00\x00\x00", "TOML"),
        (b"a = " + b"[" * 5000, "TOML"),
        (b"a = 1\na = 2\n", "TOML"),
        (b"a = " + b"9" * 5000, "TOML"),
        (b"format = 'something-else'\nversion = 1", "A case begins with"),
        (b"version = 1", "A case begins with"),
    ],
)
def test_what_is_no_document_gives_one_error(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(content)
    reading = read_case(path)

    assert reading.case is None
    assert len(reading.findings) == 1
    assert told in str(reading.findings[0])
    assert "case.toml" in reading.findings[0].place


def test_a_file_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    assert errors_of(read_case(tmp_path / "case.toml"))


def test_a_mark_of_byte_order_and_windows_line_ends_are_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + VEHICLE.replace("\n", "\r\n").encode())

    assert read_case(path).case is not None


@pytest.mark.parametrize(
    "value",
    [
        "nan",
        "inf",
        "1e400",
        '"nan m"',
        '"1e400 m"',
        '"1e308 km"',
        '"8 m**(9**9**9)"',
        '"-1 m"',
        '"0 m"',
        '""',
        '"m"',
        '"1,5 m"',
        "true",
        "[]",
        "{}",
        "0x" + "f" * 400,
        "2026-09-14",
        '{ value = "1 m", low = nan }',
        '{ value = "1 m", source = 3 }',
        '{ low = "1 m" }',
    ],
)
def test_a_length_that_is_none_is_an_error_at_its_key(value: str, tmp_path: Path) -> None:
    reading = reading_of(VEHICLE.replace(LENGTH, f"length = {value}"), tmp_path)

    assert reading.case is None
    assert all("line[pickup_tube].length" in finding.place for finding in errors_of(reading))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("number", "0"),
        ("number", '"1"'),
        ("number", "1.0"),
        ("number", "0x" + "f" * 400),
        ("started", '"2026-09-14T09:01:00+02:00"'),
        ("started", "2026-09-14"),
        ("kits", '"secondary"'),
        ("kits", "[1]"),
        ("session", '"../other"'),
        ("role", '"comparison"'),
        ("logs", "[3]"),
        ("ambient", "3"),
        ("fuel_level", '"101 %"'),
        ("fuel_level", "58"),
        ("fuel_level", '"-1 L"'),
    ],
)
def test_a_run_s_key_of_the_wrong_kind_is_an_error(key: str, value: str, tmp_path: Path) -> None:
    reading = reading_of(VEHICLE + run_text(1, **{key: value}), tmp_path)

    assert reading.case is None
    assert [finding for finding in errors_of(reading) if f".{key}" in finding.place]


def changed_key(text: str, key: str, value: str) -> str:
    """Write another value behind the first line of a key."""
    start = text.index(f"\n{key} = ") + 1
    return f"{text[:start]}{key} = {value}{text[text.index(chr(10), start) :]}"


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("hole_diameter", '"-0.1 mm"'),
        ("hole_diameter", '"nan mm"'),
        ("hole_diameter", "nan"),
        ("hole_diameter", '"50 mm"'),
        ("hole_diameter", '{ value = "0.1 mm", low = "0.2 mm" }'),
        ("hole_diameter", '{ value = "0.1 mm", low = "-0.1 mm" }'),
        ("shut_off_pressure", '"-25 kPa"'),
        ("shut_off_pressure", '"0 kPa"'),
        ("shut_off_pressure", '"25 L/h"'),
        ("free_flow", '"0 L/h"'),
        ("free_flow", '"180 kPa"'),
        ("free_flow", "inf"),
        ("curve_exponent", "0.5"),
        ("curve_exponent", "nan"),
        ("stopped_inertial", '"-1 1/m^4"'),
        ("volume", '"-1 mL"'),
        ("volume", '"350 mm"'),
        ("collapse_depression", '"-15 kPa"'),
        ("collapse_depression", '"150 kPa"'),
        ("collapse_span", '"0 kPa"'),
        ("collapsed_bore", "70"),
        ("collapsed_bore", '"0 %"'),
        ("collapsed_bore", '"70 mm"'),
        ("effectiveness", "30"),
        ("effectiveness", '"-10 %"'),
        ("viscous", '"1e10 1/m^4"'),
        ("cold_fraction", "80"),
        ("warm_fraction", '"110 %"'),
        ("cold_temperature", '"10"'),
        ("warm_temperature", '"400 degC"'),
        ("cap_valve", '"-1 kPa"'),
        ("gas_release_time", '"0 s"'),
        ("gas_release_time", '"1.5"'),
        ("tank_fuel_temperature", '"nan degC"'),
        ("return_fuel_temperature", '"600 degC"'),
        ("branch", '""'),
        ("branch", "3"),
        ("node", '"two words"'),
        ("from", '"a.b"'),
        ("to", "[]"),
    ],
)
def test_rubbish_at_a_new_key_is_an_error_at_that_key(key: str, value: str, tmp_path: Path) -> None:
    reading = reading_of(changed_key(BRANCHED, key, value), tmp_path)
    about = [finding for finding in errors_of(reading) if f".{key}" in finding.place]

    assert reading.case is None
    assert [finding for finding in about if finding.remedy]


@pytest.mark.parametrize("value", ['"yes"', "1", '"true"'])
def test_running_is_yes_or_no_and_nothing_else(value: str, tmp_path: Path) -> None:
    text = BRANCHED.replace("curve_exponent = 1.5", f"running = {value}")
    errors = errors_of(reading_of(text, tmp_path))

    assert ["line[lift].running" in finding.place for finding in errors] == [True]


@pytest.mark.parametrize(
    "rubbish",
    [
        "line = 3",
        "line = [3, 4]",
        "tee = [1]",
        "tee = { node = 1 }",
        "recirculation = 3",
        "recirculation = []",
        "recirculation = { to = [1] }",
        "kit = [{ id = 3, insertion = [{ part = [{ from = 3 }] }] }]",
        "return = [{ from = [], to = {} }]",
    ],
)
def test_rubbish_in_place_of_a_table_hides_no_error_and_raises_nothing(
    rubbish: str, tmp_path: Path
) -> None:
    text = f'format = "feedproof-case"\nversion = 1\n{rubbish}\n'
    reading = reading_of(text, tmp_path)

    assert reading.case is None
    assert [f for f in errors_of(reading) if f": {rubbish.split(' ')[0]}" in f.place]
    assert [f for f in errors_of(reading) if f.place.endswith(": vehicle")]


LINES = f"{VEHICLE}\n{BRANCHED}".split("\n")
FIRST = VEHICLE.count("\n") + 1


@settings(max_examples=60)
@given(
    position=st.integers(0, len(LINES) - 1),
    change=st.one_of(
        st.just(None),
        st.text(max_size=30),
        st.sampled_from(["[line]", "[[vehicle]]", "[", "kind = 3", "id = []", "fuel = 1e999"]),
    ),
)
def test_a_document_with_one_line_changed_never_raises(
    position: int, change: str | None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    lines = LINES[:FIRST] if position < FIRST else LINES[FIRST:]
    position -= FIRST if position >= FIRST else 0
    lines[position : position + 1] = [] if change is None else [change]
    text = "\n".join(lines).encode("utf-8", "surrogatepass")
    path = tmp_path_factory.mktemp("changed") / "case.toml"
    path.write_bytes(text)
    reading = read_case(path)

    has_error = any(finding.level is Level.ERROR for finding in reading.findings)
    assert (reading.case is None) == has_error
