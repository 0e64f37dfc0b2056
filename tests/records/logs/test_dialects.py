"""Logs in any dialect give back, digit for digit, the numbers that were written."""

import itertools
from pathlib import Path

import numpy as np
import pytest

from feedproof.core.units import to_si
from feedproof.records.logs.reading import LogReading, read_log

from .writer import COLUMNS, PREAMBLES, Form, instrument, write

MARKS = {
    "utf-8": b"",
    "utf-8 with mark": b"\xef\xbb\xbf",
    "utf-16-le": b"\xff\xfe",
    "utf-16-be": b"\xfe\xff",
    "cp1252": b"",
}
DELIMITERS = [(";", "."), (";", ","), (",", "."), ("\t", "."), ("\t", ","), ("|", ","), ("  ", ".")]


def expect_exact(reading: LogReading, seconds: list[float], table: list[list[str]]) -> None:
    np.testing.assert_array_equal(reading.log.time_s, np.array(seconds))
    for k, (channel, _, unit, kind) in enumerate(COLUMNS):
        wanted = np.array([to_si(float(row[k]), unit, kind) for row in table])
        np.testing.assert_array_equal(reading.log.values[channel], wanted)
    assert [f for f in reading.findings if f.level != "note"] == []


FORMS = [
    Form(
        delimiter=delimiter,
        decimal=decimal,
        encoding=encoding.removesuffix(" with mark"),
        mark=MARKS[encoding],
        preamble=preamble,
        units=units,
        time_form=time_form,
        line_end=line_end,
    )
    for (delimiter, decimal), encoding, preamble, units, time_form, line_end in itertools.product(
        DELIMITERS,
        MARKS,
        PREAMBLES,
        ("row", "brackets", "parentheses", "none"),
        ("s", "ms", "h:mm:ss", "date-time"),
        ("\n", "\r\n", "\r"),
    )
    # Blanks divide names of two words, and an empty cell of the unit row, wrongly.
    if not (delimiter == "  " and (units != "none" and time_form not in ("s", "ms")))
]
# One in a few of all products, chosen by an odd step so that every value meets every other.
CHOSEN = FORMS[::53]


@pytest.mark.parametrize("form", CHOSEN, ids=lambda f: f"{f.delimiter!r}{f.decimal}-{f.encoding}")
def test_what_was_written_comes_back_exactly(form: Form, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    seconds, table = write(path, form)
    expect_exact(read_log(path, instrument(form)), seconds, table)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("decimal", [".", ","])
def test_quoted_cells_come_back_exactly(delimiter: str, decimal: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    form = Form(delimiter=delimiter, decimal=decimal, quotes=True)
    seconds, table = write(path, form)
    expect_exact(read_log(path, instrument(form)), seconds, table)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_a_trailing_delimiter_is_no_column(delimiter: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    form = Form(delimiter=delimiter, trailing=True)
    seconds, table = write(path, form)
    reading = read_log(path, instrument(form))
    expect_exact(reading, seconds, table)
    assert len(reading.dialect.columns) == 5
    assert any("ends with a delimiter" in words for words in reading.dialect.notes)


def test_utf_16_without_a_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    form = Form(encoding="utf-16-le")
    seconds, table = write(path, form)
    expect_exact(read_log(path, instrument(form)), seconds, table)


def test_bytes_that_are_not_utf_8_are_taken_for_cp1252_never_cp1250(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write(path, Form(encoding="cp1250"))
    reading = read_log(path, instrument())
    assert reading.dialect.encoding == "cp1252"
    assert any("cp1252" in words for words in reading.dialect.notes)


@pytest.mark.parametrize("block_bytes", [999, 4096])
def test_the_size_of_the_blocks_changes_nothing(
    block_bytes: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("feedproof.records.logs.blocks.BLOCK_BYTES", block_bytes)
    for form in CHOSEN[::5]:
        path = tmp_path / "log.csv"
        seconds, table = write(path, form)
        expect_exact(read_log(path, instrument(form)), seconds, table)


def test_the_conclusions_are_told_in_words(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    write(path, Form(delimiter=";", decimal=",", encoding="cp1252", preamble="words"))
    words = " / ".join(read_log(path, instrument()).dialect.notes)
    for part in (
        "cp1252",
        "semicolon",
        "decimal comma",
        "header: line 5",
        "unit row: line 6",
        "data from line 7",
    ):
        assert part in words
