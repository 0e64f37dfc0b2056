"""
kill -9 in the middle of writes and of a migration.

Promised: every acknowledged record is there, none is half written, and the next start needs no
repair by hand.
"""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from feedproof.records.store.address import address_of
from feedproof.records.store.engine import Database
from feedproof.records.store.migrate import version_of
from feedproof.records.store.store import Store
from feedproof.records.store.tables import VERSION
from tests.records.store.filled import GAUGE
from tests.reliability.rows import tally, trials
from tests.reliability.store_writer import reading_of

ROOT = Path(__file__).parents[2]
PAST = ROOT / "tests" / "formats_past"
ROW = "kill -9 during import, recording, migration, publish"
MIGRATION = """
import sys
from sqlalchemy import event
from feedproof.records.store.address import address_of
from feedproof.records.store.engine import Database
from feedproof.records.store.migrate import bring_up_to_date
import os, signal
database = Database(address_of(sys.argv[1]))
left = int(sys.argv[2])
def count(*_):
    global left
    left -= 1
    if left < 0:
        os.kill(os.getpid(), signal.SIGKILL)
event.listen(database.engine, "before_cursor_execute", count)
bring_up_to_date(database)
"""


def started(*words: str) -> "subprocess.Popen[str]":
    """Start Python in the tree of the tests."""
    return subprocess.Popen(
        [sys.executable, *words], cwd=ROOT, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)])},
    )  # fmt: skip


@pytest.mark.timeout(900)  # of the long form
def test_what_a_killed_writer_was_told_is_kept(tmp_path: Path) -> None:
    address, chance = str(tmp_path / "store.sqlite"), random.Random(6)
    acknowledged: dict[str, str] = {}
    failed = 0
    rounds = trials(3, 70)
    for number in range(rounds):
        name = f"writer{number}"
        process = started("-m", "tests.reliability.store_writer", address, name)
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.15))
        process.send_signal(signal.SIGKILL)
        said = [first, *process.communicate()[0].splitlines()]
        whole = [line.split() for line in said if len(line.strip().split(" ")[-1]) == 64]
        acknowledged |= {f"{name} {count}": sha256 for count, sha256 in whole}
        with Store.open(address) as store:
            there = {kept.record.vehicle: kept for kept in store.readings()}
            lost = [v for v, sha in acknowledged.items() if there[v].row.sha256 != sha]
            half = [v for v, kept in there.items() if kept.record != reading_of(*_parted(v))]
            failed += bool(lost or half or store.verify())
    tally(ROW, rounds, failed)
    assert failed == 0
    assert len(acknowledged) >= rounds


@pytest.mark.timeout(900)  # of the long form
def test_a_killed_migration_leaves_nothing_half_done(tmp_path: Path) -> None:
    failed, done = 0, 0
    statements = trials(60, 60)
    killed = 0
    for left in range(0, statements, trials(9, 1)):
        path = tmp_path / f"{left}.sqlite"
        # Every other one starts from version 1 with records, the rest from nothing.
        begun = left % 2
        if begun:
            shutil.copy(PAST / "store-1.sqlite", path)
        process = started("-c", MIGRATION, str(path), str(left))
        process.communicate()
        killed += process.returncode == -signal.SIGKILL
        done += 1
        database = Database(address_of(path))
        with database.reading() as connection:
            version = version_of(connection)
            names = connection.exec_driver_sql("SELECT name FROM sqlite_master").all()
        whole = version == VERSION or (version == 1 and begun) or (version == 0 and not names)
        database.close()
        with Store.open(path) as store:
            right = store.verify() == ()
            right &= not begun or store.instrument("gauge").record == GAUGE
        failed += not (whole and right)
    tally(ROW, done, failed)
    assert failed == 0
    assert killed >= 3


def _parted(vehicle: str) -> tuple[str, int]:
    """Give writer and number of a reading's label."""
    name, _, number = vehicle.rpartition(" ")
    return name, int(number)
