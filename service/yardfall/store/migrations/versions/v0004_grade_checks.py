"""The as-built record: checks of a job's trench."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Nothing was kept of checks before."""
    job = sa.ForeignKey("jobs.id", ondelete="CASCADE")
    op.create_table(
        "grade_checks",
        sa.Column("job", sa.String(32), job, primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("checked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("checked_by", sa.String(200), nullable=False),
        sa.Column("sums", sa.String(40), nullable=False),
        sa.Column("verdict", sa.String(16), nullable=False),
        sa.Column("request", sa.JSON, nullable=False),
        sa.Column("answer", sa.JSON, nullable=False),
    )
