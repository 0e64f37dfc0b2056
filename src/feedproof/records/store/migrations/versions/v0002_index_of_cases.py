"""Version 2: the index of cases, which is never the truth."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of cases; `store reindex` fills it."""
    names = ("title", "vehicle", "document_sha256", "kits", "proof", "answer", "fault", "indexed")
    op.create_table(
        "cases",
        sa.Column("path", sa.Text(), primary_key=True),
        *(sa.Column(name, sa.Text(), nullable=False) for name in (*names, "sha256")),
        sqlite_strict=True,
    )
