"""A planned drain made ready for paper, and each paper by its name.

Takes what a caller sent and was answered, both as the contract words them, so that a plan kept
from yesterday makes the same papers as one just made.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pyproj

from yardfall.core.errors import NotFoundError
from yardfall.core.route import Floats
from yardfall.core.units import SYSTEMS, UnitSystem
from yardfall.geo.crs import CRS84, LOCAL, find_crs, to_plane_m, transform
from yardfall.geo.raster import RasterFacts, crs_of
from yardfall.papers.job import MAIN, DrainLine, Inlet, Job, Relief, TitleBlock, printable
from yardfall.papers.making import Paper, make_paper, require_paper
from yardfall.store.rasters import RasterRecord, RasterStore
from yardfall.survey import facts_of
from yardfall.workflow import relief

Body = Mapping[str, Any]
PAGES = {"us": "letter", "si": "a4"}


@dataclass(frozen=True)
class _Plane:
    """The plane that all lines of a job are drawn on, in metres, and what lies up on it."""

    place: Callable[[Floats, str], Floats | None]
    up: str


def paper(name: str, body: Body, answer: Mapping[str, Any], rasters: RasterStore) -> Paper:
    """The paper of that name for a plan request and its answer.

    Raises NotFoundError for a name that is no paper, InputError for one that this plan cannot
    have.
    """
    require_paper(name)
    return make_paper(name, _job(body, answer, rasters))


def _job(body: Body, answer: Mapping[str, Any], rasters: RasterStore) -> Job:
    units = SYSTEMS[body["units"]]
    record = _record(body, rasters)
    plane = _plane(body, units, record)
    shown = printable(answer)
    title = {"page": PAGES[units.name], **printable(body.get("paper") or {})}
    return Job(
        title=TitleBlock(**title),
        units=units,
        answer=shown,
        lines=tuple(_lines(MAIN, body, shown, units, plane)),
        up=plane.up if plane else "",
        relief=_relief(record, rasters) if record and plane else None,
    )


def _lines(
    name: str, body: Body, answer: Mapping[str, Any], units: UnitSystem, plane: _Plane | None
) -> list[DrainLine]:
    route = body["route"]
    inlets = tuple(
        Inlet(i["at"], printable(i.get("name", i["kind"])))
        for i in body.get("inflows", [])
        if "at" in i
    )
    rod_unit = body["ground"].get("rod_unit", units.rod_unit)
    drain = DrainLine(name, answer, rod_unit, inlets)
    if "line" in route:
        crs = route.get("crs", CRS84)
        xy = np.array([[s["x"], s["y"]] for s in answer["stations"]], dtype=np.float64)
        plane_m = plane.place(xy, crs) if plane else None
        drain = replace(drain, crs=crs, plane_m=plane_m, lonlat=_lonlat(xy, crs))
    below = [
        found
        for sent, answered in zip(body.get("branches", []), answer["branches"], strict=True)
        for found in _lines(printable(sent["name"]), sent, answered, units, plane)
    ]
    return [drain, *below]


def _lonlat(xy: Floats, crs: str) -> Floats | None:
    here = find_crs(crs)
    return None if here is None else transform(xy, here, pyproj.CRS.from_string(CRS84))


def _record(body: Body, rasters: RasterStore) -> RasterRecord | None:
    """The raster under the main line; None where there is none, or it has been deleted since."""
    ground = body["ground"]
    if ground["kind"] != "raster":
        return None
    try:
        return rasters.get(ground["raster"])
    except NotFoundError:
        return None


def _plane(body: Body, units: UnitSystem, record: RasterRecord | None) -> _Plane | None:
    """The raster's own plane where there is one, so that its relief fits; else the route's."""
    route = body["route"]
    if "line" not in route:
        return None
    main = route.get("crs", CRS84)
    here = find_crs(main)
    origin = np.array(route["line"]["coordinates"][0], dtype=np.float64)
    if record is not None and here is not None:
        return _raster_plane(facts_of(record), crs_of(record.path))

    def place(xy: Floats, crs: str) -> Floats | None:
        its = find_crs(crs)
        if (here is None) != (its is None):
            return None
        moved = xy if here is None or its is None else transform(xy, its, here)
        both = np.vstack([origin, moved])
        plane_m = to_plane_m(both, here, units.length_m, origin)
        return plane_m[1:] - plane_m[0]

    geographic = here is not None and here.is_geographic
    up = "y of the site plan" if main == LOCAL else "north" if geographic else "grid north"
    return _Plane(place, up)


def _raster_plane(facts: RasterFacts, there: pyproj.CRS) -> _Plane:
    scale = np.array(facts.metres_per_unit)
    corner = np.array(facts.bounds[:2])

    def place(xy: Floats, crs: str) -> Floats | None:
        its = find_crs(crs)
        return None if its is None else (transform(xy, its, there) - corner) * scale

    return _Plane(place, "north" if facts.geographic else "grid north")


def _relief(record: RasterRecord, rasters: RasterStore) -> Relief:
    facts = facts_of(record)
    xmin, ymin, xmax, ymax = facts.bounds
    wide, tall = np.multiply([xmax - xmin, ymax - ymin], facts.metres_per_unit).tolist()
    return Relief(relief(record.id, rasters), (0.0, 0.0, wide, tall))
