"""
A log of 200 MB: this package beside polars' own reading of the same bytes.

Each side reads in a process of its own, so that its peak of memory is its own; the sums of all
columns are compared before a time is told.  The numbers have at most as many digits as a sum of
whole thousandths holds exactly, so that the order of adding changes nothing.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from benchmarks.measure import Report

SIZE_BYTES = 200_000_000
MARGIN = 1.5
GOAL_MB, LIMIT_MB = 400.0, 1000.0
REPEATS = 3
ROOT = Path(__file__).resolve().parents[1]
FORMS = {
    "point": "decimal point, commas, time in seconds",
    "comma": "decimal comma, semicolons, time as h:mm:ss",
}
SIDES = {
    "ours": "this package",
    "eager": "polars, read_csv",
    "streaming": "polars, scan_csv streaming",
}
# Name, unit, decimals, least and most: all channels that a log can hold but one of two demands.
CHANNELS = (
    ("road_speed", "km/h", 2, 10.0, 140.0),
    ("engine_speed", "rpm", 1, 800.0, 4500.0),
    ("wheel_power", "kW", 2, 5.0, 110.0),
    ("inlet_depression", "kPa", 3, 1.0, 45.0),
    ("fuel_temperature", "degC", 2, 20.0, 70.0),
    ("rail_pressure", "bar", 1, 250.0, 1800.0),
    ("throttle", "%", 1, 0.0, 100.0),
    ("air_temperature", "degC", 2, 10.0, 40.0),
    ("air_pressure_abs", "kPa", 2, 85.0, 102.0),
    ("relative_humidity", "%", 1, 20.0, 90.0),
    ("fuel_level", "%", 1, 5.0, 95.0),
    ("fuel_rate", "L/h", 2, 1.0, 40.0),
)
_BLOCK_ROWS = 100_000
_STEP_MS = 10


def generate(path: Path, form: str, size_bytes: int = SIZE_BYTES) -> None:
    """
    Write an invented log, the same one each time.

    Parameters
    ----------
    path : Path
        The file.
    form : str
        Key of `FORMS`.
    size_bytes : int
        Least size.
    """
    import numpy as np
    import polars as pl

    rng = np.random.default_rng(6)
    separator, mark = (";", ",") if form == "comma" else (",", ".")
    names = ["time [s]" if form == "point" else "time"]
    names += [f"{name} [{unit}]" for name, unit, *_ in CHANNELS]
    done = 0
    with path.open("wb") as file:
        file.write((separator.join(names) + "\n").encode())
        while file.tell() < size_bytes:
            ms = (np.arange(done, done + _BLOCK_ROWS, dtype=np.int64)) * _STEP_MS
            columns = {"time": pl.Series(ms)}
            for name, _, decimals, low, high in CHANNELS:
                columns[name] = pl.Series(rng.uniform(low, high, _BLOCK_ROWS).round(decimals))
            frame = pl.DataFrame(columns).with_columns(_time_texts(form))
            text = frame.write_csv(
                separator=separator,
                include_header=False,
                decimal_comma=form == "comma",
                quote_style="never",
            )
            file.write(text.replace("@", mark).encode())
            done += _BLOCK_ROWS


def _time_texts(form: str) -> Any:
    """Write milliseconds as the form writes times, with @ for the decimal mark."""
    import polars as pl

    ms = pl.col("time")
    two = [(part % 60).cast(pl.String).str.zfill(2) for part in (ms // 60_000, ms // 1000)]
    fraction = (ms % 1000).cast(pl.String).str.zfill(3)
    if form == "point":
        return pl.concat_str((ms // 1000).cast(pl.String), pl.lit("@"), fraction).alias("time")
    hours = (ms // 3_600_000).cast(pl.String)
    colon = pl.lit(":")
    return pl.concat_str(hours, colon, two[0], colon, two[1], pl.lit("@"), fraction).alias("time")


def _ours(path: Path) -> tuple[float, float, list[float]]:
    """Read with this package; give seconds, peak memory and sums in the file's own units."""
    from feedproof.case.run import Channel, ChannelMap, Instrument
    from feedproof.core.units import si_line
    from feedproof.records.logs.channels import kind_of
    from feedproof.records.logs.reading import read_log

    instrument = Instrument(
        id="bench",
        title="invented",
        channels=(
            ChannelMap(channel=Channel.TIME, column="time"),
            *(ChannelMap(channel=Channel(name), column=name) for name, *_ in CHANNELS),
        ),
    )
    si_line("km/h", "speed")  # loads the table of units, which counts as an import
    started = time.perf_counter()
    log = read_log(path, instrument).log
    took, most = time.perf_counter() - started, peak_mb()
    sums = [float((log.time_s * 1000.0).round().sum())]
    for name, unit, decimals, *_ in CHANNELS:
        factor, offset = si_line(unit, kind_of(Channel(name)))
        raw = (log.values[Channel(name)] - offset) / factor
        sums.append(float((raw * 10.0**decimals).round().sum()))
    return took, most, sums


