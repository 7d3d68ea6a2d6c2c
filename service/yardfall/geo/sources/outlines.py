"""Lots and buildings of a vector file, as areas in longitude and latitude with their ids.

What a file is, its first bytes say, never its name. It is read once, when it is named, from a copy
in a folder of its own, so that nothing beside it is looked at; a request reads what was kept.
"""

from __future__ import annotations

import json
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyproj
import shapely
from numpy.typing import NDArray

from yardfall.core.errors import FileRefusedError, InputError, TooLargeError
from yardfall.geo.crs import CRS84, transform
from yardfall.geo.raster import pyproj_crs
from yardfall.geo.sources.outline_reader import MOST_OUTLINES, PARQUET, ask
from yardfall.geo.sources.web_file import WebFiles, is_address
from yardfall.sentences import say

Outline = tuple[str, bytes, tuple[float, float, float, float]]
MOST_FILE_BYTES: Final = 4 << 30
STEP_BYTES: Final = 8 << 20
AT_ONCE: Final = 20_000
AREAS: Final = (shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON)
DAMAGED_ZIP: Final = (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError)
SHAPEFILE: Final = (".shp", ".shx", ".dbf", ".prj")
SHAPES: Final = b"\x00\x00\x27\x0a"
"""How a shapefile's shapes begin (ESRI Shapefile Technical Description, 1998)."""
GEOPACKAGE: Final = (b"GPKG", b"GP10", b"GP11")
"""The `application_id` at byte 68 of a GeoPackage (OGC 12-128, Requirement 2)."""
OF_RFC_7946: Final = ("CRS84", "WGS84")


def read_outlines(place: str, field: str, layer: str | None, web: WebFiles) -> Iterator[Outline]:
    """Every area of a file or an address: its id, its shape, its bounds.

    Raises FileRefusedError, InputError at /id, TooLargeError, WebFault, OSError.
    """
    with tempfile.TemporaryDirectory(prefix="yardfall-") as name:
        folder = Path(name)
        copy = folder / "outlines"
        _take(place, copy, web)
        with copy.open("rb") as file:
            start = file.read(1024)
        if start[:1].isspace() or start[:1] == b"{":
            yield from _of_json(copy, field)
            return
        with _as_named(copy, start, folder) as path:
            found = ask(path, layer, field, folder)
        yield from _areas(_lines(found), _crs_of(found))


def _take(place: str, copy: Path, web: WebFiles) -> None:
    """A copy of a file, from here or from far away."""
    if not is_address(place):
        if Path(place).stat().st_size > MOST_FILE_BYTES:
            raise TooLargeError(say("sources.long_file", most=f"{MOST_FILE_BYTES >> 20:,}"))
        shutil.copyfile(place, copy)
        return
    with copy.open("wb") as out:
        piece = web.read(place, 0, STEP_BYTES)
        out.write(piece.content)
        while out.tell() < piece.size:
            if piece.size > MOST_FILE_BYTES:
                raise TooLargeError(say("sources.long_file", most=f"{MOST_FILE_BYTES >> 20:,}"))
            more = web.read(place, out.tell(), out.tell() + STEP_BYTES, piece.tag)
            out.write(more.content)


@contextmanager
def _as_named(copy: Path, start: bytes, folder: Path) -> Iterator[Path]:
    """The copy under a name that its format is known by."""
    if start.startswith(b"SQLite format 3\0") and start[68:72] in GEOPACKAGE:
        yield copy.rename(copy.with_suffix(".gpkg"))
    elif start.startswith(b"fgb\x03"):
        yield copy.rename(copy.with_suffix(".fgb"))
    elif start.startswith(b"PK\x03\x04"):
        try:
            yield _unpacked(copy, folder)
        except DAMAGED_ZIP as error:
            raise FileRefusedError(say("sources.not_outlines")) from error
    elif start.startswith(b"PAR1"):
        if find_spec("pyarrow") is None:
            raise FileRefusedError(say("sources.parquet"))
        yield copy.rename(copy.with_suffix(PARQUET))
    else:
        raise FileRefusedError(say("sources.not_outlines"))


