"""
A simulated power cut: what was not synced may be lost, torn or written out of order.

Database and log are copied after each acknowledged commit, when all is synced; an image is such a
state with any sectors of what the next commit or checkpoint writes.  Promised: the image opens,
its pages are whole, and every acknowledged record is there.  That each commit waits for the disk
is asked of the database itself (tests/records/store/test_migrations.py).
"""

import random
import shutil
from pathlib import Path

import pytest

from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.reliability.rows import tally, trials
from tests.reliability.store_writer import reading_of

ROW = "simulated power cut"
SECTOR = 512


def torn(before: bytes, after: bytes, chance: random.Random) -> bytes:
    """Give a file after a power cut: each sector that was not synced is old, new or torn."""
    image = bytearray(before)
    keep = chance.choice([0.0, 0.2, 0.5, 0.9, 1.0])
    if chance.random() < 0.8:  # the file's new length may have reached the disk or not
        image.extend(bytes(max(0, len(after) - len(before))))
    for start in range(0, len(after), SECTOR):
        new = after[start : start + SECTOR]
        if image[start : start + SECTOR] == new or chance.random() >= keep:
            continue
        if len(image) < start + len(new):
            continue
        cut = len(new) if chance.random() < 0.9 else chance.randrange(len(new))
        image[start : start + cut] = new[:cut]
    return bytes(image)


def states(folder: Path, count: int, checkpoint_pages: int) -> list[tuple[dict[str, bytes], int]]:
    """
    Keep readings one by one and copy database and log between them.

    At the return of a commit the log is synced up to its end; what the next commit adds is not
    synced until that one returns.
    """
    path = folder / "store.sqlite"
    taken = []
    with Store.open(path) as store:
        with store._database.engine.connect() as connection:
            connection.exec_driver_sql(f"PRAGMA wal_autocheckpoint={checkpoint_pages}")
        for number in range(count):
            store.keep_reading(reading_of("w", number), Signed(who="w"))
            files = {
                name: (folder / name).read_bytes()
                for name in (path.name, f"{path.name}-wal")
                if (folder / name).exists()
            }
            taken.append((files, number + 1))
    return taken


@pytest.mark.timeout(900)  # of the long form
@pytest.mark.parametrize("checkpoint_pages", [1000, 8])
def test_every_acknowledged_record_is_there(tmp_path: Path, checkpoint_pages: int) -> None:
    chance = random.Random(checkpoint_pages)
    (tmp_path / "made").mkdir()
    taken = states(tmp_path / "made", 40, checkpoint_pages)
    images = trials(20, 250)
    failed = 0
    for number in range(images):
        at = chance.randrange(len(taken) - 1)
        (synced, acknowledged), (later, _) = taken[at], taken[at + 1]
        place = tmp_path / f"image{number}"
        place.mkdir()
        database, log = "store.sqlite", "store.sqlite-wal"
        # The log is synced before a checkpoint writes to the database, and the database before
        # the log is used again: a cut is within the one or the other.
        if later[database] != synced[database] and chance.random() < 0.5:
            image = {log: later[log], database: torn(synced[database], later[database], chance)}
        else:
            image = {log: torn(synced[log], later[log], chance), database: synced[database]}
        for name, content in image.items():
            (place / name).write_bytes(content)
        failed += not holds(place / "store.sqlite", acknowledged)
        shutil.rmtree(place)
    tally(ROW, images, failed)
    assert failed == 0


def holds(path: Path, acknowledged: int) -> bool:
    """Say whether a database opens, is whole and has the first readings."""
    with Store.open(path) as store:
        if store.verify():
            return False
        there = {kept.record.vehicle for kept in store.readings()}
    return {f"w {number}" for number in range(acknowledged)} <= there


def test_the_simulation_finds_a_lost_sync(tmp_path: Path) -> None:
    """Without the last commit's pages, which a lazier setting would not have synced."""
    (tmp_path / "made").mkdir()
    taken = states(tmp_path / "made", 6, 1000)
    (before, _), (_, acknowledged) = taken[-2], taken[-1]
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)

    assert not holds(tmp_path / "store.sqlite", acknowledged)
