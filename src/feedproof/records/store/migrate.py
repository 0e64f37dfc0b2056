"""From any earlier version of the database to this one, in one transaction."""

from pathlib import Path

import sqlalchemy as sa

from feedproof.core.errors import InputError
from feedproof.records.store.engine import Database
from feedproof.records.store.tables import VERSION

# Any number will do, so long as it is always this one: PostgreSQL keys its locks by numbers.
_LOCK = 7_340_981
_VERSIONS = "alembic_version"


def version_of(connection: sa.Connection) -> int:
    """
    Say which version a database has.

    Parameters
    ----------
    connection : Connection
        To the database.

    Returns
    -------
    int
        0 for an empty one.

    Raises
    ------
    InputError
        Its tables are not ours.
    """
    # Asked without Alembic, which takes longer to load than all that a start does.
    tables = set(sa.inspect(connection).get_table_names())
    if _VERSIONS in tables and "heads" in tables:
        revision = str(connection.execute(sa.text(f"SELECT version_num FROM {_VERSIONS}")).scalar())
        if not revision.isdecimal() or int(revision) == 0:
            raise InputError.at(
                "store",
                f"its version {revision!r} is none that was ever written.",
                "Restore a backup: move the file away, then feedproof store restore FILE.",
            )
        return int(revision)
    if tables:
        raise InputError.at(
            "store",
            "the database holds tables of something else.",
            "Name an empty database, or a file that does not exist yet.",
        )
    return 0


def bring_up_to_date(database: Database, version: int = VERSION) -> int:
    """
    Make or change the tables, all or nothing.

    Parameters
    ----------
    database : Database
        Empty, or of an earlier version.
    version : int
        Version to stop at.

    Returns
    -------
    int
        Version that was found.

    Raises
    ------
    InputError
        The database is of a newer version, or not ours.
    WriteError
        Nothing was changed.
    """
    with database.reading() as connection:
        found = version_of(connection)
    if found == version:
        return found
    if found > version:
        raise InputError.at(
            database.name,
            f"is of version {found}; this program knows versions up to {VERSION}.",
            "Use the newer program that wrote it.",
        )
    with database.writing() as connection:
        if not database.is_file:
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
        # Another process may have done it while this one waited.
        if version_of(connection) < version:
            _upgrade(connection, version)
    return found


def _upgrade(connection: sa.Connection, version: int) -> None:
    """Have Alembic take the steps in the transaction that is open."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    place = str(Path(__file__).with_name("migrations")).replace("%", "%%")
    config.set_main_option("script_location", place)
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, f"{version:04d}")
