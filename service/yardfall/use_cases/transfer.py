"""Everything an owner keeps, as one file to carry away or to another service, and back.

A ZIP. `yardfall-export.json` says what it is. `jobs.jsonl` has a line for each revision, a job's
together, oldest first. The files lie in `rasters/<id>.tif` and `site_plans/<id>.picture`; their
names, and where a site plan lies, are in `rasters.jsonl` and `site_plans.jsonl`. The as-built
record is `grade_checks.jsonl`, a line for each check, a job's together.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from typing import Any, BinaryIO, Final

from yardfall.core import deadline
from yardfall.core.errors import FileRefusedError, InputError, TooLargeError
from yardfall.core.ground.profile import NamedSource
from yardfall.core.units import SYSTEMS
from yardfall.store.owners import clean_name, is_id
from yardfall.store.records.grade_checks import GradeCheckStore, Outcome
from yardfall.store.records.jobs import Job, JobStore, Revision
from yardfall.store.records.revision import Content, files_named, is_plain
from yardfall.store.tables import MOST_NAME
from yardfall.store.uploads.rasters import RasterStore
from yardfall.store.uploads.site_plans import SitePlanRecord, SitePlanStore
from yardfall.use_cases.uploads import (
    add_raster,
    add_site_plan,
    place_site_plan,
    placement_of_record,
)

FORMAT: Final = {"format": "yardfall-export", "version": 1}
HEAD, JOBS, RASTERS = "yardfall-export.json", "jobs.jsonl", "rasters.jsonl"
SITE_PLANS: Final = "site_plans.jsonl"
CHECKS: Final = "grade_checks.jsonl"
MOST_ENTRIES: Final = 10_000
MOST_DIRECTORY_BYTES: Final = 4 << 20
MOST_LINE_BYTES: Final = 16 << 20
MOST_JOB_BYTES: Final = 128 << 20
MOST_LINES: Final = 20_000
"""Of one list: revisions of jobs, or checks of trenches."""
MOST_JOBS: Final = 5_000
MOST_BYTES: Final = 4 << 30
FREE_BYTES: Final = 64 << 20
MOST_RATIO: Final = 100
"""Beyond FREE_BYTES a file may unpack to so many times its size; what GET /export gives stays far
below."""
PACKED_AS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""The ways of packing that are undone piece by piece; the others unpack all at once."""
END_OF_ZIP: Final = b"PK\5\6"
NOT_OURS: Final = "This is not a file that GET /export gave, or it is damaged."
FAULT: Final = {"pointer", "detail"}
"""What is told of each fault of a draft; its code too, since there are codes."""
VERDICTS: Final = ("yes", "no", "too_close", None)
CHECKED: Final = ("pass", "fail", "more_readings")


@dataclass(frozen=True)
class Moved:
    """How much an import brought in."""

    jobs: int
    revisions: int
    rasters: int
    site_plans: int
    grade_checks: int


@dataclass(frozen=True)
class Belongings:
    """The stores of one owner."""

    jobs: JobStore
    rasters: RasterStore
    site_plans: SitePlanStore
    checks: GradeCheckStore


MOST_TOLD: Final = 1000
MOST_ERROR_M: Final = 1000.0


