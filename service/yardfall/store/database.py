"""The tables, and the engine that reaches them (SQLite in the data directory by default)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Column,
    DateTime,
    Engine,
    MetaData,
    String,
    Table,
    create_engine,
    event,
)

metadata = MetaData()

rasters = Table(
    "rasters",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("uploaded_at", DateTime(timezone=True), nullable=False, index=True),
    Column("size_bytes", BigInteger, nullable=False),
    Column("facts", JSON, nullable=False),
)

site_plans = Table(
    "site_plans",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("uploaded_at", DateTime(timezone=True), nullable=False, index=True),
    Column("size_bytes", BigInteger, nullable=False),
    Column("facts", JSON, nullable=False),
    Column("placement", JSON(none_as_null=True)),
)


def open_database(data_dir: Path) -> Engine:
    """An engine on `data_dir`/yardfall.sqlite, tables made when missing."""
    engine = create_engine(f"sqlite:///{data_dir / 'yardfall.sqlite'}")

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "busy_timeout=5000"):
            connection.execute(f"PRAGMA {pragma}")

    metadata.create_all(engine)
    return engine
