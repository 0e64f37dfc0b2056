"""Parquet logs: the text log's numbers bit for bit, all forms of time, nested types refused."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pytest

from feedproof.case.run import Channel, Instrument
from feedproof.core.errors import InputError
from feedproof.records.logs import frames
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import read_log
from tests.records.logs.books import parquet, table
from tests.records.logs.test_workbooks import refusal, same, texts
from tests.records.logs.writer import Form, instrument, write

FORM = Form(delimiter=";", decimal=",")
ROWS = FORM.rows


def framed(path: Path, **columns: pl.Series) -> Path:
    """Write the readings with some columns in the place of others."""
    parquet(path, table(FORM))
    frame = pl.read_parquet(path)
    names = {name.split(" [")[0].split()[0]: name for name in frame.columns}
    for key, series in columns.items():
        old = names[key]
        named = series.alias("t" if key == "t" and series.dtype != pl.Int64 else old)
        frame = frame.with_columns(named).select(
            [named.name if name == old else name for name in frame.columns]
        )
    frame.write_parquet(path)
    return path


def read_time(path: Path, logger: Instrument | None = None) -> np.ndarray:
    return read_log(path, logger or instrument()).log.time_s


def test_a_parquet_file_gives_the_numbers_of_the_text(tmp_path: Path) -> None:
    write(tmp_path / "log.csv", FORM)
    parquet(tmp_path / "log.parquet", table(FORM))
    of_text = read_log(tmp_path / "log.csv", instrument())
    of_parquet = read_log(tmp_path / "log.parquet", instrument())
    same(of_text.log, of_parquet.log)
    assert of_parquet.dialect.kind == "Parquet"
    assert of_parquet.dialect.header_row is None


def test_every_double_comes_through_bit_for_bit(tmp_path: Path) -> None:
    rng = np.random.default_rng(16)
    values = rng.standard_normal(20_000) * 10.0 ** rng.integers(-12, 12, 20_000)
    frame = pl.DataFrame({"t [s]": np.arange(20_000) * 0.01, "Unterdruck Pumpe [Pa]": values})
    frame.write_parquet(tmp_path / "log.parquet")
    column = look_at_log(tmp_path / "log.parquet", {}).columns[1]
    assert (column.least, column.greatest) == (values.min(), values.max())
    assert column.middle == float(np.median(values))


def test_single_precision_keeps_the_stored_value(tmp_path: Path) -> None:
    single = pl.Series([0.1 * i for i in range(ROWS)], dtype=pl.Float32)
    path = framed(tmp_path / "log.parquet", Unterdruck=single)
    kpa = read_log(path, instrument()).log.values[Channel.INLET_DEPRESSION] / 1000.0
    assert kpa[3] == pytest.approx(float(np.float32(0.3)), rel=1e-15)
    assert kpa[3] != pytest.approx(0.3, rel=1e-10)


def test_date_times_durations_and_whole_milliseconds_are_times(tmp_path: Path) -> None:
    start = datetime(2026, 9, 14, 23, 59, 57)
    steps = [timedelta(milliseconds=40 * i) for i in range(ROWS)]
    plain = framed(tmp_path / "a.parquet", t=pl.Series([start + s for s in steps]))
    assert read_time(plain)[[0, 75]].tolist() == [86397.0, 86400.0]
    span = framed(tmp_path / "b.parquet", t=pl.Series(steps))
    assert read_time(span)[[0, 75]].tolist() == [0.0, 3.0]
    fine = framed(tmp_path / "c.parquet", t=pl.Series(steps).cast(pl.Duration("ns")))
    assert read_time(fine)[[0, 75]].tolist() == [0.0, 3.0]
    whole = framed(tmp_path / "d.parquet", t=pl.Series([40_000 * i for i in range(ROWS)]))
    pl.read_parquet(whole).rename({"t [s]": "t [ms]"}).with_columns(
        pl.col("t [ms]") // 1000
    ).write_parquet(whole)
    assert read_time(whole)[[0, 75]].tolist() == [0.0, 3.0]


def test_a_zone_keeps_its_local_midnight(tmp_path: Path) -> None:
    start = datetime(2026, 9, 14, 21, 59, 57, tzinfo=UTC).astimezone(ZoneInfo("Europe/Zurich"))
    moments = pl.Series([start + timedelta(milliseconds=40 * i) for i in range(ROWS)])
    path = framed(tmp_path / "log.parquet", t=moments.dt.convert_time_zone("Europe/Zurich"))
    assert read_time(path)[0] == 86397.0


def test_nulls_and_nan_are_gaps_and_told(tmp_path: Path) -> None:
    values = [
        None if i == 7 else float("nan") if i == 9 else float("inf") if i == 11 else 5.0 + i
        for i in range(ROWS)
    ]
    path = framed(tmp_path / "log.parquet", Unterdruck=pl.Series(values))
    reading = read_log(path, instrument())
    gaps = np.isnan(reading.log.values[Channel.INLET_DEPRESSION])
    assert np.flatnonzero(gaps).tolist() == [7, 9, 11]
    assert "3 of 160 cells are not finite numbers, first '' at line 8" in texts(reading)


def test_numbers_that_stand_as_text_with_decimal_commas_are_read(tmp_path: Path) -> None:
    commas = pl.Series([f"{5 + i / 4:.2f}".replace(".", ",") for i in range(ROWS)])
    path = framed(tmp_path / "log.parquet", Unterdruck=commas)
    reading = read_log(path, instrument())
    assert reading.log.values[Channel.INLET_DEPRESSION][:2].tolist() == [5000.0, 5250.0]
    plain = read_log(framed(tmp_path / "plain.parquet"), instrument()).log
    assert np.array_equal(
        reading.log.values[Channel.ENGINE_SPEED], plain.values[Channel.ENGINE_SPEED]
    )
    assert "numbers that stand as text: decimal comma" in texts(reading)


def test_units_come_from_the_metadata_where_no_name_has_one(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    parquet(path, table(FORM))
    bare = pl.read_parquet(path)
    bare = bare.rename({name: name.split(" [")[0] for name in bare.columns})
    units = '{"t": "s", "n Motor": "1/min", "Unterdruck Pumpe": "kPa", "Füllstand": "%"}'
    bare.write_parquet(path, metadata={"units": units, "Temp. Zulauf": "°C"})
    write(tmp_path / "log.csv", FORM)
    reading = read_log(path, instrument())
    same(read_log(tmp_path / "log.csv", instrument()).log, reading.log)
    assert "units of 5 columns: from the metadata" in texts(reading)


@pytest.mark.parametrize(
    ("dtype", "values"),
    [
        (pl.List(pl.Float64), [[1.0, 2.0]] * ROWS),
        (pl.Struct({"a": pl.Int64}), [{"a": 1}] * ROWS),
        (pl.Binary, [b"x"] * ROWS),
    ],
)
def test_nested_columns_are_refused_by_name(
    tmp_path: Path, dtype: pl.DataType, values: list[object]
) -> None:
    path = framed(tmp_path / "log.parquet", Unterdruck=pl.Series(values, dtype=dtype))
    assert "'Unterdruck Pumpe [kPa]'" in refusal(path)


def test_a_small_file_of_very_many_equal_rows_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    rows = frames.MOST_CELLS // 2 + 1
    pl.DataFrame(
        {"t": pl.repeat(0, rows, eager=True), "p": pl.repeat(1, rows, eager=True)}
    ).write_parquet(path)
    assert path.stat().st_size < 100_000
    assert f"has {rows} rows of 2 columns" in refusal(path)


def test_an_empty_table_and_a_cut_file_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    pl.DataFrame({"t": [], "p": []}).write_parquet(path)
    assert "0 rows of 2 columns" in refusal(path)
    parquet(path, table(FORM))
    path.write_bytes(path.read_bytes()[:-100])
    assert "its end is missing" in refusal(path)


def test_an_error_of_the_reader_is_one_of_input(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    parquet(path, table(FORM))
    data = bytearray(path.read_bytes())
    data[-8:-4] = (2**31 - 1).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(InputError):
        read_log(path, instrument())


def test_a_name_with_brackets_is_one_file(tmp_path: Path) -> None:
    parquet(tmp_path / "log [1].parquet", table(FORM))
    assert read_time(tmp_path / "log [1].parquet").size == ROWS


def test_columns_of_other_types_are_told_and_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    parquet(path, table(FORM))
    more = [
        pl.Series("none", [None] * ROWS),
        pl.Series("gear", ["3", "4"] * (ROWS // 2), dtype=pl.Categorical),
        pl.Series("on", [True, False] * (ROWS // 2)),
        pl.Series("day", [date(2026, 9, 14)] * ROWS),
        pl.Series("exact", [Decimal("1.25")] * ROWS),
        pl.Series("large", [2**63 + i for i in range(ROWS)], dtype=pl.UInt64),
        pl.Series("tab\there", [1.5] * ROWS),
    ]
    pl.read_parquet(path).with_columns(more).write_parquet(path)
    columns = {column.name: column for column in look_at_log(path, {}).columns}
    assert columns["gear"].greatest == 4.0
    assert columns["exact"].middle == 1.25
    assert columns["large"].least == float(2**63)
    assert columns["tab here"].middle == 1.5
    assert (columns["on"].form, columns["day"].form, columns["none"].form) == ("text",) * 3
    assert read_time(path).size == ROWS
