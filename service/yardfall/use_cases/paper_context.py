"""What a paper shows around the drain: areas to keep out of, the lot line, the picture beneath."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

import numpy as np
import shapely

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, NotFoundError, under
from yardfall.core.ground.placement import Placement, check_placement
from yardfall.core.reach.request import Shape, ShapeKind
from yardfall.core.request import LOCAL
from yardfall.core.units import UnitSystem
from yardfall.geo.crs import find_crs, to_lonlat
from yardfall.geo.site_plan_overlay import lay_sheet
from yardfall.papers.model import Outline, Picture, printable
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.store.uploads.site_plans import SitePlanRecord, SitePlanStore
from yardfall.use_cases.grounds import facts_of
from yardfall.use_cases.uploads import placement_of_record, relief

Part = Mapping[str, Any]
Place = Callable[[Floats, str], Floats | None]
"""Points (n, 2) in a named system on a job's plane, m; None where the two are not tied."""
BENEATH: Final = "/paper/beneath"
MOST_POSITIONS: Final = 3000
"""Of the outlines of one kind on a paper."""
FEW_POSITIONS: Final = 200
"""An outline of more must not cross itself."""
ON_A_MAP: Final = ("within", "avoid", "fixed", "beneath")


def require_a_map(part: Part, crs: str | None) -> None:
    """Raise InputError where a paper is to show what has no place beside its route in `crs`."""
    shown = [name for name in ON_A_MAP if name in part]
    if crs is None and shown:
        raise InputError.at(
            f"/paper/{shown[0]}",
            "This lies on a map, and the run is known only by its taped length, so nobody knows "
            "where it lies beside it. Give route.line with its crs, or leave this out.",
        )
    beneath = part.get("beneath", {})
    if "site_plan" in beneath and crs != LOCAL:
        raise InputError.at(
            f"{BENEATH}/site_plan",
            f"A site plan lies under a route drawn on it, whose crs is local; this route is in "
            f"{crs}.",
        )
    if "raster" in beneath and crs == LOCAL:
        raise InputError.at(
            f"{BENEATH}/raster",
            "A raster lies under a route in longitude and latitude or in an EPSG system; this one "
            "is in the x, y of a site plan.",
        )


def outlines(
    part: Part, name: str, place: Place, crs: str, units: UnitSystem
) -> tuple[Outline, ...]:
    """The shapes of one name, in `crs`, on the job's plane. Raises InputError for one off it."""
    shapes: Sequence[Shape] = part.get(name, ())
    found, positions = [], 0
    for number, shape in enumerate(shapes, 1):
        deadline.check()
        rings = [place(ring, crs) for ring in shape.rings]
        placed = tuple(ring for ring in rings if ring is not None and np.isfinite(ring).all())
        if len(placed) < len(rings):
            raise InputError.at(
                f"/paper/{name}/{shape.index}",
                "This shape lies outside the area where the route's coordinates can be used.",
            )
        keep = part.get("clearance", 0.0) if shape.clearance_m is None else shape.clearance_m
        positions += sum(map(len, placed))
        _require_drawable(placed, shape.kind, positions, f"/paper/{name}/{shape.index}")
        called = printable(shape.name or "") or f"Area {number}"
        here = find_crs(crs)
        lonlat = None if here is None else tuple(to_lonlat(ring, here) for ring in shape.rings)
        found.append(
            Outline(shape.kind, called, placed, keep * units.length_m, shape.rings, lonlat)
        )
    return tuple(found)


def _require_drawable(
    rings: Sequence[Floats], kind: ShapeKind, positions: int, pointer: str
) -> None:
    """Refuse what would take minutes to draw: very many points, or legs that cross each other at
    very many places."""
    if positions > MOST_POSITIONS:
        raise InputError.at(pointer, say("bounds.paper_positions", most=f"{MOST_POSITIONS:,}"))
    for ring in rings if kind != "point" else ():
        if len(ring) > FEW_POSITIONS and not shapely.is_simple(shapely.linestrings(ring)):
            raise InputError.at(pointer, say("bounds.crosses_itself", most=str(FEW_POSITIONS)))


