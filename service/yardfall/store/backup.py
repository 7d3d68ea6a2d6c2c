"""Backup and restore of everything a service keeps, whichever database it stands on.

A tar: `backup.json` says what it is and how many rows each table has, `tables/<name>.jsonl` are the
rows as they were at one moment, `files/` what lies beside them in the data directory.
"""

from __future__ import annotations

import io
import json
import os
import re
import tarfile
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Final

from sqlalchemy import Connection, Engine, Table, func, insert, select
from sqlalchemy.exc import StatementError

from yardfall.core.errors import FileRefusedError
from yardfall.store.database import writing
from yardfall.store.migration import newest
from yardfall.store.owners import is_id
from yardfall.store.tables import Moment, metadata, rasters, site_plans

HEAD: Final = "backup.json"
FORMAT: Final = "yardfall-backup"
BATCH: Final = 500
PLACES: Final = re.compile(r"files/(rasters|site_plans)/[0-9a-f]{32}\.[a-z]{3,8}")
"""The files that a backup may put into a data directory."""
WITH_FILES: Final = (rasters, site_plans)
NOT_OURS: Final = "This is not a file that `yardfall backup` wrote, or it is damaged."


def back_up(engine: Engine, data_dir: Path, target: Path) -> dict[str, int]:
    """Write a backup while the service runs, whole or not at all; rows of each table.

    It holds the digests of keys and everything kept, so only its owner may read it. Raises OSError.
    """
    part = target.with_name(target.name + ".part")
    with open(part, "wb", opener=_private) as out:
        try:
            with tarfile.open(fileobj=out, mode="w") as bundle:
                counts = _add_tables(bundle, engine)
                for path in _files(data_dir):
                    name = f"files/{path.relative_to(data_dir).as_posix()}"
                    if PLACES.fullmatch(name):  # what else lies there is not ours
                        _add_file(bundle, path, name)
                head = {"format": FORMAT, "migration": newest(), "tables": counts}
                head["made_at"] = datetime.now(UTC).isoformat()
                _add_bytes(bundle, HEAD, json.dumps(head).encode())
            out.flush()
            os.fsync(out.fileno())
        except BaseException:
            part.unlink()
            raise
    part.replace(target)
    return counts


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _add_tables(bundle: tarfile.TarFile, engine: Engine) -> dict[str, int]:
    snapshot = engine
    if engine.dialect.name == "postgresql":
        snapshot = engine.execution_options(isolation_level="REPEATABLE READ")
    counts = {}
    with snapshot.connect() as connection:
        for table in metadata.sorted_tables:
            with tempfile.TemporaryFile() as lines:
                counts[table.name] = _write_rows(connection, table, lines)
                entry = tarfile.TarInfo(f"tables/{table.name}.jsonl")
                entry.size = lines.tell()
                lines.seek(0)
                bundle.addfile(entry, lines)
    return counts


def _write_rows(connection: Connection, table: Table, out: IO[bytes]) -> int:
    rows = connection.execution_options(yield_per=BATCH).execute(select(table)).mappings()
    count = 0
    for row in rows:
        plain = {k: v.isoformat() if isinstance(v, datetime) else v for k, v in row.items()}
        out.write(json.dumps(plain).encode() + b"\n")
        count += 1
    return count


def _files(data_dir: Path) -> Iterator[Path]:
    """Everything in the data directory's folders: the database itself lies beside them."""
    for folder in sorted(path for path in data_dir.iterdir() if path.is_dir()):
        yield from sorted(path for path in folder.rglob("*") if path.suffix != ".part")


def _add_file(bundle: tarfile.TarFile, path: Path, name: str) -> None:
    try:
        bundle.add(path, name, recursive=False)
    except FileNotFoundError:  # deleted by a request just now
        return


def _add_bytes(bundle: tarfile.TarFile, name: str, content: bytes) -> None:
    entry = tarfile.TarInfo(name)
    entry.size = len(content)
    bundle.addfile(entry, io.BytesIO(content))


