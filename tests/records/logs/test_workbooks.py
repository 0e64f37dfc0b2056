"""Workbooks: the numbers of the text log bit for bit, sheets never guessed, giants refused."""

import sys
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest

from feedproof.case.log import Log
from feedproof.case.run import Channel
from feedproof.core.errors import InputError
from feedproof.records.logs import guarded
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import LogReading, read_log
from tests.records.logs.books import book, in_sheet, rewritten, table
from tests.records.logs.writer import Form, instrument, write

FORM = Form(delimiter=";", decimal=",", preamble="words")


def same(one: Log, other: Log) -> None:
    """Hold two logs against each other, bit for bit."""
    assert np.array_equal(one.time_s, other.time_s)
    assert list(one.values) == list(other.values)
    for channel, values in one.values.items():
        assert np.array_equal(values, other.values[channel], equal_nan=True), channel
    assert {c: u for c, u in one.units.items() if c != Channel.TIME} == {
        c: u for c, u in other.units.items() if c != Channel.TIME
    }


def texts(reading: LogReading) -> str:
    return "\n".join(str(finding) for finding in reading.findings)


def refusal(path: Path, **hints: str) -> str:
    with pytest.raises(InputError) as caught:
        read_log(path, instrument(None, **hints))
    assert all(finding.place.startswith(path.name) for finding in caught.value.findings)
    return str(caught.value)


@pytest.mark.parametrize("above", [[], [["a logger"], [], ["serial", 4711]]])
def test_a_workbook_gives_the_numbers_of_the_text(tmp_path: Path, above: list[list[str]]) -> None:
    write(tmp_path / "log.csv", FORM)
    book(tmp_path / "log.xlsx", {"data": [*above, *table(FORM)]})
    of_text = read_log(tmp_path / "log.csv", instrument())
    of_book = read_log(tmp_path / "log.xlsx", instrument())
    same(of_text.log, of_book.log)
    assert of_book.dialect.kind == "workbook"
    assert of_book.dialect.sheet == "data"
    assert of_book.dialect.header_row == len(above) + 1
    assert "sheet 'data': the only sheet" in texts(of_book)


def test_numbers_that_stand_as_text_with_decimal_commas_are_read_beside_true_numbers(
    tmp_path: Path,
) -> None:
    rows = table(FORM)
    for row in rows[2:]:
        row[2] = str(row[2]).replace(".", ",")
    book(tmp_path / "plain.xlsx", {"data": table(FORM)})
    book(tmp_path / "log.xlsx", {"data": rows})
    same(
        read_log(tmp_path / "plain.xlsx", instrument()).log,
        read_log(tmp_path / "log.xlsx", instrument()).log,
    )


def test_texts_that_may_be_thousands_are_asked_about_and_a_hint_settles_it(tmp_path: Path) -> None:
    rows = table(FORM)
    for row in rows[2:]:
        row[2] = "1,234"
    book(tmp_path / "log.xlsx", {"data": rows})
    assert "'1,234' may mean 1.234 or 1234" in refusal(tmp_path / "log.xlsx")
    comma = read_log(tmp_path / "log.xlsx", instrument(decimal=","))
    assert comma.log.values[Channel.INLET_DEPRESSION][0] == 1234.0
    same(read_log(tmp_path / "log.xlsx", instrument(decimal="comma", sheet="data")).log, comma.log)


@pytest.mark.parametrize(("moments", "form"), [("date-time", "date-time"), ("span", "h:mm:ss")])
def test_cells_of_dates_and_spans_are_times(tmp_path: Path, moments: str, form: str) -> None:
    # The first date-time of the second sheet's kind stands at midnight, where cells lose the time.
    rows = table(FORM, moments)
    book(tmp_path / "log.xlsx", {"data": rows})
    reading = read_log(tmp_path / "log.xlsx", instrument())
    zero = 86397.0 if moments == "date-time" else 0.0
    expected = [zero + 0.04 * i for i in range(FORM.rows)]
    assert np.abs(reading.log.time_s - expected).max() < 1e-6
    assert reading.dialect.time_form == form
    # Row 75 of the date-times is midnight itself.
    assert reading.log.time_s.size == FORM.rows


