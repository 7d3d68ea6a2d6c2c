"""Jobs: a named plan, kept with every revision of its request and its answer."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final, Literal

from sqlalchemy import (
    ColumnElement,
    Connection,
    Text,
    case,
    cast,
    delete,
    func,
    insert,
    null,
    select,
    update,
)

from yardfall.core.errors import NotFoundError, StaleError
from yardfall.store.database import reading, writing
from yardfall.store.owners import LOCAL, is_id, owned
from yardfall.store.quota import require_room
from yardfall.store.records.owned_rows import OwnedRows
from yardfall.store.records.revision import Content
from yardfall.store.tables import MOST_NAME, job_files, jobs, revisions

State = Literal["open", "archived", "all"]
MOST_REVISIONS: Final = 2**31 - 1


@dataclass(frozen=True)
class Revision:
    """One save: when, under which key's name, and what; `content` None in a list.

    `overall` is what its answer comes to with its branches and conditions; None for none, or for
    one from before answers told it.
    """

    number: int
    name: str
    saved_at: datetime
    saved_by: str
    sums: str
    verdict: str | None
    overall: str | None = None
    content: Content | None = None


@dataclass(frozen=True)
class Job:
    """A job and its newest revision."""

    id: str
    name: str
    archived: bool
    created_at: datetime
    changed_at: datetime
    size_bytes: int
    latest: Revision

    @property
    def tag(self) -> str:
        """What changes with every change of it: its revision, and whether it is archived."""
        return f"{self.latest.number}{'-archived' if self.archived else ''}"


def now() -> datetime:
    """The clock, as the store reads it."""
    return datetime.now(UTC)


class JobStore(OwnedRows):
    """One owner's jobs. What is another owner's is not there."""

    def create(self, content: Content) -> Job:
        """Keep a new job at revision 1. Raises TooLargeError over the owner's share."""
        key, moment, size = uuid.uuid4().hex, now(), content.size_bytes
        row = {
            "id": key,
            "owner": self._owner or LOCAL,
            "revision": 1,
            "archived": False,
            "created_at": moment,
            "changed_at": moment,
            "size_bytes": size,
            **_named(content.name),
        }
        with writing(self._engine) as connection:
            require_room(connection, self._owner, size, self._most_kept_bytes)
            connection.execute(insert(jobs).values(**row))
            self._add_revision(connection, key, 1, moment, content)
        return self.get(key)

    def take_in(self, kept: Sequence[Revision], archived: bool) -> Job:
        """Keep a job that was exported, with all its revisions, under a new id and numbers from 1.

        Raises TooLargeError over the owner's share.
        """
        key = uuid.uuid4().hex
        contents = [revision.content for revision in kept if revision.content]
        size = sum(content.size_bytes for content in contents)
        row = {
            "id": key,
            "owner": self._owner or LOCAL,
            "revision": len(contents),
            "archived": archived,
            "created_at": kept[0].saved_at,
            "changed_at": kept[-1].saved_at,
            "size_bytes": size,
            **_named(contents[-1].name),
        }
        with writing(self._engine) as connection:
            require_room(connection, self._owner, size, self._most_kept_bytes)
            connection.execute(insert(jobs).values(**row))
            for number, (revision, content) in enumerate(zip(kept, contents, strict=True), 1):
                self._add_revision(
                    connection, key, number, revision.saved_at, content, revision.saved_by
                )
        return self.get(key)

    def ids(self) -> list[str]:
        """The id of every job, oldest first."""
        oldest = select(jobs.c.id).where(owned(jobs, self._owner))
        with reading(self._engine) as connection:
            return list(connection.execute(oldest.order_by(jobs.c.created_at, jobs.c.id)).scalars())

    def save(self, key: str, expected: Collection[str] | None, content: Content) -> Job:
        """Add a revision to a job whose tag is among `expected` (None: whatever it is).

        Raises NotFoundError, StaleError when someone else changed it first, TooLargeError.
        """
        size = content.size_bytes
        with writing(self._engine) as connection:
            row = self._row(connection, key)
            _require_tag(row, expected)
            require_room(connection, self._owner, size, self._most_kept_bytes)
            number = row["revision"] + 1
            moment = max(now(), row["changed_at"])  # a clock set back unmakes no order
            values = {
                "revision": number,
                "changed_at": moment,
                "size_bytes": jobs.c.size_bytes + size,
                **_named(content.name),
            }
            _change(connection, row, **values)
            self._add_revision(connection, key, number, moment, content)
        return self.get(key)

    def archive(self, key: str, archived: bool) -> Job:
        """Put a job away, or take it out again. Raises NotFoundError."""
        with writing(self._engine) as connection:
            row = self._row(connection, key)
            if row["archived"] != archived:
                moment = max(now(), row["changed_at"])
                _change(connection, row, archived=archived, changed_at=moment)
        return self.get(key)

    def require(self, key: str, expected: Collection[str] | None) -> None:
        """Raise NotFoundError or StaleError as `save` would."""
        with reading(self._engine) as connection:
            _require_tag(self._row(connection, key), expected)

    def copy(self, key: str, name: str | None = None) -> Job:
        """A new job from the newest revision of another. Raises NotFoundError, TooLargeError."""
        content = self.get(key).latest.content
        assert content is not None
        return self.create(replace(content, name=name or content.name))

    def delete(self, key: str, expected: Collection[str] | None) -> list[str]:
        """Forget a job and its revisions; the ids of files that no other job names.

        Raises NotFoundError, StaleError.
        """
        with writing(self._engine) as connection:
            row = self._row(connection, key)
            _require_tag(row, expected)
            own = select(job_files.c.file).where(job_files.c.job == key)
            others = select(job_files.c.file).where(job_files.c.job != key)
            freed = own.where(job_files.c.file.not_in(others))
            files = list(connection.execute(freed).scalars())
            same = (jobs.c.revision == row["revision"], jobs.c.archived == row["archived"])
            if not connection.execute(delete(jobs).where(jobs.c.id == key, *same)).rowcount:
                raise StaleError(STALE)
        return files

    def get(self, key: str) -> Job:
        """A job with its newest revision. Raises NotFoundError."""
        with reading(self._engine) as connection:
            row = self._row(connection, key)
            revision = self._revision(connection, key, row["revision"])
        return _job(row, revision)

    def revision(self, key: str, number: int) -> Revision:
        """One revision. Raises NotFoundError."""
        with reading(self._engine) as connection:
            self._row(connection, key)
            return self._revision(connection, key, number)

    def at(self, key: str, number: int | None) -> Revision:
        """One revision, or the newest. Raises NotFoundError."""
        return self.get(key).latest if number is None else self.revision(key, number)

    def revisions(self, key: str, page: int, size: int) -> tuple[list[Revision], int]:
        """A page of a job's revisions, newest first, without content; how many there are."""
        newest = select(*_OUTLINE).where(revisions.c.job == key)
        newest = newest.order_by(revisions.c.number.desc()).limit(size).offset((page - 1) * size)
        with reading(self._engine) as connection:
            total = int(self._row(connection, key)["revision"])
            rows = connection.execute(newest).mappings()
            return [Revision(**row) for row in rows], total

    def page(self, page: int, size: int, search: str, state: State) -> tuple[list[Job], int]:
        """A page of jobs, last changed first, without content; how many there are.

        `search` is a part of the name, in capitals or not.
        """
        if not search.isprintable():  # no name holds it, so no database is asked
            return [], 0
        wanted: list[ColumnElement[bool]] = [owned(jobs, self._owner)]
        if search:
            wanted.append(jobs.c.folded.contains(search.casefold(), autoescape=True))
        if state != "all":
            wanted.append(jobs.c.archived == (state == "archived"))
        latest = (revisions.c.job == jobs.c.id) & (revisions.c.number == jobs.c.revision)
        outline = [column for column in _OUTLINE if column.name != "name"]
        found = select(jobs, *outline).join(revisions, latest).where(*wanted)
        found = found.order_by(jobs.c.changed_at.desc(), jobs.c.id)
        count = select(func.count()).select_from(jobs).where(*wanted)
        with reading(self._engine) as connection:
            rows = connection.execute(found.limit(size).offset((page - 1) * size)).mappings()
            listed = [
                _job(row, Revision(name=row["name"], **{c.name: row[c.name] for c in outline}))
                for row in rows
            ]
            return listed, connection.execute(count).scalar_one()

    def _row(self, connection: Connection, key: str) -> Any:
        row = None
        if is_id(key):
            mine = select(jobs).where(jobs.c.id == key, owned(jobs, self._owner))
            row = connection.execute(mine).mappings().first()
        if row is None:
            raise NotFoundError(f"There is no job with the id {key!r}.")
        return row

    def _revision(self, connection: Connection, key: str, number: int) -> Revision:
        one = select(revisions, _OVERALL).where(
            revisions.c.job == key, revisions.c.number == number
        )
        row = None
        if number <= MOST_REVISIONS:
            row = connection.execute(one).mappings().first()
        if row is None:
            raise NotFoundError(f"The job {key!r} has no revision {number}.")
        outline = {column.name: row[column.name] for column in _OUTLINE}
        kept = ("name", "request", "answer", "sums", "verdict", "problems", "form")
        files = select(job_files.c.file).where(job_files.c.job == key)
        named = frozenset(connection.execute(files).scalars())
        return Revision(**outline, content=Content(**{k: row[k] for k in kept}, files=named))

    def _add_revision(
        self,
        connection: Connection,
        key: str,
        number: int,
        moment: datetime,
        content: Content,
        saver: str | None = None,
    ) -> None:
        row = {
            "job": key,
            "number": number,
            "saved_at": moment,
            "saved_by": saver or self._saver,
            "name": content.name[:MOST_NAME],
            "sums": content.sums,
            "verdict": content.verdict,
            "request": content.request,
            "answer": content.answer,
            "problems": content.problems,
            "form": content.form,
        }
        connection.execute(insert(revisions).values(**row))
        known = select(job_files.c.file).where(job_files.c.job == key)
        new = content.files - set(connection.execute(known).scalars())
        if new:
            connection.execute(insert(job_files), [{"job": key, "file": f} for f in sorted(new)])


