"""From a plan in SI to the answer in the caller's units, with its sentences."""

from __future__ import annotations

import math
from typing import Any, Final

from yardfall.core.cautions import Caution
from yardfall.core.errors import GroundGap, InputError
from yardfall.core.ground import GroundProfile
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.plan import Plan, Remark, Station
from yardfall.core.route import Floats
from yardfall.core.units import ROD_UNITS_M, UnitSystem
from yardfall.web.reading import Assumption, ReadPlan
from yardfall.workflow import Survey

DIGITS: Final = 6
"""Numbers are given to a millionth of their unit: far finer than any tape, and free of noise."""


def rounded(value: float) -> float | None:
    """A number for JSON; None for one that is not finite."""
    return round(float(value), DIGITS) + 0.0 if math.isfinite(value) else None


def scaled(values: Floats, unit_m: float) -> list[float]:
    """An array in another unit, for JSON."""
    return [round(v, DIGITS) for v in (values / unit_m).tolist()]


def survey_answer(survey: Survey, units: UnitSystem) -> dict[str, Any]:
    """Stations with ground, low and high points, overall fall."""
    route, ground = survey.route, survey.ground
    length_m = units.length_m
    read_m = ground.reading_at_m
    at_m = sorted({*survey.asked_m.tolist(), *route.vertex_at_m.tolist(), *read_m.tolist()})
    at_m = [x for i, x in enumerate(at_m) if not i or x - at_m[i - 1] > 1e-6]
    at_m = [x for x in at_m if x <= route.length_m + 1e-6]
    inside = ground.at_m <= route.length_m + 1e-6
    line_z = ground.elevation_m[inside]
    low, high = int(line_z.argmin()), int(line_z.argmax())
    ends_m = ground.elevation(route.vertex_at_m[[0, -1]])
    stations = []
    for x in at_m:
        xy = route.position_at(x)
        stations.append(
            {
                "at": rounded(x / length_m),
                "label": units.station_label(x),
                "x": None if xy is None else rounded(xy[0]),
                "y": None if xy is None else rounded(xy[1]),
                "ground": rounded(ground.elevation_at(x) / length_m),
                "source": ground.source_at(x),
            }
        )
    return {
        "units": units.name,
        "length": rounded(route.length_m / length_m),
        "datum": ground.datum,
        "stations": stations,
        "low_point": _point(ground, low, units),
        "high_point": _point(ground, high, units),
        "overall_fall": rounded(float(ends_m[0] - ends_m[1]) / units.depth_m),
        "profile": {
            "at": scaled(ground.at_m[inside], length_m),
            "ground": scaled(line_z, length_m),
        },
        "closure": _closure(ground, units),
        "warnings": [_warning(remark, units) for remark in survey.warnings],
    }


def _point(ground: GroundProfile, i: int, units: UnitSystem) -> dict[str, Any]:
    at_m = float(ground.at_m[i])
    return {
        "at": rounded(at_m / units.length_m),
        "label": units.station_label(at_m),
        "ground": rounded(float(ground.elevation_m[i]) / units.length_m),
    }


def _closure(ground: GroundProfile, units: UnitSystem) -> dict[str, Any] | None:
    closure = ground.closure
    if closure is None:
        return None
    return {
        "on": closure.on,
        "misclosure": rounded(closure.misclosure_m / units.length_m),
        "limit": rounded(closure.limit_m / units.length_m),
        "set_ups": closure.set_ups,
        "distance": rounded(closure.distance_m / units.length_m),
        "distance_known": closure.distance_known,
        "within": abs(closure.misclosure_m) <= closure.limit_m,
        "source": "third order, 12 mm·√km (FGCC 1984), or the instrument's own reading error, "
        "1/16 in a sight (common practice, no source), whichever is larger",
    }


