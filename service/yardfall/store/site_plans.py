"""Site plans: the picture in the data directory, its facts and its placement in the database."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Final

from sqlalchemy import Engine, delete, func, insert, select, update

from yardfall.core.errors import NotFoundError
from yardfall.store.database import reading, writing
from yardfall.store.files import STILL_S, incoming, sweep, take_over
from yardfall.store.owners import LOCAL, Owner, clean_name, is_id, owned
from yardfall.store.tables import MOST_NAME, site_plans
from yardfall.store.usage import MAX_KEPT_BYTES, require_room

MAX_UPLOAD_BYTES: Final = 64 * 1024 * 1024


@dataclass(frozen=True)
class SitePlanRecord:
    """A kept site plan: where its picture lies, its facts, and its placement once it has one."""

    id: str
    owner: str
    name: str
    uploaded_at: datetime
    size_bytes: int
    facts: dict[str, Any]
    placement: dict[str, Any] | None
    path: Path


class SitePlanStore:
    """One owner's site plans under `data_dir`/site_plans, a picture each, named by an id of ours.

    What is another owner's is not there.
    """

    def __init__(
        self,
        engine: Engine,
        data_dir: Path,
        owner: Owner = None,
        most_kept_bytes: int = MAX_KEPT_BYTES,
    ) -> None:
        self._engine = engine
        self._folder = data_dir / "site_plans"
        self._folder.mkdir(parents=True, exist_ok=True)
        self._owner = owner
        self._most_kept_bytes = most_kept_bytes

    def of(self, owner: Owner) -> SitePlanStore:
        """The same store for an owner."""
        return SitePlanStore(self._engine, self._folder.parent, owner, self._most_kept_bytes)

    @contextmanager
    def incoming(self, stream: IO[bytes]) -> Iterator[tuple[Path, Path]]:
        """The upload in a temporary file, and an empty one for its picture; both gone at the end.

        Raises TooLargeError over MAX_UPLOAD_BYTES.
        """
        advice = "Send one page of it, or a smaller picture."
        with incoming(stream, self._folder, MAX_UPLOAD_BYTES, advice) as part:
            picture = part.with_suffix(".drawn.part")
            try:
                yield part, picture
            finally:
                picture.unlink(missing_ok=True)

    def keep(self, picture: Path, name: str, facts: dict[str, Any]) -> SitePlanRecord:
        """Take a drawn picture over under a new id. Raises TooLargeError over the owner's share."""
        key = uuid.uuid4().hex
        path = self._path(key)
        size = picture.stat().st_size
        row = {
            "id": key,
            "owner": self._owner or LOCAL,
            "name": clean_name(name, MOST_NAME, "site plan"),
            "uploaded_at": datetime.now(UTC),
            "size_bytes": size,
            "facts": facts,
            "placement": None,
        }
        with writing(self._engine) as connection:
            require_room(connection, self._owner, size, self._most_kept_bytes)
            connection.execute(insert(site_plans).values(**row))
            take_over(picture, path)  # should the commit's answer be lost, the sweep knows
        return self._record(row)

    def place(self, key: str, placement: dict[str, Any]) -> SitePlanRecord:
        """Keep where a site plan lies, in place of what was kept. Raises NotFoundError."""
        mine = update(site_plans).where(site_plans.c.id == key, owned(site_plans, self._owner))
        change = mine.values(placement=placement)
        with writing(self._engine) as connection:
            if not connection.execute(change).rowcount:
                raise _unknown(key)
        return self.get(key)

    def get(self, key: str) -> SitePlanRecord:
        """The site plan under an id. Raises NotFoundError."""
        one = select(site_plans).where(site_plans.c.id == key, owned(site_plans, self._owner))
        row = None
        if is_id(key):
            with reading(self._engine) as connection:
                row = connection.execute(one).mappings().first()
        if row is None:
            raise _unknown(key)
        return self._record(row)

    def page(self, number: int, size: int) -> tuple[list[SitePlanRecord], int]:
        """Site plans newest first, page `number` from 1, and how many there are in all."""
        mine = owned(site_plans, self._owner)
        newest = select(site_plans).where(mine)
        newest = newest.order_by(site_plans.c.uploaded_at.desc(), site_plans.c.id)
        count = select(func.count()).select_from(site_plans).where(mine)
        with reading(self._engine) as connection:
            rows = connection.execute(newest.limit(size).offset((number - 1) * size)).mappings()
            records = [self._record(row) for row in rows]
            total = connection.execute(count).scalar_one()
        return records, total

    def delete(self, key: str) -> None:
        """Forget a site plan and its picture. Raises NotFoundError."""
        path = self.get(key).path
        mine = delete(site_plans).where(site_plans.c.id == key, owned(site_plans, self._owner))
        with writing(self._engine) as connection:
            gone = connection.execute(mine).rowcount
        if not gone:
            raise _unknown(key)
        path.unlink(missing_ok=True)

    def sweep(self, still_s: float = STILL_S) -> list[str]:
        """Remove files that a killed upload or deletion left; their names."""
        with reading(self._engine) as connection:
            kept = connection.execute(select(site_plans.c.id)).scalars().all()
        return sweep(self._folder, kept, still_s)

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.picture"

    def _record(self, row: Any) -> SitePlanRecord:
        return SitePlanRecord(**row, path=self._path(row["id"]))


def _unknown(key: str) -> NotFoundError:
    return NotFoundError(f"There is no site plan with the id {key!r}.")
