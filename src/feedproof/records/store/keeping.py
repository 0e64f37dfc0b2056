"""What holds for records of every kind: open, change, delete, bring back, check and copy."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Self

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding
from feedproof.records.store import checks, copies, rows
from feedproof.records.store.address import address_of
from feedproof.records.store.engine import PATIENCE_S, Database
from feedproof.records.store.kinds import Kept, Row, content_of
from feedproof.records.store.migrate import bring_up_to_date
from feedproof.records.store.rows import Signed
from feedproof.records.store.tables import RECORDS, content_columns

UNDO_DAYS = 30
"""Days for which a deletion can be undone; nothing is purged before."""
DELETABLE = ("instruments", "mappings", "readings")


class Keeper:
    """
    A database of append-only records.

    Parameters
    ----------
    database : Database
        Open and up to date.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self.name = database.name

    @classmethod
    def open(cls, address: str | Path | None = None, *, patience_s: float = PATIENCE_S) -> Self:
        """
        Open the database; it is made, or brought up to date, where needed.

        Parameters
        ----------
        address : str or Path, optional
            A file or an address of PostgreSQL; see `address_of`.
        patience_s : float
            How long to wait for other writers, and for a server. [s]

        Returns
        -------
        Self
            Close it, or use it in a ``with`` block.

        Raises
        ------
        InputError
            Damaged, newer, or not ours.
        MissingError
            It cannot be reached.
        WriteError
            It cannot be made.
        """
        database = Database(address_of(address), patience_s)
        try:
            bring_up_to_date(database)
        except BaseException:
            database.close()
            raise
        return cls(database)

    def __enter__(self) -> Self:
        """Use it."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._database.close()

    def history(self, kind: str, subject: str) -> tuple[Kept[Any] | Row, ...]:
        """
        Give every row about a subject.

        Parameters
        ----------
        kind, subject : str
            Table and subject.

        Returns
        -------
        tuple of Kept or Row
            Oldest first; the row alone where its content was purged.
        """
        with self._database.reading() as connection:
            return rows.history(connection, _kind(kind), subject)

    def delete(self, kind: str, subject: str, signed: Signed, *, seen: str | None = None) -> Row:
        """
        Delete a record: one row more, which says so.

        Parameters
        ----------
        kind, subject : str
            Table and subject.
        signed : Signed
            Who, when, why.
        seen : str, optional
            Hash of the row that the writer saw.

        Returns
        -------
        Row
            As written.

        Raises
        ------
        MissingError
            There is nothing to delete.
        """
        with self._database.writing() as connection:
            found = rows.standing_one(connection, _deletable(kind), subject)
            content = content_of(rows.needed(found, kind, subject).record)
            return rows.append(
                connection, kind, subject, content, signed=signed, action=rows.DELETED, seen=seen
            )

    def undo(self, kind: str, subject: str, signed: Signed) -> Row:
        """
        Bring back what was deleted at most 30 days ago.

        Parameters
        ----------
        kind, subject : str
            Table and subject.
        signed : Signed
            Who, when, why.

        Returns
        -------
        Row
            As written.

        Raises
        ------
        InputError
            It is not deleted, or was longer ago.
        MissingError
            There is no such record.
        """
        with self._database.writing() as connection:
            found = rows.needed(rows.last_of(connection, _kind(kind), subject), kind, subject)
            if found.row.action != rows.DELETED:
                raise InputError.at(f"{kind} {subject}", "is not deleted.")
            if _is_over(found.row.at, signed.at):
                raise InputError.at(
                    f"{kind} {subject}",
                    f"was deleted at {found.row.at}, more than {UNDO_DAYS} days ago.",
                    "Enter it anew.",
                )
            content = content_of(found.record)
            return rows.append(
                connection, kind, subject, content, signed=signed, action=rows.UNDONE
            )

    def deleted(self) -> tuple[Kept[Any], ...]:
        """Give what was deleted and not purged, by kind and in the order of deletion."""
        found: list[Kept[Any]] = []
        with self._database.reading() as connection:
            for kind in DELETABLE:
                found += rows.deleted(connection, kind)
        return tuple(found)

    def purge(self, signed: Signed) -> int:
        """
        Remove for good the content of what was deleted more than 30 days ago.

        Parameters
        ----------
        signed : Signed
            Who, when, why.

        Returns
        -------
        int
            Records purged; their rows stay without content, so that the chain holds.

        Raises
        ------
        WriteError
            Nothing was purged.
        """
        count = 0
        with self._database.writing() as connection:
            for kind in DELETABLE:
                last = {row["subject"]: row for row in rows.rows_of(connection, kind)}
                empty: dict[str, Any] = dict.fromkeys(content_columns(RECORDS[kind]))
                for subject, row in last.items():
                    if row["action"] != rows.DELETED or not _is_over(row["at"], signed.at):
                        continue
                    rows.append(connection, kind, subject, empty, signed=signed, action=rows.PURGED)
                    table = RECORDS[kind]
                    connection.execute(
                        table.update().where(table.c.subject == subject).values(empty)
                    )
                    count += 1
        return count

    def verify(self) -> tuple[Finding, ...]:
        """Hash every record again; one error for each that is not as it was written."""
        return checks.verify(self._database)

    def backup(self, target: Path) -> None:
        """
        Copy one state of the database while others write to it.

        Parameters
        ----------
        target : Path
            Must not exist.

        Raises
        ------
        WriteError
            It exists, or nothing could be written.
        """
        copies.backup(self._database, target)

    def restore(self, source: Path) -> Path:
        """
        Put a backup in the place of what the database holds, all or nothing.

        Parameters
        ----------
        source : Path
            A backup of this or an earlier version, of a file or of a server.

        Returns
        -------
        Path
            Backup of what was there before.

        Raises
        ------
        MissingError
            There is no such file.
        InputError
            The backup is damaged or newer; nothing was changed.
        WriteError
            Nothing was changed.
        """
        return copies.restore(self._database, source)

    def _keep(
        self, kind: str, subject: str, record: object, signed: Signed, seen: str | None
    ) -> Row:
        """Add one row."""
        with self._database.writing() as connection:
            return rows.append(
                connection, kind, subject, content_of(record), signed=signed, seen=seen
            )

    def _standing(self, kind: str) -> tuple[Kept[Any], ...]:
        """Give what stands of one kind."""
        with self._database.reading() as connection:
            return rows.standing(connection, kind)


def _deletable(kind: str) -> str:
    """Refuse a kind whose records only ever follow each other."""
    if kind not in DELETABLE:
        raise InputError.at("kind", f"{kind!r} is none of {', '.join(DELETABLE)}.")
    return kind


def _kind(kind: str) -> str:
    """Refuse a kind that is none."""
    if kind not in RECORDS:
        raise InputError.at("kind", f"{kind!r} is none of {', '.join(RECORDS)}.")
    return kind


def _is_over(deleted: str, now: str) -> bool:
    """Say whether the time for an undo has passed."""
    passed = datetime.fromisoformat(now) - datetime.fromisoformat(deleted)
    return passed > timedelta(days=UNDO_DAYS)