STALE: Final = (
    "Someone else changed this job since it was read. Read it again, compare, and save on top of "
    "what it is now."
)
_OVERALL: Final = case(
    # PostgreSQL reads no path in a document that holds the character NUL
    (cast(revisions.c.answer, Text).contains("\\u0000", autoescape=True), null()),
    else_=revisions.c.answer[("whole", "overall")].as_string(),
).label("overall")
_OUTLINE: Final = (
    revisions.c.number,
    revisions.c.name,
    revisions.c.saved_at,
    revisions.c.saved_by,
    revisions.c.sums,
    revisions.c.verdict,
    _OVERALL,
)


def _named(name: str) -> dict[str, str]:
    return {"name": name[:MOST_NAME], "folded": name[:MOST_NAME].casefold()}


def _job(row: Any, latest: Revision) -> Job:
    own = ("id", "name", "archived", "created_at", "changed_at", "size_bytes")
    return Job(**{name: row[name] for name in own}, latest=latest)


def _require_tag(row: Any, expected: Collection[str] | None) -> None:
    tag = f"{row['revision']}{'-archived' if row['archived'] else ''}"
    if expected is not None and tag not in expected:
        raise StaleError(STALE)


def _change(connection: Connection, row: Any, **values: Any) -> None:
    """Change a job that is still as it was read. Raises StaleError."""
    same = (jobs.c.revision == row["revision"], jobs.c.archived == row["archived"])
    changed = update(jobs).where(jobs.c.id == row["id"], *same).values(**values)
    if not connection.execute(changed).rowcount:
        raise StaleError(STALE)
