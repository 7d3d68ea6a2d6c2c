"""An export as it is sent: row by row, as fast as it is taken. `export` says what is in it."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, Final

from yardfall.core.errors import NotFoundError
from yardfall.store.owners import SHARED
from yardfall.store.records.grade_checks import GradeCheckStore, KeptCheck
from yardfall.store.records.jobs import JobStore
from yardfall.store.uploads.rasters import RasterStore
from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases.transfer import CHECKS, FORMAT, HEAD, JOBS, RASTERS, SITE_PLANS, Belongings

PAGE: Final = 200
PIECE_BYTES: Final = 256 * 1024


class _Passing(io.RawIOBase):
    """Where a ZIP is written to that is sent at once: what has come in since it was last taken."""

    def __init__(self) -> None:
        super().__init__()
        self._parts: list[bytes] = []

    def writable(self) -> bool:
        """It takes bytes; it cannot go back."""
        return True

    def write(self, content: Any, /) -> int:
        """Keep bytes until they are taken."""
        self._parts.append(bytes(content))
        return len(self._parts[-1])

    def take(self) -> bytes:
        """All that was written since the last time."""
        parts, self._parts = self._parts, []
        return b"".join(parts)


def written_export(own: Belongings, with_files: bool) -> Iterator[bytes]:
    """All of an owner's jobs, and their rasters and site plans, as a ZIP in pieces.

    Each row is read when the one before it was taken, so that it waits for who reads it, in little
    memory and with no transaction open.
    """
    out = _Passing()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as bundle:
        bundle.writestr(HEAD, json.dumps(FORMAT))
        for name, rows in ((JOBS, _every_revision(own)), (CHECKS, _every_record(own))):
            with bundle.open(name, "w", force_zip64=True) as lines:
                for line in rows:
                    lines.write(line)
                    yield out.take()
        kinds: tuple[tuple[str, str, str, RasterStore | SitePlanStore], ...] = (
            (RASTERS, "rasters", ".tif", own.rasters),
            (SITE_PLANS, "site_plans", ".picture", own.site_plans),
        )
        for listed, folder, suffix, store in kinds:
            named = []
            for record in _every(store) if with_files else ():
                try:
                    file = record.path.open("rb")
                except FileNotFoundError:  # deleted meanwhile
                    continue
                facts = {"id": record.id, "name": record.name}
                if store is own.site_plans:
                    facts["placement"] = record.placement
                else:
                    facts["named"] = record.facts.get("named")
                named.append(facts)
                entry = f"{folder}/{record.id}{suffix}"
                with file, bundle.open(entry, "w", force_zip64=True) as lines:
                    while chunk := file.read(PIECE_BYTES):
                        lines.write(chunk)
                        yield out.take()
            bundle.writestr(listed, "".join(json.dumps(line) + "\n" for line in named))
    yield out.take()


def _every_revision(own: Belongings) -> Iterator[bytes]:
    for key in own.jobs.ids():
        with suppress(NotFoundError):  # deleted meanwhile
            yield from _lines_of(own.jobs, key)


def _every_record(own: Belongings) -> Iterator[bytes]:
    for key in own.jobs.ids():
        with suppress(NotFoundError):
            for check in _every_check(own.checks, key):
                yield _line_of_check(key, check)


def _lines_of(jobs: JobStore, key: str) -> Iterator[bytes]:
    job = jobs.get(key)
    for number in range(1, job.latest.number + 1):
        revision = jobs.revision(key, number)
        kept = revision.content
        assert kept is not None
        line = {
            "job": key,
            "archived": job.archived,
            "saved_at": revision.saved_at.isoformat(),
            "saved_by": revision.saved_by,
            "name": kept.name,
            "sums": kept.sums,
            "verdict": kept.verdict,
            "request": kept.request,
            "answer": kept.answer,
            "problems": kept.problems,
            "form": kept.form,
        }
        yield json.dumps(line).encode() + b"\n"


def _every(store: RasterStore | SitePlanStore) -> Iterator[Any]:
    number, found = 1, True
    while found:
        records: list[Any] = store.page(number, PAGE)[0]
        yield from (record for record in records if record.owner != SHARED)
        number, found = number + 1, bool(records)


def _every_check(store: GradeCheckStore, job: str) -> Iterator[KeptCheck]:
    """A job's checks, oldest first."""
    number, total = 0, store.page(job, 1, 1)[1]
    while number < total:
        number += 1
        yield store.get(job, number)


def _line_of_check(job: str, check: KeptCheck) -> bytes:
    line = {
        "job": job,
        "checked_at": check.checked_at.isoformat(),
        "checked_by": check.checked_by,
        **vars(check.outcome),
    }
    return json.dumps(line).encode() + b"\n"
