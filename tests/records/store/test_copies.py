"""
Backup and restore, for a file and for a real server.

Promised: a backup is one state, taken while others write; it goes back equal to the last digit, to
either kind of database; a damaged or newer one is refused and nothing is changed; what was there
before is kept.
"""

import json
import sqlite3
import threading
from pathlib import Path

import pytest

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.store.store import Store
from feedproof.records.store.tables import RECORDS
from tests.records.store.filled import GAUGE, fill, reading, signed


def everything(store: Store) -> list[object]:
    """Give all records with their rows."""
    return [store._standing(kind) for kind in RECORDS]


def test_a_backup_goes_back_equal_and_what_was_there_is_kept(store: Store, tmp_path: Path) -> None:
    identity = fill(store)
    before = everything(store)
    store.backup(tmp_path / "copy")
    store.delete("readings", identity, signed(5))
    later = everything(store)

    aside = store.restore(tmp_path / "copy")

    assert everything(store) == before
    assert store.verify() == ()
    store.restore(aside)
    assert everything(store) == later


def test_a_backup_goes_into_a_file_whatever_it_came_from(store: Store, tmp_path: Path) -> None:
    fill(store)
    store.backup(tmp_path / "copy")

    with Store.open(tmp_path / "other.sqlite") as other:
        other.restore(tmp_path / "copy")

        assert everything(other) == everything(store)
        other.keep_reading(reading(), signed(6))
        assert other.verify() == ()


def test_a_backup_while_others_write_is_one_state(store: Store, tmp_path: Path) -> None:
    fill(store)
    done = threading.Event()
    kept: list[str] = []

    def write() -> None:
        while not done.is_set():
            kept.append(store.keep_reading(reading(), signed()).sha256)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while len(kept) < 3:
            pass
        for number in range(4):
            store.backup(tmp_path / f"copy{number}")
    finally:
        done.set()
        writer.join()

    with Store.open(tmp_path / "other.sqlite") as other:
        counts = []
        for number in range(4):
            other.restore(tmp_path / f"copy{number}")
            assert other.verify() == ()
            counts.append(len(other.readings()))
    assert counts == sorted(counts)
    assert counts[0] >= 3


def test_a_backup_overwrites_nothing(store: Store, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("mine", encoding="utf-8")

    with pytest.raises(WriteError, match="is there already"):
        store.backup(tmp_path / "there")
    with pytest.raises(WriteError, match="could not be written"):
        store.backup(tmp_path / "no folder" / "copy")

    assert (tmp_path / "there").read_text(encoding="utf-8") == "mine"


def test_a_damaged_backup_is_refused_and_nothing_is_changed(store: Store, tmp_path: Path) -> None:
    fill(store)
    store.backup(tmp_path / "copy")
    whole = (tmp_path / "copy").read_bytes()
    at = whole.index(b"A-17")
    before = everything(store)

    for name, content in {
        "flipped": whole[:at] + b"A-16" + whole[at + 4 :],
        "cut": whole[: len(whole) // 2],
        "rubbish": b"nothing of ours\n" * 50,
        "empty": b"",
    }.items():
        (tmp_path / name).write_bytes(content)
        with pytest.raises(InputError):
            store.restore(tmp_path / name)

    with pytest.raises(MissingError):
        store.restore(tmp_path / "nowhere")
    assert everything(store) == before
    assert not list(tmp_path.rglob("*before-*"))


def test_a_newer_backup_is_refused(store: Store, tmp_path: Path) -> None:
    store.keep_instrument(GAUGE, signed())
    target = tmp_path / "copy"
    store.backup(target)
    if target.read_bytes().startswith(b"SQLite"):
        with sqlite3.connect(target) as connection:
            connection.execute("UPDATE alembic_version SET version_num = '0099'")
        connection.close()
    else:
        import hashlib

        lines = target.read_text(encoding="ascii").splitlines(keepends=True)
        lines[0] = json.dumps({"format": "feedproof-store", "version": 99}) + "\n"
        end = hashlib.sha256("".join(lines[:-1]).encode()).hexdigest()
        target.write_text("".join(lines[:-1]) + json.dumps({"end": end}) + "\n", encoding="ascii")

    with pytest.raises(InputError, match="version 99"):
        store.restore(target)

    assert len(store.instruments()) == 1
