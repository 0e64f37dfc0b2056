"""Append-only rows: each holds its own hash and that of the row before it."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.store.keepable import refuse_unkeepable
from feedproof.records.store.kinds import Kept, Row, record_of
from feedproof.records.store.tables import HEADS, LATER, RECORDS, content_columns

FIRST = "0" * 64
"""What the first row holds in place of a hash."""
KEPT, DELETED, UNDONE, PURGED = "kept", "deleted", "undone", "purged"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """
    Who writes, when and why.

    Parameters
    ----------
    who, why : str
        By whom and the reason.
    when : datetime, optional
        With offset; now when left out.
    """

    who: str
    why: str = ""
    when: datetime | None = None

    @property
    def at(self) -> str:
        """Time in UTC, always of one width, so that text sorts as time does."""
        moment = self.when or datetime.now(UTC)
        return moment.astimezone(UTC).isoformat(timespec="microseconds")


def canonical_hash(value: Mapping[str, Any]) -> str:
    """
    Hash plain values, whatever database they came from.

    Parameters
    ----------
    value : mapping
        Text, numbers and None.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits.
    """
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def content_hash(kind: str, content: Mapping[str, Any]) -> str:
    """
    Hash what a row says.

    Parameters
    ----------
    kind : str
        Table.
    content : mapping
        Values by column of the content.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits; a column that came later plays no part while it is empty,
        so that rows keep the hash that an earlier version gave them.
    """
    later = LATER.get(kind, ())
    return canonical_hash({k: v for k, v in content.items() if k not in later or v is not None})


def row_hash(kind: str, row: Mapping[str, Any]) -> str:
    """
    Hash a row: its content by the content's hash, which stays when the content is purged.

    Parameters
    ----------
    kind : str
        Table.
    row : mapping
        Values by column.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits.
    """
    content = content_columns(RECORDS[kind])
    bound = {k: v for k, v in row.items() if k != "sha256" and k not in content}
    return canonical_hash({"kind": kind, **bound})


def append(
    connection: sa.Connection,
    kind: str,
    subject: str,
    content: Mapping[str, Any],
    *,
    signed: Signed,
    action: str = KEPT,
    seen: str | None = None,
) -> Row:
    """
    Add one row in place of what stands about its subject.

    Parameters
    ----------
    connection : Connection
        In a transaction that writes.
    kind, subject : str
        Table and subject.
    content : mapping
        Values by column.
    signed : Signed
        Who, when, why.
    action : str
        What the row does.
    seen : str, optional
        Hash of the row that the writer saw, empty when he saw none; any when left out.

    Returns
    -------
    Row
        As written.

    Raises
    ------
    InputError
        Nobody signs, or something cannot be kept.
    WriteError
        Another row stands than the writer saw.
    """
    if not signed.who.strip():
        raise InputError.at("who", "is empty.", "Say who writes this.")
    head = {"subject": subject, "who": signed.who, "why": signed.why}
    refuse_unkeepable(kind, {**content, **head})
    table = RECORDS[kind]
    # On a server the locked row lets one writer after another add to this chain.
    last = connection.execute(sa.select(HEADS).where(HEADS.c.kind == kind).with_for_update()).one()
    standing = _last_row(connection, kind, subject)
    supersedes = standing["sha256"] if standing else ""
    gone = standing is not None and standing["action"] == PURGED
    if seen is not None and seen != supersedes and not (gone and seen == ""):
        raise WriteError.at(
            f"{kind} {subject}",
            _changed_by(standing),
            "Look at it again and repeat the change; nothing was written.",
        )
    row: dict[str, Any] = {
        "seq": last.seq + 1,
        **head,
        "action": action,
        "supersedes": supersedes,
        "at": signed.at,
        "content_sha256": content_hash(kind, content),
        "previous": last.sha256,
    }
    row["sha256"] = row_hash(kind, row)
    connection.execute(table.insert().values({**row, **content}))
    connection.execute(
        HEADS.update().where(HEADS.c.kind == kind).values(seq=row["seq"], sha256=row["sha256"])
    )
    return _row(kind, row)


def last_of(connection: sa.Connection, kind: str, subject: str) -> Kept[Any] | None:
    """
    Give the last row about a subject, also where it deletes.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind, subject : str
        Table and subject.

    Returns
    -------
    Kept or None
        Its last row, also of a deleted one; None when there is none or it was purged.
    """
    row = _last_row(connection, kind, subject)
    if row is None or row["action"] == PURGED:
        return None
    return _kept(kind, row)


def standing_one(connection: sa.Connection, kind: str, subject: str) -> Kept[Any] | None:
    """
    Give what stands about a subject, unless it was deleted.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind, subject : str
        Table and subject.

    Returns
    -------
    Kept or None
        None when there is none, or it was deleted or purged.
    """
    found = last_of(connection, kind, subject)
    return None if found is not None and found.row.action == DELETED else found


def standing(connection: sa.Connection, kind: str) -> tuple[Kept[Any], ...]:
    """
    Give everything of a kind that stands.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind : str
        Table.

    Returns
    -------
    tuple of Kept
        In the order of the subjects' last rows, without deleted ones.
    """
    return _ending_with(connection, kind, KEPT, UNDONE)


def deleted(connection: sa.Connection, kind: str) -> tuple[Kept[Any], ...]:
    """
    Give everything of a kind that was deleted and not purged.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind : str
        Table.

    Returns
    -------
    tuple of Kept
        In the order of deletion.
    """
    return _ending_with(connection, kind, DELETED)


def _ending_with(connection: sa.Connection, kind: str, *actions: str) -> tuple[Kept[Any], ...]:
    """Give the subjects whose last row does one of these, in the order of those rows."""
    last = {row["subject"]: row for row in rows_of(connection, kind)}
    shown = sorted(last.values(), key=lambda row: int(row["seq"]))
    return tuple(_kept(kind, row) for row in shown if row["action"] in actions)


def history(connection: sa.Connection, kind: str, subject: str) -> tuple[Kept[Any] | Row, ...]:
    """
    Give every row about a subject.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind, subject : str
        Table and subject.

    Returns
    -------
    tuple of Kept or Row
        Oldest first; the row alone where its content was purged.
    """
    table = RECORDS[kind]
    wanted = sa.select(table).where(table.c.subject == subject).order_by(table.c.seq)
    found = [dict(row) for row in connection.execute(wanted).mappings()]
    return tuple(_row(kind, row) if is_purged(kind, row) else _kept(kind, row) for row in found)


def rows_of(connection: sa.Connection, kind: str) -> Iterator[Mapping[str, Any]]:
    """
    Give the rows of a table as they are.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    kind : str
        Table.

    Yields
    ------
    mapping
        Values by column, oldest row first.
    """
    table = RECORDS[kind]
    for row in connection.execute(sa.select(table).order_by(table.c.seq)).mappings():
        yield dict(row)


def is_purged(kind: str, row: Mapping[str, Any]) -> bool:
    """
    Say whether a row has lost its content.

    Parameters
    ----------
    kind : str
        Table.
    row : mapping
        Values by column.

    Returns
    -------
    bool
        True when every column of its content is empty.
    """
    return all(row[name] is None for name in content_columns(RECORDS[kind]))


def needed(found: Kept[Any] | None, kind: str, subject: str) -> Kept[Any]:
    """
    Give what was found, or say that it is not there.

    Parameters
    ----------
    found : Kept or None
        As `last_of` gives it.
    kind, subject : str
        Table and subject.

    Returns
    -------
    Kept
        The same.

    Raises
    ------
    MissingError
        None was found.
    """
    if found is None:
        raise MissingError.at(f"{kind} {subject}", "there is no such record.")
    return found


def content_in(kind: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """
    Pick the content out of a row.

    Parameters
    ----------
    kind : str
        Table.
    row : mapping
        Values by column.

    Returns
    -------
    dict
        Values by column of the content.
    """
    return {name: row[name] for name in content_columns(RECORDS[kind])}


def _last_row(connection: sa.Connection, kind: str, subject: str) -> Mapping[str, Any] | None:
    """Give the last row about a subject as it is."""
    table = RECORDS[kind]
    about = sa.select(table).where(table.c.subject == subject)
    last = about.order_by(table.c.seq.desc()).limit(1)
    row = connection.execute(last).mappings().one_or_none()
    return None if row is None else dict(row)


def _row(kind: str, row: Mapping[str, Any]) -> Row:
    """Give the head of a row."""
    names = ("subject", "seq", "action", "supersedes", "who", "at", "why", "sha256")
    return Row(kind=kind, **{name: row[name] for name in names})


def _kept(kind: str, row: Mapping[str, Any]) -> Kept[Any]:
    """Read a row whole, or say that it is damaged."""
    try:
        record = record_of(kind, str(row["subject"]), content_in(kind, row))
    except (TypeError, ValueError, KeyError) as fault:
        raise InputError.at(
            f"{kind} row {row['seq']}",
            f"cannot be read: {fault}.",
            "Check the database (feedproof store verify) and restore a backup.",
        ) from fault
    return Kept(record=record, row=_row(kind, row))


def _changed_by(standing: Mapping[str, Any] | None) -> str:
    """Say what stands in place of what the writer saw."""
    if standing is None:
        return "is no longer there."
    return f"was {standing['action']} by {standing['who']} at {standing['at']}."