def _unpacked(copy: Path, folder: Path) -> Path:
    """The one shapefile of a ZIP, its four parts alone, under names of our own."""
    with zipfile.ZipFile(copy) as packed:
        stems = [n[:-4] for n in packed.namelist() if n.lower().endswith(".shp")]
        if len(stems) != 1:
            raise FileRefusedError(say("sources.not_outlines"))
        taken = 0
        for member in packed.infolist():
            kind = member.filename[-4:].lower()
            if member.filename[:-4] != stems[0] or kind not in SHAPEFILE:
                continue
            with packed.open(member) as inside, (folder / f"shapes{kind}").open("wb") as out:
                while chunk := inside.read(STEP_BYTES):
                    taken += len(chunk)
                    if taken > MOST_FILE_BYTES:
                        most = f"{MOST_FILE_BYTES >> 20:,}"
                        raise TooLargeError(say("sources.long_file", most=most))
                    out.write(chunk)
    path = folder / "shapes.shp"
    with path.open("rb") as file:
        if file.read(4) != SHAPES:
            raise FileRefusedError(say("sources.not_outlines"))
    return path


def _crs_of(found: Path) -> pyproj.CRS:
    with found.open(encoding="utf-8") as lines:
        return pyproj_crs(json.loads(lines.readline())["crs"])


def _lines(found: Path) -> Iterator[tuple[str, Any]]:
    with found.open(encoding="utf-8") as lines:
        next(lines)
        for line in lines:
            key, shape = json.loads(line)
            yield key, shapely.from_wkb(bytes.fromhex(shape))


def _of_json(copy: Path, field: str) -> Iterator[Outline]:
    """GeoJSON (RFC 7946), read as the JSON that it is."""
    try:
        document = json.loads(copy.read_bytes())
        features = document["features"]
        crs = str((document.get("crs") or {}).get("properties", {}).get("name", "CRS84"))
        pairs = [(f.get("properties") or {}, f.get("geometry")) for f in features]
        fields = sorted({key for properties, _ in pairs[:100] for key in properties})
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise FileRefusedError(say("sources.not_outlines")) from error
    if not crs.upper().endswith(OF_RFC_7946):
        raise FileRefusedError(say("sources.geojson_crs"))
    if len(pairs) > MOST_OUTLINES:
        count, most = f"{len(pairs):,}", f"{MOST_OUTLINES:,}"
        raise TooLargeError(say("sources.many_outlines", count=count, most=most))
    if any(field not in properties for properties, _ in pairs):
        told = ", ".join(fields)
        raise InputError.at("/id", say("sources.no_field", field=field, fields=told))
    try:
        shapes = [
            (str(properties[field]), shapely.from_geojson(json.dumps(geometry)))
            for properties, geometry in pairs
            if geometry is not None
        ]
    except (shapely.errors.ShapelyError, ValueError) as error:
        raise FileRefusedError(say("sources.broken_outlines", why=str(error)[:300])) from error
    yield from _areas(iter(shapes), pyproj.CRS.from_string(CRS84))


def _areas(shapes: Iterator[tuple[str, Any]], crs: pyproj.CRS) -> Iterator[Outline]:
    """Those that are areas with a place, in longitude and latitude."""
    there = pyproj.CRS.from_string(CRS84)

    def moved(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return transform(xy, crs, there)

    while some := list(islice(shapes, AT_ONCE)):
        areas = [one for one in some if shapely.get_type_id(one[1]) in AREAS]
        placed = shapely.transform(np.array([its for _, its in areas], dtype=object), moved)
        bounds = shapely.bounds(placed)
        for (key, _), its, (xmin, ymin, xmax, ymax) in zip(areas, placed, bounds, strict=True):
            if np.isfinite([xmin, ymin, xmax, ymax]).all() and not its.is_empty:
                yield key, shapely.to_wkb(its), (xmin, ymin, xmax, ymax)
