"""Site plans for JSON, and a placement from it."""

from __future__ import annotations

from typing import Any

from yardfall.core.ground.placement import MapTie, Placement
from yardfall.core.units import SYSTEMS
from yardfall.store.uploads.site_plans import SitePlanRecord, SitePlanStore
from yardfall.use_cases.uploads import placement_of_record
from yardfall.web.openapi.numbers import rounded

EXACT = 12
"""Digits kept of a scale: a site plan is placed once and multiplied ever after."""


def placement_of(body: dict[str, Any], height_px: int) -> Placement:
    """A checked body in SI; the plan's origin is the picture's lower left corner if not given."""
    (u1, v1), (u2, v2) = body["scale"]["points"]
    tie = body["on_map"]
    u0, v0 = body.get("origin", (0.0, float(height_px)))
    return Placement(
        points=((u1, v1), (u2, v2)),
        distance_m=body["scale"]["distance"] * SYSTEMS[body["units"]].length_m,
        origin=(u0, v0),
        turn_deg=body["turn"],
        north_deg=body["north"],
        on_map=tie and MapTie(tie["crs"], tuple(tie["origin"])),
    )


def site_plan_answer(record: SitePlanRecord) -> dict[str, Any]:
    """Facts of one site plan, its placement in the units it was given in."""
    return {
        "id": record.id,
        "name": record.name,
        "uploaded_at": record.uploaded_at.isoformat(),
        "size_bytes": record.size_bytes,
        **record.facts,
        "picture": f"/api/v1/site-plans/{record.id}/picture",
        "placement": record.placement and _placement_answer(record),
    }


def site_plan_page(store: SitePlanStore, page: int, page_size: int) -> dict[str, Any]:
    """One page of the site plans kept."""
    records, total = store.page(page, page_size)
    return {
        "site_plans": [site_plan_answer(record) for record in records],
        "page": {"number": page, "size": page_size, "total": total},
    }


def _placement_answer(record: SitePlanRecord) -> dict[str, Any]:
    assert record.placement is not None
    units = SYSTEMS[record.placement["units"]]
    placement = placement_of_record(record)
    width_px, height_px = record.facts["width"], record.facts["height"]
    corners = placement.corners_m(width_px, height_px) / units.length_m
    tie = placement.on_map
    return {
        "units": units.name,
        "scale": {
            "points": [list(point) for point in placement.points],
            "distance": round(placement.distance_m / units.length_m, EXACT),
        },
        "turn": placement.turn_deg,
        "origin": list(placement.origin),
        "north": placement.north_deg,
        "on_map": tie and {"crs": tie.crs, "origin": list(tie.origin)},
        "metres_per_pixel": round(placement.metres_per_pixel, EXACT),
        "click_error_percent": rounded(placement.click_error_percent),
        "north_on_plan": placement.north_on_plan_deg,
        "width": rounded(width_px * placement.metres_per_pixel / units.length_m),
        "height": rounded(height_px * placement.metres_per_pixel / units.length_m),
        "corners": [[rounded(x), rounded(y)] for x, y in corners.tolist()],
        "bounds": [rounded(v) for v in (*corners.min(axis=0), *corners.max(axis=0))],
        "transform": [round(v / units.length_m, EXACT) + 0.0 for v in placement.coefficients],
    }