def read_import(file: BinaryIO, own: Belongings) -> Moved:
    """Take in what `write_export` wrote, under new ids: all of it or nothing.

    Raises FileRefusedError, TooLargeError.
    """
    added_rasters: dict[str, str] = {}
    added_plans: dict[str, str] = {}
    added_jobs: dict[str, Job] = {}
    saves = checks = 0
    try:
        with _opened(file) as bundle:
            for line in _read_lines(bundle, RASTERS):
                key, name = str(line.get("id")), str(line.get("name"))
                _require(is_id(key) and key not in added_rasters)
                named = _named(line.get("named"))
                with bundle.open(f"rasters/{key}.tif") as stream:
                    added_rasters[key] = add_raster(stream, name, own.rasters, named=named).id
            for line in _read_lines(bundle, SITE_PLANS):
                key, name = str(line.get("id")), str(line.get("name"))
                _require(is_id(key) and key not in added_plans)
                with bundle.open(f"site_plans/{key}.picture") as stream:
                    record = add_site_plan(stream, name, None, own.site_plans)
                added_plans[key] = record.id
                if line.get("placement") is not None:
                    _place(record, line["placement"], own.site_plans)
            for key, lines in groupby(_read_lines(bundle, JOBS), lambda line: str(line.get("job"))):
                _require(key not in added_jobs)
                if len(added_jobs) == MOST_JOBS:
                    raise TooLargeError(f"The file has more than {MOST_JOBS:,} jobs.")
                revisions, archived = _job_of(lines, added_rasters | added_plans)
                added_jobs[key] = own.jobs.take_in(revisions, archived)
                saves += len(revisions)
            if CHECKS in bundle.namelist():  # an export of before the record was kept has none
                for line in _read_lines(bundle, CHECKS):
                    _take_check(line, added_jobs, own.checks)
                    checks += 1
    except BaseException:
        for job in added_jobs.values():
            own.jobs.delete(job.id, None)
        for key in added_rasters.values():
            own.rasters.delete(key)
        for key in added_plans.values():
            own.site_plans.delete(key)
        raise
    return Moved(len(added_jobs), saves, len(added_rasters), len(added_plans), checks)


def _named(value: Any) -> NamedSource | None:
    """What was stated of the source that a raster is a window of, once it has been looked at."""
    if value is None:
        return None
    _require(isinstance(value, dict) and value.keys() == NamedSource("").__dict__.keys())
    error = value["rmse_m"]
    _require(error is None or (isinstance(error, int | float) and 0 <= error < MOST_ERROR_M))
    told = [text for key, text in value.items() if key != "rmse_m"]
    _require(all(isinstance(text, str) and len(text) <= MOST_TOLD for text in told))
    return NamedSource(**value)


def _place(record: SitePlanRecord, placement: Any, site_plans: SitePlanStore) -> None:
    """Lay a site plan as it lay, once the numbers have been looked at."""
    try:
        found = placement_of_record(replace(record, placement=placement))
        _require(placement["units"] in SYSTEMS)
        place_site_plan(record.id, found, placement["units"], site_plans)
    except (InputError, TypeError) as error:
        raise FileRefusedError(NOT_OURS) from error


