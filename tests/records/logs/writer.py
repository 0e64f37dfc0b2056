"""Write logs in any dialect, with the very numbers that a reader must give back."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from feedproof.case.run import Channel, ChannelMap, Instrument

COLUMNS = (
    (Channel.ENGINE_SPEED, "n Motor", "1/min", "rotation"),
    (Channel.INLET_DEPRESSION, "Unterdruck Pumpe", "kPa", "pressure"),
    (Channel.FUEL_TEMPERATURE, "Temp. Zulauf", "°C", "temperature"),
    (Channel.FUEL_LEVEL, "Füllstand", "%", "fraction"),
)
PREAMBLES = {
    "none": "",
    "words": "A logger\nserial 4711\n\nrecorded by: somebody; in: a cell, hall 2\n",
    "keys": "Serial;4711\nVersion,1.5\nDate\t2026-09-14\nGain: 0,25\n" * 9,
    "comments": "# made 2026-09-14 09:42\n# 1, 2, 3\n# 1;2;3\n",
    "long": "line of a long preamble, with 1 number; or 2\n" * 700,
}


@dataclass(frozen=True, kw_only=True)
class Form:
    """A dialect to write in."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    mark: bytes = b""
    preamble: str = "none"
    units: str = "row"
    time_form: str = "s"
    line_end: str = "\n"
    quotes: bool = False
    rows: int = 160
    rate_hz: float = 25.0
    trailing: bool = False
    repeat_every: int = 0
    cut: int = 0
    cells: dict[tuple[int, int], str] = field(default_factory=dict)


def numbers(rows: int) -> list[list[str]]:
    """Give texts with a decimal point, of any sign, size and number of decimals."""
    table = []
    for i in range(rows):
        table.append(
            [
                f"{1200 + 13.7 * i:.{i % 4}f}",
                f"{(-1) ** (i % 7 == 0) * (0.01 + 0.1 * i):.{1 + i % 3}f}",
                f"{38.5 + 0.013 * i:.4f}",
                f"{58 - 0.05 * i:.1f}",
            ]
        )
    return table


def times(form: Form) -> tuple[list[str], list[float]]:
    """Give the texts of the times, and the seconds that they mean."""
    texts, seconds = [], []
    step_ms = round(1000 / form.rate_hz)
    for i in range(form.rows):
        ms = 35000 + i * step_ms
        if form.time_form == "s":
            texts.append(f"{ms // 1000}.{ms % 1000:03d}")
            seconds.append(float(texts[-1]))
        elif form.time_form == "ms":
            texts.append(str(ms))
            seconds.append(ms * 0.001)
        elif form.time_form == "h:mm:ss":
            texts.append(f"9:{ms // 60000:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}")
            seconds.append(float(f"{9 * 3600 + ms // 1000}.{ms % 1000:03d}"))
        else:
            # Over midnight, so that the date counts.
            moment = datetime(2026, 9, 14, 23, 59, 57) + timedelta(milliseconds=i * step_ms)
            texts.append(
                moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 1000:03d}"
            )
            since = 86397 * 1000 + i * step_ms
            seconds.append(float(f"{since // 1000}.{since % 1000:03d}"))
    return texts, seconds


def write(path: Path, form: Form) -> tuple[list[float], list[list[str]]]:
    """Write a log; give its seconds and its texts with decimal points."""
    texts, seconds = times(form)
    table = numbers(form.rows)
    time_unit = {"s": "s", "ms": "ms"}.get(form.time_form, "")
    names = ["t", *(name for _, name, _, _ in COLUMNS)]
    units = [time_unit, *(unit for _, _, unit, _ in COLUMNS)]
    rows = [names]
    if form.units == "row":
        rows.append(units)
    elif form.units == "brackets":
        rows = [[f"{n} [{u}]" if u else n for n, u in zip(names, units, strict=True)]]
    elif form.units == "parentheses":
        rows = [[f"{n} ({u})" if u else n for n, u in zip(names, units, strict=True)]]
    above = list(rows)
    for i, (time, cells) in enumerate(zip(texts, table, strict=True)):
        if form.repeat_every and i and i % form.repeat_every == 0:
            rows += above
        line = [time, *cells]
        line = [form.cells.get((i, k), cell) for k, cell in enumerate(line)]
        rows.append([cell.replace(".", form.decimal) for cell in line])
    lines = PREAMBLES[form.preamble].splitlines()
    for row in rows:
        cells = [f'"{cell}"' for cell in row] if form.quotes else row
        lines.append(form.delimiter.join(cells) + (form.delimiter if form.trailing else ""))
    text = form.line_end.join(lines) + form.line_end
    if form.cut:
        # At least one character of the last line stays, and the last digit never does.
        last = len(lines[-1]) - 1 - form.quotes
        text = text[: len(text) - len(form.line_end) - 1 - form.quotes - form.cut % last]
    path.write_bytes(form.mark + text.encode(form.encoding))
    return seconds, table


def instrument(form: Form | None = None, **hints: str) -> Instrument:
    """Describe the instrument that writes these logs."""
    stated = form is not None and form.units == "none"
    time_unit = form.time_form if form and form.time_form in ("s", "ms") else ""
    return Instrument(
        id="logger",
        title="invented logger",
        channels=(
            ChannelMap(channel=Channel.TIME, column="t", unit=time_unit if stated else ""),
            *(
                ChannelMap(channel=channel, column=name, unit=unit if stated else "")
                for channel, name, unit, _ in COLUMNS
            ),
        ),
        dialect=hints,
    )
