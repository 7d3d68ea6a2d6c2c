"""Sources of ground that whoever runs the planner named: a file each in the data directory.

A source is a small SQLite file of its own, `sources/NAME.sqlite`: what was stated of it, and its
tiles, or its outlines. It holds what can be read again from where it came, so no backup has it.
What is being read stands in `found` until all of it is there: a command that was stopped goes on,
and a request never sees half a source.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from yardfall.core.errors import InputError, NotFoundError, UnavailableError
from yardfall.sentences import say

NAME: Final = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}")
BUSY_S: Final = 5.0
TABLES: Final = """
create table if not exists about (one integer primary key check (one = 1), facts text not null);
create table if not exists tiles (place text primary key, facts text not null, header blob);
create table if not exists outlines (row integer primary key, id text not null, wkb blob not null);
create virtual table if not exists boxes using rtree(row, xmin, xmax, ymin, ymax);
"""
FOUND: Final = (
    "create table if not exists found (place text primary key, facts text not null, header blob)"
)
Facts = dict[str, Any]
Row = tuple[str, Facts, bytes | None]
"""Of a tile: its place, its facts, and the directory of one far away."""
Outline = tuple[str, bytes, tuple[float, float, float, float]]
"""An id, the shape as well-known binary in longitude and latitude, and its bounds."""


@dataclass(frozen=True)
class SourceStore:
    """The sources in a folder of the data directory."""

    folder: Path

    def names(self) -> list[str]:
        """Of all that are whole or being read, in order."""
        return sorted(path.stem for path in self.folder.glob("*.sqlite"))

    def state(self, name: str) -> object:
        """What differs once a source does. Raises NotFoundError."""
        try:
            seen = self._path(name).stat()
        except OSError as error:
            raise _unknown(name) from error
        return seen.st_mtime_ns, seen.st_size, seen.st_ino

    def about(self, name: str) -> Facts:
        """What is known of a source. Raises NotFoundError, UnavailableError."""
        with self._open(name) as its:
            row = its.execute("select facts from about").fetchone()
        if row is None:
            raise _unknown(name)
        return dict(json.loads(row[0]))

    def begin(self, name: str, facts: Facts) -> None:
        """A source that nothing is read of yet. Raises InputError for a name that is taken or none
        at all."""
        if NAME.fullmatch(name) is None:
            raise InputError.at("/name", say("sources.name"))
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if self._path(name).exists():
            raise InputError.at("/name", say("sources.taken", name=name))
        with self._open(name, new=True) as its:
            its.executescript(TABLES)
            its.execute(FOUND)
            _tell(its, facts)

    def tell(self, name: str, facts: Facts) -> None:
        """Put what is known of a source in place of what was."""
        with self._open(name) as its:
            _tell(its, facts)

    def tiles(self, name: str, *, found: bool = False) -> Iterator[tuple[str, Facts]]:
        """Its tiles, or those found so far by a reading that has not ended: place and facts."""
        table = "found" if found else "tiles"
        with self._open(name) as its:
            rows = its.execute(f"select place, facts from {table} order by place").fetchall()  # noqa: S608
        return ((place, json.loads(facts)) for place, facts in rows)

    def header(self, name: str, place: str, *, found: bool = False) -> bytes:
        """The directory of a tile far away, as it was packed."""
        table = "found" if found else "tiles"
        with self._open(name) as its:
            row = its.execute(f"select header from {table} where place = ?", (place,)).fetchone()  # noqa: S608
        if row is None or row[0] is None:
            raise UnavailableError(say("sources.changed", name=name))
        return bytes(row[0])

    def add_found(self, name: str, rows: Iterable[Row]) -> None:
        """Keep what was read so far."""
        with self._open(name) as its:
            its.executemany(
                "insert or replace into found values (?, ?, ?)",
                [(place, json.dumps(facts), header) for place, facts, header in rows],
            )

    def drop_found(self, name: str, places: Iterable[str] | None = None) -> None:
        """Forget what was read so far: of these places, or all."""
        with self._open(name) as its:
            if places is None:
                its.execute("delete from found")
            else:
                its.executemany("delete from found where place = ?", [(one,) for one in places])

    def keep_unchanged(self, name: str, place: str) -> None:
        """A tile is as it was."""
        with self._open(name) as its:
            its.execute(
                "insert or replace into found select * from tiles where place = ?", (place,)
            )

    def finish(self, name: str, facts: Facts) -> None:
        """What was found takes the place of what was there, at once."""
        with self._open(name) as its:
            its.execute("drop table tiles")
            its.execute("alter table found rename to tiles")
            its.execute(FOUND)
            _tell(its, facts)

    def set_outlines(self, name: str, outlines: Iterable[Outline], facts: Facts) -> None:
        """Outlines take the place of those that were there, at once."""
        with self._open(name) as its:
            its.execute("delete from outlines")
            its.execute("delete from boxes")
            for row, (key, wkb, (xmin, ymin, xmax, ymax)) in enumerate(outlines):
                its.execute("insert into outlines values (?, ?, ?)", (row, key, wkb))
                its.execute(
                    "insert into boxes values (?, ?, ?, ?, ?)", (row, xmin, xmax, ymin, ymax)
                )
            _tell(its, facts)

    def outlines_in(
        self, name: str, bounds: tuple[float, float, float, float], most: int
    ) -> list[tuple[str, bytes]]:
        """Ids and shapes whose bounds meet these, `most` at the most."""
        xmin, ymin, xmax, ymax = bounds
        with self._open(name) as its:
            rows = its.execute(
                "select id, wkb from outlines join boxes using (row) where xmax >= ? and xmin <= ? "
                "and ymax >= ? and ymin <= ? order by row limit ?",
                (xmin, xmax, ymin, ymax, most),
            )
            return [(str(key), bytes(wkb)) for key, wkb in rows]

    def remove(self, name: str) -> None:
        """Forget a source. Raises NotFoundError."""
        try:
            self._path(name).unlink()
        except OSError as error:
            raise _unknown(name) from error

    def _path(self, name: str) -> Path:
        if NAME.fullmatch(name) is None:
            raise _unknown(name)
        return self.folder / f"{name}.sqlite"

    @contextmanager
    def _open(self, name: str, *, new: bool = False) -> Iterator[sqlite3.Connection]:
        """A connection and a transaction. Raises NotFoundError, UnavailableError."""
        path = self._path(name)
        if not new and not path.exists():
            raise _unknown(name)
        try:
            with closing(sqlite3.connect(path, timeout=BUSY_S)) as connection, connection:
                if new:
                    path.chmod(0o600)
                yield connection
        except sqlite3.Error as error:
            raise UnavailableError(say("sources.index", name=name)) from error


def _tell(connection: sqlite3.Connection, facts: Facts) -> None:
    connection.execute("insert or replace into about values (1, ?)", (json.dumps(facts),))


def _unknown(name: str) -> NotFoundError:
    return NotFoundError(say("sources.unknown", name=name[:40]))
