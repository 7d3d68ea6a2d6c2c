"""The engine: SQLite in the data directory by default, PostgreSQL by its URL."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine import ExceptionContext
from sqlalchemy.exc import DatabaseError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from yardfall.core.errors import StorageFullError, UnavailableError
from yardfall.store.files import private_file
from yardfall.store.migration import upgrade

BUSY_MS: Final = 15_000
"""How long a writer waits for another on SQLite before it says so."""
PG_DISK_FULL: Final = "53100"
PG_OPTIONS: Final = {
    "pool_pre_ping": True,
    "pool_size": 10,
    "max_overflow": 20,
    "pool_timeout": 15,
    "connect_args": {
        "connect_timeout": 3,
        "options": "-c statement_timeout=30000 -c lock_timeout=15000",
    },
}
log = logging.getLogger("yardfall.store")


def open_database(data_dir: Path, url: str | None = None) -> Engine:
    """An engine with its tables at the newest migration.

    `url` is a PostgreSQL URL; without it, SQLite in `data_dir`. Raises UnavailableError.
    """
    engine = _postgres(url) if url else _sqlite(private_file(data_dir / "yardfall.sqlite"))
    event.listen(engine, "handle_error", _translate)
    try:
        upgrade(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _postgres(url: str) -> Engine:
    parsed = make_url(url)
    if parsed.get_backend_name() not in ("postgresql", "postgres"):
        raise ValueError(
            "YARDFALL_DATABASE_URL takes a PostgreSQL URL: postgresql://user@host/name"
        )
    return create_engine(parsed.set(drivername="postgresql+psycopg"), **PG_OPTIONS)


def _sqlite(path: Path) -> Engine:
    engine = create_engine(f"sqlite:///{path}", connect_args={"timeout": BUSY_MS / 1000})

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # transactions are begun below, DDL's as well
        for pragma in (f"busy_timeout={BUSY_MS}", "journal_mode=WAL", "foreign_keys=ON"):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A writer that began as a reader is turned away at once when another wrote meanwhile.
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes: whole or not at all. Raises UnavailableError."""
    with _connected(engine.execution_options(writes=True)) as connection, connection.begin():
        yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection to read with. Raises UnavailableError."""
    with _connected(engine) as connection:
        yield connection


def _connected(engine: Engine) -> Connection:
    try:
        return engine.connect()
    except PoolTimeout as error:  # all are taken, and stayed so
        raise UnavailableError(BUSY) from error


GONE: Final = "What is kept cannot be reached at the moment. Nothing was changed; try again soon."
BUSY: Final = "Too many are saving at the moment. Nothing was changed; try again soon."
FULL: Final = "The service's disk is full. Nothing was changed; tell whoever runs it."


def _translate(context: ExceptionContext) -> None:
    """A fault of the database itself, told as ours; a fault of a statement stays what it is."""
    error = context.sqlalchemy_exception
    if context.is_pre_ping or not isinstance(error, DatabaseError | InterfaceError):
        return
    cause = context.original_exception
    text = str(cause)
    if "disk is full" in text or getattr(cause, "sqlstate", None) == PG_DISK_FULL:
        log.error("the database's disk is full")
        raise StorageFullError(FULL) from cause
    sqlite_broken = "malformed" in text or "not a database" in text
    if context.is_disconnect or isinstance(error, OperationalError) or sqlite_broken:
        log.error("the database failed: %s", text)
        raise UnavailableError(BUSY if "locked" in text else GONE) from cause
