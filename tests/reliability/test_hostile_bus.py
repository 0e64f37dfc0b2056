"""Hostile files: bus logs and DBC files that were mutated are read, or refused in words."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from feedproof.case.run import Channel
from feedproof.records.buslog.own_dbc import with_dbc
from feedproof.records.logs.looking import look_at_log
from feedproof.records.logs.reading import read_log
from tests.records.buslog.bus import WRITERS, instrument, write
from tests.records.buslog.test_lines import everything
from tests.records.buslog.test_reading import THEIRS
from tests.reliability.hostile import mutated, tried, wrong
from tests.reliability.rows import tally, trials

ROW = "hostile files"
SPEED = (Channel.ENGINE_SPEED, "engine speed (SPN 190)")


def with_sizes(data: bytes, rng: random.Random) -> bytes:
    """Change bytes near the head of a binary file, where its sizes stand."""
    if rng.random() < 0.5:
        return mutated(data, rng)
    out = bytearray(data)
    for _ in range(rng.choice((1, 2, 6))):
        out[rng.randrange(min(len(out), 200))] = rng.choice((0, 1, 255, rng.randrange(256)))
    return bytes(out)


@pytest.mark.parametrize("ending", sorted(WRITERS))
def test_mutated_bus_logs_are_read_or_refused(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / f"drive{ending}", everything()[:600])
    original, rng = path.read_bytes(), random.Random(f"hostile {ending}")
    hostile = with_sizes if ending == ".blf" else mutated
    count = trials(4, 200)
    faults = []
    for i in range(count):
        path.write_bytes(hostile(original, rng))
        faults.append(tried(path.name, _attempt(path, reading=bool(i % 2))))
    faults = wrong(faults)
    tally(f"{ROW}, bus logs {ending}", count, len(faults))
    assert not faults


def test_mutated_dbc_files_are_read_or_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "drive.log", everything()[:600])
    rng, dbc = random.Random("hostile dbc"), tmp_path / "vehicle.dbc"
    count = trials(4, 200)
    faults = []
    for _ in range(count):
        dbc.write_bytes(mutated(THEIRS.encode(), rng))
        settled, _ = with_dbc(instrument(SPEED, dbc="vehicle.dbc"), tmp_path)
        faults.append(tried(path.name, lambda wanted=settled: read_log(path, wanted)))
    faults = wrong(faults)
    tally(f"{ROW}, DBC", count, len(faults))
    assert not faults


def _attempt(path: Path, *, reading: bool) -> Callable[[], object]:
    """Look at a log, or read it."""
    if reading:
        return lambda: read_log(path, instrument(SPEED))
    return lambda: look_at_log(path, {})
