"""Migrations: they make the tables the code describes, once, and lose nothing that was kept."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from yardfall.core.errors import UnavailableError
from yardfall.store.database import open_database
from yardfall.store.migration import newest, version
from yardfall.store.tables import metadata
from yardfall.store.uploads.rasters import RasterStore


def differences(engine: sa.Engine) -> list:
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return compare_metadata(context, metadata)


def test_the_migrations_make_the_tables_of_the_code(engine) -> None:
    assert differences(engine) == []
    with engine.connect() as connection:
        assert version(connection) == newest()


def test_opening_again_changes_nothing(engine, opened) -> None:
    assert differences(opened()) == []


def make_old(engine: sa.Engine) -> None:
    """The tables as `create_all` made them before there were migrations, with two rasters."""
    old = sa.MetaData()
    rasters = sa.Table(
        "rasters",
        old,
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("uploaded_at", sa.DateTime(timezone=True), nullable=False, index=True),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
        sa.Column("facts", sa.JSON, nullable=False),
    )
    old.create_all(engine)
    with engine.begin() as connection:
        for key, name in (("a" * 32, "mine"), ("b" * 32, "The demo yard")):
            row = {"id": key, "name": name, "size_bytes": 7, "facts": {"width": 3}}
            row["uploaded_at"] = datetime(2026, 1, 2, 3, tzinfo=UTC)
            connection.execute(sa.insert(rasters).values(**row))
    engine.dispose()


def bare_engine(settings) -> sa.Engine:
    if settings.database_url is None:
        return sa.create_engine(f"sqlite:///{settings.data_dir / 'yardfall.sqlite'}")
    return sa.create_engine(settings.database_url.replace("postgresql:", "postgresql+psycopg:"))


def test_a_database_from_before_migrations_is_taken_over(settings, opened) -> None:
    make_old(bare_engine(settings))
    engine = opened()
    assert differences(engine) == []
    kept, total = RasterStore(engine, settings.data_dir, "local").page(1, 10)
    assert total == 2
    assert {(r.name, r.owner) for r in kept} == {("mine", "local"), ("The demo yard", "shared")}
    assert kept[0].uploaded_at == datetime(2026, 1, 2, 3, tzinfo=UTC)
    assert kept[0].facts == {"width": 3}


START = """
import pathlib, sys
from yardfall.store.database import open_database
print("ready", flush=True)
sys.stdin.readline()
open_database(pathlib.Path(sys.argv[1]), sys.argv[2] or None).dispose()
"""


def test_many_that_start_at_once_migrate_once(settings) -> None:
    make_old(bare_engine(settings))
    command = [sys.executable, "-c", START, str(settings.data_dir), settings.database_url or ""]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    starting = [subprocess.Popen(command, text=True, **pipes) for _ in range(4)]
    for process in starting:
        assert process.stdout.readline() == "ready\n"
    for process in starting:
        process.stdin.write("go\n")
        process.stdin.flush()
    for process in starting:
        _, complaint = process.communicate(timeout=60)
        assert process.returncode == 0, complaint
    engine = open_database(settings.data_dir, settings.database_url)
    assert differences(engine) == []
    engine.dispose()


def test_a_migration_that_fails_leaves_the_tables_as_they_were(settings, monkeypatch) -> None:
    make_old(bare_engine(settings))

    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("the power went")

    with monkeypatch.context() as patch:
        patch.setattr("alembic.op.create_table", fail)  # in the middle of the second
        with pytest.raises(RuntimeError, match="the power went"):
            open_database(settings.data_dir, settings.database_url)
    engine = bare_engine(settings)
    found = sa.inspect(engine)
    assert found.get_table_names() == ["rasters"]
    assert "owner" not in [column["name"] for column in found.get_columns("rasters")]
    engine.dispose()


def test_a_database_of_a_newer_version_is_left_alone(engine, settings) -> None:
    with engine.begin() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(UnavailableError, match="newer"):
        open_database(settings.data_dir, settings.database_url)
    with engine.connect() as connection:
        assert version(connection) == "9999"


def test_only_postgresql_urls_are_taken(tmp_path) -> None:
    with pytest.raises(ValueError, match="postgresql://"):
        open_database(tmp_path, "mysql://root@127.0.0.1/yard")
