"""Keys: who may call a service that others can reach. Only a digest of each is kept."""

from __future__ import annotations

import hashlib
import re
import secrets
import time
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import Engine, Select, func, insert, select, update

from yardfall.core.errors import NotFoundError
from yardfall.store.database import reading, writing
from yardfall.store.owners import LOCAL, clean_name, is_id
from yardfall.store.tables import MOST_NAME, keys, metadata

SCOPES: Final = ("read", "write", "admin")
"""Each may do what those before it may."""
LOOK_AGAIN_S: Final = 1.0
_SECRET: Final = re.compile(r"yard_[A-Za-z0-9_-]{43}")


@dataclass(frozen=True)
class Key:
    """A key without its secret. Keys with one `owner` see the same jobs and rasters."""

    id: str
    owner: str
    name: str
    scope: str
    made_at: datetime
    revoked_at: datetime | None

    def may(self, scope: str) -> bool:
        """Whether it reaches so far."""
        return SCOPES.index(self.scope) >= SCOPES.index(scope)


class KeyStore:
    """Every key of a service."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._any_made = False
        self._none_until = 0.0

    def make(
        self, name: str, scope: str = "write", shares: str | None = None, adopts: bool = False
    ) -> tuple[Key, str]:
        """A new key and its secret, which is told this once.

        `shares` is the id of a key whose jobs and rasters it sees; `adopts` gives it what was kept
        before there were keys. Raises NotFoundError.
        """
        if scope not in SCOPES:
            raise ValueError(f"A scope is one of {', '.join(SCOPES)}.")
        secret = "yard_" + secrets.token_urlsafe(32)
        key = uuid.uuid4().hex
        owner = self.get(shares).owner if shares else key
        row: dict[str, Any] = {
            "id": key,
            "owner": owner,
            "name": clean_name(name, MOST_NAME, "key"),
            "scope": scope,
            "made_at": datetime.now(UTC),
            "revoked_at": None,
        }
        with writing(self._engine) as connection:
            connection.execute(insert(keys).values(**row, digest=digest_of(secret)))
            for table in metadata.sorted_tables if adopts else ():
                if table is not keys and "owner" in table.c:
                    mine = update(table).where(table.c.owner == LOCAL).values(owner=owner)
                    connection.execute(mine)
        self._any_made = True
        return Key(**row), secret

    def holder(self, secret: str) -> Key | None:
        """The key that a secret opens; None when there is none, or it was revoked."""
        if not _SECRET.fullmatch(secret):
            return None
        wanted = _known().where(keys.c.digest == digest_of(secret), keys.c.revoked_at.is_(None))
        with reading(self._engine) as connection:
            row = connection.execute(wanted).mappings().first()
        return None if row is None else Key(**row)

    def get(self, key: str) -> Key:
        """The key under an id. Raises NotFoundError."""
        row = None
        if is_id(key):
            with reading(self._engine) as connection:
                row = connection.execute(_known().where(keys.c.id == key)).mappings().first()
        if row is None:
            raise NotFoundError(f"There is no key with the id {key!r}.")
        return Key(**row)

    def all(self) -> list[Key]:
        """Every key ever made, oldest first."""
        with reading(self._engine) as connection:
            rows = connection.execute(_known().order_by(keys.c.made_at, keys.c.id)).mappings()
            return [Key(**row) for row in rows]

    def left_behind(self) -> dict[str, int]:
        """How many things of each kind were kept without a key, and are no key's to see."""
        found = {}
        with reading(self._engine) as connection:
            for table in metadata.sorted_tables:
                if table is not keys and "owner" in table.c:
                    mine = select(func.count()).select_from(table).where(table.c.owner == LOCAL)
                    found[table.name] = connection.execute(mine).scalar_one()
        return {name: count for name, count in found.items() if count}

    def any_made(self) -> bool:
        """Whether a key was ever made: to revoke the last one opens nothing.

        One that another process makes is seen after LOOK_AGAIN_S at the latest.
        """
        if not self._any_made and time.monotonic() >= self._none_until:
            with reading(self._engine) as connection:
                self._any_made = connection.execute(select(keys.c.id).limit(1)).first() is not None
            self._none_until = time.monotonic() + LOOK_AGAIN_S
        return self._any_made

    def any_alive(self) -> bool:
        """Whether there is a key that opens anything."""
        alive = select(func.count()).select_from(keys).where(keys.c.revoked_at.is_(None))
        with reading(self._engine) as connection:
            return connection.execute(alive).scalar_one() > 0

    def revoke(self, key: str) -> Key:
        """End a key at once. What it kept stays. Raises NotFoundError."""
        self.get(key)
        ended = update(keys).where(keys.c.id == key, keys.c.revoked_at.is_(None))
        with writing(self._engine) as connection:
            connection.execute(ended.values(revoked_at=datetime.now(UTC)))
        return self.get(key)


def _known() -> Select[tuple[object, ...]]:
    """Every column but the digest."""
    return select(*(column for column in keys.c if column.name != "digest"))


def digest_of(secret: str) -> str:
    """SHA-256: a secret of 256 random bits needs no slow hash, a password would."""
    return hashlib.sha256(secret.encode()).hexdigest()
