"""Uploaded elevation rasters: the file in the data directory, its facts in the database."""

from __future__ import annotations

import tempfile
import uuid
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Final

from sqlalchemy import Engine, delete, func, insert, select

from yardfall.core.errors import NotFoundError, NotYoursError
from yardfall.store.database import reading, writing
from yardfall.store.files import STILL_S, incoming, sweep, take_over
from yardfall.store.owners import SHARED, Owner, clean_name, is_id, owned, readable
from yardfall.store.tables import MOST_NAME, rasters
from yardfall.store.usage import MAX_KEPT_BYTES, require_room

MAX_UPLOAD_BYTES: Final = 512 * 1024 * 1024
ADVICE: Final = "Cut it to the neighbourhood of the yard."


@dataclass(frozen=True)
class RasterRecord:
    """A kept raster: where its file lies, and the facts read from it at upload."""

    id: str
    owner: str
    name: str
    uploaded_at: datetime
    size_bytes: int
    facts: dict[str, Any]
    path: Path

    @property
    def relief_path(self) -> Path:
        """Where the drawn relief is kept."""
        return self.path.with_suffix(".png")


def raster_folder(data_dir: Path) -> Path:
    """Where rasters lie, made when missing."""
    folder = data_dir / "rasters"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class RasterStore:
    """One owner's rasters under `data_dir`/rasters, a file each, named by an id of our own making.

    What is shared can be read as well; what is another owner's is not there.
    """

    def __init__(
        self,
        engine: Engine,
        data_dir: Path,
        owner: Owner = None,
        most_kept_bytes: int = MAX_KEPT_BYTES,
    ) -> None:
        self._engine = engine
        self._folder = raster_folder(data_dir)
        self._owner = owner
        self._most_kept_bytes = most_kept_bytes

    def of(self, owner: Owner) -> RasterStore:
        """The same store for an owner."""
        return RasterStore(self._engine, self._folder.parent, owner, self._most_kept_bytes)

    def incoming(self, stream: IO[bytes]) -> AbstractContextManager[Path]:
        """The upload in a temporary file, gone at the end unless kept.

        Raises TooLargeError over MAX_UPLOAD_BYTES.
        """
        return incoming(stream, self._folder, MAX_UPLOAD_BYTES, ADVICE)

    def keep(self, part: Path, name: str, facts: dict[str, Any]) -> RasterRecord:
        """Take an incoming file over under a new id. Raises TooLargeError over the owner's share.

        Where nobody owns the store, what is kept is everybody's.
        """
        key = uuid.uuid4().hex
        path = self._path(key)
        size = part.stat().st_size
        row = {
            "id": key,
            "owner": self._owner or SHARED,
            "name": clean_name(name, MOST_NAME, "raster"),
            "uploaded_at": datetime.now(UTC),
            "size_bytes": size,
            "facts": facts,
        }
        with writing(self._engine) as connection:
            require_room(connection, self._owner, size, self._most_kept_bytes)
            connection.execute(insert(rasters).values(**row))
            take_over(part, path)  # should the commit's answer be lost, the sweep knows
        return self._record(row)

    def keep_relief(self, record: RasterRecord, picture: bytes) -> None:
        """Keep a drawn relief beside its raster; whole or not at all, whoever else draws it."""
        with tempfile.NamedTemporaryFile(dir=self._folder, suffix=".part", delete=False) as part:
            part.write(picture)
        Path(part.name).replace(record.relief_path)

    def get(self, key: str) -> RasterRecord:
        """The raster under an id. Raises NotFoundError."""
        wanted = select(rasters).where(rasters.c.id == key, readable(rasters, self._owner))
        row = None
        if is_id(key):
            with reading(self._engine) as connection:
                row = connection.execute(wanted).mappings().first()
        if row is None:
            raise NotFoundError(f"There is no raster with the id {key!r}.")
        return self._record(row)

    def page(self, number: int, size: int) -> tuple[list[RasterRecord], int]:
        """Rasters newest first, page `number` from 1, and how many there are in all."""
        mine = readable(rasters, self._owner)
        newest = select(rasters).where(mine).order_by(rasters.c.uploaded_at.desc(), rasters.c.id)
        count = select(func.count()).select_from(rasters).where(mine)
        with reading(self._engine) as connection:
            rows = connection.execute(newest.limit(size).offset((number - 1) * size)).mappings()
            records = [self._record(row) for row in rows]
            total = connection.execute(count).scalar_one()
        return records, total

    def find_named(self, name: str) -> RasterRecord | None:
        """The first raster uploaded under a name."""
        oldest = select(rasters).where(rasters.c.name == name, readable(rasters, self._owner))
        with reading(self._engine) as connection:
            row = connection.execute(oldest.order_by(rasters.c.uploaded_at)).mappings().first()
        return None if row is None else self._record(row)

    def delete(self, key: str) -> None:
        """Forget a raster and its file. Raises NotFoundError, NotYoursError of a shared one."""
        record = self.get(key)
        mine = owned(rasters, self._owner)
        with writing(self._engine) as connection:
            gone = connection.execute(delete(rasters).where(rasters.c.id == key, mine)).rowcount
        if not gone and record.owner == SHARED:
            raise NotYoursError(f"{record.name} is everybody's; it cannot be deleted.")
        if not gone:
            raise NotFoundError(f"There is no raster with the id {key!r}.")
        record.path.unlink(missing_ok=True)
        record.relief_path.unlink(missing_ok=True)

    def sweep(self, still_s: float = STILL_S) -> list[str]:
        """Remove files that a killed upload or deletion left; their names."""
        with reading(self._engine) as connection:
            kept = connection.execute(select(rasters.c.id)).scalars().all()
        return sweep(self._folder, kept, still_s)

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.tif"

    def _record(self, row: Any) -> RasterRecord:
        return RasterRecord(**row, path=self._path(row["id"]))