def plan_answer(plan: Plan, read: ReadPlan) -> dict[str, Any]:
    """The whole answer to POST /plan."""
    units = read.units
    length_m, depth_m = units.length_m, units.depth_m
    section = plan.design.section
    slopes = _slope_length_m(plan)
    return {
        "units": units.name,
        "length": rounded(plan.route.length_m / length_m),
        "slope_length": rounded(slopes / length_m),
        "pipe": pipe_answer(plan.design.pipe, units),
        "datum": plan.ground.datum,
        "stations": [_station(s, read) for s in plan.stations],
        "grade_runs": [
            {
                "from": rounded(run.from_m / length_m),
                "to": rounded(run.to_m / length_m),
                "percent": rounded(run.grade * 100),
                "fall": rounded(run.fall_m / depth_m),
            }
            for run in plan.runs
        ],
        "profile": {
            "at": scaled(plan.at_m, length_m),
            "ground": scaled(plan.ground_m, length_m),
            "invert": scaled(plan.invert_m, length_m),
            "bottom": scaled(plan.invert_m - section.below_invert_m, length_m),
            "top": scaled(plan.invert_m + section.above_invert_m, length_m),
        },
        "start": _end(plan.stations[0], units) | {"raised_by": rounded(plan.raised_m / depth_m)},
        "outlet": _end(plan.stations[-1], units) | {"kind": plan.design.outlet.kind},
        "answer": _verdict(plan, units),
        "marks": {
            "step": rounded(units.tape_step_m / depth_m),
            "worst_departure": rounded(plan.marks.worst_m / depth_m),
            "worst_percent": _percent(plan.marks.worst_grade),
        },
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
        "closure": _closure(plan.ground, units),
        "assumptions": [_assumption(a, units) for a in read.assumptions],
        "cautions": [_caution(c) for c in plan.cautions],
        "warnings": [_warning(remark, units) for remark in plan.warnings],
    }


def _slope_length_m(plan: Plan) -> float:
    return sum(math.hypot(run.to_m - run.from_m, run.fall_m) for run in plan.runs)


def _percent(grade: float | None) -> float | None:
    return None if grade is None else rounded(grade * 100)


def _station(s: Station, read: ReadPlan) -> dict[str, Any]:
    units = read.units
    length_m, depth_m = units.length_m, units.depth_m
    strung = s.reference is not None and s.reference.kind == "line"
    line_to_bottom = rod = None
    if s.from_reference_m is not None:
        if strung:
            line_to_bottom = rounded(s.from_reference_m / depth_m)
        else:
            rod = rounded(s.from_reference_m / ROD_UNITS_M[read.rod_unit])
    line_mark = None if s.line_mark is None else units.tape_text(s.line_mark)
    return {
        "at": rounded(s.at_m / length_m),
        "label": units.station_label(s.at_m),
        "x": None if s.xy is None else rounded(s.xy[0]),
        "y": None if s.xy is None else rounded(s.xy[1]),
        "ground": rounded(s.ground_m / length_m),
        "source": s.source,
        "invert": rounded(s.invert_m / length_m),
        "dig_depth": rounded(s.dig_depth_m / depth_m),
        "cover": rounded(s.cover_m / depth_m),
        "line": s.reference.name if s.reference else None,
        "line_to_bottom": line_to_bottom,
        "rod_at_bottom": rod,
        "grade_percent": rounded(s.grade * 100),
        "marks": {
            "dig_depth": units.tape_text(s.dig_mark),
            "line_to_bottom": line_mark if strung else None,
            "rod_at_bottom": None if strung else line_mark,
        },
        "why": list(s.why),
    }


def _end(s: Station, units: UnitSystem) -> dict[str, Any]:
    return {
        "at": rounded(s.at_m / units.length_m),
        "dig_depth": rounded(s.dig_depth_m / units.depth_m),
        "cover": rounded(s.cover_m / units.depth_m),
        "invert": rounded(s.invert_m / units.length_m),
    }


