"""Logs that come as ASAM MDF 4 files, through asammdf."""

import struct
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from feedproof.core.errors import InputError
from feedproof.core.units import si_line
from feedproof.records.logs.channels import known_unit
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.frames import MOST_CELLS, write_frame
from feedproof.records.logs.kinds import Kind
from feedproof.records.logs.sparse import TIME, FloatArray, Series, on_one_clock

NEEDED = 'python -m pip install "feedproof[mdf]"'
NO_CHECKSUM = (
    "the format has no checksum over its data: a changed byte may go unnoticed here; the SHA-256"
    " under which the raw file is kept shows it"
)
_REMEDY = "Save it anew from the recorder's program, or export it as text (CSV)."
_TIME_SYNC = 1


def as_text(path: Path, hints: Mapping[str, str], target: Path) -> Dialect:
    """
    Write an MDF file as text.

    Parameters
    ----------
    path : Path
        The file.
    hints : mapping of str to str
        None counts.
    target : Path
        Text to write; its folder takes what the library puts aside.

    Returns
    -------
    Dialect
        Form of the text; its notes name every channel with its rate, and what was not read.

    Raises
    ------
    InputError
        asammdf is not installed; another version of the format; a damaged file; no channel that
        can be read.
    """
    del hints
    _check_version(path)
    try:
        from asammdf import MDF
    except ImportError as fault:
        raise InputError.at("file", "an MDF log needs asammdf.", f"Run: {NEEDED}") from fault
    try:
        with MDF(path, temporary_folder=str(target.parent)) as mdf:
            series, notes = _channels(mdf)
            started = f"recorded from {mdf.header.start_time.isoformat()} by its own clock"
    except (InputError, MemoryError):
        raise
    except Exception as fault:
        # Mutated files gave nine kinds of exceptions, most of them Python's own.
        words = " ".join(str(fault).split())[:160]
        raise InputError.at(
            "file", f"is damaged or cut ({type(fault).__name__}: {words}).", _REMEDY
        ) from fault
    if not series:
        raise InputError.at(
            "file", f"holds no channel that can be read. {'; '.join(notes)}.", _REMEDY
        )
    frame, told = on_one_clock(series, 0.0)
    dialect = write_frame(
        frame,
        target,
        kind=Kind.MDF,
        units={TIME: "s", **{each.name: each.unit for each in series}},
        notes=("MDF 4: the file begins with its mark", started, NO_CHECKSUM, *notes, *told),
        hints={},
    )
    return replace(dialect, sparse=True)


def _check_version(path: Path) -> None:
    """Refuse versions that lay out their blocks otherwise, and files cut in their first block."""
    with path.open("rb") as file:
        head = file.read(64)
    if len(head) < 64:
        raise InputError.at("file", "is cut in its first block.", _REMEDY)
    (version,) = struct.unpack_from("<H", head, 28)
    if not 400 <= version < 500:
        raise InputError.at(
            "file",
            f"is MDF of version {version / 100:.2f}; version 4 is read.",
            "Save it as MDF 4.",
        )


def _channels(mdf: Any) -> tuple[list[Series], list[str]]:
    """Read every channel of every group that has a time."""
    notes: list[str] = []
    cells = sum(g.channel_group.cycles_nr * max(len(g.channels) - 1, 0) for g in mdf.groups)
    if cells > MOST_CELLS:
        raise InputError.at(
            "table",
            f"{cells:,} readings; at most {MOST_CELLS:,} are read.",
            "Cut the log into one file for each pull, or export fewer channels.",
        )
    found: list[tuple[int, Series]] = []
    for number, group in enumerate(mdf.groups):
        master = mdf.masters_db.get(number)
        name = f"group {number + 1}" + (
            f" ({group.channel_group.acq_name})" if group.channel_group.acq_name else ""
        )
        why_not = _no_time(group, master)
        if why_not:
            notes.append(f"{name}: {why_not}, not read")
            continue
        factor = _seconds(group.channels[master], name)
        for index in range(len(group.channels)):
            if index == master:
                continue
            series, words = _channel(mdf, number, index, factor, name)
            notes += words
            found += [(number, series)] if series else []
    names = Counter([TIME, *(series.name for _, series in found)])
    apart = [
        replace(s, name=f"{s.name} of group {number + 1}") if names[s.name] > 1 else s
        for number, s in found
    ]
    return apart, notes


def _no_time(group: Any, master: int | None) -> str:
    """Say why a group has no times; empty where it has."""
    if not group.channel_group.cycles_nr:
        return "holds no record"
    if master is None:
        return "has no time"
    if group.channels[master].sync_type != _TIME_SYNC:
        return "runs over an angle, a distance or an index, not over time"
    return ""


def _seconds(master: Any, name: str) -> float:
    """Give the factor from the unit of a time channel to seconds; none stated is the format's."""
    unit = (master.unit or "s").strip() or "s"
    known = known_unit(unit, "duration")
    if known is None:
        raise InputError.at(name, f"its time has the unit {unit!r}.", _REMEDY)
    return si_line(known, "duration")[0]


def _channel(
    mdf: Any, group: int, index: int, factor: float, where: str
) -> tuple[Series | None, list[str]]:
    """Read one channel, without what its invalidation bits mark."""
    records = int(mdf.groups[group].channel_group.cycles_nr)
    signal = mdf.get(group=group, index=index)
    name = " ".join(str(signal.name).split()) or f"channel {index + 1} of {where}"
    samples = np.asarray(signal.samples)
    times = np.asarray(signal.timestamps, dtype=np.float64) * factor
    if samples.ndim != 1 or samples.dtype.names or samples.shape != times.shape:
        return None, [f"{name}: holds arrays, structures or frames of a bus, not read"]
    values = _values(samples, str(signal.encoding or "utf-8"))
    if values is None:
        return None, [f"{name}: holds {samples.dtype}, not read"]
    if not samples.size:
        return None, [f"{name}: all {records} readings are marked invalid"]
    invalid = records - samples.size
    remark = f"{invalid} marked invalid by the file and left out" if invalid > 0 else ""
    series = Series(
        name=name, unit=str(signal.unit or "").strip(), times=times, values=values, remark=remark
    )
    return _running(series, where), []


def _values(samples: Any, encoding: str) -> FloatArray | Any:
    """Give numbers as doubles and texts as texts; None for other kinds."""
    if samples.dtype.kind in "fiub":
        return samples.astype(np.float64)
    if samples.dtype.kind == "S":
        known = encoding if encoding in ("utf-8", "latin-1", "utf-16-le", "utf-16-be") else "utf-8"
        texts = [bytes(each).decode(known, "replace").strip("\0 ") for each in samples]
        return np.array(texts, dtype=np.str_)
    return samples if samples.dtype.kind == "U" else None


def _running(series: Series, where: str) -> Series:
    """Refuse times that are no numbers or go back."""
    bad = ~np.isfinite(series.times)
    if bad.any():
        raise InputError.at(
            f"{where}, {series.name}", f"{int(bad.sum())} times are no finite numbers.", _REMEDY
        )
    back = np.flatnonzero(np.diff(series.times) < 0.0)
    if back.size:
        at = int(back[0])
        raise InputError.at(
            f"{where}, {series.name}, reading {at + 2}",
            f"the time goes back from {series.times[at]:.9g} s to {series.times[at + 1]:.9g} s.",
            "Cut the log where recording began anew, one file for each part.",
        )
    return series
