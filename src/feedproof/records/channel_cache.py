"""
Channels of a raw log as Parquet beside it: a cache that is checked and never needed.

The file is named by what it depends on besides the raw bytes: the instrument's mapping and the
code that reads.  A small JSON file beside it holds units and findings, the hash of the file (a
damaged one must not reach the decoder, which trusts the sizes in it), and a SHA-256 over the
channels as little-endian doubles in a fixed order, because the bytes of a Parquet file differ
between versions of the library.
"""

import dataclasses
import hashlib
import io
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from feedproof.case.log import FloatArray, Log
from feedproof.case.run import Channel, Instrument
from feedproof.core.errors import WriteError
from feedproof.core.findings import Finding, Level
from feedproof.records.durable import write_whole

_DAMAGE = (OSError, KeyError, TypeError, AttributeError, RecursionError, pl.exceptions.PolarsError)


def channels_path(raw: Path, instrument: Instrument) -> Path:
    """
    Say where the channels of a raw log are kept.

    Parameters
    ----------
    raw : Path
        The raw file.
    instrument : Instrument
        What its columns mean.

    Returns
    -------
    Path
        Beside the raw file.
    """
    mapping = json.dumps(dataclasses.asdict(instrument), sort_keys=True, default=str)
    text = f"{mapping}\n{raw.name}\n{_reader()}"
    return raw.parent / f"channels-{hashlib.sha256(text.encode()).hexdigest()[:16]}.parquet"


@cache
def _reader() -> str:
    """Hash the code that reads logs: what another version read is read anew."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    readers = [*(here / "logs").glob("*.py"), *(here / "buslog").glob("*.*")]
    for file in sorted(readers):
        if file.suffix not in (".py", ".dbc"):
            continue
        digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()


def write_channels(path: Path, log: Log, findings: tuple[Finding, ...]) -> None:
    """
    Keep the channels of a log.

    Parameters
    ----------
    path : Path
        From `channels_path`.
    log : Log
        As it was read.
    findings : tuple of Finding
        What was said of it.

    Raises
    ------
    WriteError
        No space; the raw file is as it was.
    """
    columns = {"time_s": log.time_s, **{c.value: v for c, v in log.values.items()}}
    about = {
        "instrument": log.instrument,
        "name": log.name,
        "order": list(columns),
        "units": [[channel.value, unit] for channel, unit in log.units.items()],
        "findings": [dataclasses.asdict(finding) for finding in findings],
    }
    stream = io.BytesIO()
    frame = pl.DataFrame({name: np.ascontiguousarray(v) for name, v in columns.items()})
    frame.write_parquet(stream)
    about["file"] = hashlib.sha256(stream.getvalue()).hexdigest()
    about["sha256"] = _digest(columns, about)
    write_whole(path, stream.getvalue())
    # Last: a cache without this file is none.
    write_whole(path.with_suffix(".json"), json.dumps(about, sort_keys=True).encode())


def read_channels(path: Path) -> tuple[Log, tuple[Finding, ...]]:
    """
    Read kept channels.

    Parameters
    ----------
    path : Path
        From `channels_path`.

    Returns
    -------
    log : Log
        Bit for bit as it was kept.
    findings : tuple of Finding
        As they were said then.

    Raises
    ------
    ValueError
        The file is not as it was written.
    """
    try:
        about = json.loads(path.with_suffix(".json").read_bytes())
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != about["file"]:
            raise ValueError("the file does not have the hash that it states")
        frame = pl.read_parquet(io.BytesIO(content))
        columns = {name: frame[name].to_numpy() for name in about["order"]}
        stated = about.pop("sha256")
        if _digest(columns, about) != stated:
            raise ValueError("the channels do not have the hash that they state")
        log = Log(
            instrument=about["instrument"],
            name=about["name"],
            time_s=columns.pop("time_s"),
            values={Channel(name): values for name, values in columns.items()},
            units={Channel(name): unit for name, unit in about["units"]},
        )
        findings = tuple(
            Finding(**{**each, "level": Level(each["level"])}) for each in about["findings"]
        )
    except _DAMAGE as fault:
        raise ValueError(f"cannot be read ({type(fault).__name__})") from fault
    return log, findings


def channel_faults(path: Path) -> str:
    """
    Say what is wrong with kept channels.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        Empty when they are as they were written.
    """
    try:
        read_channels(path)
    except ValueError as fault:
        return f"{fault}; it is read from the raw log instead. Delete the file."
    return ""


def keep_channels(path: Path, log: Log, findings: tuple[Finding, ...]) -> None:
    """
    Keep channels where there is room: a cache that cannot be written is no fault.

    Parameters
    ----------
    path : Path
        From `channels_path`.
    log : Log
        As it was read.
    findings : tuple of Finding
        What was said of it.
    """
    try:
        write_channels(path, log, findings)
    except WriteError:
        return


def _digest(columns: Mapping[str, FloatArray], about: Mapping[str, Any]) -> str:
    """Hash channels and what is said of them."""
    digest = hashlib.sha256(json.dumps(about, sort_keys=True).encode())
    for name in about["order"]:
        digest.update(name.encode() + b"\0")
        digest.update(np.ascontiguousarray(columns[name], dtype="<f8").tobytes())
    return digest.hexdigest()
