"""What is broken of what the service stands on."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
import threading
import time
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from sqlalchemy import Engine

from yardfall.core.errors import YardfallError
from yardfall.store.database import reading
from yardfall.store.files import NO_ROOM
from yardfall.store.migration import is_current, newest, version

PARTS: Final = ("database", "tables", "files", "disk")
LEAST_FREE_BYTES: Final = 256 << 20
LOOK_AGAIN_S: Final = 10.0
LOOK_AGAIN: Final = 50
DAMAGED: Final = (
    "The database file is damaged. Stop the service, keep what is there aside, and restore the "
    "last backup into an empty data directory: yardfall restore FILE."
)


@dataclass
class _Seen:
    """What the last look at a database file told, and when to look again."""

    damaged: bool = False
    again_s: float = 0.0
    lock: threading.Lock = field(default_factory=threading.Lock)


_seen: dict[str, _Seen] = {}


def look_over(engine: Engine, data_dir: Path) -> dict[str, str]:
    """What is broken by part, each with a sentence; empty when all is well."""
    return _database(engine) | _files(data_dir)


def _database(engine: Engine) -> dict[str, str]:
    try:
        with reading(engine) as connection:
            if is_current(connection):
                return {"database": DAMAGED} if _is_damaged(engine) else {}
            found = version(connection)
            return {
                "tables": f"The database is at migration {found}, and this version needs "
                f"{newest()}. Stop it and start it again; it migrates at the start."
            }
    except YardfallError:
        return {
            "database": "The database does not answer; what is kept cannot be read or saved. See "
            "the log for its words."
        }


def _is_damaged(engine: Engine) -> bool:
    """Whether SQLite finds its file damaged, looked at anew by a connection of its own.

    An open connection goes on with the pages that it has read. A look takes as long as reading the
    file, so the next comes only after LOOK_AGAIN times as long, and one thread looks at a time.
    """
    if engine.dialect.name != "sqlite":
        return False
    seen = _seen.setdefault(str(engine.url), _Seen())
    if time.monotonic() >= seen.again_s and seen.lock.acquire(blocking=False):
        try:
            began_s = time.monotonic()
            seen.damaged = not _is_whole(str(engine.url.database))
            took_s = time.monotonic() - began_s
            seen.again_s = time.monotonic() + max(LOOK_AGAIN_S, LOOK_AGAIN * took_s)
        finally:
            seen.lock.release()
    return seen.damaged


def _is_whole(path: str) -> bool:
    try:
        with closing(sqlite3.connect(path, timeout=1)) as connection:
            return connection.execute("PRAGMA quick_check(1)").fetchone() == ("ok",)
    except sqlite3.OperationalError as error:  # held by another, say; no sign of damage
        return "disk I/O" not in str(error) and "unable to open" not in str(error)
    except sqlite3.DatabaseError:
        return False


def _files(data_dir: Path) -> dict[str, str]:
    try:
        with tempfile.NamedTemporaryFile(dir=data_dir, prefix="health-", suffix=".part") as file:
            file.write(b"here")
            file.flush()
            os.fsync(file.fileno())
        free = shutil.disk_usage(data_dir).free
    except OSError as error:
        if error.errno in NO_ROOM:
            return {"disk": "The disk is full. Make room; until then nothing can be saved."}
        return {"files": f"The data directory cannot be written to: {error.strerror}."}
    if free < LEAST_FREE_BYTES:
        return {"disk": f"{free >> 20} MiB are left on the disk. Make room before saving fails."}
    return {}
