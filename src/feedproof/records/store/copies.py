"""Backups taken while the database is in use, and their way back."""

import os
import shutil
import sqlite3
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import platformdirs
import sqlalchemy as sa

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.core.findings import Finding, error
from feedproof.records.durable import sync_folder
from feedproof.records.store.address import address_of
from feedproof.records.store.checks import verify
from feedproof.records.store.dumps import database_from_dump, write_dump
from feedproof.records.store.engine import Database
from feedproof.records.store.migrate import bring_up_to_date
from feedproof.records.store.tables import METADATA

_FILE_BEGINS = b"SQLite format 3\x00"


def backup(database: Database, target: Path) -> None:
    """
    Copy one state of the database while others write to it.

    Parameters
    ----------
    database : Database
        A file is copied as a file; a server's rows are written as lines of JSON.
    target : Path
        Must not exist.

    Raises
    ------
    WriteError
        It exists, or nothing could be written.
    """
    if target.exists():
        raise WriteError.at(str(target), "is there already.", "Name a file that does not exist.")
    if database.is_file:
        _copy_file(Path(str(database.url.database)), target)
    else:
        with database.reading() as connection:
            write_dump(connection, target)


def restore(database: Database, source: Path) -> Path:
    """
    Put a backup in the place of what the database holds, all or nothing.

    Parameters
    ----------
    database : Database
        Others may have it open.
    source : Path
        A backup of this or an earlier version, of a file or of a server.

    Returns
    -------
    Path
        Backup of what the database held before.

    Raises
    ------
    MissingError
        There is no such file.
    InputError
        The backup is damaged or newer; nothing was changed.
    WriteError
        Nothing was changed.
    """
    if not source.is_file():
        raise MissingError.at(str(source), "there is no such file.", "Name a backup.")
    with tempfile.TemporaryDirectory(prefix="feedproof-restore-") as scratch:
        taken = _opened(source, Path(scratch) / "backup.sqlite")
        try:
            _refuse_damaged(source, verify(taken))
            bring_up_to_date(taken)
            return _put_in_place(database, taken)
        finally:
            taken.close()


def _opened(source: Path, scratch: Path) -> Database:
    """Open a backup as a database of its own, at the version that it has."""
    with source.open("rb") as file:
        is_file = file.read(len(_FILE_BEGINS)) == _FILE_BEGINS
    if not is_file:
        return database_from_dump(source, scratch)
    shutil.copyfile(source, scratch)
    beside = source.with_name(f"{source.name}-wal")
    if beside.is_file():
        shutil.copyfile(beside, scratch.with_name(f"{scratch.name}-wal"))
    database = Database(address_of(scratch))
    # Reading finds a damaged or a newer one before anything is checked.
    bring_up_to_date(database)
    return database


def _put_in_place(database: Database, taken: Database) -> Path:
    """Replace all rows in one transaction, and keep what was there."""
    with taken.reading() as source, database.writing() as connection:
        if not database.is_file:
            # Writers lock rows of this table first, so that none comes between copy and change.
            connection.exec_driver_sql("LOCK TABLE heads IN EXCLUSIVE MODE")
        aside = _aside(database)
        if database.is_file:
            _copy_file(Path(str(database.url.database)), aside)
        else:
            write_dump(connection, aside)
        for table in METADATA.sorted_tables:
            connection.execute(table.delete())
            rows = [dict(row) for row in source.execute(sa.select(table)).mappings()]
            if rows:
                connection.execute(table.insert(), rows)
    return aside


def _aside(database: Database) -> Path:
    """Name the file that keeps what was there."""
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    if database.is_file:
        path = Path(str(database.url.database))
        return path.with_name(f"{path.name}.before-{moment}")
    folder = Path(platformdirs.user_data_dir("feedproof", False))
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"store.before-{moment}.jsonl"


def _copy_file(path: Path, target: Path) -> None:
    """Copy a database in use to a new file, whole or not at all."""
    temporary = target.with_name(f".{target.name}-{os.getpid()}")
    try:
        with (
            closing(sqlite3.connect(path, timeout=30.0)) as source,
            closing(sqlite3.connect(temporary)) as copy,
        ):
            source.backup(copy)
            # One file without companions, which can be carried alone.
            copy.execute("PRAGMA journal_mode=DELETE")
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        temporary.rename(target)
        sync_folder(target.parent)
    except OSError as fault:
        raise WriteError.at(
            str(target),
            f"could not be written: {fault.strerror or fault}.",
            "Free some space, mend the permissions or name another file.",
        ) from fault
    except sqlite3.Error as fault:
        raise WriteError.at(
            str(target), f"could not be written: {fault}.", "Free some space, or check the store."
        ) from fault
    finally:
        temporary.unlink(missing_ok=True)


def _refuse_damaged(source: Path, findings: tuple[Finding, ...]) -> None:
    """Refuse a backup whose records are not as they were written."""
    if findings:
        raise InputError(
            (
                error(source.name, "is damaged.", "Use another backup; nothing was changed."),
                *findings,
            )
        )
