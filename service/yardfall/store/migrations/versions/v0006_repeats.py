"""Calls that carried a key of the caller's own, so that each is made once."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """None was known before."""
    op.create_table(
        "repeats",
        sa.Column("sender", sa.String(32), primary_key=True),
        sa.Column("key", sa.String(200), primary_key=True),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made", sa.String(32)),
    )
    op.create_index("ix_repeats_begun_at", "repeats", ["begun_at"])
