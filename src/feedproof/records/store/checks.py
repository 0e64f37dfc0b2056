"""Whether every record is as it was written: nothing changed, missing, added or out of order."""

from collections.abc import Iterator, Mapping
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError

from feedproof.core.findings import Finding, error
from feedproof.records.store.engine import Database
from feedproof.records.store.rows import (
    FIRST,
    PURGED,
    canonical_hash,
    content_hash,
    content_in,
    is_purged,
    row_hash,
    rows_of,
)
from feedproof.records.store.tables import CASES, HEADS, RECORDS

_RESTORE = "Restore a backup: feedproof store restore FILE."
_REINDEX = "Build the index again: feedproof store reindex DIR."


def verify(database: Database) -> tuple[Finding, ...]:
    """
    Hash every record again.

    Parameters
    ----------
    database : Database
        Open.

    Returns
    -------
    tuple of Finding
        One error for each damaged record; empty when all is well.
    """
    findings: list[Finding] = []
    try:
        with database.engine.connect() as connection, connection.begin():
            findings += verify_rows(connection, file=database.is_file)
    except (DBAPIError, UnicodeDecodeError, ValueError, TypeError, OverflowError) as fault:
        said = " ".join(str(getattr(fault, "orig", fault)).split())
        findings.append(error(database.name, f"cannot be read whole: {said}.", _RESTORE))
    return tuple(findings)


def verify_rows(connection: sa.Connection, *, file: bool) -> list[Finding]:
    """
    Hash every record of an open connection again.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    file : bool
        True for SQLite, whose pages are checked too.

    Returns
    -------
    list of Finding
        Errors.
    """
    findings: list[Finding] = []
    if file:
        said = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        if said != ["ok"]:
            findings.append(error("store", f"its pages are damaged: {said[0]}.", _RESTORE))
    heads = {
        row["kind"]: (row["seq"], row["sha256"])
        for row in connection.execute(sa.select(HEADS)).mappings()
    }
    for kind in sorted(heads.keys() ^ RECORDS.keys()):
        findings.append(error(f"store {kind}", "the end of its chain is not known.", _RESTORE))
    for kind in RECORDS:
        findings += _verify_chain(kind, list(rows_of(connection, kind)), heads.get(kind))
    for row in connection.execute(sa.select(CASES)).mappings():
        if row["sha256"] != case_hash(dict(row)):
            findings.append(error(f"cases {row['path']}", "was changed.", _REINDEX))
    return findings


def case_hash(row: Mapping[str, Any]) -> str:
    """
    Hash one row of the index of cases.

    Parameters
    ----------
    row : mapping
        Values by column.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits.
    """
    return canonical_hash({k: v for k, v in row.items() if k != "sha256"})


def _verify_chain(
    kind: str, rows: list[Mapping[str, Any]], head: tuple[int, str] | None
) -> Iterator[Finding]:
    """Follow the hashes of one table from its first row to its end."""
    purged = {row["subject"] for row in rows if row["action"] == PURGED}
    last_about: dict[str, str] = {}
    before = (0, FIRST)
    for row in rows:
        place = f"{kind} row {row['seq']} ({row['subject']})"
        if row["sha256"] != row_hash(kind, row):
            yield error(place, "was changed after it was written.", _RESTORE)
        elif not (is_purged(kind, row) and row["subject"] in purged) and row[
            "content_sha256"
        ] != content_hash(kind, content_in(kind, row)):
            yield error(place, "its content was changed after it was written.", _RESTORE)
        if (row["seq"] - 1, row["previous"]) != before:
            yield error(place, "does not follow from the row before it.", _RESTORE)
        if row["supersedes"] != last_about.get(row["subject"], ""):
            yield error(place, "does not replace the last row about its subject.", _RESTORE)
        last_about[row["subject"]] = row["sha256"]
        before = (row["seq"], row["sha256"])
    if head is not None and head != before:
        yield error(
            kind, f"ends at row {before[0]}, and its end was kept as row {head[0]}.", _RESTORE
        )
