"""From a plan in SI to the answer in the caller's units, with its sentences."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from yardfall.core.cautions import Caution
from yardfall.core.easing.site import SAME_M
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.hydraulics.backwater import Backwater
from yardfall.core.outlet_levels import ditch_of, lid_m
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.plan import Plan
from yardfall.core.remarks import Remark
from yardfall.core.stakeout.stations import Station
from yardfall.core.units import ROD_UNITS_M, UnitSystem, rod_text
from yardfall.sentences import say
from yardfall.use_cases.trees import Tree
from yardfall.web.answers.even_slope_answer import to_measure_answer, without_ground
from yardfall.web.answers.fill_answer import fill_answer, finished_answer
from yardfall.web.answers.level_block_answer import run_answer
from yardfall.web.answers.marks_answer import marks_answer
from yardfall.web.answers.quantities_answer import bill_answer, trench_answer
from yardfall.web.answers.survey_answer import closure_answer, source_answer
from yardfall.web.answers.tree_answer import steps_down_answer, whole_answer
from yardfall.web.answers.usual_answer import usual_assumptions
from yardfall.web.answers.verdict import verdict_answer
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.answers.water.backwater_answer import (
    head_sentence,
    inlet_answer,
    left_wet_answer,
    outlet_water_answer,
    outlet_water_warnings,
)
from yardfall.web.answers.water.water_answer import (
    pump_answer,
    water_answer,
    water_warnings,
    well_answer,
    well_warnings,
)
from yardfall.web.openapi.numbers import rounded, scaled
from yardfall.web.parse.assumption import Assumption
from yardfall.web.parse.parse_plan import ReadPlan


def tree_answer(
    tree: Tree, read: ReadPlan, below: Backwater | None = None, closed_m: float | None = None
) -> dict[str, Any]:
    """The whole answer to POST /plan: the line, and each branch in the same form.

    `below` is what water at the outlet of the whole does, for a branch; `closed_m` the lid that the
    whole ends under, on the branch's own datum.
    """
    units = read.units
    below = tree.backwater or below
    closed_m = lid_m(tree.plan) if closed_m is None else closed_m
    branches = [
        {
            "name": branch.request.name,
            "joins_at": rounded(branch.request.joins_at_m / units.length_m),
            "joins_label": units.station_label(branch.request.joins_at_m),
            "drop": rounded(branch.drop_m / units.depth_m),
            "steps_down": steps_down_answer(branch, units),
            **tree_answer(
                branch.tree, its, below, None if closed_m is None else closed_m - branch.offset_m
            ),
        }
        for branch, its in zip(tree.branches, read.branches, strict=True)
    ]
    own = _line_answer(tree, read, closed_m)
    return own | {
        "branches": branches,
        "inlets": [inlet_answer(water, below, units) for water in tree.inlets or ()],
        "whole": whole_answer(tree, own["answer"], units),
    }


def _line_answer(tree: Tree, read: ReadPlan, closed_m: float | None) -> dict[str, Any]:
    """The answer for one line of a tree, without its branches.

    `closed_m` is the lid that it ends under, by itself or with the line it joins.
    """
    plan, backwater, units = tree.plan, tree.backwater, read.units
    length_m, depth_m, works = units.length_m, units.depth_m, plan.works
    section, invert_m = plan.design.section, plan.decision.invert_m
    slopes = sum(run.slope_length_m for run in plan.runs)
    pipe_m = (invert_m, invert_m - section.below_invert_m, invert_m + section.above_invert_m)
    profile = scaled(np.array([plan.points.at_m, plan.points.ground_m, *pipe_m]), length_m)
    answer = {
        "units": units.name,
        "length": rounded(plan.route.length_m / length_m),
        "slope_length": rounded(slopes / length_m),
        "pipe": pipe_answer(plan.design.pipe, units),
        "datum": plan.ground.datum,
        "stations": _stations(plan, read),
        "grade_runs": [run_answer(run, units) for run in plan.runs],
        "profile": dict(zip(("at", "ground", "invert", "bottom", "top"), profile, strict=True))
        | {"finished": finished_answer(plan, units)},
        "start": end_answer(plan.stations[0], units)
        | {"raised_by": rounded(plan.decision.raised_m / depth_m)},
        "outlet": outlet_answer(plan, units)
        | {
            "water": None if backwater is None else outlet_water_answer(backwater, plan, units),
            "left_wet": left_wet_answer(plan, closed_m, units),
        },
        "answer": verdict_answer(plan, units, tree.inlets or (), backwater, read.body),
        "covers": _covers(plan, units),
        "fills": [fill_answer(fill, units) for fill in plan.design.limits.fills],
        "crossings": [
            {
                "at": rounded(crossing.at_m / length_m),
                "label": units.station_label(crossing.at_m),
                "what": crossing.what,
                "pass": way,
                "top_depth": rounded(crossing.top_depth_m / depth_m),
                "size": rounded(crossing.size_m / depth_m),
                "clearance": rounded(crossing.clearance_m / depth_m),
                "exposed": crossing.exposed,
            }
            for crossing, way in zip(plan.design.crossings, plan.decision.ways, strict=True)
        ],
        "trench": trench_answer(plan, units),
        "quantities": None if works.bill is None else bill_answer(works.bill, units),
        "least_dig": {"gap": rounded(plan.decision.gap)}
        if plan.decision.yes and plan.design.grading.shape == "least_dig"
        else None,
        "grade_changes": [
            {
                "breaks": one.breaks,
                "volume": None
                if one.volume_m3 is None
                else rounded(one.volume_m3 / units.volume_m3),
                "gap": None if one.volume_m3 is None else rounded(one.gap),
            }
            for one in plan.comparisons
        ],
        "head": _head(plan, backwater, units),
        "pump_leg": None if works.pump is None else pump_answer(works.pump, units),
        "dry_well": None if works.well is None else well_answer(works.well, units),
        "water": None if works.water is None else water_answer(works.water, units),
        "marks": marks_answer(plan, units),
        "references": [
            {
                "kind": r.kind,
                "name": r.name,
                "from": rounded(r.from_m / length_m),
                "to": rounded(r.to_m / length_m),
                "elevation": rounded(r.elevation_m / length_m),
            }
            for r in plan.ground.references
        ],
        "closure": closure_answer(plan.ground, units),
        "assumptions": [
            assumption_answer(a, units) for a in (*read.assumptions, *usual_assumptions(plan))
        ],
        "cautions": [caution_answer(c) for c in tree.cautions],
        "warnings": [
            *(warning_answer(remark, units) for remark in _remarks(tree)),
            *outlet_water_warnings(backwater, units),
            *_ditch_warning(plan, units),
        ],
        "ground_known": True,
        "to_measure": to_measure_answer(plan, units),
        "ground_source": source_answer(plan.ground.named, units),
    }
    return answer if plan.ground.known else without_ground(answer)


def _covers(plan: Plan, units: UnitSystem) -> list[dict[str, Any]]:
    """Every stretch that something bears on, as far as it lies on the line."""
    at_m, end_m, found = plan.points.at_m, plan.route.length_m, []
    cover_m = plan.design.cover_m(at_m, plan.points.ground_m, plan.decision.invert_m)
    for stretch in plan.design.limits.covers:
        if stretch.from_m >= end_m:
            continue
        from_m, to_m = stretch.from_m, min(stretch.to_m, end_m)
        on_it = (at_m >= from_m - SAME_STATION_M) & (at_m <= to_m + SAME_STATION_M)
        found.append(
            {
                "from": rounded(from_m / units.length_m),
                "to": rounded(to_m / units.length_m),
                "cover": rounded(stretch.cover_m / units.depth_m),
                "what": stretch.what,
                "least": rounded(float(cover_m[on_it].min()) / units.depth_m),
            }
        )
    return found


def _remarks(tree: Tree) -> tuple[Remark, ...]:
    works = tree.plan.works
    of_water = () if works.water is None else water_warnings(works.water)
    return (*tree.warnings, *of_water, *well_warnings(works.well))


def _head(plan: Plan, below: Backwater | None, units: UnitSystem) -> dict[str, Any] | None:
    head, depth_m = plan.works.head, units.depth_m
    if head is None:
        return None
    return {
        "opening": head.opening.what,
        "opening_level": rounded(head.opening.level_m / units.length_m),
        "outlet_level": rounded(head.outlet_level_m / units.length_m),
        "water_level": rounded(head.water_m / units.length_m),
        "friction": rounded(head.friction_m / depth_m),
        "margin": rounded(head.margin_m / depth_m),
        "spare": rounded(head.spare_m / depth_m),
        "sentence": head_sentence(head, plan, below, units),
    }


def _stations(plan: Plan, read: ReadPlan) -> list[dict[str, Any]]:
    """Every station; its numbers are put into the caller's units column by column."""
    units, stations = read.units, plan.stations
    length_m, depth_m, rod_m = units.length_m, units.depth_m, ROD_UNITS_M[read.rod_unit]
    measured = np.array(
        [
            (s.at_m, s.ground_m, s.invert_m, s.dig_depth_m, s.cover_m, s.grade, s.fill_m)
            for s in stations
        ]
    )
    unit_m = np.array([length_m, length_m, length_m, depth_m, depth_m, 0.01, depth_m])
    numbers = scaled(measured, unit_m)
    shown = []
    for s, (at, ground, invert, depth, cover, percent, fill) in zip(stations, numbers, strict=True):
        from_m, strung = s.from_reference_m, s.reference is not None and s.reference.kind == "line"
        below = None if from_m is None else rounded(from_m / (depth_m if strung else rod_m))
        shown.append(
            {
                "at": at,
                "label": units.station_label(s.at_m),
                "x": None if s.xy is None else rounded(s.xy[0]),
                "y": None if s.xy is None else rounded(s.xy[1]),
                "ground": ground,
                "source": s.source,
                "invert": invert,
                "dig_depth": depth,
                "cover": cover,
                "line": s.reference.name if s.reference else None,
                "line_to_bottom": below if strung else None,
                "rod_at_bottom": None if strung else below,
                "grade_percent": percent,
                "fill": fill,
                "marks": {
                    "dig_depth": units.tape_text(s.dig_mark_m),
                    "line_to_bottom": None
                    if s.line_mark_m is None
                    else units.tape_text(s.line_mark_m),
                    "rod_at_bottom": _rod_mark(s, read),
                },
                "why": list(s.why),
            }
        )
    return shown