def restore(engine: Engine, data_dir: Path, source: Path) -> dict[str, int]:
    """Put a backup into a service that keeps nothing yet; rows of each table.

    Raises FileRefusedError where it is no backup, is of another version or is not whole, and where
    something is kept already. Then the database is as it was.
    """
    try:
        with tarfile.open(source, "r:") as bundle:
            _require_ours(bundle)
            head = _head(bundle)
            with writing(engine) as connection:
                _require_empty(connection)
                for table in metadata.sorted_tables:
                    rows = _insert_rows(connection, table, bundle)
                    if rows != head["tables"].get(table.name, 0):
                        raise FileRefusedError(NOT_OURS)
                _extract(bundle, data_dir)
            counts: dict[str, int] = head["tables"]
            return counts
    except (tarfile.TarError, KeyError, ValueError, EOFError, StatementError) as error:
        if isinstance(error, FileRefusedError):
            raise
        raise FileRefusedError(NOT_OURS) from error


def _require_ours(bundle: tarfile.TarFile) -> None:
    """Raise FileRefusedError for anything that no backup of ours holds, or holds twice."""
    entries = bundle.getmembers()
    names = [entry.name for entry in entries]
    ours = {HEAD, *(f"tables/{table.name}.jsonl" for table in metadata.sorted_tables)}
    for entry in entries:
        known = entry.name in ours or PLACES.fullmatch(entry.name)
        if not (entry.isfile() and known):
            raise FileRefusedError(NOT_OURS)
    if len(set(names)) != len(names) or names[-1:] != [HEAD]:
        raise FileRefusedError(NOT_OURS)


def files_missing(engine: Engine, data_dir: Path) -> list[str]:
    """The uploads that are kept without their file; all of them for whoever restored a backup."""
    missing = []
    for table in WITH_FILES:
        there = {path.stem for path in (data_dir / table.name).glob("*")}
        with engine.connect() as connection:
            ids = connection.execute(select(table.c.id)).scalars()
            missing += [f"{table.name}/{key}" for key in ids if key not in there]
    return missing


def _head(bundle: tarfile.TarFile) -> dict[str, Any]:
    with _opened(bundle, HEAD) as file:
        head: dict[str, Any] = json.load(file)
    if head.get("format") != FORMAT:
        raise FileRefusedError(NOT_OURS)
    if head.get("migration") != newest():
        raise FileRefusedError(
            f"The backup was made at migration {head.get('migration')}, and this Yardfall is at "
            f"{newest()}. Restore it with the version that made it, then upgrade."
        )
    return head


def _opened(bundle: tarfile.TarFile, name: str) -> IO[bytes]:
    found = bundle.extractfile(name)
    if found is None:
        raise FileRefusedError(NOT_OURS)
    return found


def _require_empty(connection: Connection) -> None:
    for table in metadata.sorted_tables:
        kept = connection.execute(select(func.count()).select_from(table)).scalar_one()
        if kept:
            raise FileRefusedError(
                f"There are {kept} rows in {table.name} already. Restore into an empty data "
                "directory and database."
            )


def _insert_rows(connection: Connection, table: Table, bundle: tarfile.TarFile) -> int:
    moments = [column.name for column in table.c if isinstance(column.type, Moment)]
    batch: list[dict[str, Any]] = []
    count = 0
    with _opened(bundle, f"tables/{table.name}.jsonl") as lines:
        for line in lines:
            row = json.loads(line)
            if "id" in table.c and not (isinstance(row["id"], str) and is_id(row["id"])):
                raise FileRefusedError(NOT_OURS)
            for name in moments:
                row[name] = datetime.fromisoformat(row[name]) if row[name] else None
            batch.append(row)
            count += 1
            if len(batch) == BATCH:
                connection.execute(insert(table), batch)
                batch = []
    if batch:
        connection.execute(insert(table), batch)
    return count


def _extract(bundle: tarfile.TarFile, data_dir: Path) -> None:
    """Put the files where they lay; `_require_ours` went before."""
    for entry in bundle:
        if not PLACES.fullmatch(entry.name):
            continue
        entry.name = entry.name.removeprefix("files/")
        (data_dir / entry.name).parent.mkdir(mode=0o700, exist_ok=True)
        entry.mode = 0o600
        bundle.extract(entry, data_dir, filter="data")