def _polars(path: Path, side: str) -> tuple[float, float, list[float]]:
    """Read with polars, which is told the dialect and the types of all columns."""
    import polars as pl

    with path.open(encoding="utf-8") as file:
        comma = ";" in file.readline()
    first = pl.String if comma else pl.Float64
    schema: dict[str, Any] = {"time": first, **{name: pl.Float64 for name, *_ in CHANNELS}}
    how: dict[str, Any] = {
        "separator": ";" if comma else ",",
        "decimal_comma": comma,
        "has_header": False,
        "skip_rows": 1,
        "schema": schema,
        "quote_char": None,
    }
    # A third digit of hours is not written by so short a log.
    clock = pl.col("time").str.replace(",", ".", literal=True).str.to_time("%H:%M:%S%.f")
    started = time.perf_counter()
    if side == "eager":
        frame = pl.read_csv(path, **how)
        frame = frame.with_columns(clock) if comma else frame
    else:
        lazy = pl.scan_csv(path, **how)
        frame = (lazy.with_columns(clock) if comma else lazy).collect(engine="streaming")
    took, most = time.perf_counter() - started, peak_mb()
    times = frame["time"]
    ms = times.cast(pl.Int64) // 1_000_000 if comma else (times * 1000.0).round()
    sums = [float(ms.sum())]
    for name, _, decimals, *_ in CHANNELS:
        sums.append(float((frame[name] * 10.0**decimals).round().sum()))
    return took, most, sums


def peak_mb() -> float:
    """
    Say how much memory this process held at most.

    Returns
    -------
    float
        Megabytes.
    """
    # On Linux the usage of resources carries over from whoever started the process; this not.
    status = Path("/proc/self/status")
    if status.exists():
        for line in status.read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) * 1024 / 1e6
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6


def _child(*words: str) -> dict[str, Any]:
    """Run this module in a process of its own and read what it prints."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.ingest", *words],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def compare(report: Report, form: str, path: Path, repeats: int = REPEATS) -> None:
    """
    Read one file on all sides, in turn, and print times and memory.

    Parameters
    ----------
    report : Report
        Where to.
    form : str
        Key of `FORMS`.
    path : Path
        The file.
    repeats : int
        How often.
    """
    told: dict[str, list[dict[str, Any]]] = {side: [] for side in SIDES}
    for _ in range(repeats):
        for side in SIDES:
            told[side].append(_child(side, str(path)))
    sums = told["eager"][0]["sums"]
    for side, runs in told.items():
        if any(run["sums"] != sums for run in runs):
            raise RuntimeError(f"{SIDES[side]} read other numbers: {runs[0]['sums']}, not {sums}")
    seconds = {side: [run["seconds"] for run in runs] for side, runs in told.items()}
    memory = {side: max(run["peak_mb"] for run in runs) for side, runs in told.items()}
    report.paragraph(
        f"{FORMS[form]}: {path.stat().st_size / 1e6:.0f} MB; the sums of all columns agree exactly"
    )
    rows = []
    for side, name in SIDES.items():
        words = [f"{min(seconds[side]):.2f}", f"{max(seconds[side]):.2f}"]
        if side == "ours":
            words += ["", "", f"{memory[side]:.0f}"]
            words.append(
                "met"
                if memory[side] <= GOAL_MB
                else "missed, within the limit"
                if memory[side] <= LIMIT_MB
                else "MISSED"
            )
        else:
            ratio = min(seconds["ours"]) / min(seconds[side])
            met = "met" if ratio <= MARGIN else "MISSED"
            words += [f"{ratio:.2f}", met, f"{memory[side]:.0f}", ""]
        rows.append((name, *words))
    report.table(
        ("who", "s", "worst", "ours over its", f"<= {MARGIN}", "peak MB", f"<= {GOAL_MB:.0f}"),
        rows,
    )


def main(report: Report) -> None:
    """
    Write the logs, then read them on all sides.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("Reading a log of 200 MB")
    report.say(
        f"{len(CHANNELS)} channels and a time, all of them read. Polars is told delimiter, decimal"
        " mark and types; this package concludes them, counts every line, converts to SI, and"
        " checks the clock and the plausible ranges. Each side in a process of its own, imports"
        " and the table of units not timed; the file is in the system's cache.",
    )
    with tempfile.TemporaryDirectory() as scratch:
        for form in FORMS:
            path = Path(scratch) / f"{form}.csv"
            _child("generate", str(path), form)
            compare(report, form, path)
            path.unlink()


def _as_child(words: list[str]) -> None:
    """Do what a child was started for."""
    if words[0] == "generate":
        generate(Path(words[1]), words[2])
        print("{}")
        return
    read = _ours(Path(words[1])) if words[0] == "ours" else _polars(Path(words[1]), words[0])
    print(json.dumps({"seconds": read[0], "peak_mb": read[1], "sums": read[2]}))


if __name__ == "__main__":
    _as_child(sys.argv[1:])
