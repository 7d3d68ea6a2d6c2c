"""How much an owner keeps, and how much that may be."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, func, select

from yardfall.core.errors import TooLargeError
from yardfall.store.owners import LOCAL, SHARED, Owner
from yardfall.store.tables import grade_checks, jobs, metadata

MAX_KEPT_BYTES: Final = 4 << 30
MIB: Final = 1 << 20
ROW_BYTES: Final = 1024
"""What a row takes besides its content, indexes included: a thousand empty jobs count too."""


def stored_bytes(connection: Connection, owner: Owner) -> int:
    """Bytes an owner keeps, over every table that has an owner and a size, its rows counted in.

    A job's rows are its own, its revisions' and its checks'.
    """
    tables = [t for t in metadata.sorted_tables if {"owner", "size_bytes"} <= set(t.c.keys())]
    checked = select(func.count()).select_from(grade_checks)
    checked = checked.join(jobs, jobs.c.id == grade_checks.c.job).where(jobs.c.owner == owner)
    revised = select(func.sum(jobs.c.revision)).where(jobs.c.owner == owner)
    total = ROW_BYTES * sum(
        int(connection.execute(rows).scalar() or 0) for rows in (checked, revised)
    )
    for t in tables:
        row = select(func.sum(t.c.size_bytes), func.count()).where(t.c.owner == owner)
        size, rows = connection.execute(row).one()
        total += int(size or 0) + ROW_BYTES * rows
    return total


def require_room(connection: Connection, owner: Owner, more_bytes: int, most_bytes: int) -> None:
    """Refuse what would take a key's owner over its share. Raises TooLargeError.

    The one user of a service without keys has the whole disk.
    """
    if owner in (None, LOCAL, SHARED):
        return
    kept = stored_bytes(connection, owner)
    if kept + more_bytes + ROW_BYTES > most_bytes:
        raise TooLargeError(
            f"This key keeps {kept / MIB:,.0f} MiB, and {most_bytes / MIB:,.0f} MiB are its share. "
            "Delete rasters or jobs that are no longer needed, or ask whoever runs the service."
        )
