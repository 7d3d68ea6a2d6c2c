"""Calls that carried a key of the caller's own: what each was, and what it made."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, Engine, and_, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from yardfall.core.errors import KeyUsedError, StillRunningError
from yardfall.store.database import reading, writing
from yardfall.store.records.jobs import now
from yardfall.store.tables import repeats

KEPT: Final = timedelta(days=1)
MOST: Final = 1000
"""Calls of one sender that are known; the oldest go first."""
CUT_OFF: Final = timedelta(minutes=10)
"""A call that has not ended by then was cut off with the service. It may be made anew."""
RUNNING: Final = (
    "An earlier request with this Idempotency-Key is still being answered. Send the same again "
    "after Retry-After."
)
USED: Final = (
    "An earlier request with this Idempotency-Key was another one. Give each new request a key of "
    "its own."
)


class RepeatStore:
    """The calls of one sender: a key, a crew's link, or the user of a machine without keys."""

    def __init__(self, engine: Engine, sender: str) -> None:
        self._engine = engine
        self._sender = sender

    def begin(self, key: str, fingerprint: str) -> str | None:
        """Note that a call begins; what it made where it was made before.

        Raises KeyUsedError where the key was another call's, StillRunningError while that one
        runs.
        """
        try:
            with writing(self._engine) as connection:
                return self._begin(connection, key, fingerprint)
        except IntegrityError as error:  # the same began this moment
            raise StillRunningError(RUNNING) from error

    def _begin(self, connection: Connection, key: str, fingerprint: str) -> str | None:
        moment = now()
        connection.execute(delete(repeats).where(repeats.c.begun_at < moment - KEPT))
        row = connection.execute(select(repeats).where(self._is(key))).mappings().first()
        if row is None:
            self._make_room(connection)
            values = {"sender": self._sender, "key": key, "fingerprint": fingerprint}
            connection.execute(insert(repeats).values(**values, begun_at=moment))
            return None
        if row["fingerprint"] != fingerprint:
            raise KeyUsedError(USED)
        if row["made"] is not None:
            return str(row["made"])
        if row["begun_at"] > moment - CUT_OFF:
            raise StillRunningError(RUNNING)
        connection.execute(update(repeats).where(self._is(key)).values(begun_at=moment))
        return None

    def begin_anew(self, key: str) -> None:
        """Note that a call begins whose result is gone."""
        with writing(self._engine) as connection:
            values: dict[str, Any] = {"begun_at": now(), "made": None}
            connection.execute(update(repeats).where(self._is(key)).values(**values))

    def end(self, key: str, made: str | None) -> None:
        """Note what a call made; None: nothing, so that it may be made anew."""
        with writing(self._engine) as connection:
            if made is None:
                connection.execute(delete(repeats).where(self._is(key)))
            else:
                connection.execute(update(repeats).where(self._is(key)).values(made=made))

    def count(self) -> int:
        """How many calls are known."""
        with reading(self._engine) as connection:
            return self._count(connection)

    def _count(self, connection: Connection) -> int:
        own = select(func.count()).select_from(repeats).where(repeats.c.sender == self._sender)
        return int(connection.execute(own).scalar_one())

    def _make_room(self, connection: Connection) -> None:
        over = self._count(connection) - MOST + 1
        if over > 0:
            oldest = select(repeats.c.key).where(repeats.c.sender == self._sender)
            oldest = oldest.order_by(repeats.c.begun_at).limit(over)
            gone = repeats.c.key.in_(connection.execute(oldest).scalars().all())
            connection.execute(delete(repeats).where(repeats.c.sender == self._sender, gone))

    def _is(self, key: str) -> ColumnElement[bool]:
        return and_(repeats.c.sender == self._sender, repeats.c.key == key)
