"""`look`: everything concluded is shown, nothing is guessed, and the block can be pasted."""

import json
import time
import tomllib
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jsonschema
import pytest

from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.case.run import Channel, ChannelMap, Instrument
from feedproof.records.logs.reading import read_log

HEAD = "logger 4711\nt;n Motor;Unterdruck Pumpe;Temp. Zulauf;AD3;gear;Raildruck\n"
UNITS = "s;1/min;kPa;;mbar;;bar\n"


def row(i: int) -> str:
    cells = f"{i * 0.04:.2f};{1200 + 10 * i};{5 + i / 10:.1f};{38.5 + i / 100:.2f};{900 + i}.5;D;"
    return (cells + f"{300 + i}.5\n").replace(".", ",")


def written(folder: Path, units: str = UNITS, head: str = HEAD) -> Path:
    path = folder / "log.csv"
    path.write_text(head + units + "".join(row(i) for i in range(200)), encoding="utf-8")
    return path


def looked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code = main(["look", *words, "--json"])
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, schema("look"))
    return code, document


def column(document: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(c for c in document["files"][0]["columns"] if c["name"] == name)
    return found


def test_everything_concluded_is_in_the_document(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, document = looked(capsys, str(written(tmp_path)))
    seen = document["files"][0]
    assert code == 0
    assert (seen["delimiter"], seen["decimal"], seen["encoding"]) == (";", ",", "utf-8")
    assert (seen["header_row"], seen["unit_row"], seen["first_data_row"]) == (2, 3, 4)
    assert seen["rows"] == 200
    speed = column(document, "n Motor")
    assert (speed["least"], speed["middle"], speed["greatest"]) == (1200.0, 2195.0, 3190.0)
    assert speed["candidates"][0]["channel"] == "engine_speed"
    assert "1/min" in speed["candidates"][0]["reason"]
    assert column(document, "gear")["form"] == "text"


def test_a_unit_is_asked_for_and_never_assigned(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path)
    _, document = looked(capsys, str(path))
    temperature = column(document, "Temp. Zulauf")
    assert temperature["unit"] == ""
    assert temperature["candidates"][0]["units"] == ["degC", "degF"]
    block = tomllib.loads(document["files"][0]["block"])["instrument"]["logger"]
    assert block["channels"]["fuel_temperature"]["unit"] == "?"
    assert "unit: ?" in str(document["files"][0]["findings"])
    # A unit alone names no channel.
    assert "AD3" not in {each["column"] for each in block["channels"].values()}
    assert len(column(document, "AD3")["candidates"]) > 1


def test_the_block_reads_the_log_once_the_question_is_answered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path)
    _, document = looked(capsys, str(path), "--instrument", "cell", "--encoding", "cp1252")
    block = tomllib.loads(document["files"][0]["block"].replace('"?"', '"degC"'))
    block = block["instrument"]["cell"]
    assert block["dialect"] == {"encoding": "cp1252"}
    reading = read_log(
        path,
        Instrument(
            id="cell",
            title=block["title"],
            channels=tuple(
                ChannelMap(channel=Channel(name), **entry)
                for name, entry in block["channels"].items()
            ),
            dialect=block["dialect"],
        ),
    )
    assert reading.log.time_s.size == 200
    assert reading.log.values[Channel.FUEL_TEMPERATURE][0] == pytest.approx(311.65)


def test_a_swapped_unit_is_told_with_the_units_that_fit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, units="s;1/min;kPa;°C;mbar;;MPa\n")
    _, document = looked(capsys, str(path))
    warnings = [f for f in document["files"][0]["findings"] if f["level"] == "warning"]
    assert len(warnings) == 1
    assert "swapped unit?" in warnings[0]["message"]
    assert "bar" in warnings[0]["message"]


def test_what_is_ambiguous_is_asked_and_a_hint_answers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    rows = [f"{i // 60:02d}:{i % 60:02d};1,{100 + i}" for i in range(200)]
    path.write_text("time;x\n" + "\n".join(rows) + "\n", encoding="utf-8")
    code, document = looked(capsys, str(path))
    assert code == 2
    assert "1.100 or 1100" in str(document["files"][0]["findings"])
    code, document = looked(capsys, str(path), "--decimal", "comma")
    assert code == 2
    assert "hours and minutes" in str(document["files"][0]["findings"])
    code, document = looked(capsys, str(path), "--decimal", "comma", "--time-form", "mm:ss")
    assert code == 0
    assert column(document, "time")["greatest"] == 199.0
    assert column(document, "x")["least"] == 1.1


def test_a_wrong_hint_shows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, document = looked(capsys, str(written(tmp_path)), "--decimal", "point")
    assert code == 2
    assert "no cell is a finite number, first '0,00' at line 4" in str(document)


def test_every_file_is_looked_at_though_one_cannot_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, document = looked(capsys, str(tmp_path / "none.csv"), str(written(tmp_path)))
    assert code == 2
    assert [each["usable"] for each in document["files"]] == [False, True]


def test_a_case_compares_its_instrument_with_the_file(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(demo.folder.path)
    name = next(iter(demo.folder.load().case.instruments))
    code, document = looked(capsys, str(written(tmp_path)), "--case", folder, "--instrument", name)
    assert code == 2
    assert "no column is named" in str(document["files"][0]["findings"])
    assert main(["look", "x.csv", "--case", folder, "--instrument", "nobody"]) == 2
    assert "no instrument 'nobody'" in capsys.readouterr().err


def test_the_text_says_what_the_document_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["look", str(written(tmp_path))]) == 0
    text = capsys.readouterr().out
    for words in (
        "decimal comma: proved by cells such as",
        "4. Temp. Zulauf [?]: 38.5 to 40.49",
        "unit: ? plausible are degC, degF",
        "[instrument.logger.channels]",
        '# delimiter = "semicolon"  # concluded',
    ):
        assert words in text


def test_a_cell_of_very_many_digits_is_looked_at_soon(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "log.csv"
    long = "9" * 100_000
    path.write_text(f"t;x\n0;{long}x\n" + f"1;{long}\n2;3\n" * 3, encoding="utf-8")
    start = time.perf_counter()
    looked(capsys, str(path))
    assert time.perf_counter() - start < 10.0
