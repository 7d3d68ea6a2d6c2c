"""From a reach in SI to the answer in the caller's units, with its sentences."""

from __future__ import annotations

from typing import Any

import numpy as np

from yardfall.core.cautions import cautions_for
from yardfall.core.grade_runs import GradeRun
from yardfall.core.reach.no_outlet import Loosened
from yardfall.core.remarks import Remark
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.use_cases.reach.reach import Asked, Outcome, TargetFound
from yardfall.use_cases.reach.routes import RouteFound
from yardfall.use_cases.reach.search import ANY_CHANGES, Searched
from yardfall.web.answers.fixes.fix_answer import POINTERS
from yardfall.web.answers.fixes.fix_patch import limit_patch
from yardfall.web.answers.fixes.fix_words import change_text, value_answer
from yardfall.web.answers.level_block_answer import run_answer
from yardfall.web.answers.plan_answer import assumption_answer, caution_answer, outlet_answer
from yardfall.web.answers.quantities_answer import trench_answer
from yardfall.web.answers.survey_answer import source_answer
from yardfall.web.answers.verdict import verdict_answer
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.openapi.numbers import rounded
from yardfall.web.reach.parse_reach import ReadReach, with_line
from yardfall.web.reach.reach_areas import (
    CLOSED_OFF,
    REASONS,
    any_changes_text,
    chance_areas,
    spare_areas,
)


def reach_answer(outcome: Outcome, read: ReadReach) -> dict[str, Any]:
    """The whole answer to POST /reach."""
    units, request = read.units, read.request
    deepest_m = max(
        (s.dig_depth_m for r in outcome.routes for s in r.tree.plan.stations), default=0.0
    )
    routes = [_route(route, read) for route in outcome.routes]
    return {
        "units": units.name,
        "crs": request.plan.survey.route.crs,
        "summary": _summary(outcome, read, {route["answer"]["overall"] for route in routes}),
        "areas": spare_areas(outcome.searched, request, units),
        "chance": chance_areas(outcome.searched, units),
        "routes": routes,
        "targets": [_target(target, outcome.searched, units) for target in outcome.targets],
        "asked": [_asked(asked, outcome, units) for asked in outcome.asked],
        "loosen": [_loosen(one, read) for one in outcome.loosen],
        "ground_source": source_answer(outcome.searched.lot.named, units),
        "assumptions": [assumption_answer(a, units) for a in read.assumptions],
        "warnings": [warning_answer(remark, units) for remark in _remarks(outcome, read)],
        "cautions": [
            caution_answer(c) for c in cautions_for(request.plan.design.outlet.kind, deepest_m)
        ],
    }


def _summary(outcome: Outcome, read: ReadReach, routes: set[str]) -> dict[str, Any]:
    """What the whole search comes to; `routes` is what the plans of its routes say overall.

    The map counts any number of grade changes as plain. Where each route's own plan needs a
    usual value to give way, none of them is a plain yes.
    """
    found, units = outcome.searched, read.units
    grid = found.lot.grid
    cell_m2 = grid.dx_m * grid.dy_m
    reached = found.comes_out if found.laid else found.spare_m >= 0
    outlets_m2 = float((found.may_end & reached).sum())
    searched_m2 = float((grid.known & ~found.closed).sum())
    spare_m = outcome.best_m
    comes_out = spare_m is not None and spare_m >= 0
    plain = bool((found.may_end & (found.plain if found.laid else reached)).any())
    if "conditional" in routes:
        plain &= "yes" in routes
    ground_m = float(found.lot.ground_m(found.start[None])[0])
    return {
        "verdict": "yes" if comes_out else "no",
        "overall": ("yes" if plain else "conditional") if comes_out else "no",
        "sentence": _sentence(outcome, read, outlets_m2 / max(searched_m2, 1.0)),
        "spare": None if spare_m is None else rounded(spare_m / units.depth_m),
        "point": None if outcome.best_place is None else list(outcome.best_place),
        "outlet_area": rounded(outlets_m2 * cell_m2 / units.area_m2),
        "searched_area": rounded(searched_m2 * cell_m2 / units.area_m2),
        "cell": rounded(max(grid.dx_m, grid.dy_m) / units.length_m),
        "start_ground": rounded(ground_m / units.length_m),
        "start_invert": rounded(found.start_m / units.length_m),
    }


def _sentence(outcome: Outcome, read: ReadReach, share: float) -> str:
    spare_m, units = outcome.best_m, read.units
    count = len(outcome.targets)
    asked = "_asked" if count else ""
    if spare_m is None:
        return say(f"reach.nowhere_ever{asked}")
    amount = units.depth_text(abs(spare_m))
    if spare_m < 0:
        said = say(f"reach.nowhere{asked}", amount=amount)
        if outcome.loosen:
            return f"{said} {_loosen(outcome.loosen[0], read)['text']}"
        return said
    if count == 1:
        said = say("reach.at_the_place", amount=amount)
    elif count:
        met = sum(target.kind in ("outlet", "conditional") for target in outcome.targets)
        said = say("reach.at_places", met=str(met), count=str(count), amount=amount)
    elif share * 100 < 1:
        said = say("reach.on_little", amount=amount)
    else:
        said = say("reach.on_part", percent=f"{share * 100:.0f}", amount=amount)
    return f"{said} {say('reach.routes_decide')}"


