"""The tables. A change here needs a migration in `migrations/versions`; a test compares them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    TypeDecorator,
)

metadata = MetaData()
MOST_NAME: Final = 200


class Moment(TypeDecorator[datetime]):
    """A moment in UTC, whatever the database makes of time zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Aware, in UTC: SQLite returns no zone, PostgreSQL the session's."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def _owner() -> Column[Any]:
    """Whose row it is: `owners.LOCAL`, `owners.SHARED`, or the owner a key stands for."""
    return Column("owner", String(32), nullable=False, index=True)


rasters = Table(
    "rasters",
    metadata,
    Column("id", String(32), primary_key=True),
    _owner(),
    Column("name", String(MOST_NAME), nullable=False),
    Column("uploaded_at", Moment, nullable=False, index=True),
    Column("size_bytes", BigInteger, nullable=False),
    Column("facts", JSON, nullable=False),
)
site_plans = Table(
    "site_plans",
    metadata,
    Column("id", String(32), primary_key=True),
    _owner(),
    Column("name", String(MOST_NAME), nullable=False),
    Column("uploaded_at", Moment, nullable=False, index=True),
    Column("size_bytes", BigInteger, nullable=False),
    Column("facts", JSON, nullable=False),
    Column("placement", JSON(none_as_null=True)),
)
jobs = Table(
    "jobs",
    metadata,
    Column("id", String(32), primary_key=True),
    _owner(),
    Column("name", String(MOST_NAME), nullable=False),
    Column("folded", String(3 * MOST_NAME), nullable=False),  # the name, casefolded, to search in
    Column("revision", Integer, nullable=False),
    Column("archived", Boolean, nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("changed_at", Moment, nullable=False, index=True),
    Column("size_bytes", BigInteger, nullable=False),  # of all revisions
)
revisions = Table(
    "revisions",
    metadata,
    Column("job", ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("name", String(MOST_NAME), nullable=False),
    Column("saved_at", Moment, nullable=False),
    Column("saved_by", String(MOST_NAME), nullable=False),
    Column("sums", String(40), nullable=False),
    Column("verdict", String(16)),
    Column("request", JSON, nullable=False),
    Column("answer", JSON(none_as_null=True)),
    Column("problems", JSON, nullable=False),
    Column("form", JSON(none_as_null=True)),  # what a client's own form held
)
job_files = Table(
    "job_files",
    metadata,
    Column("job", ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True),
    Column("file", String(32), primary_key=True, index=True),
)
grade_checks = Table(
    "grade_checks",
    metadata,
    Column("job", ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("revision", Integer, nullable=False),  # whose plan the trench was held against
    Column("checked_at", Moment, nullable=False),
    Column("checked_by", String(MOST_NAME), nullable=False),
    Column("sums", String(40), nullable=False),
    Column("verdict", String(16), nullable=False),
    Column("request", JSON, nullable=False),
    Column("answer", JSON, nullable=False),
)
crew_links = Table(
    "crew_links",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("job", ForeignKey("jobs.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("name", String(MOST_NAME), nullable=False),
    Column("digest", String(64), nullable=False, unique=True),
    Column("made_at", Moment, nullable=False),
    Column("made_by", String(MOST_NAME), nullable=False),
    Column("used_at", Moment),
)
repeats = Table(
    "repeats",
    metadata,
    Column("sender", String(32), primary_key=True),  # a key's or a link's id, or an owner
    Column("key", String(200), primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("begun_at", Moment, nullable=False, index=True),
    Column("made", String(32)),  # what the call made; null while it runs
)
keys = Table(
    "keys",
    metadata,
    Column("id", String(32), primary_key=True),
    _owner(),
    Column("name", String(MOST_NAME), nullable=False),
    Column("digest", String(64), nullable=False, unique=True),
    Column("scope", String(8), nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("revoked_at", Moment),
)
