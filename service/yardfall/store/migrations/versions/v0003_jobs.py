"""Owners, keys, and jobs with their revisions."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """What was kept before belongs to the one local user; the demo yard to everybody."""
    for table in ("rasters", "site_plans"):
        owner = sa.Column("owner", sa.String(32), nullable=False, server_default="local")
        op.add_column(table, owner)
        op.create_index(f"ix_{table}_owner", table, ["owner"])
    op.execute("UPDATE rasters SET owner = 'shared' WHERE name = 'The demo yard'")
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("owner", sa.String(32), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("folded", sa.String(600), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("archived", sa.Boolean, nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
    )
    op.create_index("ix_jobs_owner", "jobs", ["owner"])
    op.create_index("ix_jobs_changed_at", "jobs", ["changed_at"])
    op.create_table(
        "revisions",
        sa.Column("job", sa.String(32), _job(), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("saved_by", sa.String(200), nullable=False),
        sa.Column("sums", sa.String(40), nullable=False),
        sa.Column("verdict", sa.String(16)),
        sa.Column("request", sa.JSON, nullable=False),
        sa.Column("answer", sa.JSON),
        sa.Column("problems", sa.JSON, nullable=False),
        sa.Column("form", sa.JSON),
    )
    op.create_table(
        "job_files",
        sa.Column("job", sa.String(32), _job(), primary_key=True),
        sa.Column("file", sa.String(32), primary_key=True),
    )
    op.create_index("ix_job_files_file", "job_files", ["file"])
    op.create_table(
        "keys",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("owner", sa.String(32), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False, unique=True),
        sa.Column("scope", sa.String(8), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
    )
    op.create_index("ix_keys_owner", "keys", ["owner"])


def _job() -> sa.ForeignKey:
    return sa.ForeignKey("jobs.id", ondelete="CASCADE")
