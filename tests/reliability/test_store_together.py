"""
Eight writers and eight readers at once, on a file and on a server.

Promised: no lost update, and no error that a user would see.
"""

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from feedproof.core.errors import WriteError
from feedproof.records.store.kinds import Instrument
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store
from tests.records.store.server import fresh_database
from tests.reliability.rows import tally, trials

ROOT = Path(__file__).parents[2]
SECONDS = 2.0
PEOPLE = 8


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where the database stands."""
    if request.param == "file":
        return str(tmp_path / "store.sqlite")
    return fresh_database(request.getfixturevalue("server"))


def count_up(store: Store, who: str, until: float, done: list[str], told: list[str]) -> None:
    """Add one to a shared number, as often as there is time: read, then write what was seen."""
    while time.monotonic() < until:
        kept = store.instrument("counter")
        more = Instrument(id="counter", title=str(int(kept.record.title) + 1))
        try:
            done.append(store.keep_instrument(more, Signed(who=who), seen=kept.row.sha256).sha256)
        except WriteError as fault:
            if "kept by" not in str(fault):
                raise
            told.append(who)  # that somebody was quicker; he looks again


def look(store: Store, until: float, seen: list[int]) -> None:
    """Read the shared number, as often as there is time."""
    while time.monotonic() < until:
        seen.append(int(store.instrument("counter").record.title))


@pytest.mark.timeout(300)
def test_no_update_is_lost_and_nobody_sees_an_error(address: str) -> None:
    seconds = float(trials(int(SECONDS), 60))
    done: list[str] = []
    told: list[str] = []
    seen: list[list[int]] = [[] for _ in range(PEOPLE)]
    faults: list[BaseException] = []
    # Each has a connection pool of his own, as separate processes do.
    stores = [Store.open(address) for _ in range(2 * PEOPLE)]
    stores[0].keep_instrument(Instrument(id="counter", title="0"), Signed(who="Ann"))
    until = time.monotonic() + seconds

    def guarded(work: object, *arguments: object) -> None:
        try:
            work(*arguments)  # type: ignore[operator]
        except BaseException as fault:
            faults.append(fault)

    people = [
        threading.Thread(
            target=guarded, args=(count_up, stores[n], f"writer {n}", until, done, told)
        )
        for n in range(PEOPLE)
    ] + [
        threading.Thread(target=guarded, args=(look, stores[PEOPLE + n], until, seen[n]))
        for n in range(PEOPLE)
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()

    final = int(stores[0].instrument("counter").record.title)
    findings = stores[0].verify()
    for store in stores:
        store.close()
    tally("8 writers and 8 readers", len(done), abs(final - len(done)) + len(faults))
    assert not faults, faults[0]
    assert final == len(done) == len(set(done)) > 8
    assert findings == ()
    assert all(each and each == sorted(each) for each in seen)


def test_eight_processes_keep_every_record(address: str) -> None:
    names = [f"process{n}" for n in range(PEOPLE)]
    processes = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.reliability.store_writer", address, name, str(SECONDS)],
            cwd=ROOT, stdout=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)])},
        )
        for name in names
    ]  # fmt: skip
    said = {
        f"{name} {line.split()[0]}": line.split()[1]
        for name, process in zip(names, processes, strict=True)
        for line in process.communicate()[0].splitlines()
    }

    with Store.open(address) as store:
        there = {kept.record.vehicle: kept.row.sha256 for kept in store.readings()}
        findings = store.verify()

    assert all(process.returncode == 0 for process in processes)
    assert {vehicle.split()[0] for vehicle in said} == set(names)
    assert said == there
    assert findings == ()
