"""A kind of upload that is kept: each a file in the data directory, its facts in the database."""

from __future__ import annotations

import uuid
from copy import copy
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, ClassVar, Generic, Self, TypeVar

from sqlalchemy import ColumnElement, Engine, Table, delete, func, insert, select

from yardfall.core.errors import NotFoundError
from yardfall.store.database import reading, writing
from yardfall.store.files import STILL_S, sweep, take_over
from yardfall.store.owners import LOCAL, Owner, clean_name, is_id, owned
from yardfall.store.quota import MAX_KEPT_BYTES, require_room
from yardfall.store.tables import MOST_NAME

Record = TypeVar("Record")


class KeptFiles(Generic[Record]):
    """One owner's files of a kind, each named by an id of our own making.

    What is another owner's is not there.
    """

    table: ClassVar[Table]
    noun: ClassVar[str]
    suffix: ClassVar[str]
    nobodys: ClassVar[str] = LOCAL
    """Whose is what is kept where nobody owns the store."""

    def __init__(
        self,
        engine: Engine,
        data_dir: Path,
        owner: Owner = None,
        most_kept_bytes: int = MAX_KEPT_BYTES,
    ) -> None:
        self._engine = engine
        self._folder = data_dir / self.table.name
        self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        self._owner = owner
        self._most_kept_bytes = most_kept_bytes

    def of(self, owner: Owner) -> Self:
        """The same store for an owner."""
        found = copy(self)
        found._owner = owner
        return found

    def keep(self, part: Path, name: str, facts: dict[str, Any]) -> Record:
        """Take an incoming file over under a new id. Raises TooLargeError over the owner's share.

        Where nobody owns the store, it belongs to `nobodys`.
        """
        key = uuid.uuid4().hex
        size = part.stat().st_size
        row = {
            "id": key,
            "owner": self._owner or self.nobodys,
            "name": clean_name(name, MOST_NAME, self.noun),
            "uploaded_at": datetime.now(UTC),
            "size_bytes": size,
            "facts": facts,
        }
        with writing(self._engine) as connection:
            require_room(connection, self._owner, size, self._most_kept_bytes)
            connection.execute(insert(self.table).values(**row))
            take_over(part, self._path(key))  # should the commit's answer be lost, the sweep knows
        return self._record(row)

    def get(self, key: str) -> Record:
        """The one under an id. Raises NotFoundError."""
        wanted = select(self.table).where(self.table.c.id == key, self._seen())
        row = None
        if is_id(key):
            with reading(self._engine) as connection:
                row = connection.execute(wanted).mappings().first()
        if row is None:
            raise self._unknown(key)
        return self._record(row)

    def page(self, number: int, size: int) -> tuple[list[Record], int]:
        """The newest first, page `number` from 1, and how many there are in all."""
        newest = select(self.table).where(self._seen())
        newest = newest.order_by(self.table.c.uploaded_at.desc(), self.table.c.id)
        count = select(func.count()).select_from(self.table).where(self._seen())
        with reading(self._engine) as connection:
            rows = connection.execute(newest.limit(size).offset((number - 1) * size)).mappings()
            records = [self._record(row) for row in rows]
            total = connection.execute(count).scalar_one()
        return records, total

    def sweep(self, still_s: float = STILL_S) -> list[str]:
        """Remove files that a killed upload or deletion left; their names."""
        with reading(self._engine) as connection:
            kept = connection.execute(select(self.table.c.id)).scalars().all()
        return sweep(self._folder, kept, still_s)

    def _forget(self, key: str) -> bool:
        """Whether there was one of the owner's to forget; its file stays."""
        mine = delete(self.table).where(self.table.c.id == key, owned(self.table, self._owner))
        with writing(self._engine) as connection:
            return connection.execute(mine).rowcount > 0

    def _seen(self) -> ColumnElement[bool]:
        return owned(self.table, self._owner)

    def _path(self, key: str) -> Path:
        return self._folder / (key + self.suffix)

    def _record(self, row: Any) -> Record:
        raise NotImplementedError

    def _unknown(self, key: str) -> NotFoundError:
        return NotFoundError(f"There is no {self.noun} with the id {key!r}.")