@contextmanager
def _opened(file: BinaryIO) -> Iterator[zipfile.ZipFile]:
    """The ZIP, its directory looked at before it is read. What breaks inside is its own fault."""
    size = file.seek(0, 2)
    file.seek(max(0, size - 65_557))
    tail = file.read()
    end = tail[tail.rfind(END_OF_ZIP) :] if END_OF_ZIP in tail else b""
    _require(len(end) >= 22)
    if (
        int.from_bytes(end[10:12], "little") > MOST_ENTRIES
        or int.from_bytes(end[12:16], "little") > MOST_DIRECTORY_BYTES
    ):
        raise TooLargeError(f"The file has more than {MOST_ENTRIES:,} parts.")
    try:
        with zipfile.ZipFile(file) as bundle:
            parts = bundle.infolist()
            _require(all(part.compress_type in PACKED_AS for part in parts))
            unpacked = sum(part.file_size for part in parts)
            if unpacked > MOST_BYTES:
                raise TooLargeError(f"Unpacked, the file is larger than {MOST_BYTES >> 30} GiB.")
            if unpacked > FREE_BYTES + MOST_RATIO * size:
                raise TooLargeError(
                    f"Unpacked, the file is more than {MOST_RATIO} times as large as it is packed."
                )
            with bundle.open(HEAD) as head:
                _require(json.loads(head.read(1000)) == FORMAT)
            yield bundle
    except (zipfile.BadZipFile, KeyError, EOFError, NotImplementedError, RuntimeError) as error:
        raise FileRefusedError(NOT_OURS) from error
    except (OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno is not None:
            raise
        if isinstance(error, FileRefusedError | TooLargeError):
            raise
        raise FileRefusedError(NOT_OURS) from error


def _read_lines(bundle: zipfile.ZipFile, name: str) -> Iterator[dict[str, Any]]:
    with bundle.open(name) as file:
        for _ in range(MOST_LINES):
            deadline.check()
            line = file.readline(MOST_LINE_BYTES)
            if not line:
                return
            _require(line.endswith(b"\n"))
            value = json.loads(line)
            _require(isinstance(value, dict) and is_plain(value))
            yield value
        if file.readline(1):
            raise TooLargeError(f"{name} has more than {MOST_LINES:,} lines.")


def _job_of(lines: Iterator[dict[str, Any]], moved: dict[str, str]) -> tuple[list[Revision], bool]:
    revisions: list[Revision] = []
    size, archived = 0, False
    for number, line in enumerate(lines, 1):
        revisions.append(_revision(line, number, moved))
        content = revisions[-1].content
        archived = line.get("archived") is True
        size += content.size_bytes if content else 0
        if size > MOST_JOB_BYTES:
            raise TooLargeError(f"One job takes more than {MOST_JOB_BYTES >> 20} MiB.")
    return revisions, archived


def _revision(line: dict[str, Any], number: int, moved: dict[str, str]) -> Revision:
    texts = [line.get(name) for name in ("job", "saved_at", "saved_by", "name", "sums")]
    _require(all(isinstance(text, str) for text in texts))
    request, answer, form = line.get("request"), line.get("answer"), line.get("form")
    problems, verdict = line.get("problems"), line.get("verdict")
    _require(isinstance(request, dict) and isinstance(problems, list) and verdict in VERDICTS)
    _require(all(part is None or isinstance(part, dict) for part in (answer, form)))
    told = [p for p in problems or () if isinstance(p, dict) and set(p) - {"code"} == FAULT]
    _require(len(told) == len(problems or ()))
    _require(all(isinstance(text, str) for p in told for text in p.values()))
    saved_at = datetime.fromisoformat(line["saved_at"])
    _require(saved_at.tzinfo is not None)
    request, form = _moved(request, moved), _moved(form, moved)
    content = Content(
        name=clean_name(line["name"], MOST_NAME, "job"),
        request=request,
        answer=answer,
        sums=clean_name(line["sums"], 40, "unknown"),
        verdict=verdict,
        problems=told,
        files=files_named([request, form]),
        form=form,
    )
    saver = clean_name(line["saved_by"], MOST_NAME, "unknown")
    outline = Revision(number, content.name, saved_at, saver, content.sums, verdict)
    return replace(outline, content=content)


def _take_check(line: dict[str, Any], added: dict[str, Job], checks: GradeCheckStore) -> None:
    """Keep one line of the as-built record under its job's new id, with the time that it had."""
    job, revision = added.get(str(line.get("job"))), line.get("revision")
    texts = [line.get(name) for name in ("checked_at", "checked_by", "sums")]
    _require(job is not None and all(isinstance(text, str) for text in texts))
    assert job is not None
    _require(type(revision) is int and 1 <= revision <= job.latest.number)
    request, answer = line.get("request"), line.get("answer")
    _require(isinstance(request, dict) and isinstance(answer, dict))
    assert isinstance(answer, dict)
    _require(line.get("verdict") in CHECKED and isinstance(answer.get("sentence"), str))
    checked_at = datetime.fromisoformat(line["checked_at"])
    _require(checked_at.tzinfo is not None)
    sums = clean_name(line["sums"], 40, "unknown")
    outcome = Outcome(line["revision"], line["request"], answer, sums, line["verdict"])
    saver = clean_name(line["checked_by"], MOST_NAME, "unknown")
    checks.keep(job.id, outcome, checked_at, saver)


def _moved(part: Any, moved: dict[str, str]) -> Any:
    """A request or a form with the ids of its files as they are here."""
    if isinstance(part, dict):
        return {moved.get(key, key): _moved(value, moved) for key, value in part.items()}
    if isinstance(part, list):
        return [_moved(value, moved) for value in part]
    return moved.get(part, part) if isinstance(part, str) else part


def _require(held: bool) -> None:
    if not held:
        raise FileRefusedError(NOT_OURS)
