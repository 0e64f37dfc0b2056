"""
Dialects drawn at random from all products give back exactly the numbers that were written.

Delimiter, decimal mark, encoding, preamble, unit row, repeated headers, cut end, first row out of
range, form of times and line ends vary together: what goes wrong goes wrong where two of them
meet.  What cannot be told apart must be asked about.
"""

import random
from pathlib import Path

import numpy as np
import pytest

from feedproof.case.run import Channel
from feedproof.core.errors import InputError
from feedproof.core.units import to_si
from feedproof.records.logs.reading import LogReading, read_log
from tests.reliability.rows import trials

from .test_dialects import DELIMITERS
from .writer import COLUMNS, PREAMBLES, Form, instrument, write

ENCODINGS = (
    *(("utf-8", b""), ("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe")),
    *(("utf-16-be", b"\xfe\xff"), ("utf-16-le", b""), ("utf-16-be", b"")),
    *(("cp1252", b""), ("latin-1", b""), ("cp1250", b"")),
)
OUT_OF_RANGE = "1e400"


def drawn(rng: random.Random) -> tuple[Form, dict[str, str]]:
    """Draw a form, and hints that are true of it."""
    delimiter, decimal = rng.choice(DELIMITERS)
    encoding, mark = rng.choice(ENCODINGS)
    time_form = rng.choice(("s", "ms", "h:mm:ss", "date-time"))
    units = rng.choice(("row", "brackets", "parentheses", "none"))
    if delimiter == "  " and time_form not in ("s", "ms"):
        units = "none"  # blanks divide an empty cell of the unit row wrongly
    form = Form(
        delimiter=delimiter,
        decimal=decimal,
        encoding=encoding,
        mark=mark,
        preamble=rng.choice(list(PREAMBLES)),
        units=units,
        time_form=time_form,
        line_end=rng.choice(("\n", "\r\n", "\r")),
        quotes=delimiter != "  " and rng.random() < 0.2,
        repeat_every=rng.choice((0, 0, 37)),
        cut=rng.choice((0, 0, rng.randrange(1, 1000))),
        cells={(0, 1): OUT_OF_RANGE} if rng.random() < 0.3 else {},
    )
    hints = {"encoding": encoding} if encoding == "cp1250" or rng.random() < 0.2 else {}
    if rng.random() < 0.2:
        hints["decimal"] = decimal
    return form, hints


def faults(form: Form, reading: LogReading, seconds: list[float], table: list[list[str]]) -> str:
    """Say what came back otherwise than it was written; empty where nothing."""
    rows = form.rows - bool(form.cut)
    if not np.array_equal(reading.log.time_s, np.array(seconds[:rows])):
        return "times"
    for k, (channel, _, unit, kind) in enumerate(COLUMNS):
        wanted = np.array([to_si(float(row[k]), unit, kind) for row in table[:rows]])
        if (0, k + 1) in form.cells:
            wanted[0] = np.nan
        if not np.array_equal(reading.log.values[channel], wanted, equal_nan=True):
            return channel
    told = [str(f) for f in reading.findings if f.level != "note"]
    expected = bool(form.cut) + bool(form.cells)
    if len(told) != expected:
        return f"findings {told}"
    if form.cut and not any("last line is cut" in words for words in told):
        return "the cut was not told"
    if form.cells and not any(OUT_OF_RANGE in words for words in told):
        return "the number out of range was not told"
    noted = any("repeat the header" in str(f) for f in reading.findings)
    return "" if noted == bool(form.repeat_every) else f"repeated headers told: {noted}"


def test_drawn_dialects_come_back_exactly(tmp_path: Path) -> None:
    rng = random.Random("dialects")
    path = tmp_path / "log.csv"
    wrong = []
    for _ in range(trials(120, 3000)):
        form, hints = drawn(rng)
        seconds, table = write(path, form)
        try:
            fault = faults(form, read_log(path, instrument(form, **hints)), seconds, table)
        except InputError as refused:
            fault = str(refused)
        if fault:
            wrong.append(f"{form} {hints}: {fault}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("mark", [",", "."])
@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_marks_that_may_group_thousands_are_asked_about_and_either_answer_is_taken(
    delimiter: str, mark: str, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    names = [name for _, name, _, _ in COLUMNS]
    rows = [["t", *names], ["s", "1/min", "kPa", "°C", "%"]]
    rows += [[str(i), f"1{mark}{200 + i}", "5", "40", "50"] for i in range(100)]
    path.write_text("\n".join(delimiter.join(row) for row in rows) + "\n", encoding="utf-8")

    with pytest.raises(InputError, match="may mean"):
        read_log(path, instrument())

    small = read_log(path, instrument(decimal=mark)).log.values[Channel.ENGINE_SPEED]
    large = read_log(path, instrument(decimal="." if mark == "," else ",")).log.values[
        Channel.ENGINE_SPEED
    ]
    np.testing.assert_allclose(large, 1000.0 * small, rtol=1e-12)
    assert small[0] == to_si(1.2, "rpm", "rotation")
