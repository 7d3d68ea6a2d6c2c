"""`yardfall source`: name the ground that users may take, look at it, read it anew, forget it."""

from __future__ import annotations

import argparse
import sys
import time
from datetime import date
from typing import Final

from yardfall.cli.told import told
from yardfall.core.errors import FileRefusedError, InputError
from yardfall.store.files import private_folder
from yardfall.store.sources import Facts, SourceStore
from yardfall.use_cases.sources import (
    Reading,
    Stated,
    look_over,
    name_elevations,
    name_outlines,
    read_again,
)

EVERY_S: Final = 10.0
"""Between two lines of progress where nobody looks on."""
MOST_LISTED: Final = 20


def _sources(arguments: argparse.Namespace) -> SourceStore:
    return SourceStore(private_folder(arguments.data) / "sources")


_told = told(_sources)


@_told
def add_elevation(arguments: argparse.Namespace, store: SourceStore) -> None:
    """Name tiles of elevations and read their headers."""
    stated = Stated(
        arguments.unit,
        arguments.datum or "",
        _day(arguments.date),
        arguments.rmse,
        arguments.lidar or "",
        arguments.licence or "",
        arguments.asset,
    )
    with _Line() as line:
        reading = name_elevations(store, arguments.name, arguments.root, stated, line.tell)
    _say(store, arguments.name, reading)


@_told
def add_outlines(arguments: argparse.Namespace, store: SourceStore) -> None:
    """Name lots or buildings and read them."""
    stated = Stated(date=_day(arguments.date), licence=arguments.licence or "")
    name, kind = arguments.name, arguments.kind
    given = arguments.file, arguments.id, arguments.layer
    _say(store, name, name_outlines(store, kind, name, *given, stated))


@_told
def list_sources(_arguments: argparse.Namespace, store: SourceStore) -> None:
    """A few lines for each source."""
    for name in store.names():
        _tell(name, store.about(name))


@_told
def check_source(arguments: argparse.Namespace, store: SourceStore) -> None:
    """Say how a source stands."""
    name = arguments.name
    _tell(name, store.about(name))
    with _Line() as line:
        found = look_over(store, name, line.tell)
    for what, kinds in found.kinds.items():
        of_each = ", ".join(f"{value} ({count:,})" for value, count in kinds.most_common(5))
        print(f"  {what}: {of_each}{' …' if len(kinds) > 5 else ''}")
    _listed("not what it was", found.changed)
    _listed("new", tuple((place, "") for place in found.new))
    if found.changed or found.new:
        raise FileRefusedError(f"Read it anew:  yardfall source refresh {name}")
    print("  All files are as they were read.")


@_told
def refresh_source(arguments: argparse.Namespace, store: SourceStore) -> None:
    """Read what changed, or go on where a reading ended."""
    with _Line() as line:
        reading = read_again(store, arguments.name, line.tell)
    _say(store, arguments.name, reading)


@_told
def remove_source(arguments: argparse.Namespace, store: SourceStore) -> None:
    """Forget a source; its files stay where they are."""
    store.remove(arguments.name)
    print(f"The source {arguments.name} is forgotten; its files are untouched.")


def _say(store: SourceStore, name: str, reading: Reading) -> None:
    _listed("left out", reading.left_out)
    _tell(name, store.about(name))


def _tell(name: str, about: Facts) -> None:
    if not about["whole"]:
        print(f"{name}  {about['kind']}, not read to its end: yardfall source refresh {name}")
        return
    print(f"{name}  {about['kind']}, {about['count']:,} of {', '.join(about['roots'])}")
    west, south, east, north = about["bounds"]
    print(f"  from {west:.5f}, {south:.5f} to {east:.5f}, {north:.5f} (longitude, latitude)")
    said = {"date": about["date"], "licence": about["licence"]}
    if about["kind"] == "elevation":
        error = about["rmse_m"]
        said["vertical error"] = "" if error is None else f"{error:g} m RMSE"
        stated = {"vertical datum": about["datum"], "lidar": about["lidar"]}
        said |= {what: value for what, value in stated.items() if value}
    lacking = [what for what, value in said.items() if not value]
    print("  " + "; ".join(f"{what}: {value or 'not stated'}" for what, value in said.items()))
    if lacking:
        *others, last = lacking
        its = f"{', '.join(others)} and {last}" if others else last
        print(f"  Users are told that nobody stated its {its}.")


def _listed(what: str, files: tuple[tuple[str, str], ...]) -> None:
    for place, why in files[:MOST_LISTED]:
        print(f"  {what}: {place}{': ' if why else ''}{why}", file=sys.stderr)
    if len(files) > MOST_LISTED:
        print(f"  {what}: {len(files) - MOST_LISTED:,} more", file=sys.stderr)


def _day(text: str | None) -> str:
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError as error:
        raise InputError.at("/date", f"{text} is no date. Give one like 2024-05-31.") from error


class _Line:
    """A line that says how far a reading is: written over where somebody looks on."""

    def __init__(self) -> None:
        self._began_s = self._told_s = time.monotonic()
        self._open = False

    def __enter__(self) -> _Line:
        return self

    def __exit__(self, *_: object) -> None:
        if self._open:
            print(file=sys.stderr)

    def tell(self, done: int, total: int) -> None:
        """So many of so many tiles are done."""
        now_s = time.monotonic()
        text = (
            f"{done:,} of {total:,} tiles, {done / max(now_s - self._began_s, 1e-3):,.0f} a second"
        )
        if sys.stderr.isatty():
            print(f"\r{text}", end="", flush=True, file=sys.stderr)
            self._open = True
        elif now_s - self._told_s > EVERY_S or done == total:
            print(text, file=sys.stderr)
            self._told_s = now_s