@dataclass(frozen=True)
class Beneath:
    """The raster or site plan that lies beneath; `lacking` says which is not kept any more."""

    raster: RasterRecord | None = None
    site_plan: SitePlanRecord | None = None
    lacking: str = ""

    @property
    def told(self) -> str:
        """What of it a paper shows: which file, and how a site plan was placed."""
        plan = self.site_plan
        placed = "" if plan is None else f"{plan.id} {plan.placement}"
        return f"{self.raster and self.raster.id} {placed} {self.lacking}"


def find_beneath(
    ground: Part, part: Part, rasters: RasterStore, site_plans: SitePlanStore, *, gone_is_told: bool
) -> Beneath:
    """What a paper asks for, else the raster of the ground.

    Raises InputError where it is not there, unless `gone_is_told`.
    """
    own = {"raster": ground["raster"]} if ground["kind"] == "raster" else {}
    asked = part.get("beneath", own)
    try:
        if "site_plan" in asked:
            return Beneath(site_plan=site_plans.get(asked["site_plan"]))
        return Beneath(raster=rasters.get(asked["raster"])) if asked else Beneath()
    except NotFoundError as error:
        what = "site_plan" if "site_plan" in asked else "raster"
        if gone_is_told:
            return Beneath(lacking=say(f"papers.gone.{what}"))
        raise InputError.at(
            f"{BENEATH}/{what}", f"{error} Upload it first, or pick one of those kept."
        ) from error


def picture_beneath(
    part: Part, beneath: Beneath, place: Place, units: UnitSystem, rasters: RasterStore
) -> Callable[[], Picture] | None:
    """What draws the picture, for the papers that show it; None where nothing lies beneath.

    It raises InputError where nobody said how a site plan lies.
    """
    if beneath.raster is not None:
        return partial(_relief, beneath.raster, units, rasters)
    if beneath.site_plan is not None:
        return partial(_site_plan, part["beneath"], beneath.site_plan, place, units)
    return None


def _relief(record: RasterRecord, units: UnitSystem, rasters: RasterStore) -> Picture:
    """The shaded relief, on the raster's own plane from its lower left corner."""
    facts = facts_of(record)
    xmin, ymin, xmax, ymax = facts.bounds
    wide, tall = np.multiply([xmax - xmin, ymax - ymin], facts.metres_per_unit).tolist()
    return Picture(relief(record.id, rasters, units.name), "image/png", (0.0, 0.0, wide, tall))


def _site_plan(asked: Part, record: SitePlanRecord, place: Place, units: UnitSystem) -> Picture:
    sheet = lay_sheet(record.path, _placement(asked, record, units))
    corners = place(np.reshape(sheet.bounds_m, (2, 2)) / units.length_m, LOCAL)
    assert corners is not None
    (xmin, ymin), (xmax, ymax) = corners.tolist()
    return Picture(sheet.content, sheet.media_type, (xmin, ymin, xmax, ymax))


def _placement(asked: Part, record: SitePlanRecord, units: UnitSystem) -> Placement:
    if "scale" not in asked:
        if record.placement is None:
            raise InputError.at(
                BENEATH,
                "Nobody has said how this site plan lies. Give its scale here, or place it first.",
            )
        return placement_of_record(record)
    wide, tall = record.facts["width"], record.facts["height"]
    (u1, v1), (u2, v2) = asked["scale"]["points"]
    u0, v0 = asked.get("origin", (0.0, float(tall)))
    placement = Placement(
        points=((u1, v1), (u2, v2)),
        distance_m=asked["scale"]["distance"] * units.length_m,
        origin=(u0, v0),
        turn_deg=asked.get("turn", 0.0),
    )
    with under(BENEATH):
        check_placement(placement, wide, tall)
    return placement
