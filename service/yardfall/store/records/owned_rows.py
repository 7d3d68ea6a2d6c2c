"""Rows of the database that are one owner's, each with the name of who kept it."""

from __future__ import annotations

from sqlalchemy import Engine

from yardfall.store.owners import LOCAL, Owner
from yardfall.store.quota import MAX_KEPT_BYTES


class OwnedRows:
    """What a store of rows needs to know: whose it is, who saves, and how much may be kept."""

    def __init__(
        self,
        engine: Engine,
        owner: Owner = None,
        saver: str = LOCAL,
        most_kept_bytes: int = MAX_KEPT_BYTES,
    ) -> None:
        self._engine = engine
        self._owner = owner
        self._saver = saver
        self._most_kept_bytes = most_kept_bytes
