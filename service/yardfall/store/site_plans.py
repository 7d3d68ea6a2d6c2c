"""Site plans: the picture in the data directory, its facts and its placement in the database."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO, Final

from sqlalchemy import Engine, delete, func, insert, select, update

from yardfall.core.errors import NotFoundError
from yardfall.store.database import site_plans
from yardfall.store.incoming import incoming

MAX_UPLOAD_BYTES: Final = 64 * 1024 * 1024


@dataclass(frozen=True)
class SitePlanRecord:
    """A kept site plan: where its picture lies, its facts, and its placement once it has one."""

    id: str
    name: str
    uploaded_at: datetime
    size_bytes: int
    facts: dict[str, Any]
    placement: dict[str, Any] | None
    path: Path


class SitePlanStore:
    """Site plans under `data_dir`/site_plans, one picture each, named by an id of our own."""

    def __init__(self, engine: Engine, data_dir: Path) -> None:
        self._engine = engine
        self._folder = data_dir / "site_plans"
        self._folder.mkdir(parents=True, exist_ok=True)

    @contextmanager
    def incoming(self, stream: BinaryIO) -> Iterator[tuple[Path, Path]]:
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
        """Take a drawn picture over under a new id."""
        key = uuid.uuid4().hex
        path = self._path(key)
        picture.rename(path)
        row = {
            "id": key,
            "name": name[:200] or "site plan",
            "uploaded_at": datetime.now(UTC),
            "size_bytes": path.stat().st_size,
            "facts": facts,
            "placement": None,
        }
        try:
            with self._engine.begin() as connection:
                connection.execute(insert(site_plans).values(**row))
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        return self.get(key)

    def place(self, key: str, placement: dict[str, Any]) -> SitePlanRecord:
        """Keep where a site plan lies, in place of what was kept. Raises NotFoundError."""
        change = update(site_plans).where(site_plans.c.id == key).values(placement=placement)
        with self._engine.begin() as connection:
            if not connection.execute(change).rowcount:
                raise _unknown(key)
        return self.get(key)

    def get(self, key: str) -> SitePlanRecord:
        """The site plan under an id. Raises NotFoundError."""
        one = select(site_plans).where(site_plans.c.id == key)
        with self._engine.connect() as connection:
            row = connection.execute(one).mappings().first()
        if row is None:
            raise _unknown(key)
        return self._record(row)

    def page(self, number: int, size: int) -> tuple[list[SitePlanRecord], int]:
        """Site plans newest first, page `number` from 1, and how many there are in all."""
        newest = select(site_plans).order_by(site_plans.c.uploaded_at.desc(), site_plans.c.id)
        with self._engine.connect() as connection:
            rows = connection.execute(newest.limit(size).offset((number - 1) * size)).mappings()
            records = [self._record(row) for row in rows]
            total = connection.execute(select(func.count()).select_from(site_plans)).scalar_one()
        return records, total

    def delete(self, key: str) -> None:
        """Forget a site plan and its picture. Raises NotFoundError."""
        with self._engine.begin() as connection:
            gone = connection.execute(delete(site_plans).where(site_plans.c.id == key)).rowcount
        if not gone:
            raise _unknown(key)
        self._path(key).unlink(missing_ok=True)

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.picture"

    def _record(self, row: Any) -> SitePlanRecord:
        kept = {**row, "uploaded_at": row["uploaded_at"].replace(tzinfo=UTC)}
        return SitePlanRecord(**kept, path=self._path(row["id"]))


def _unknown(key: str) -> NotFoundError:
    return NotFoundError(f"There is no site plan with the id {key!r}.")
