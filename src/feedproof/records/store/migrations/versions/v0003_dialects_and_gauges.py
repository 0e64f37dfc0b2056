"""Version 3: hints of learned mappings; kits and gauge of field readings."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; rows that are there keep them empty, and so their hashes."""
    op.add_column("mappings", sa.Column("dialect", sa.Text()))
    op.add_column("readings", sa.Column("kits", sa.Text()))
    op.add_column("readings", sa.Column("gauge", sa.Text()))
