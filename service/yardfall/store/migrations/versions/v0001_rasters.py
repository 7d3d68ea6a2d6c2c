"""Rasters, as they were kept before there were migrations."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """The table of rasters."""
    op.create_table(
        "rasters",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("uploaded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
        sa.Column("facts", sa.JSON, nullable=False),
    )
    op.create_index("ix_rasters_uploaded_at", "rasters", ["uploaded_at"])
