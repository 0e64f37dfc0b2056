"""Connections and transactions that keep what was acknowledged, on SQLite and PostgreSQL."""

import contextlib
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.exc import DBAPIError, IntegrityError

from feedproof.core.errors import FeedproofError, InputError, MissingError, WriteError
from feedproof.records.store.address import spoken

PATIENCE_S = 30.0
"""How long a writer waits for the others."""
_READS = "feedproof_reads"


class Database:
    """
    A database that is open.

    Parameters
    ----------
    url : sqlalchemy.URL
        Its address.
    patience_s : float
        How long to wait for other writers, and for a server. [s]

    Raises
    ------
    MissingError
        The driver of PostgreSQL is not installed.
    WriteError
        The folder of the file cannot be made.
    """

    def __init__(self, url: sa.URL, patience_s: float = PATIENCE_S) -> None:
        self.url = url
        self._patience_s = patience_s
        self.name = spoken(url)
        self.is_file = url.get_backend_name() == "sqlite"
        self.engine = self._file_engine() if self.is_file else self._server_engine()

    def _file_engine(self) -> sa.Engine:
        """Open a file of SQLite."""
        try:
            Path(str(self.url.database)).parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise WriteError.at(
                self.name,
                f"its folder cannot be made: {fault.strerror}.",
                "Name another file, or mend the permissions.",
            ) from fault
        engine = sa.create_engine(self.url, connect_args={"timeout": self._patience_s})
        event.listen(engine, "connect", self._prepare)
        event.listen(engine, "begin", _begin)
        return engine

    def _server_engine(self) -> sa.Engine:
        """Reach a server of PostgreSQL."""
        try:
            engine = sa.create_engine(self.url, pool_pre_ping=True)
        except ModuleNotFoundError as fault:
            raise MissingError.at(
                self.name,
                "the driver of PostgreSQL is not installed.",
                'Install it: python -m pip install "feedproof[postgres]".',
            ) from fault
        if self._patience_s < PATIENCE_S:
            event.listen(engine, "do_connect", self._hurried)
            event.listen(engine, "begin", self._hurry)
        return engine

    def _hurried(self, _dialect: object, _record: object, _words: object, options: Any) -> None:
        """Have a server answer within the patience, unless its address says otherwise."""
        options.setdefault("connect_timeout", max(int(self._patience_s), 1))

    def _hurry(self, connection: sa.Connection) -> None:
        """Have a server give up waiting for other writers."""
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {int(1000 * self._patience_s)}")

    def _prepare(self, connection: sqlite3.Connection, _record: object) -> None:
        """Set up one connection to a file."""
        # The driver would begin transactions by itself, not before a change of tables, and late.
        connection.isolation_level = None
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("PRAGMA secure_delete=ON")
        deadline = time.monotonic() + self._patience_s
        while connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            try:
                connection.execute("PRAGMA journal_mode=WAL")
            except sqlite3.OperationalError as fault:
                # Two that make the file at one moment: this change does not wait by itself.
                if "locked" not in str(fault) or time.monotonic() > deadline:
                    raise
                time.sleep(0.01)

    @contextlib.contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """
        Read one state of the database, whatever is written meanwhile.

        Yields
        ------
        sqlalchemy.Connection
            In a transaction.

        Raises
        ------
        InputError
            The database is damaged.
        MissingError
            It cannot be reached.
        """
        options: dict[str, Any] = {_READS: True}
        if not self.is_file:
            options["isolation_level"] = "REPEATABLE READ"
        try:
            with (
                self.engine.connect().execution_options(**options) as connection,
                connection.begin(),
            ):
                yield connection
        except DBAPIError as fault:
            raise self._unreadable(fault) from fault
        except UnicodeDecodeError as fault:
            raise self._garbled() from fault

    @contextlib.contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """
        Write everything or nothing.

        Yields
        ------
        sqlalchemy.Connection
            In a transaction that is committed at the end; in a file it keeps other writers out.

        Raises
        ------
        WriteError
            Nothing was written.
        MissingError
            The database cannot be reached.
        """
        try:
            with self.engine.begin() as connection:
                yield connection
        except IntegrityError as fault:
            raise WriteError.at(
                self.name,
                "somebody else changed the same record meanwhile; nothing was written.",
                "Look at it again and repeat the change.",
            ) from fault
        except DBAPIError as fault:
            raise self._unwritten(fault) from fault
        except UnicodeDecodeError as fault:
            raise self._garbled() from fault

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    def _unreadable(self, fault: DBAPIError) -> FeedproofError:
        """Say that the database cannot be read."""
        if (not self.is_file and fault.connection_invalidated) or _no_connection(fault):
            return self._unreached(fault)
        return InputError.at(
            self.name,
            f"cannot be read: {_words(fault)}.",
            "Check it (feedproof store verify); restore a backup if it is damaged.",
        )

    def _garbled(self) -> FeedproofError:
        """Say that even what the driver says of the damage cannot be read."""
        return InputError.at(
            self.name,
            "is damaged: it holds text that is none; nothing was written.",
            "Restore a backup: move the file away, then feedproof store restore FILE.",
        )

    def _unwritten(self, fault: DBAPIError) -> FeedproofError:
        """Say that nothing was written."""
        if _no_connection(fault):
            return self._unreached(fault)
        return WriteError.at(
            self.name,
            f"nothing was written: {_words(fault)}.",
            "Free some space, mend the permissions or wait for other writers, then try again;"
            " what was there is as it was.",
        )

    def _unreached(self, fault: DBAPIError) -> FeedproofError:
        """Say that the server does not answer."""
        return MissingError.at(
            self.name,
            f"cannot be reached: {_words(fault)}.",
            "Start the server, or mend the address in FEEDPROOF_STORE.",
        )


def _begin(connection: sa.Connection) -> None:
    """Begin: a writer takes its turn at once, or it could find itself too late to write."""
    reads = connection.get_execution_options().get(_READS, False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def _words(fault: DBAPIError) -> str:
    """Give what the driver said, on one line."""
    return " ".join(str(fault.orig).split()).rstrip(".") or type(fault.orig).__name__


def _no_connection(fault: DBAPIError) -> bool:
    """Say whether a server does not answer, as against a fault in what it was asked."""
    state = getattr(fault.orig, "sqlstate", "sqlite")
    return state is None or str(state).startswith(("08", "57P"))
