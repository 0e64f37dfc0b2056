"""
Bits that flip in the file of the database.

Promised: every flip that changes what the database says of a record is found by `verify`.
"""

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from feedproof.core.errors import FeedproofError
from feedproof.records.store.copies import _copy_file
from feedproof.records.store.store import Store
from tests.records.store.filled import fill, reading, signed
from tests.reliability.rows import tally, trials

ROW = "bit flips in store and raw files"
TABLES = ("instruments", "mappings", "archive_lines", "readings", "settings", "heads", "cases")


def said(path: Path) -> object:
    """Give everything that a database says, read without the program; None when it cannot."""
    try:
        with closing(sqlite3.connect(path)) as connection:
            return [connection.execute(f"SELECT * FROM {name}").fetchall() for name in TABLES]
    except (sqlite3.Error, UnicodeDecodeError):
        return None


def found(path: Path) -> bool:
    """Say whether a start or `verify` tells of damage."""
    try:
        with Store.open(path) as store:
            return bool(store.verify())
    except FeedproofError:
        return True


@pytest.mark.timeout(900)  # of the long form
def test_every_flip_that_changes_a_record_is_found(tmp_path: Path) -> None:
    chance = random.Random(20)
    with Store.open(tmp_path / "store.sqlite") as store:
        fill(store)
        for number in range(20):
            store.keep_reading(reading(f"{number + 1} kPa"), signed(2))
    _copy_file(tmp_path / "store.sqlite", tmp_path / "whole.sqlite")
    whole = (tmp_path / "whole.sqlite").read_bytes()
    clean = said(tmp_path / "whole.sqlite")
    assert clean is not None
    assert not found(tmp_path / "whole.sqlite")

    wanted = trials(25, 200)
    changed, missed, number = 0, [], 0
    # Flips that change nothing (free space, indices) do not count as trials.
    while changed < wanted:
        number += 1
        at, bit = chance.randrange(len(whole)), chance.randrange(8)
        path = tmp_path / f"flip{number}.sqlite"
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1 << bit]) + whole[at + 1 :])
        if said(path) != clean:
            changed += 1
            if not found(path):
                missed.append((at, bit))
        for left in tmp_path.glob(f"flip{number}.sqlite*"):
            left.unlink()
    tally(ROW, changed, len(missed))
    assert missed == []
    assert number < 60 * wanted
