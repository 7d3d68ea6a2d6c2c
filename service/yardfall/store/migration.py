"""Bring a database to the newest tables, once, however many start at the same time."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, inspect, text

from yardfall.core.errors import UnavailableError

FOLDER: Final = Path(__file__).parent / "migrations"
FORMERLY: Final = {"rasters": "0001", "site_plans": "0002"}
"""The migration that tables correspond to which were made before there were migrations."""
PG_LOCK: Final = 0x59415244
"""A number of our own for PostgreSQL's advisory lock."""


def upgrade(engine: Engine) -> None:
    """Run every migration not yet run, in one transaction. Others that start wait for it.

    Raises UnavailableError where a newer Yardfall made the tables.
    """
    with engine.connect() as connection:
        if is_current(connection):
            return
    with engine.execution_options(writes=True).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": PG_LOCK})
        config = _config(connection)
        tables = inspect(connection).get_table_names()
        if "alembic_version" not in tables:
            before = [FORMERLY[name] for name in tables if name in FORMERLY]
            if before:
                command.stamp(config, max(before))
        try:
            command.upgrade(config, "head")
        except CommandError as error:
            raise UnavailableError(
                f"The database was made by a newer Yardfall ({error}). Install that one."
            ) from error


def is_current(connection: Connection) -> bool:
    """Whether the database is at the newest migration."""
    return version(connection) == newest()


def version(connection: Connection) -> str | None:
    """The migration a database is at."""
    return MigrationContext.configure(connection).get_current_revision()


@cache
def newest() -> str | None:
    """The migration that this code needs."""
    return ScriptDirectory(str(FOLDER)).get_current_head()


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
