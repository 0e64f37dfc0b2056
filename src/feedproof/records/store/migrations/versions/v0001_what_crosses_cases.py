"""Version 1: instruments, mappings, archive lines, field readings, settings."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# STRICT tables of SQLite know REAL, which is the short float of PostgreSQL.
_NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
_CONTENT: dict[str, tuple[tuple[str, sa.types.TypeEngine[Any]], ...]] = {
    "instruments": (
        ("title", sa.Text()),
        ("serial", sa.Text()),
        ("calibrated", sa.Text()),
        ("due", sa.Text()),
        ("certificate", sa.Text()),
    ),
    "mappings": (("instrument", sa.Text()), ("shape", sa.Text()), ("channels", sa.Text())),
    "archive_lines": (("line", sa.Text()),),
    "readings": (
        ("vehicle", sa.Text()),
        ("check_point", sa.Text()),
        ("read_on", sa.Text()),
        ("distance_m", _NUMBER),
        ("distance_text", sa.Text()),
        ("depression_pa", _NUMBER),
        ("depression_text", sa.Text()),
        ("fuel_temperature_k", _NUMBER),
        ("fuel_temperature_text", sa.Text()),
        ("element_serial", sa.Text()),
    ),
    "settings": (
        ("units", sa.Text()),
        ("decimal_comma", sa.Integer()),
        ("dark_mode", sa.Integer()),
    ),
}
_HEAD = (
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


def upgrade() -> None:
    """Make the tables of records and the row that each chain of hashes ends with."""
    for kind, content in _CONTENT.items():
        op.create_table(
            kind,
            sa.Column("seq", sa.Integer(), primary_key=True, autoincrement=False),
            *(sa.Column(name, sa.Text(), nullable=False) for name in _HEAD),
            *(sa.Column(name, each) for name, each in content),
            sa.UniqueConstraint("subject", "supersedes", name=f"{kind}_superseded_once"),
            sqlite_strict=True,
        )
    heads = op.create_table(
        "heads",
        sa.Column("kind", sa.Text(), primary_key=True),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sqlite_strict=True,
    )
    op.bulk_insert(heads, [{"kind": kind, "seq": 0, "sha256": "0" * 64} for kind in _CONTENT])
