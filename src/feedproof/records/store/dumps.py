"""All rows of a database as lines of JSON: the form in which a server's records travel."""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from feedproof.core.errors import InputError
from feedproof.records.durable import whole_file
from feedproof.records.store.address import address_of
from feedproof.records.store.engine import Database
from feedproof.records.store.migrate import bring_up_to_date
from feedproof.records.store.tables import METADATA, VERSION

FORMAT = "feedproof-store"


def dump(connection: sa.Connection) -> Iterator[str]:
    """
    Write every row of every table.

    Parameters
    ----------
    connection : Connection
        In a transaction that sees one state.

    Yields
    ------
    str
        The first line names format and version, the last one the hash of all before it.
    """
    digest = hashlib.sha256()
    for line in _lines(connection):
        digest.update(line.encode())
        yield line
    yield json.dumps({"end": digest.hexdigest()}) + "\n"


def write_dump(connection: sa.Connection, target: Path) -> None:
    """
    Write a dump as a file, whole or not at all.

    Parameters
    ----------
    connection : Connection
        In a transaction that sees one state.
    target : Path
        Its name; what stands there is replaced.

    Raises
    ------
    WriteError
        Nothing was written.
    """
    with whole_file(target) as file:
        file.writelines(line.encode("ascii") for line in dump(connection))


def database_from_dump(source: Path, scratch: Path) -> Database:
    """
    Build a database in a file from a dump of this or an earlier version.

    Parameters
    ----------
    source : Path
        The dump.
    scratch : Path
        File to build it in.

    Returns
    -------
    Database
        Of the dump's version.

    Raises
    ------
    InputError
        The dump is damaged, cut off, or newer.
    """
    version, rows = _read(source)
    database = Database(address_of(scratch))
    bring_up_to_date(database, version)
    metadata = sa.MetaData()
    with database.writing() as connection:
        metadata.reflect(connection)
        # The rows that a new database begins with are in the dump too.
        connection.execute(metadata.tables["heads"].delete())
        for number, (name, row) in enumerate(rows, start=2):
            try:
                connection.execute(metadata.tables[name].insert().values(row))
            except (KeyError, TypeError, sa.exc.SQLAlchemyError) as fault:
                raise _damaged(source, number, "cannot be taken") from fault
    return database


def _lines(connection: sa.Connection) -> Iterator[str]:
    """Give the lines before the last."""
    yield _line({"format": FORMAT, "version": VERSION})
    for table in METADATA.sorted_tables:
        key = list(table.primary_key.columns)
        for row in connection.execute(sa.select(table).order_by(*key)).mappings():
            yield _line({"table": table.name, "row": dict(row)})


def _line(value: dict[str, Any]) -> str:
    """Write one line."""
    return json.dumps(value, sort_keys=True, ensure_ascii=True, allow_nan=False) + "\n"


def _read(source: Path) -> tuple[int, list[tuple[str, dict[str, Any]]]]:
    """Read a dump and check that it is whole."""
    try:
        lines = source.read_bytes().decode("ascii").splitlines(keepends=True)
        first, *middle, last = [json.loads(line) for line in lines]
        found = (first["format"], first["version"])
        end = last["end"]
        rows = [(each["table"], each["row"]) for each in middle]
    except (ValueError, TypeError, KeyError, RecursionError) as fault:
        raise _damaged(source, 0, "is no whole backup of a database") from fault
    if found[0] != FORMAT or not isinstance(found[1], int):
        raise _damaged(source, 1, "is no backup of a database")
    if end != hashlib.sha256("".join(lines[:-1]).encode()).hexdigest():
        raise _damaged(source, len(lines), "does not fit the lines above it")
    if found[1] > VERSION:
        raise InputError.at(
            source.name,
            f"is of version {found[1]}; this program knows versions up to {VERSION}.",
            "Use the newer program that wrote it.",
        )
    return found[1], rows


def _damaged(source: Path, line: int, what: str) -> InputError:
    """Say that a backup cannot be used."""
    place = f"{source.name} line {line}" if line else source.name
    fault = InputError.at(place, f"{what}.", "Use another backup; nothing was changed.")
    assert isinstance(fault, InputError)
    return fault
