"""Room kept back on the disk, so that on a full one something can still be deleted.

To forget a row a database must write first. Where the disk has no block left for that, this file is
given up; it is put back once there is room.
"""

from __future__ import annotations

import logging
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from sqlalchemy import Engine

from yardfall.store.files import NO_ROOM

RESERVE_BYTES: Final = 4 << 20
log = logging.getLogger("yardfall.store")


class Reserve:
    """The file in a data directory that holds the room."""

    def __init__(self, engine: Engine, data_dir: Path) -> None:
        self._engine = engine
        self._path = data_dir / "reserve"

    def put_back(self) -> bool:
        """Make the file, where there is room for it; whether it is there."""
        with suppress(OSError):
            if self._path.stat().st_size == RESERVE_BYTES:
                return True
        part = self._path.with_suffix(".part")
        try:
            with open(part, "wb", opener=_private) as file:
                for _ in range(RESERVE_BYTES >> 16):
                    file.write(os.urandom(1 << 16))  # nothing that a disk could store as a hole
                file.flush()
                os.fsync(file.fileno())
            part.replace(self._path)
        except OSError as error:
            part.unlink(missing_ok=True)
            if error.errno not in NO_ROOM:
                log.warning("no room could be kept back: %s", error.strerror)
            return False
        return True

    def give_up(self) -> bool:
        """Give the room up where the disk has hardly any other; whether it was given up."""
        try:
            if shutil.disk_usage(self._path.parent).free >= RESERVE_BYTES // 2:
                return False
            self._path.unlink()
        except OSError:
            return False
        log.warning("the disk is full: the room kept back is given up, to delete something")
        return True

    def take_back(self) -> None:
        """Put the room back once something is deleted, and what SQLite's log took of it."""
        self._shrink()
        self.put_back()

    def _shrink(self) -> None:
        """Give the room of SQLite's log back."""
        if self._engine.dialect.name == "sqlite":
            with suppress(Exception), _raw(self._engine) as run:
                run("PRAGMA wal_checkpoint(TRUNCATE)")


@contextmanager
def _raw(engine: Engine) -> Iterator[Callable[[str], object]]:
    """A connection without a transaction of ours."""
    connection = engine.raw_connection()
    try:
        yield connection.cursor().execute
    finally:
        connection.close()


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)
