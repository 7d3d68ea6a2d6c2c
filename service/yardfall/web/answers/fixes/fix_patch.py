"""A fix as a JSON merge patch (RFC 7396) of the request it mends: whole, so that it is a yes."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from yardfall.core.fill import Fill
from yardfall.core.fixes.fixes import Fix
from yardfall.core.fixes.outward import FINEST, told_past
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.plan import Plan
from yardfall.core.reach.no_outlet import Loosened
from yardfall.core.units import UnitSystem
from yardfall.web.answers.fixes.fix_words import value_answer
from yardfall.web.openapi.numbers import rounded
from yardfall.web.parse.pipe_drop import is_pipe_drop

Patch = dict[str, Any]
WITHOUT_GROUND: Final = ("min_grade", "max_grade", "pipe")
"""All that mends a pipe whose own drop is told: start and end are given with it."""
RENAMED: Final = {"pass_": "pass", "from_": "from"}


def patch_of(fix: Fix, plan: Plan, body: dict[str, Any], units: UnitSystem) -> Patch | None:
    """What to change in the request's `body` as it was read; None where no request can say it."""
    ground = body["ground"]
    if is_pipe_drop(ground) and fix.change not in WITHOUT_GROUND:
        return None
    if ground["kind"] == "length_and_drop" and fix.change == "end_at":
        return None  # another length is another slope
    if fix.change == "end_at":
        return _ended(float(fix.after), plan, body, units)
    if fix.change == "crossing":
        return {"crossings": _passed(fix, body)}
    if fix.fill is not None:
        return {"fills": [*map(_as_sent, body.get("fills", [])), _laid(fix.fill, units)]}
    return limit_patch(fix, body, units)  # a hump is taken off first, and the ground read again


def limit_patch(fix: Fix | Loosened, body: dict[str, Any], units: UnitSystem) -> Patch | None:
    """What to change of the limits, the pipe or the outlet; None where the change is none such."""
    to = _told(fix, units)
    match fix.change:
        case "start_cover" | "start_depth" | "start_invert":
            return {"start": {fix.change.removeprefix("start_"): to} | _no_shallower(fix, body)}
        case "min_cover":
            return {"limits": {"min_cover": to}}
        case "run_out":
            kept_m = fix.asked.limits.run_out_cover_m or 0.0
            return {
                "limits": {"outlet_taper": to, "run_out_cover": rounded(kept_m / units.depth_m)}
            }
        case "max_depth":
            return {"limits": {"max_depth": to} | _without(body.get("limits"), "dig_by")}
        case "min_grade":
            return {"grade": {"min_percent": to}}
        case "max_grade":
            return {"grade": {"max_percent": to}}
        case "pipe":
            return _pipe(fix, body, units)
        case "outlet_depth" | "outlet_depth_min":
            return {"outlet": {"depth": _depths(fix, body, units)}}
        case "outlet_invert":
            return {"outlet": {"invert": {"min": to}}}
        case "outlet_invert_max":
            return {"outlet": {"invert": {"max": to}}}
        case "outlet_kind":
            return {"outlet": {"kind": fix.after} | _without(body["outlet"], "depth", "invert")}
        case "grade_changes":
            return {"grade": {"shape": "least_dig", "max_breaks": int(fix.after)}}
    return None


def merged(one: Patch, two: Patch) -> Patch:
    """Two merge patches of different fields as one."""
    found = dict(one)
    for key, value in two.items():
        both = isinstance(value, dict) and isinstance(found.get(key), dict)
        found[key] = merged(found[key], value) if both else value
    return found


def _told(fix: Fix | Loosened, units: UnitSystem) -> float | None:
    told = value_answer(fix.change, fix.after, units)
    return None if isinstance(told, str) else told


def _without(part: dict[str, Any] | None, *names: str) -> Patch:
    """Members to remove, where they are there."""
    return {name: None for name in names if part and name in part}


def _no_shallower(fix: Fix | Loosened, body: dict[str, Any]) -> Patch:
    if fix.asked.start.shallowest_cover_m is not None:
        return {}
    return _without(body["start"], "shallowest_cover")


def _depths(fix: Fix | Loosened, body: dict[str, Any], units: UnitSystem) -> Patch:
    """The outlet's depths; with the usual least where none was stated for it, rounded down."""
    outlet, now = fix.asked.outlet, body["outlet"].get("depth", {})
    side = "min" if fix.change == "outlet_depth_min" else "max"
    depths: Patch = {side: _told(fix, units)}
    other = outlet.kind != body["outlet"]["kind"]
    if other:
        depths |= _without(now, "prefer", "min")
    if (other or not now) and math.isfinite(outlet.least_m):
        depths["min"] = told_past(outlet.least_m / units.depth_m, up=False)
    return depths


def _pipe(fix: Fix | Loosened, body: dict[str, Any], units: UnitSystem) -> Patch:
    """Another pipe of the catalogue, without what was stated of the one before."""
    own = ("outside", "inside", "wall", "n", "min_percent")
    patch: Patch = {"pipe": {"code": fix.after} | _without(body["pipe"], *own)}
    grade = _without(body.get("grade"), "min_percent")
    width = body.get("limits", {}).get("trench_width")
    if grade:
        patch["grade"] = grade
    if width is not None and width * units.depth_m < fix.asked.pipe.outside_m:
        patch["limits"] = {"trench_width": None}
    return patch


def _ended(at_m: float, plan: Plan, body: dict[str, Any], units: UnitSystem) -> Patch:
    """The line ended elsewhere, with nothing left beyond its end."""
    to, route = round(at_m / units.length_m, FINEST), plan.route
    patch: Patch = {}
    if route.xy is None:
        patch["route"] = {"length": to}
    else:
        before = route.xy[route.vertex_at_m < at_m - SAME_STATION_M]
        end = np.array(route.position_at(at_m))
        patch["route"] = {"line": {"coordinates": np.vstack([before, end]).tolist()}}
        if "tape_length" in body["route"]:
            patch["route"]["tape_length"] = to
    crossings = body.get("crossings", [])
    kept = [c for c in crossings if c["at"] * units.length_m < at_m]
    if len(kept) < len(crossings):
        patch["crossings"] = [_as_sent(c) for c in kept]
    fills = body.get("fills", [])
    near_fills = [fill for fill in fills if fill["from_"] * units.length_m < at_m]
    if len(near_fills) < len(fills):
        patch["fills"] = [_as_sent(fill) for fill in near_fills]
    shown = body.get("stations", {}).get("at", [])
    near = [at for at in shown if at * units.length_m <= at_m + SAME_STATION_M]
    if len(near) < len(shown):
        patch["stations"] = {"at": near}
    return patch


def _passed(fix: Fix, body: dict[str, Any]) -> list[Patch]:
    """Every crossing, those that the fix passes otherwise among them."""
    return [
        _as_sent(row) | {"pass": crossing.passing}
        for row, crossing in zip(body["crossings"], fix.asked.crossings, strict=True)
    ]


def _laid(fill: Fill, units: UnitSystem) -> Patch:
    """Soil to lay as a request tells it; its strip's width is the usual one."""
    stations = zip(("from", "full_from", "full_to", "to"), fill.corners_m, strict=True)
    told = {name: round(at_m / units.length_m, FINEST) for name, at_m in stations}
    return told | {"depth": round(fill.depth_m / units.depth_m, FINEST)}


def _as_sent(row: dict[str, Any]) -> Patch:
    return {RENAMED.get(name, name): value for name, value in row.items()}
