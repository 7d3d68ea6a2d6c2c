"""Links for a crew: a secret that opens one job, to read it and to add checks of its trench.

Only a digest of each is kept. A link goes with its job, and opens nothing while no key is left
that could withdraw it.
"""

from __future__ import annotations

import re
import secrets
import uuid
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import Connection, Engine, delete, func, insert, select, update

from yardfall.core.errors import InputError, NotFoundError, YardfallError
from yardfall.store.database import reading, writing
from yardfall.store.keys import digest_of
from yardfall.store.owners import LOCAL, clean_name, is_id, owned
from yardfall.store.records.jobs import now
from yardfall.store.records.owned_rows import OwnedRows
from yardfall.store.tables import MOST_NAME, crew_links, jobs, keys

BEGINS: Final = "crew_"
"""How the secret of a link begins, and no key."""
MOST_LINKS: Final = 50
"""Links of one job."""
USED_TO: Final = timedelta(minutes=1)
"""How closely the last use is kept: not every request writes."""
_SECRET: Final = re.compile(BEGINS + r"[A-Za-z0-9_-]{43}")


@dataclass(frozen=True)
class CrewLink:
    """A link without its secret: whom it is for, who made it when, and when it was used last."""

    id: str
    job: str
    name: str
    made_at: datetime
    made_by: str
    used_at: datetime | None


@dataclass(frozen=True)
class Admitted:
    """What a link opens: its job, which is one owner's."""

    link: CrewLink
    owner: str


class CrewLinkStore(OwnedRows):
    """The links of one owner's jobs. What is another owner's is not there."""

    def make(self, job: str, name: str) -> tuple[CrewLink, str]:
        """A new link to a job and its secret, which is told this once.

        Raises NotFoundError, InputError where the job has MOST_LINKS.
        """
        secret = BEGINS + secrets.token_urlsafe(32)
        row: dict[str, Any] = {
            "id": uuid.uuid4().hex,
            "job": job,
            "name": clean_name(name, MOST_NAME, "crew"),
            "made_at": now(),
            "made_by": self._saver,
            "used_at": None,
        }
        with writing(self._engine) as connection:
            self._require_job(connection, job)
            count = select(func.count()).select_from(crew_links).where(crew_links.c.job == job)
            if connection.execute(count).scalar_one() >= MOST_LINKS:
                raise InputError.at(
                    "",
                    f"A job takes {MOST_LINKS} links for crews at the most. Withdraw one that is "
                    "no longer needed.",
                )
            connection.execute(insert(crew_links).values(**row, digest=digest_of(secret)))
        return CrewLink(**row), secret

    def all(self, job: str) -> list[CrewLink]:
        """Every link to a job, oldest first. Raises NotFoundError."""
        wanted = select(*_KNOWN).where(crew_links.c.job == job)
        wanted = wanted.order_by(crew_links.c.made_at, crew_links.c.id)
        with reading(self._engine) as connection:
            self._require_job(connection, job)
            return [CrewLink(**row) for row in connection.execute(wanted).mappings()]

    def get(self, job: str, link: str) -> CrewLink:
        """One link to a job. Raises NotFoundError."""
        wanted = select(*_KNOWN).where(crew_links.c.job == job, crew_links.c.id == link)
        row = None
        with reading(self._engine) as connection:
            self._require_job(connection, job)
            if is_id(link):
                row = connection.execute(wanted).mappings().first()
        if row is None:
            raise _no_link(job, link)
        return CrewLink(**row)

    def withdraw(self, job: str, link: str) -> None:
        """Forget a link: it opens nothing from now on. Raises NotFoundError."""
        own = (crew_links.c.job == job, crew_links.c.id == link)
        with writing(self._engine) as connection:
            self._require_job(connection, job)
            if not is_id(link) or not connection.execute(delete(crew_links).where(*own)).rowcount:
                raise _no_link(job, link)

    def _require_job(self, connection: Connection, job: str) -> None:
        mine = select(jobs.c.id).where(jobs.c.id == job, owned(jobs, self._owner))
        if not is_id(job) or connection.execute(mine).first() is None:
            raise NotFoundError(f"There is no job with the id {job!r}.")


def _no_link(job: str, link: str) -> NotFoundError:
    return NotFoundError(f"The job {job!r} has no link with the id {link!r}.")


def admitted(engine: Engine, secret: str, *, any_keys: bool) -> Admitted | None:
    """What a secret opens; None when it is no link's, or its job is nobody's to look after.

    `any_keys`: a key was ever made, so that what has no owner with a living key is left behind.
    """
    if not _SECRET.fullmatch(secret):
        return None
    wanted = select(*_KNOWN, jobs.c.owner).join(jobs, jobs.c.id == crew_links.c.job)
    wanted = wanted.where(crew_links.c.digest == digest_of(secret))
    with reading(engine) as connection:
        row = connection.execute(wanted).mappings().first()
        if row is None or not _is_looked_after(connection, row["owner"], any_keys):
            return None
    link = CrewLink(**{name: value for name, value in row.items() if name != "owner"})
    _note_use(engine, link)
    return Admitted(link, row["owner"])


def _is_looked_after(connection: Connection, owner: str, any_keys: bool) -> bool:
    if not any_keys:
        return owner == LOCAL
    alive = select(keys.c.id).where(keys.c.owner == owner, keys.c.revoked_at.is_(None))
    return connection.execute(alive.limit(1)).first() is not None


def _note_use(engine: Engine, link: CrewLink) -> None:
    """Keep when it was used, to the minute; a full disk or a busy database keeps nobody out."""
    moment = now()
    if link.used_at is not None and moment - link.used_at < USED_TO:
        return
    with suppress(YardfallError), writing(engine) as connection:
        used = update(crew_links).where(crew_links.c.id == link.id)
        connection.execute(used.values(used_at=moment))


_KNOWN: Final = tuple(column for column in crew_links.c if column.name != "digest")