def test_errors_and_formulas_without_a_value_are_gaps_and_told(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    rows = table(FORM)
    rows[10][2], rows[11][2], rows[12][3] = "#N/A", "#DIV/0!", "=D4*2"
    book(path, {"data": rows})
    reading = read_log(path, instrument())
    assert np.flatnonzero(np.isnan(reading.log.values[Channel.INLET_DEPRESSION])).tolist() == [8, 9]
    assert np.flatnonzero(np.isnan(reading.log.values[Channel.FUEL_TEMPERATURE])).tolist() == [10]
    told = texts(reading)
    assert "cells with an error such as #N/A: 2, first at C11" in told
    assert "formulas without a stored value: 1" in told
    assert "channel inlet_depression: 2 of 160 cells are not finite numbers" in told


def test_the_stored_value_of_a_formula_is_read(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    rows = table(FORM)
    rows[12][3] = "=D4*2"
    book(path, {"data": rows})
    rewritten(path, in_sheet(b"<f>D4*2</f><v></v>", b"<f>D4*2</f><v>41.25</v>"))
    reading = read_log(path, instrument())
    assert reading.log.values[Channel.FUEL_TEMPERATURE][10] == 41.25 + 273.15
    assert "without a stored value" not in texts(reading)


def test_a_line_in_a_message_is_the_row_of_the_sheet(tmp_path: Path) -> None:
    rows = table(FORM)
    rows[30][2] = "oops"
    book(tmp_path / "log.xlsx", {"data": [[], ["by somebody"], [], *rows]})
    assert "first 'oops' at line 34" in texts(read_log(tmp_path / "log.xlsx", instrument()))


def test_several_sheets_with_tables_are_asked_about_and_a_hint_settles_it(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    short = Form(rows=200)
    book(path, {"first": table(FORM), "Second": table(short), "words": [["made by", "hand"]]})
    assert "2 sheets hold a table: 'first', 'Second'" in refusal(path)
    assert read_log(path, instrument(sheet="second")).log.time_s.size == 200
    assert "It has: 'first', 'Second', 'words'" in refusal(path, sheet="third")


def test_the_only_sheet_with_a_table_is_taken_and_told(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    sheets = {"about": [["logger", "invented"]], "log": table(FORM), "old": table(FORM), "e": []}
    book(path, sheets, hidden="old")
    told = texts(read_log(path, instrument()))
    assert "sheet 'log': the only one that holds a table of numbers" in told
    assert "hidden sheets were not looked at: 'old'" in told
    # Stated, a hidden sheet is read.
    assert read_log(path, instrument(sheet="old")).dialect.sheet == "old"


def test_a_sheet_behind_many_others_is_never_left_out_in_silence(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    rows = table(Form(rows=200))
    book(path, {"first": rows, **{f"empty {i}": [] for i in range(39)}, "last": rows})
    assert "has 41 sheets; at most 40 are looked through" in refusal(path)
    assert read_log(path, instrument(sheet="last")).dialect.sheet == "last"


def test_a_file_is_what_its_bytes_say_and_not_its_name(tmp_path: Path) -> None:
    book(tmp_path / "log.csv", {"data": table(FORM)})
    write(tmp_path / "log.xlsx", FORM)
    assert look_at_log(tmp_path / "log.csv", {}).dialect.kind == "workbook"
    assert look_at_log(tmp_path / "log.xlsx", {}).dialect.kind == "text"


@pytest.mark.parametrize("word", ["PAR1", "MDF     ", "LOGG", "BZh"])
def test_a_text_that_begins_like_another_kind_stays_a_text(tmp_path: Path, word: str) -> None:
    write(tmp_path / "log.csv", Form())
    path = tmp_path / "log.csv"
    path.write_bytes(word.encode() + b" a logger\n" + path.read_bytes())
    assert look_at_log(path, {}).dialect.kind == "text"


@pytest.mark.parametrize("dimension", [b"A1:XFD1048576", b"A1:B2"])
def test_a_sparse_giant_is_refused_soon_whatever_dimension_it_declares(
    tmp_path: Path, dimension: bytes
) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"data": table(FORM)})
    with zipfile.ZipFile(path) as archive:
        sheet = archive.read("xl/worksheets/sheet1.xml")
    assert b"</sheetData>" in sheet
    far = b'<row r="1048576"><c r="XFD1048576" t="n"><v>1</v></c></row></sheetData>'
    rewritten(path, in_sheet(b"</sheetData>", far))
    rewritten(path, in_sheet(b'<dimension ref="A1:E162"', b'<dimension ref="' + dimension + b'"'))
    start = time.perf_counter()
    assert "cells stand as far as row 1048576 and column 16384" in refusal(path)
    assert time.perf_counter() - start < 5.0


def test_empty_cells_with_a_format_far_away_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"data": table(FORM)})
    far = b'<row r="1048576"><c r="XFD1048576" s="1"/><c r="XFD1048576"/></row></sheetData>'
    rewritten(path, in_sheet(b"</sheetData>", far))
    assert read_log(path, instrument()).log.time_s.size == FORM.rows


def test_a_part_that_grows_beyond_any_log_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"data": table(FORM)})
    rewritten(path, in_sheet(b"</sheetData>", b"</sheetData>" + b" " * 30_000_000))
    assert "-fold when it is unpacked" in refusal(path)