def _rod_mark(s: Station, read: ReadPlan) -> str | None:
    if s.reference is None or s.reference.kind != "instrument" or s.from_reference_m is None:
        return None
    return rod_text(s.from_reference_m if s.rod_mark_m is None else s.rod_mark_m, read.rod_unit)


def end_answer(s: Station, units: UnitSystem) -> dict[str, Any]:
    """One end of a line."""
    return {
        "at": rounded(s.at_m / units.length_m),
        "dig_depth": rounded(s.dig_depth_m / units.depth_m),
        "cover": rounded(s.cover_m / units.depth_m),
        "invert": rounded(s.invert_m / units.length_m),
    }


def _ditch_warning(plan: Plan, units: UnitSystem) -> list[dict[str, str]]:
    """The ditch that a daylight end needs, where no condition tells of it."""
    length_m = ditch_of(plan)
    if (
        length_m is None
        or length_m <= values_of(plan.asked).ditch_m + SAME_M
        or any(condition.code == "ditch" for condition in plan.conditions)
    ):
        return []
    text = say(
        "warnings.ditch_leads_out",
        length=units.length_text(math.ceil(length_m / units.length_m) * units.length_m),
        depth=units.depth_text(plan.stations[-1].dig_depth_m),
    )
    return [{"code": "ditch_leads_out", "pointer": "/outlet", "text": text}]


