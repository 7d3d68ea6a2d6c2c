"""A planned drain made ready for paper, and each paper by its name.

Takes what a caller sent and was answered, both as the contract words them, so that a plan kept
from yesterday makes the same papers as one just made.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import pyproj

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.core.request import LOCAL
from yardfall.core.units import SYSTEMS, UnitSystem
from yardfall.geo.crs import CRS84, find_crs, to_lonlat, to_plane_m, transform
from yardfall.geo.raster import RasterFacts, crs_of
from yardfall.papers.model import MAIN, Address, DrainLine, Inlet, Job, TitleBlock, printable
from yardfall.papers.registry import Paper, make_paper, require_paper
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases.grounds import facts_of
from yardfall.use_cases.paper_context import (
    Beneath,
    Place,
    find_beneath,
    outlines,
    picture_beneath,
    require_a_map,
)

Body = Mapping[str, Any]
PAGES = {"us": "letter", "si": "a4"}


@dataclass(frozen=True)
class _Plane:
    """The plane that all lines of a job are drawn on, in metres, and what lies up on it."""

    place: Place
    up: str


def paper(
    name: str,
    body: Body,
    answer: Mapping[str, Any],
    rasters: RasterStore,
    site_plans: SitePlanStore,
    *,
    gone_is_told: bool = False,
    address: Address | None = None,
) -> Paper:
    """The paper of that name for a plan request and its answer.

    A picture that is to lie beneath and is not there is an error; with `gone_is_told`, for a plan
    kept from before, the paper says so in its place. `address` is where a kept job opens. Raises
    NotFoundError for a name that is no paper, InputError for one that this plan cannot have.
    """
    require_paper(name)
    if body["ground"]["kind"] == "length_and_drop" and body["ground"]["of"] == "pipe":
        raise InputError.at("/ground/of", say("even_slope.pipe_drop.paper"))
    part = body.get("paper", {})
    require_a_map(part, _crs(body["route"]))
    beneath = find_beneath(body["ground"], part, rasters, site_plans, gone_is_told=gone_is_told)
    job = _job(body, answer, beneath, rasters)
    return make_paper(name, replace(job, address=address))


def _job(body: Body, answer: Mapping[str, Any], beneath: Beneath, rasters: RasterStore) -> Job:
    units = SYSTEMS[body["units"]]
    plane = _plane(body, units, beneath.raster)
    part, shown = body.get("paper", {}), printable(answer)
    said = {field.name: part[field.name] for field in fields(TitleBlock) if field.name in part}
    job = Job(
        title=TitleBlock(**{"page": PAGES[units.name]} | printable(said)),
        units=units,
        answer=shown,
        lines=tuple(_lines(MAIN, body, shown, units, plane)),
        lacking=beneath.lacking,
        tags=part.get("tags", False),
        ground_said=_ground_said(body, answer, units),
    )
    crs = _crs(body["route"])
    if plane is None or crs is None:
        return job
    return replace(
        job,
        up=plane.up,
        beneath=picture_beneath(part, beneath, plane.place, units, rasters),
        avoid=outlines(part, "avoid", plane.place, crs, units),
        lot=outlines(part, "within", plane.place, crs, units),
        fixed=outlines(part, "fixed", plane.place, crs, units),
    )


def _ground_said(body: Body, answer: Mapping[str, Any], units: UnitSystem) -> str:
    """How good the heights of a raster or a source are, as stated or taken, and where those of a
    named source came from; "" for ground read by hand."""
    if body["ground"]["kind"] not in ("raster", "source"):
        return ""
    named = answer.get("ground_source")  # a plan kept before there were sources has none
    told = [_good_to(body, answer, units), str(printable(named["text"])) if named else ""]
    return " ".join(filter(None, told))


def _good_to(body: Body, answer: Mapping[str, Any], units: UnitSystem) -> str:
    stated = body.get("accuracy", {}).get("sigma")
    if stated is not None:
        return say("papers.raster_good_to", error=units.depth_text(stated * units.depth_m))
    taken = [a["value"] for a in answer.get("assumptions", ()) if a["pointer"] == "/accuracy"]
    if not taken:
        return say("papers.raster")
    return say("papers.raster_taken_for", error=units.depth_text(taken[0] * units.depth_m))


def _crs(route: Body) -> str | None:
    """What a route is drawn in; None for a taped run."""
    return str(route.get("crs", CRS84)) if "line" in route else None


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
    crs = _crs(route)
    if crs is not None:
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
    return None if here is None else to_lonlat(xy, here)


def _plane(body: Body, units: UnitSystem, record: RasterRecord | None) -> _Plane | None:
    """The raster's own plane where there is one, so that its relief fits; else the route's."""
    route = body["route"]
    main = _crs(route)
    if main is None:
        return None
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