def test_a_part_that_is_larger_than_it_declares_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    book(path, {"data": table(FORM)})
    data = bytearray(path.read_bytes())
    # The size that the directory at the end of the archive declares for the sheet.
    entry = data.rindex(b"PK\x01\x02", 0, data.rindex(b"xl/worksheets/sheet1.xml"))
    data[entry + 24 : entry + 28] = (100).to_bytes(4, "little")
    path.write_bytes(data)
    assert "and declares 100" in refusal(path)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("xl/workbook.bin", "binary workbook (XLSB)"),
        ("mimetype", "OpenDocument"),
        ("readme.txt", "an archive (ZIP) and no XLSX workbook"),
    ],
)
def test_archives_of_other_kinds_are_refused_in_words(
    tmp_path: Path, name: str, words: str
) -> None:
    path = tmp_path / "log.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(name, "something")
    assert words in refusal(path)


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old workbook (XLS) or one with a"),
        (b"\x1f\x8b\x08\x00" + bytes(60), "compressed (gzip)"),
        (b"PK\x03\x04" + bytes(200), "the workbook is damaged"),
        (b"PAR1" + bytes(200), "its end is missing"),
    ],
)
def test_binary_files_of_other_kinds_are_refused_in_words(
    tmp_path: Path, head: bytes, words: str
) -> None:
    path = tmp_path / "log.bin"
    path.write_bytes(head)
    assert words in refusal(path)


def test_a_reader_that_takes_too_long_is_ended_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book(tmp_path / "log.xlsx", {"data": table(FORM)})
    monkeypatch.setattr(guarded, "SECONDS", 0.0)
    assert "could not be read within 0 s" in refusal(tmp_path / "log.xlsx")


def test_a_reader_that_takes_too_much_memory_dies_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    resource = pytest.importorskip("resource")
    assert resource.getrlimit(resource.RLIMIT_AS)
    book(tmp_path / "log.xlsx", {"data": table(Form(rows=30_000))})
    read_log(tmp_path / "log.xlsx", instrument())
    monkeypatch.setattr(guarded, "MEMORY_BYTES", 1_000_000)
    assert "needs more than 1 MB of memory" in refusal(tmp_path / "log.xlsx")


def test_a_program_beside_the_logs_is_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book(tmp_path / "log.xlsx", {"data": table(FORM)})
    trap = "import pathlib\npathlib.Path('ran').touch()\nraise SystemExit\n"
    for name in ("json", "numpy", "polars", "python_calamine", "feedproof"):
        (tmp_path / f"{name}.py").write_text(trap, encoding="utf-8")
    monkeypatch.setattr("sys.path", [str(Path(part).resolve()) for part in sys.path if part])
    monkeypatch.chdir(tmp_path)
    assert read_log(tmp_path / "log.xlsx", instrument()).log.time_s.size == FORM.rows
    assert not (tmp_path / "ran").exists()
