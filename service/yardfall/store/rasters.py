"""Uploaded elevation rasters: the file in the data directory, its facts in the database."""

from __future__ import annotations

import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO, Final

from sqlalchemy import Engine, delete, func, insert, select

from yardfall.core.errors import NotFoundError
from yardfall.store.database import rasters
from yardfall.store.incoming import incoming

MAX_UPLOAD_BYTES: Final = 512 * 1024 * 1024


@dataclass(frozen=True)
class RasterRecord:
    """A kept raster: where its file lies, and the facts read from it at upload."""

    id: str
    name: str
    uploaded_at: datetime
    size_bytes: int
    facts: dict[str, Any]
    path: Path

    @property
    def relief_path(self) -> Path:
        """Where the drawn relief is kept."""
        return self.path.with_suffix(".png")


class RasterStore:
    """Rasters under `data_dir`/rasters, one file each, named by an id of our own making."""

    def __init__(self, engine: Engine, data_dir: Path) -> None:
        self._engine = engine
        self._folder = data_dir / "rasters"
        self._folder.mkdir(parents=True, exist_ok=True)

    @contextmanager
    def incoming(self, stream: BinaryIO) -> Iterator[Path]:
        """The upload in a temporary file, gone at the end unless kept.

        Raises TooLargeError over MAX_UPLOAD_BYTES.
        """
        advice = "Cut it to the neighbourhood of the yard."
        with incoming(stream, self._folder, MAX_UPLOAD_BYTES, advice) as part:
            yield part

    def keep(self, part: Path, name: str, facts: dict[str, Any]) -> RasterRecord:
        """Take an incoming file over under a new id."""
        key = uuid.uuid4().hex
        path = self._path(key)
        part.rename(path)
        row = {
            "id": key,
            "name": name[:200] or "raster",
            "uploaded_at": datetime.now(UTC),
            "size_bytes": path.stat().st_size,
            "facts": facts,
        }
        with self._engine.begin() as connection:
            connection.execute(insert(rasters).values(**row))
        return self.get(key)

    def keep_relief(self, record: RasterRecord, picture: bytes) -> None:
        """Keep a drawn relief beside its raster; whole or not at all, whoever else draws it."""
        with tempfile.NamedTemporaryFile(dir=self._folder, suffix=".part", delete=False) as part:
            part.write(picture)
        Path(part.name).replace(record.relief_path)

    def get(self, key: str) -> RasterRecord:
        """The raster under an id. Raises NotFoundError."""
        with self._engine.connect() as connection:
            row = connection.execute(select(rasters).where(rasters.c.id == key)).mappings().first()
        if row is None:
            raise NotFoundError(f"There is no raster with the id {key!r}.")
        return self._record(row)

    def page(self, number: int, size: int) -> tuple[list[RasterRecord], int]:
        """Rasters newest first, page `number` from 1, and how many there are in all."""
        newest = select(rasters).order_by(rasters.c.uploaded_at.desc(), rasters.c.id)
        with self._engine.connect() as connection:
            rows = connection.execute(newest.limit(size).offset((number - 1) * size)).mappings()
            records = [self._record(row) for row in rows]
            total = connection.execute(select(func.count()).select_from(rasters)).scalar_one()
        return records, total

    def find_named(self, name: str) -> RasterRecord | None:
        """The first raster uploaded under a name."""
        oldest = select(rasters).where(rasters.c.name == name).order_by(rasters.c.uploaded_at)
        with self._engine.connect() as connection:
            row = connection.execute(oldest.limit(1)).mappings().first()
        return None if row is None else self._record(row)

    def delete(self, key: str) -> None:
        """Forget a raster and its file. Raises NotFoundError."""
        with self._engine.begin() as connection:
            gone = connection.execute(delete(rasters).where(rasters.c.id == key)).rowcount
        if not gone:
            raise NotFoundError(f"There is no raster with the id {key!r}.")
        path = self._path(key)
        path.unlink(missing_ok=True)
        path.with_suffix(".png").unlink(missing_ok=True)

    def is_reachable(self) -> bool:
        """Whether the database answers."""
        with self._engine.connect() as connection:
            return bool(connection.execute(select(1)).scalar_one() == 1)

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.tif"

    def _record(self, row: Any) -> RasterRecord:
        kept = {**row, "uploaded_at": row["uploaded_at"].replace(tzinfo=UTC)}
        return RasterRecord(**kept, path=self._path(row["id"]))
