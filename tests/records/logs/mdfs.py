"""MDF 4 files of the writer's readings and of whatever a test needs."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from asammdf import MDF, Signal


def signal(name: str, unit: str, times: object, samples: object, **more: object) -> Signal:
    """Describe one channel."""
    return Signal(
        samples=np.asarray(samples),
        timestamps=np.asarray(times, dtype=np.float64),
        name=name,
        unit=unit,
        **more,
    )


def write_groups(path: Path, *groups: Sequence[Signal], version: str = "4.10") -> Path:
    """Write a file with one group for each list of channels."""
    with MDF(version=version) as mdf:
        for number, channels in enumerate(groups):
            mdf.append(list(channels), acq_name=f"raster {number + 1}", common_timebase=True)
        mdf.save(path, overwrite=True, compression=0)
    return path


def write_mdf(path: Path, table: Sequence[Sequence[object]]) -> Path:
    """Write a table with a header of names, a unit row, and times in its first column."""
    names, units, *rows = table
    columns = list(zip(*rows, strict=True))
    times = np.array(columns[0], dtype=np.float64)
    channels = [
        signal(str(name), str(unit), times, np.array(cells, dtype=np.float64))
        for name, unit, cells in zip(names[1:], units[1:], columns[1:], strict=True)
    ]
    return write_groups(path, channels)
