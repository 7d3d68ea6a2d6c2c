"""Links for a crew: each opens one job, to read it and to add checks of its trench."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """There were none before."""
    job = sa.ForeignKey("jobs.id", ondelete="CASCADE")
    op.create_table(
        "crew_links",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("job", sa.String(32), job, nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False, unique=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(200), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True)),
    )
    op.create_index("ix_crew_links_job", "crew_links", ["job"])