def _route(route: RouteFound, read: ReadReach) -> dict[str, Any]:
    plan, units = route.tree.plan, read.units
    crs = read.request.plan.survey.route.crs
    body = with_line(read.plan_body, route.line, crs)
    grading = route.request.design.grading
    if grading.shape == "least_dig":
        changes = {"shape": grading.shape, "max_breaks": grading.max_breaks}
        body["grade"] = {**body.get("grade", {}), **changes}
    first, *others = route.kinds
    titles = [say(f"reach.route.{first}"), *(say(f"reach.route_also.{one}") for one in others)]
    return {
        "kinds": list(route.kinds),
        "title": ", ".join(titles),
        "line": body["route"]["line"],
        "length": rounded(plan.route.length_m / units.length_m),
        "bends": len(route.line) - 2,
        "map_spare": rounded(route.map_spare_m / units.depth_m),
        "deepest": rounded(max(s.dig_depth_m for s in plan.stations) / units.depth_m),
        "trench_volume": rounded(plan.volume_m3 / units.volume_m3),
        "dug_volume": trench_answer(plan, units)["dug_volume"],
        "grades": [_grade(run, units) for run in plan.runs],
        "outlet": outlet_answer(plan, units),
        "answer": verdict_answer(plan, units, body=body),
        "plan_request": body,
    }


def _grade(run: GradeRun, units: UnitSystem) -> dict[str, Any]:
    told = run_answer(run, units)
    return {name: told[name] for name in ("from", "to", "percent")}


def _told(found: Searched, kind: str, spare_m: float | None, units: UnitSystem) -> str:
    if spare_m is None:
        return say(f"reach.why.{kind if kind in REASONS else CLOSED_OFF}")
    amount = units.depth_text(abs(spare_m))
    if kind == ANY_CHANGES:
        return say(f"reach.{any_changes_text(found)}")
    if spare_m >= 0:
        return say("reach.here_if" if kind == "conditional" else "reach.here", amount=amount)
    return say("reach.not_here", amount=amount)


def _target(target: TargetFound, found: Searched, units: UnitSystem) -> dict[str, Any]:
    spare_m = target.spare_m
    return {
        "index": target.shape.index,
        "name": target.shape.name,
        "kind": target.kind,
        "spare": None if spare_m is None else rounded(spare_m / units.depth_m),
        "point": None if target.place is None else list(target.place),
        "text": _told(found, target.kind, spare_m, units),
    }


def _asked(asked: Asked, outcome: Outcome, units: UnitSystem) -> dict[str, Any]:
    def length(value: float | None) -> float | None:
        return None if value is None else rounded(value / units.length_m)

    depth_m = None
    if asked.ground_m is not None and asked.invert_m is not None:
        section = outcome.section
        depth_m = asked.ground_m - asked.invert_m + section.below_invert_m
    return {
        "point": list(asked.place),
        "kind": asked.kind,
        "ground": length(asked.ground_m),
        "highest_invert": length(asked.invert_m),
        "passing_invert": length(asked.passing_m),
        "depth": None if depth_m is None else rounded(depth_m / units.depth_m),
        "spare": None if asked.spare_m is None else rounded(asked.spare_m / units.depth_m),
        "chance": None if asked.chance is None else rounded(asked.chance),
        "text": _told(outcome.searched, asked.kind, asked.spare_m, units),
    }


def _loosen(one: Loosened, read: ReadReach) -> dict[str, Any]:
    design, units = read.request.plan.design, read.units
    return {
        "change": one.change,
        "pointer": POINTERS[one.change],
        "from": value_answer(one.change, one.before, units),
        "to": value_answer(one.change, one.after, units),
        "spare_after": rounded(one.spare_m / units.depth_m),
        "text": change_text(one.change, one.before, one.after, design, units),
        "patch": limit_patch(one, read.plan_body, units),
    }


def _remarks(outcome: Outcome, read: ReadReach) -> list[Remark]:
    found = []
    design = read.request.plan.design
    if outcome.searched.bounds.near_start:
        found.append(Remark("starts_too_near", "/clearance"))
    if not read.request.within:
        found.append(Remark("no_lot_line", "/within"))
    if not outcome.searched.laid:
        found.append(Remark("not_laid", "/within"))
    if np.isfinite(design.grading.max_grade):
        found.append(Remark("greatest_grade_on_routes", "/grade/max_percent"))
    return found
