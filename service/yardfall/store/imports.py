"""All of an import or nothing, whatever happens to the process that takes it in.

What comes in belongs to a holder of its own at first, whom no key stands for, and goes to its owner
in one transaction at the end. What a killed process left with a holder is forgotten at a start.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import Engine, Table, delete, select, update

from yardfall.store.database import reading, writing
from yardfall.store.files import STILL_S
from yardfall.store.quota import require_room, stored_bytes
from yardfall.store.tables import metadata

HOLDER: Final = "import-"


@contextmanager
def held(engine: Engine, data_dir: Path, owner: str, most_kept_bytes: int) -> Iterator[str]:
    """A holder for what comes in; its things are the owner's once the block has ended well.

    Raises TooLargeError where they take the owner over its share; then they are forgotten.
    """
    holder = f"{HOLDER}{int(time.time()):08x}-{secrets.token_hex(8)}"
    try:
        yield holder
        with writing(engine) as connection:
            size = stored_bytes(connection, holder)
            require_room(connection, owner, size, most_kept_bytes)
            for table in _owned_tables():
                held_rows = update(table).where(table.c.owner == holder)
                connection.execute(held_rows.values(owner=owner))
    except BaseException:
        _forget(engine, data_dir, [holder])
        raise


def forget_abandoned(engine: Engine, data_dir: Path, still_s: float = STILL_S) -> int:
    """Forget what was left by imports whose process ended over `still_s` ago; how many those were.

    One that seems to come from the future was begun before a clock was set back, and waits.
    """
    holders: set[str] = set()
    with reading(engine) as connection:
        for table in _owned_tables():
            left = select(table.c.owner).where(table.c.owner.startswith(HOLDER)).distinct()
            holders.update(connection.execute(left).scalars())
    old = [name for name in holders if time.time() - int(name.split("-")[1], 16) >= still_s]
    if old:
        _forget(engine, data_dir, old)
    return len(old)


def _forget(engine: Engine, data_dir: Path, holders: list[str]) -> None:
    """Forget what holders have, and its files."""
    gone: list[tuple[str, str]] = []
    with writing(engine) as connection:
        for table in _owned_tables():
            theirs = table.c.owner.in_(holders)
            gone += [
                (table.name, key) for key in connection.scalars(select(table.c.id).where(theirs))
            ]
            connection.execute(delete(table).where(theirs))
    for folder, key in gone:
        for path in (data_dir / folder).glob(f"{key}.*"):
            path.unlink(missing_ok=True)


def _owned_tables() -> list[Table]:
    return [t for t in metadata.sorted_tables if {"owner", "size_bytes"} <= set(t.c.keys())]
