"""Sources named, read, looked over and forgotten by whoever runs the planner."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyproj

from yardfall.core.errors import FileRefusedError, InputError, TooLargeError
from yardfall.geo.crs import CRS84, transform
from yardfall.geo.raster import pyproj_crs
from yardfall.geo.sources.headers import local_header, local_tag, web_header
from yardfall.geo.sources.listing import Listed, listed
from yardfall.geo.sources.outlines import read_outlines
from yardfall.geo.sources.tiles import Tile
from yardfall.geo.sources.web_file import AT_ONCE, WebFault, WebFiles, is_address
from yardfall.sentences import say
from yardfall.store.sources import Facts, Row, SourceStore
from yardfall.use_cases.grounds import ELEVATION, tile_of

BATCH: Final = 256
"""Tiles read between two savings: what a command that is stopped loses at the most."""
Progress = Callable[[int, int], None]
"""Told how many tiles are done, and of how many."""


@dataclass(frozen=True)
class Stated:
    """What whoever names a source says of it; None and "" where the files are to say it, or nobody
    does."""

    unit: str | None = None
    datum: str = ""
    date: str = ""
    rmse_m: float | None = None
    lidar: str = ""
    licence: str = ""
    asset: str | None = None


@dataclass(frozen=True)
class Reading:
    """What came of reading a source: how many files it has now, and those left out, with why."""

    count: int
    left_out: tuple[tuple[str, str], ...] = ()


class _OutOfReach(Exception):  # noqa: N818 - never leaves this module
    """A host does not answer: what was read so far stays, the rest is for another time."""


def name_elevations(
    store: SourceStore, name: str, roots: Sequence[str], stated: Stated, progress: Progress
) -> Reading:
    """Name a source of elevations and read the header of each of its tiles.

    One that was begun with the same roots and not ended goes on. Raises InputError,
    FileRefusedError, UnavailableError.
    """
    placed = [root if is_address(root) else str(Path(root).resolve()) for root in roots]
    facts = {
        "kind": ELEVATION,
        "roots": placed,
        "unit": stated.unit,
        "datum": stated.datum,
        "date": stated.date,
        "rmse_m": stated.rmse_m,
        "lidar": stated.lidar,
        "licence": stated.licence,
        "asset": stated.asset,
        "whole": False,
    }
    known = store.about(name) if name in store.names() else None
    if known is None or known["whole"]:
        store.begin(name, facts)
    elif known != facts:  # what was read so far was read of other roots, or said to be otherwise
        store.drop_found(name)
        store.tell(name, facts)
    try:
        return read_again(store, name, progress)
    except (InputError, FileRefusedError) as error:
        goes_on = isinstance(error.__cause__, _OutOfReach) or any(store.tiles(name, found=True))
        if not goes_on:  # it would end in the same
            store.remove(name)
        raise


def name_outlines(
    store: SourceStore,
    kind: str,
    name: str,
    file: str,
    field: str,
    layer: str | None,
    stated: Stated,
) -> Reading:
    """Name a source of lots or of buildings and read its areas. Raises what `read_outlines` does,
    as errors of ours."""
    facts = {
        "kind": kind,
        "roots": [file if is_address(file) else str(Path(file).resolve())],
        "field": field,
        "layer": layer,
        "datum": "",
        "date": stated.date,
        "rmse_m": None,
        "lidar": "",
        "licence": stated.licence,
        "whole": False,
    }
    if name not in store.names() or store.about(name).get("whole"):
        store.begin(name, facts)
    else:
        store.tell(name, facts)
    try:
        return read_again(store, name, lambda _done, _total: None)
    except BaseException:
        store.remove(name)
        raise


def read_again(store: SourceStore, name: str, progress: Progress) -> Reading:
    """Read a source anew, or go on where a reading ended; what did not change is not read twice.

    Raises NotFoundError, InputError, FileRefusedError, UnavailableError.
    """
    about = store.about(name)
    web = WebFiles()
    try:
        if about["kind"] == ELEVATION:
            return _read_tiles(store, name, about, web, progress)
        return _read_outlines(store, name, about, web)
    except WebFault as fault:
        raise FileRefusedError(str(fault)) from fault
    finally:
        web.close()


def _read_outlines(store: SourceStore, name: str, about: Facts, web: WebFiles) -> Reading:
    root = about["roots"][0]
    low, high, count = np.full(2, np.inf), np.full(2, -np.inf), 0

    def counted() -> Iterator[Any]:
        nonlocal low, high, count
        for one in read_outlines(root, about["field"], about["layer"], web):
            low, high = np.minimum(low, one[2][:2]), np.maximum(high, one[2][2:])
            count += 1
            yield one
        if not count:
            raise FileRefusedError(say("sources.no_outlines"))

    tag = _tag(root, web)
    store.set_outlines(name, counted(), about)
    bounds = [*low.tolist(), *high.tolist()]
    store.tell(name, about | _as_read(count, bounds) | {"tag": tag})
    return Reading(count)


def _as_read(count: int, bounds: list[float] | None) -> Facts:
    now = datetime.now(UTC).isoformat(timespec="seconds")
    return {"whole": True, "count": count, "bounds": bounds, "read_at": now}


def _tag(place: str, web: WebFiles) -> str:
    return web.read(place, 0, 1).tag if is_address(place) else local_tag(Path(place))


def _read_tiles(
    store: SourceStore, name: str, about: Facts, web: WebFiles, progress: Progress
) -> Reading:
    files = _files(about, web)
    begun = {place for place, _ in store.tiles(name, found=True)}
    store.drop_found(name, begun - files.keys())
    done = begun & files.keys()
    before = {place: facts["tag"] for place, facts in store.tiles(name)}
    waiting = [file for file in files.values() if file.place not in done]
    left_out: list[tuple[str, str]] = []

    def read(file: Listed) -> Row | str | tuple[str, str]:
        """A tile; the place of one that did not change; a place and why it is left out."""
        try:
            if file.place in before and _tag(file.place, web) == before[file.place]:
                return file.place
            return _tile(file, about, web)
        except WebFault as fault:
            if fault.why in ("slow", "dead", "busy"):
                raise _OutOfReach(str(fault)) from fault
            return file.place, str(fault)
        except (FileRefusedError, TooLargeError, OSError) as error:
            return file.place, str(error)

    with ThreadPoolExecutor(AT_ONCE) as pool:
        remaining = iter(waiting)
        while batch := list(islice(remaining, BATCH)):
            rows: list[Row] = []
            try:
                for found in pool.map(read, batch):
                    if isinstance(found, str):
                        store.keep_unchanged(name, found)
                    elif len(found) == 3:
                        rows.append(found)
                    else:
                        left_out.append(found)
            except _OutOfReach as error:
                pool.shutdown(cancel_futures=True)
                raise FileRefusedError(
                    say("sources.out_of_reach", why=str(error), name=name)
                ) from error
            finally:
                store.add_found(name, rows)
            done.update(file.place for file in batch)
            progress(len(done), len(files))
    tiles = [tile_of(place, facts) for place, facts in store.tiles(name, found=True)]
    if not tiles:
        why = f" {left_out[0][0]}: {left_out[0][1]}" if left_out else ""
        raise FileRefusedError(say("sources.no_tiles") + why)
    licence = about["licence"] or "; ".join(sorted({f.licence for f in files.values()} - {""}))
    facts = about | _as_read(len(tiles), bounds_of(tiles)) | {"licence": licence}
    store.finish(name, facts)
    return Reading(len(tiles), tuple(left_out))


def _files(about: Facts, web: WebFiles) -> dict[str, Listed]:
    files: dict[str, Listed] = {}
    for root in about["roots"]:
        for file in listed(root, web, about["asset"]):
            files.setdefault(file.place, file)
    return files


def _tile(file: Listed, about: Facts, web: WebFiles) -> Row:
    """Raises InputError where what was stated of the source is not what a file says."""
    header: bytes | None = None
    if is_address(file.place):
        facts, header = web_header(web, file.place)
    else:
        facts = local_header(Path(file.place))
    facts["unit"] = _agreed("unit", facts["unit"], about["unit"], file.place)
    facts["datum"] = _agreed("datum", facts["datum"], about["datum"], file.place)
    facts["date"] = file.date or about["date"]
    if not facts["unit"]:
        raise InputError.at("/unit", f"{file.place}: {say('sources.no_unit')}")
    return file.place, facts, header


def _agreed(what: str, its: str | None, given: str | None, place: str) -> str:
    if its and given and its != given:
        told = say(f"sources.other_{what}", its=its, given=given)
        raise InputError.at(f"/{what}", f"{place}: {told}")
    return its or given or ""


def bounds_of(tiles: Sequence[Tile]) -> list[float]:
    """West, south, east and north of all tiles, in longitude and latitude."""
    by_crs: dict[str, list[tuple[float, float, float, float]]] = {}
    for tile in tiles:
        by_crs.setdefault(tile.crs, []).append(tile.bounds)
    corners = []
    for wkt, its in by_crs.items():
        low, high = np.array(its)[:, :2].min(axis=0), np.array(its)[:, 2:].max(axis=0)
        edge = np.array([(x, y) for x in (low[0], high[0]) for y in (low[1], high[1])])
        corners.append(transform(edge, pyproj_crs(wkt), pyproj.CRS.from_string(CRS84)))
    every = np.vstack(corners)
    return [*every.min(axis=0).tolist(), *every.max(axis=0).tolist()]


@dataclass(frozen=True)
class LookedOver:
    """How a source stands: files that are not what they were, files that are new, and what its
    tiles differ in."""

    changed: tuple[tuple[str, str], ...]
    new: tuple[str, ...]
    kinds: dict[str, Counter[str]]


def look_over(store: SourceStore, name: str, progress: Progress) -> LookedOver:
    """Hold a source against its files. Raises NotFoundError, FileRefusedError, OSError."""
    about = store.about(name)
    web = WebFiles()

    def faulty(place: str, tag: str) -> str:
        try:
            return "" if _tag(place, web) == tag else say("sources.file_changed")
        except (WebFault, OSError) as error:
            return str(error)

    try:
        if about["kind"] != ELEVATION:
            root = about["roots"][0]
            why = faulty(root, about["tag"])
            return LookedOver(((root, why),) if why else (), (), {})
        tiles = dict(store.tiles(name))
        new = tuple(sorted(set(_files(about, web)) - set(tiles)))
        changed = []
        with ThreadPoolExecutor(AT_ONCE) as pool:
            asked = pool.map(faulty, tiles, (facts["tag"] for facts in tiles.values()))
            for done, (place, why) in enumerate(zip(tiles, asked, strict=True), 1):
                if why:
                    changed.append((place, why))
                if not done % BATCH:
                    progress(done, len(tiles))
        return LookedOver(tuple(changed), new, _kinds(tiles.values()))
    except WebFault as fault:
        raise FileRefusedError(str(fault)) from fault
    finally:
        web.close()


def _kinds(tiles: Iterable[Facts]) -> dict[str, Counter[str]]:
    """How many tiles have each system, cell, unit, datum and date."""
    kinds: dict[str, Counter[str]] = {}
    for its in tiles:
        a, _, _, _, e, _ = its["transform"]
        told = {
            "coordinate system": pyproj_crs(its["crs"]).name,
            "cell": f"{a:g} × {-e:g}",
            "unit": its["unit"],
            "vertical datum": its["datum"] or "not stated",
            "date": its["date"] or "not stated",
        }
        for what, value in told.items():
            kinds.setdefault(what, Counter())[value] += 1
    return kinds
