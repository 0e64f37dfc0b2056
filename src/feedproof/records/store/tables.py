"""The tables as this version of the program knows them; the migrations make them."""

from typing import Any

import sqlalchemy as sa

VERSION = 3
"""Version of the database that this program writes; the newest migration has its number."""
HEAD = (
    "subject",
    "action",
    "supersedes",
    "who",
    "at",
    "why",
    "content_sha256",
    "previous",
    "sha256",
)
"""Columns that say of each row what it is about, what it replaces, who, when and why."""
METADATA = sa.MetaData()
# STRICT tables of SQLite know REAL, which is the short float of PostgreSQL.
_NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")


def _records(kind: str, *content: sa.Column[Any]) -> sa.Table:
    """Describe a table of append-only rows."""
    return sa.Table(
        kind,
        METADATA,
        sa.Column("seq", sa.Integer(), primary_key=True, autoincrement=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in HEAD),
        *content,
        sa.UniqueConstraint("subject", "supersedes", name=f"{kind}_superseded_once"),
        sqlite_strict=True,
    )


def _texts(*names: str) -> list[sa.Column[Any]]:
    """Describe columns of text, empty only after a purge."""
    return [sa.Column(name, sa.Text()) for name in names]


RECORDS: dict[str, sa.Table] = {
    table.name: table
    for table in (
        _records("instruments", *_texts("title", "serial", "calibrated", "due", "certificate")),
        _records("mappings", *_texts("instrument", "shape", "channels", "dialect")),
        _records("archive_lines", *_texts("line")),
        _records(
            "readings",
            *_texts("vehicle", "check_point", "read_on"),
            sa.Column("distance_m", _NUMBER),
            *_texts("distance_text"),
            sa.Column("depression_pa", _NUMBER),
            *_texts("depression_text"),
            sa.Column("fuel_temperature_k", _NUMBER),
            *_texts("fuel_temperature_text", "element_serial", "kits", "gauge"),
        ),
        _records(
            "settings",
            *_texts("units"),
            sa.Column("decimal_comma", sa.Integer()),
            sa.Column("dark_mode", sa.Integer()),
        ),
    )
}
"""Tables of append-only records by their kind."""
LATER: dict[str, tuple[str, ...]] = {"mappings": ("dialect",), "readings": ("kits", "gauge")}
"""Columns that rows of an earlier version do not have; empty ones play no part in their hash."""
HEADS = sa.Table(
    "heads",
    METADATA,
    sa.Column("kind", sa.Text(), primary_key=True),
    sa.Column("seq", sa.Integer(), nullable=False),
    sa.Column("sha256", sa.Text(), nullable=False),
    sqlite_strict=True,
)
"""Number and hash of each kind's last row, so that a row cut off the end is missed."""
CASES = sa.Table(
    "cases",
    METADATA,
    sa.Column("path", sa.Text(), primary_key=True),
    *(
        sa.Column(name, sa.Text(), nullable=False)
        for name in (
            "title",
            "vehicle",
            "document_sha256",
            "kits",
            "proof",
            "answer",
            "fault",
            "indexed",
            "sha256",
        )
    ),
    sqlite_strict=True,
)
"""Index of cases; the folders are the truth."""


def content_columns(table: sa.Table) -> tuple[str, ...]:
    """
    Name the columns that hold what a record says.

    Parameters
    ----------
    table : Table
        One of `RECORDS`.

    Returns
    -------
    tuple of str
        In the order of the table.
    """
    return tuple(each.name for each in table.columns if each.name not in ("seq", *HEAD))
