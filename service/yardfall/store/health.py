"""What is broken of what the service stands on."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path
from typing import Final

from sqlalchemy import Engine

from yardfall.core.errors import YardfallError
from yardfall.store.database import reading
from yardfall.store.migration import is_current, newest, version

PARTS: Final = ("database", "tables", "files", "disk")
LEAST_FREE_BYTES: Final = 256 << 20


def look_over(engine: Engine, data_dir: Path) -> dict[str, str]:
    """What is broken by part, each with a sentence; empty when all is well."""
    return _database(engine) | _files(data_dir)


def _database(engine: Engine) -> dict[str, str]:
    try:
        with reading(engine) as connection:
            if is_current(connection):
                return {}
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


def _files(data_dir: Path) -> dict[str, str]:
    try:
        with tempfile.NamedTemporaryFile(dir=data_dir, prefix="health-", suffix=".part") as file:
            file.write(b"here")
            file.flush()
            os.fsync(file.fileno())
        free = shutil.disk_usage(data_dir).free
    except OSError as error:
        return {"files": f"The data directory cannot be written to: {error.strerror}."}
    if free < LEAST_FREE_BYTES:
        return {"disk": f"{free >> 20} MiB are left on the disk. Make room before saving fails."}
    return {}
