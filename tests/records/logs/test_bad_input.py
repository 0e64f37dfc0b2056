"""Every log that cannot be used, or only in part, says what, where and what to do."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedproof.case.run import Channel, ChannelMap, Instrument
from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import Finding
from feedproof.records.logs import reading as reading_module
from feedproof.records.logs import text as text_module
from feedproof.records.logs.dialect import conclude_dialect
from feedproof.records.logs.reading import LogReading, read_log

from .writer import Form, instrument, write

Edit = Callable[[str], str]


def read_edited(tmp_path: Path, edit: Edit, **form: object) -> LogReading:
    path = tmp_path / "log.csv"
    write(path, Form(**form))  # type: ignore[arg-type]
    path.write_bytes(edit(path.read_bytes().decode()).encode())
    return read_log(path, instrument())


def refusal(tmp_path: Path, edit: Edit, **form: object) -> str:
    with pytest.raises(InputError) as caught:
        read_edited(tmp_path, edit, **form)
    return str(caught.value)


def told(reading: LogReading, words: str) -> Finding:
    found = [f for f in reading.findings if words in str(f)]
    assert found, "\n".join(map(str, reading.findings))
    return found[0]


def line_edit(number: int, new: str | None, *, after: bool = False) -> Edit:
    """Replace a line (from 1), or put one behind it."""

    def edit(text: str) -> str:
        lines = text.split("\n")
        lines[number - (not after) : number] = [] if new is None else [new]
        return "\n".join(lines)

    return edit


def simple(unit: str, channel: Channel, column: str = "x", **hints: str) -> Instrument:
    return Instrument(
        id="i",
        title="invented",
        channels=(
            ChannelMap(channel=Channel.TIME, column="t", unit="s"),
            ChannelMap(channel=channel, column=column, unit=unit),
        ),
        dialect=hints,
    )


def written(tmp_path: Path, values: list[str], header: str = "t;x", first: int = 0) -> Path:
    path = tmp_path / "log.csv"
    rows = [f"{i / 25:.2f};{value}" for i, value in enumerate(values, first)]
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


# Files that are no logs.


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"")
    with pytest.raises(InputError, match=r"a\.csv: the file is empty.*Export"):
        read_log(path, instrument())


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        read_log(tmp_path, instrument())


def test_a_missing_file_is_missing(tmp_path: Path) -> None:
    with pytest.raises(MissingError, match="no such file"):
        read_log(tmp_path / "none.csv", instrument())


def test_a_binary_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(bytes(range(256)) * 40)
    with pytest.raises(InputError, match="NUL bytes and is not UTF-16"):
        read_log(path, instrument())


def test_nul_bytes_far_below_name_their_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "_HEADS", (1000, 2000))
    assert "line 153: holds NUL bytes" in refusal(tmp_path, line_edit(153, "\0" * 40))


def test_a_file_beyond_the_limit_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading_module, "LARGEST_BYTES", 100)
    assert "MB are read. Cut it" in refusal(tmp_path, lambda text: text)


def test_prose_is_no_table(tmp_path: Path) -> None:
    assert "no line holds two or more numbers" in refusal(tmp_path, lambda _: "words\n" * 30)


def test_a_file_without_a_header_is_refused(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.split("\n", 2)[2])
    assert "line 1: the data begins here with 5 fields" in message


# Marks and dialects.


def test_three_decimals_everywhere_are_asked_about(tmp_path: Path) -> None:
    path = written(tmp_path, [f"{i + 1},125" for i in range(200)], first=1)
    path.write_text(path.read_text().replace(".", ","))
    text = "t;x\n" + "".join(f"{i};{i % 900 + 1},125\n" for i in range(200))
    path.write_text(text)
    with pytest.raises(InputError, match=r"'1,125' may mean 1\.125 or 1125.*decimal = "):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))
    as_decimal = read_log(path, simple("kPa", Channel.INLET_DEPRESSION, decimal=","))
    assert as_decimal.log.values[Channel.INLET_DEPRESSION][0] == 1125.0
    as_group = read_log(path, simple("Pa", Channel.INLET_DEPRESSION, decimal="."))
    assert as_group.log.values[Channel.INLET_DEPRESSION][0] == 1125.0
    assert told(as_group, "groups of three").level == "note"


def test_decimal_commas_between_commas_are_refused(tmp_path: Path) -> None:
    text = "t,x\n" + "".join(f"{i // 25},{i % 25},1,5\n" for i in range(200))
    message = refusal(tmp_path, lambda _: text)
    assert "the header has 2 fields and the data from line 2 has 4" in message
    assert "cannot be told apart" in message


def test_a_point_in_a_file_of_decimal_commas_is_never_a_decimal(tmp_path: Path) -> None:
    # The table reader alone would give 1.5 for it.
    values = ["2,5"] * 200
    values[100] = "1.5"
    path = written(tmp_path, values)
    path.write_text(
        "t;x\n"
        + "".join(f"{i / 25:.2f};".replace(".", ",") + f"{v}\n" for i, v in enumerate(values))
    )
    reading = read_log(path, simple("kPa", Channel.INLET_DEPRESSION, decimal=","))
    assert np.isnan(reading.log.values[Channel.INLET_DEPRESSION][100])
    assert "'1.5' at line 102" in str(told(reading, "not finite"))


def test_both_marks_as_decimals_are_refused(tmp_path: Path) -> None:
    path = written(tmp_path, ["12,5"] * 200)
    with pytest.raises(InputError, match="both marks stand before decimals"):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))


def test_a_mark_after_a_head_of_whole_numbers_is_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(text_module, "_HEADS", (1000, 2000))
    text = "t;x\n" + "".join(f"{i};{i if i < 290 else '12,5'}\n" for i in range(300))
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(InputError, match="line 292: '12,5' has a mark"):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))


def test_a_first_row_too_large_for_a_float_is_data(tmp_path: Path) -> None:
    path = written(tmp_path, ["1e400", *["2.5"] * 199])
    reading = read_log(path, simple("kPa", Channel.INLET_DEPRESSION))
    assert reading.dialect.header_row == 1
    assert reading.log.time_s[0] == 0.0
    assert np.isnan(reading.log.values[Channel.INLET_DEPRESSION][0])


def test_a_first_row_of_words_and_one_number_is_data(tmp_path: Path) -> None:
    path = written(tmp_path, ["#####", *["2.5"] * 199])
    assert read_log(path, simple("kPa", Channel.INLET_DEPRESSION)).dialect.first_data_row == 2


def test_unknown_hints_are_refused_together() -> None:
    with pytest.raises(InputError) as caught:
        conclude_dialect(b"t;x\n1;2\n", {"decimals": ",", "delimiter": "$", "encoding": "klingon"})
    assert len(caught.value.findings) == 2
    assert "Known are encoding, delimiter, decimal, time_form" in str(caught.value)


@pytest.mark.parametrize("encoding", ["klingon", "base64", "rot13", "zlib", ""])
def test_what_is_no_text_encoding_is_refused(encoding: str) -> None:
    with pytest.raises(InputError, match=r"dialect\.encoding"):
        conclude_dialect(b"t;x\n1;2\n", {"encoding": encoding})


# Columns and units.


def test_a_missing_column_lists_the_others_and_the_nearest(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.replace("Temp. Zulauf", "Temp Zulauf"))
    assert "no column is named 'Temp. Zulauf'. The nearest is 'Temp Zulauf'" in message
    assert "There are: 't', 'n Motor', 'Unterdruck Pumpe', 'Temp Zulauf', 'Füllstand'" in message


def test_all_missing_columns_are_named_at_once(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.replace("Motor", "X").replace("Pumpe", "Y"))
    assert "'n Motor'" in message
    assert "'Unterdruck Pumpe'" in message


def test_other_blanks_and_cases_are_noted(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, lambda text: text.replace("n Motor", "N  motor"))
    assert told(reading, "was found as 'N  motor'").level == "note"


def test_two_columns_of_one_name_are_refused(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.replace("Füllstand", "n Motor"))
    assert "columns 2, 5 are all named 'n Motor'" in message


def test_a_channel_without_a_unit_is_refused(tmp_path: Path) -> None:
    assert "no unit for 'Füllstand'" in refusal(tmp_path, lambda text: text.replace("%", ""))


def test_two_units_that_differ_are_named(tmp_path: Path) -> None:
    path = written(tmp_path, ["2.5"] * 200, header="t;x [mbar]")
    with pytest.raises(InputError, match="instrument says 'kPa' and the log says 'mbar'"):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))


def test_two_spellings_of_one_unit_agree(tmp_path: Path) -> None:
    path = written(tmp_path, ["2500"] * 200, header="t;x (1/min)")
    reading = read_log(path, simple("rpm", Channel.ENGINE_SPEED))
    assert reading.log.values[Channel.ENGINE_SPEED][0] == pytest.approx(2500 / 60)


def test_hertz_are_no_engine_speed(tmp_path: Path) -> None:
    path = written(tmp_path, ["50.5"] * 200)
    with pytest.raises(InputError, match="'Hz', which is not a known unit of rotational speed"):
        read_log(path, simple("Hz", Channel.ENGINE_SPEED))


@pytest.mark.parametrize(
    ("value", "unit", "channel", "fits"),
    [
        ("3000.5", "rps", Channel.ENGINE_SPEED, "rpm"),
        ("313.1", "degC", Channel.FUEL_TEMPERATURE, "K"),
        ("1200.5", "MPa", Channel.RAIL_PRESSURE, "bar"),
        ("57.5", "1", Channel.FUEL_LEVEL, "%"),
        ("91100.0", "kPa", Channel.AIR_PRESSURE_ABS, "Pa"),
        ("911.0", "kPa", Channel.AIR_PRESSURE_ABS, "mbar"),
    ],
)
def test_a_swapped_unit_is_an_error_that_names_what_fits(
    value: str, unit: str, channel: Channel, fits: str, tmp_path: Path
) -> None:
    reading = read_log(written(tmp_path, [value] * 200), simple(unit, channel))
    finding = told(reading, "swapped unit?")
    assert finding.level == "error"
    assert fits in finding.remedy.split(":")[0].replace(",", "").split()


# Cells.


@pytest.mark.parametrize("cell", ["", "-", "NaN", "Err", "OL", "inf", "-inf", "1e400", "12 kPa"])
def test_what_is_no_number_is_not_measured_and_counted(cell: str, tmp_path: Path) -> None:
    values = ["2.5"] * 200
    values[7] = values[9] = cell
    reading = read_log(written(tmp_path, values), simple("kPa", Channel.INLET_DEPRESSION))
    got = reading.log.values[Channel.INLET_DEPRESSION]
    assert np.flatnonzero(np.isnan(got)).tolist() == [7, 9]
    assert f"2 of 200 cells are not finite numbers, first {cell!r} at line 9" in str(
        told(reading, "not finite")
    )


@pytest.mark.parametrize("cell", [" 2.5", "2.5 ", "+2.5", "\u00a02.5", "2.50", "25e-1", "0002.5"])
def test_odd_ways_to_write_a_number_are_numbers(cell: str, tmp_path: Path) -> None:
    values = ["2.5"] * 200
    values[7] = cell
    reading = read_log(written(tmp_path, values), simple("kPa", Channel.INLET_DEPRESSION))
    assert (reading.log.values[Channel.INLET_DEPRESSION] == 2500.0).all()


def test_the_minus_sign_of_typesetters_is_a_minus(tmp_path: Path) -> None:
    values = ["2.5"] * 200
    values[7] = "\u22122.5"
    reading = read_log(written(tmp_path, values), simple("kPa", Channel.INLET_DEPRESSION))
    assert reading.log.values[Channel.INLET_DEPRESSION][7] == -2500.0


# Lines.


def test_a_repeated_header_is_left_out(tmp_path: Path) -> None:
    def edit(text: str) -> str:
        lines = text.split("\n")
        return "\n".join([*lines[:82], *lines[:2], *lines[82:]])

    reading = read_edited(tmp_path, edit)
    assert reading.log.time_s.size == 160
    assert "line 83: rows repeat the header or the unit row (2)" in str(told(reading, "repeat"))


def test_a_last_line_that_is_cut_is_left_out(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, lambda text: text[:-9])
    assert reading.log.time_s.size == 159
    assert "line 162: the last line is cut" in str(told(reading, "cut"))


def test_a_last_number_that_may_be_cut_is_not_believed(tmp_path: Path) -> None:
    assert read_edited(tmp_path, lambda text: text[:-2]).log.time_s.size == 159


def test_a_last_line_that_only_lacks_its_end_is_kept(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, lambda text: text[:-1])
    assert reading.log.time_s.size == 160
    assert [f for f in reading.findings if f.level != "note"] == []


def test_blank_lines_are_counted(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, line_edit(50, "\n  ", after=True))
    assert reading.log.time_s.size == 160
    assert "line 51: blank lines (2)" in str(told(reading, "blank lines"))


def test_a_line_of_other_width_is_left_out_and_named(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, line_edit(60, "35.1,7"))
    assert reading.log.time_s.size == 159
    assert told(reading, "line 60: lines do not have the header's number").level == "warning"


def test_two_wrong_widths_do_not_make_up_for_each_other(tmp_path: Path) -> None:
    def edit(text: str) -> str:
        lines = text.split("\n")
        lines[60] += ",9"
        lines[61] = lines[61].rpartition(",")[0]
        return "\n".join(lines)

    assert read_edited(tmp_path, edit).log.time_s.size == 158


def test_wrong_widths_count_although_their_columns_are_not_wanted(tmp_path: Path) -> None:
    # The table reader does not look at fields beyond the columns that it is asked for.
    rows = [f"{i / 25:.2f};2.5;1;1" for i in range(200)]
    rows[60] += ";9"
    rows[61] = "2.44;9.9;1"
    path = tmp_path / "log.csv"
    path.write_text("t;x;y;z\n" + "\n".join(rows) + "\n")
    reading = read_log(path, simple("kPa", Channel.INLET_DEPRESSION))
    assert reading.log.time_s.size == 198
    assert (reading.log.values[Channel.INLET_DEPRESSION] == 2500.0).all()
    assert "line 62" in str(told(reading, "do not have the header's number"))


def test_many_lines_of_other_width_refuse_the_file(tmp_path: Path) -> None:
    def edit(text: str) -> str:
        lines = text.split("\n")
        return "\n".join(x + (",1" if 20 < i < 30 else "") for i, x in enumerate(lines))

    assert "9 of 160 lines do not have the header's" in refusal(tmp_path, edit)


# Time.


def test_time_that_runs_backwards_names_line_and_both_values(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.replace("\n36.000,", "\n30.000,"))
    assert "line 28: the time runs backwards, from 35.96 s to 30 s" in message


def test_a_clock_that_passes_midnight_runs_backwards(tmp_path: Path) -> None:
    rows = [f"23:59:{54 + i // 25:02d}.{i % 25 * 4:02d};2.5" for i in range(150)]
    rows += [f"0:00:0{i // 25}.{i % 25 * 4:02d};2.5" for i in range(50)]
    path = tmp_path / "log.csv"
    path.write_text("t;x\n" + "\n".join(rows) + "\n")
    with pytest.raises(InputError, match=r"line 152: the time runs backwards, from 86399\.96"):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))


def test_repeated_time_stamps_are_refused(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda text: text.replace("\n36.000,", "\n35.960,"))
    assert "line 28: 1 of 160 time stamps repeat the one before" in message


def test_very_few_repeated_time_stamps_are_left_out(tmp_path: Path) -> None:
    reading = read_edited(tmp_path, lambda t: t.replace("\n36.000,", "\n35.960,"), rows=1200)
    assert reading.log.time_s.size == 1199
    assert told(reading, "time stamps repeat").level == "warning"


def test_a_slow_log_is_warned_of(tmp_path: Path) -> None:
    assert told(read_edited(tmp_path, lambda t: t, rate_hz=10), "sampled at 10 Hz").level == (
        "warning"
    )


def test_a_short_log_is_refused(tmp_path: Path) -> None:
    assert "shorter than a pull: 3.96 s" in refusal(tmp_path, lambda t: t, rows=100)


def test_a_wrong_clock_does_not_hide_a_swapped_unit(tmp_path: Path) -> None:
    message = refusal(tmp_path, lambda t: t.replace("kPa", "MPa"), rows=100)
    assert "shorter than a pull" in message
    assert "swapped unit?" in message


def test_a_clock_of_two_parts_is_asked_about(tmp_path: Path) -> None:
    rows = [f"{i // 60:02d}:{i % 60:02d};2.5" for i in range(200)]
    path = tmp_path / "log.csv"
    path.write_text("t;x\n" + "\n".join(rows) + "\n")
    with pytest.raises(InputError, match="hours and minutes or minutes and seconds"):
        read_log(path, simple("kPa", Channel.INLET_DEPRESSION))
    for form, step in (("mm:ss", 1.0), ("h:mm", 60.0)):
        reading = read_log(path, simple("kPa", Channel.INLET_DEPRESSION, time_form=form))
        assert reading.log.time_s[1] == step


def test_offsets_from_utc_count(tmp_path: Path) -> None:
    rows = [f"2026-10-25T02:59:{50 + i // 25}.{i % 25 * 4:02d}+02:00;2.5" for i in range(250)]
    rows += [f"2026-10-25T02:00:0{i // 25}.{i % 25 * 4:02d}+01:00;2.5" for i in range(250)]
    path = tmp_path / "log.csv"
    path.write_text("t;x\n" + "\n".join(rows) + "\n")
    time_s = read_log(path, simple("kPa", Channel.INLET_DEPRESSION)).log.time_s
    assert time_s[0] == 2 * 3600 + 59 * 60 + 50
    assert np.diff(time_s) == pytest.approx(0.04)


# Pressures taken for each other.


@pytest.mark.parametrize(
    ("value", "channel", "instead"),
    [
        ("-12.5", Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_GAUGE),
        ("88.5", Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_ABS),
        ("12.5", Channel.INLET_PRESSURE_GAUGE, Channel.INLET_DEPRESSION),
        ("88.5", Channel.INLET_PRESSURE_GAUGE, Channel.INLET_PRESSURE_ABS),
        ("12.5", Channel.INLET_PRESSURE_ABS, Channel.INLET_DEPRESSION),
    ],
)
def test_mixed_up_pressures_name_what_to_write_instead(
    value: str, channel: Channel, instead: Channel, tmp_path: Path
) -> None:
    reading = read_log(written(tmp_path, [value] * 200), simple("kPa", channel))
    assert f"map the column as {instead}." in str(told(reading, "looks like")).lower()


def test_gauge_pressure_becomes_depression(tmp_path: Path) -> None:
    reading = read_log(
        written(tmp_path, ["-12.5"] * 200), simple("kPa", Channel.INLET_PRESSURE_GAUGE)
    )
    assert (reading.log.values[Channel.INLET_DEPRESSION] == 12500.0).all()
    assert Channel.INLET_PRESSURE_GAUGE not in reading.log.values
    assert told(reading, "turned into depression").level == "note"


def test_absolute_pressure_is_left_to_who_knows_the_ambient(tmp_path: Path) -> None:
    reading = read_log(written(tmp_path, ["80.5"] * 200), simple("kPa", Channel.INLET_PRESSURE_ABS))
    assert (reading.log.values[Channel.INLET_PRESSURE_ABS] == 80500.0).all()
    assert told(reading, "stays absolute").level == "note"


def test_an_instrument_without_time_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, ["2.5"] * 200)
    timeless = simple("kPa", Channel.INLET_DEPRESSION)
    with pytest.raises(InputError, match="the instrument has no time channel"):
        read_log(path, replace(timeless, channels=timeless.channels[1:]))
