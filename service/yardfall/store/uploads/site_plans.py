"""Site plans: the picture in the data directory, its facts and its placement in the database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Final

from sqlalchemy import update

from yardfall.store.database import writing
from yardfall.store.files import incoming
from yardfall.store.owners import owned
from yardfall.store.tables import site_plans
from yardfall.store.uploads.file_store import KeptFiles

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


class SitePlanStore(KeptFiles[SitePlanRecord]):
    """One owner's site plans, a picture each."""

    table = site_plans
    noun = "site plan"
    suffix = ".picture"

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

    def place(self, key: str, placement: dict[str, Any]) -> SitePlanRecord:
        """Keep where a site plan lies, in place of what was kept. Raises NotFoundError."""
        mine = update(site_plans).where(site_plans.c.id == key, owned(site_plans, self._owner))
        change = mine.values(placement=placement)
        with writing(self._engine) as connection:
            if not connection.execute(change).rowcount:
                raise self._unknown(key)
        return self.get(key)

    def delete(self, key: str) -> None:
        """Forget a site plan and its picture. Raises NotFoundError."""
        path = self.get(key).path
        if not self._forget(key):
            raise self._unknown(key)
        path.unlink(missing_ok=True)

    def _record(self, row: Any) -> SitePlanRecord:
        return SitePlanRecord(**{"placement": None, **row}, path=self._path(row["id"]))
