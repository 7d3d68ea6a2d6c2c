"""Uploaded elevation rasters: the file in the data directory, its facts in the database."""

from __future__ import annotations

import filecmp
import json
import tempfile
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Final, get_args

from sqlalchemy import ColumnElement, select

from yardfall.core.errors import NotYoursError
from yardfall.core.units import UnitName
from yardfall.store.database import reading
from yardfall.store.files import incoming
from yardfall.store.owners import SHARED, clean_name, readable
from yardfall.store.sources import SourceStore
from yardfall.store.tables import MOST_NAME, rasters
from yardfall.store.uploads.file_store import KeptFiles

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

    def relief_path(self, units: UnitName | None = None) -> Path:
        """Where the relief is kept that is drawn in a unit system, or in the raster's own unit."""
        return self.path.with_suffix(f".{units}-png" if units else ".png")


class RasterStore(KeptFiles[RasterRecord]):
    """One owner's rasters. What is shared can be read as well, and what nobody owns is shared."""

    table = rasters
    noun = "raster"
    suffix = ".tif"
    nobodys = SHARED

    @property
    def sources(self) -> SourceStore:
        """The sources that whoever runs the planner named, which are everybody's."""
        return SourceStore(self._folder.parent / "sources")

    @property
    def keeper(self) -> str:
        """Whose is what is kept here."""
        return self._owner or self.nobodys

    def incoming(self, stream: IO[bytes]) -> AbstractContextManager[Path]:
        """The upload in a temporary file, gone at the end unless kept.

        Raises TooLargeError over MAX_UPLOAD_BYTES.
        """
        return incoming(stream, self._folder, MAX_UPLOAD_BYTES, ADVICE)

    def keep_relief(self, path: Path, picture: bytes) -> None:
        """Keep a drawn relief beside its raster; whole or not at all, whoever else draws it."""
        with tempfile.NamedTemporaryFile(dir=self._folder, suffix=".part", delete=False) as part:
            part.write(picture)
        Path(part.name).replace(path)

    def find_named(self, name: str) -> RasterRecord | None:
        """The first raster uploaded under a name."""
        oldest = select(rasters).where(rasters.c.name == name, readable(rasters, self._owner))
        with reading(self._engine) as connection:
            row = connection.execute(oldest.order_by(rasters.c.uploaded_at)).mappings().first()
        return None if row is None else self._record(row)

    def find_same(self, part: Path, name: str, facts: dict[str, Any]) -> RasterRecord | None:
        """One's own raster of the same name, facts and bytes as a file that came in."""
        like = select(rasters).where(
            rasters.c.owner == self.keeper,
            rasters.c.name == clean_name(name, MOST_NAME, self.noun),
            rasters.c.size_bytes == part.stat().st_size,
        )
        with reading(self._engine) as connection:
            rows = connection.execute(like.order_by(rasters.c.uploaded_at)).mappings().all()
        told = json.loads(json.dumps(facts))
        for record in map(self._record, rows):
            with suppress(OSError):  # deleted this moment
                if record.facts == told and filecmp.cmp(part, record.path, shallow=False):
                    return record
        return None

    def delete(self, key: str) -> None:
        """Forget a raster and its file. Raises NotFoundError, NotYoursError of a shared one."""
        record = self.get(key)
        gone = self._forget(key)
        if not gone and record.owner == SHARED:
            raise NotYoursError(f"{record.name} is everybody's; it cannot be deleted.")
        if not gone:
            raise self._unknown(key)
        record.path.unlink(missing_ok=True)
        for units in (None, *get_args(UnitName)):
            record.relief_path(units).unlink(missing_ok=True)

    def _seen(self) -> ColumnElement[bool]:
        return readable(rasters, self._owner)

    def _record(self, row: Any) -> RasterRecord:
        return RasterRecord(**row, path=self._path(row["id"]))
