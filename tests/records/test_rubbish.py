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
from tests.records.documents import VEHICLE, errors_of, reading_of, run_text

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


LINES = VEHICLE.split("\n")


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
    lines = [*LINES]
    lines[position : position + 1] = [] if change is None else [change]
    text = "\n".join(lines).encode("utf-8", "surrogatepass")
    path = tmp_path_factory.mktemp("changed") / "case.toml"
    path.write_bytes(text)
    reading = read_case(path)

    has_error = any(finding.level is Level.ERROR for finding in reading.findings)
    assert (reading.case is None) == has_error