def outlet_answer(plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """Where the line ends; of a daylight end also the level ditch that leads out from it."""
    ditch_m = ditch_of(plan)
    return end_answer(plan.stations[-1], units) | {
        "kind": plan.design.outlet.kind,
        "ditch": None if ditch_m is None else rounded(ditch_m / units.length_m),
    }


def pipe_answer(pipe: Pipe, units: UnitSystem) -> dict[str, Any]:
    """A pipe in the caller's units."""
    return {
        "code": pipe.code,
        "name": pipe.name,
        "material": pipe.material,
        "nominal": pipe.nominal_in,
        "outside": rounded(pipe.outside_m / units.depth_m),
        "inside": rounded(pipe.inside_m / units.depth_m),
        "wall": rounded(pipe.wall_m / units.depth_m),
        "n": pipe.n,
        "n_range": list(pipe.n_range),
        "n_other": pipe.n_other,
        "min_percent": rounded(pipe.min_grade * 100),
        "source": pipe.source,
    }


def catalogue_answer(units: UnitSystem) -> dict[str, Any]:
    """The catalogue; nominal sizes are in inches, as the trade names them."""
    return {"units": units.name, "pipes": [pipe_answer(p, units) for p in CATALOGUE.values()]}


def caution_answer(caution: Caution) -> dict[str, str]:
    """A caution in words, with its source."""
    return {"code": caution.code, "text": say(f"cautions.{caution.code}"), "source": caution.source}


def assumption_answer(a: Assumption, units: UnitSystem) -> dict[str, Any]:
    unit_m, name = {
        "length": (units.length_m, units.length_name),
        "depth": (units.depth_m, units.depth_name),
        "percent": (1.0, "%"),
        "none": (1.0, ""),
    }[a.quantity]
    return {
        "pointer": a.pointer,
        "value": rounded(a.value / unit_m),
        "unit": name,
        "text": a.text,
        "source": a.source,
    }
