"""The as-built record of a job: every check of its trench that was kept, as it was then."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, func, insert, select, update

from yardfall.core.errors import NotFoundError
from yardfall.store.database import reading, writing
from yardfall.store.owners import is_id, owned
from yardfall.store.quota import require_room
from yardfall.store.records.jobs import MOST_REVISIONS, now
from yardfall.store.records.owned_rows import OwnedRows
from yardfall.store.tables import grade_checks, jobs


@dataclass(frozen=True)
class Outcome:
    """What a check found: the readings sent, what they were answered, by which sums."""

    revision: int
    request: dict[str, Any]
    answer: dict[str, Any]
    sums: str
    verdict: str

    @property
    def size_bytes(self) -> int:
        """About what it takes to keep."""
        return len(json.dumps(self.request)) + len(json.dumps(self.answer))


@dataclass(frozen=True)
class KeptCheck:
    """A check with its number in its job, and when and under which key's name it was made."""

    number: int
    checked_at: datetime
    checked_by: str
    outcome: Outcome


class GradeCheckStore(OwnedRows):
    """The checks of one owner's jobs. What is another owner's is not there."""

    def keep(
        self,
        job: str,
        outcome: Outcome,
        checked_at: datetime | None = None,
        checked_by: str | None = None,
    ) -> KeptCheck:
        """Add a check to a job's record, now unless `checked_at` says when it was.

        Raises NotFoundError, TooLargeError over the owner's share.
        """
        size = outcome.size_bytes
        with writing(self._engine) as connection:
            self._require_job(connection, job)
            require_room(connection, self._owner, size, self._most_kept_bytes)
            # The job's row is changed first: whoever keeps another check of it waits here.
            larger = update(jobs).where(jobs.c.id == job)
            larger = larger.values(size_bytes=jobs.c.size_bytes + size)
            if not connection.execute(larger).rowcount:
                raise _no_job(job)
            last = select(func.max(grade_checks.c.number), func.max(grade_checks.c.checked_at))
            number, latest = connection.execute(last.where(grade_checks.c.job == job)).one()
            moment = checked_at or max(filter(None, (now(), latest)))
            check = KeptCheck((number or 0) + 1, moment, checked_by or self._saver, outcome)
            row = {"job": job, "number": check.number, "checked_at": moment}
            row |= {"checked_by": check.checked_by, **vars(outcome)}
            connection.execute(insert(grade_checks).values(**row))
        return check

    def get(self, job: str, number: int) -> KeptCheck:
        """One check of a job. Raises NotFoundError."""
        row = None
        with reading(self._engine) as connection:
            self._require_job(connection, job)
            if number <= MOST_REVISIONS:
                wanted = select(grade_checks).where(grade_checks.c.job == job)
                wanted = wanted.where(grade_checks.c.number == number)
                row = connection.execute(wanted).mappings().first()
        if row is None:
            raise NotFoundError(f"The job {job!r} has no grade check {number}.")
        return _check(row)

    def page(self, job: str, page: int, size: int) -> tuple[list[KeptCheck], int]:
        """A page of a job's checks, newest first; how many there are. Raises NotFoundError."""
        own = grade_checks.c.job == job
        newest = select(grade_checks).where(own).order_by(grade_checks.c.number.desc())
        count = select(func.count()).select_from(grade_checks).where(own)
        with reading(self._engine) as connection:
            self._require_job(connection, job)
            rows = connection.execute(newest.limit(size).offset((page - 1) * size)).mappings()
            return [_check(row) for row in rows], connection.execute(count).scalar_one()

    def _require_job(self, connection: Connection, job: str) -> None:
        mine = select(jobs.c.id).where(jobs.c.id == job, owned(jobs, self._owner))
        if not is_id(job) or connection.execute(mine).first() is None:
            raise _no_job(job)


_OUTCOME: Final = ("revision", "request", "answer", "sums", "verdict")


def _no_job(job: str) -> NotFoundError:
    return NotFoundError(f"There is no job with the id {job!r}.")


def _check(row: Any) -> KeptCheck:
    outcome = Outcome(**{name: row[name] for name in _OUTCOME})
    return KeptCheck(row["number"], row["checked_at"], row["checked_by"], outcome)
