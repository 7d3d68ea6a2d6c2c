"""Site plans, as they were kept before there were migrations."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """The table of site plans."""
    op.create_table(
        "site_plans",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("uploaded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
        sa.Column("facts", sa.JSON, nullable=False),
        sa.Column("placement", sa.JSON),
    )
    op.create_index("ix_site_plans_uploaded_at", "site_plans", ["uploaded_at"])