def _verdict(plan: Plan, units: UnitSystem) -> dict[str, Any]:
    pinch = plan.pinch
    up_m, down_m = float(plan.at_m[pinch.upstream]), float(plan.at_m[pinch.downstream])
    turn = pinch.turns_on
    return {
        "verdict": "yes" if plan.yes else "no",
        "sentence": verdict_sentence(plan, units),
        "fall_available": rounded(pinch.available_m / units.depth_m),
        "fall_needed": rounded(pinch.needed_m / units.depth_m),
        "spare": rounded(pinch.margin_m / units.depth_m),
        "pinch": {
            "upstream": rounded(up_m / units.length_m),
            "downstream": rounded(down_m / units.length_m),
            "limits": list(pinch.limits),
            "turns_on": None
            if turn is None
            else {
                "at": rounded(float(plan.at_m[turn]) / units.length_m),
                "limit": plan.band.hi_why[turn],
            },
        },
        "straight_grade_blocks": plan.straight_blocked,
    }


def verdict_sentence(plan: Plan, units: UnitSystem) -> str:
    """The verdict in one plain sentence with its number."""
    pinch = plan.pinch
    up = units.station_label(float(plan.at_m[pinch.upstream]))
    down = units.station_label(float(plan.at_m[pinch.downstream]))
    if plan.yes:
        if not math.isfinite(pinch.margin_m):
            return "Yes: no limit on depth stands in the way."
        raised = (
            f", with the start raised by {units.depth_text(plan.raised_m)}"
            if plan.raised_m > 1e-9
            else ""
        )
        return f"Yes: {units.depth_text(pinch.margin_m)} of fall to spare{raised}."
    short = units.depth_text(-pinch.margin_m)
    where = f"at {up}" if up == down else f"between {up} and {down}"
    why = f"{pinch.limits[0]} against {pinch.limits[1]}"
    if plan.straight_blocked:
        return (
            f"No: one straight grade is {short} short {where} ({why}). "
            "A line that changes grade on the way would fit."
        )
    return f"No: {short} short {where} ({why})."


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


def _caution(caution: Caution) -> dict[str, str]:
    return {"code": caution.code, "text": caution.text, "source": caution.source}


def _assumption(a: Assumption, units: UnitSystem) -> dict[str, Any]:
    unit_m, name = {
        "length": (units.length_m, units.length_name),
        "depth": (units.depth_m, units.depth_name),
        "percent": (1.0, "%"),
    }[a.quantity]
    return {
        "pointer": a.pointer,
        "value": rounded(a.value / unit_m),
        "unit": name,
        "text": a.text,
        "source": a.source,
    }


WARNINGS: Final = {
    "tape_disagrees": "The line is drawn {drawn_m} long but taped {tape_m}. The tape rules; check "
    "the drawing's scale or the tape.",
    "does_not_close": "The levels miss their closing point by {misclosure_m}; a sound run of this "
    "length misses by {limit_m} at most. Level it again before you dig by it.",
    "lines_disagree": "Line {line} ties to the others at more than one station, and the ties "
    "differ by {gap_m} from their mean. Read those stations again.",
    "beyond_the_route": "There are ground readings out to {at_m}, beyond the end of the route; "
    "they are not used.",
    "fall_step_left_out": "The whole fall could not be rounded up to {fall_m} without breaking a "
    "limit; the exact grade is kept.",
}
DISTANCES: Final = ("drawn_m", "tape_m", "at_m")


def _warning(remark: Remark, units: UnitSystem) -> dict[str, str]:
    words = {
        name: value
        if isinstance(value, str)
        else units.length_text(value)
        if name in DISTANCES
        else units.depth_text(value)
        for name, value in remark.values.items()
    }
    text = WARNINGS[remark.code].format(**words)
    return {"code": remark.code, "pointer": remark.pointer, "text": text}


def gap_error(gap: GroundGap, units: UnitSystem) -> InputError:
    """Ground that is not known, with its stations in the caller's units."""
    places = ", ".join(
        units.station_label(a)
        if a == b
        else f"{units.station_label(a)} to {units.station_label(b)}"
        for a, b in gap.gaps_m
    )
    return InputError.at(
        "/ground",
        f"The ground is not known at {places}: {gap.reason}. Measure it there, or move the "
        "route; no value is made up.",
    )
