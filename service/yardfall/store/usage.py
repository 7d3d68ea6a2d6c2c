"""How much an owner keeps, and how much that may be."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, func, select

from yardfall.core.errors import TooLargeError
from yardfall.store.owners import LOCAL, SHARED, Owner
from yardfall.store.tables import metadata

MAX_KEPT_BYTES: Final = 4 << 30
MIB: Final = 1 << 20


def stored_bytes(connection: Connection, owner: Owner) -> int:
    """Bytes an owner keeps, over every table that has an owner and a size."""
    tables = [t for t in metadata.sorted_tables if {"owner", "size_bytes"} <= set(t.c.keys())]
    sums = [
        connection.execute(select(func.sum(t.c.size_bytes)).where(t.c.owner == owner)).scalar()
        for t in tables
    ]
    return sum(int(found or 0) for found in sums)


def require_room(connection: Connection, owner: Owner, more_bytes: int, most_bytes: int) -> None:
    """Refuse what would take a key's owner over its share. Raises TooLargeError.

    The one user of a service without keys has the whole disk.
    """
    if owner in (None, LOCAL, SHARED):
        return
    kept = stored_bytes(connection, owner)
    if kept + more_bytes > most_bytes:
        raise TooLargeError(
            f"This key keeps {kept / MIB:,.0f} MiB, and {most_bytes / MIB:,.0f} MiB are its share. "
            "Delete rasters or jobs that are no longer needed, or ask whoever runs the service."
        )
