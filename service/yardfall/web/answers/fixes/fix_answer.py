"""What would mend a "no", in the caller's units and in sentences."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.fixes.fixes import Fix, is_much
from yardfall.core.fixes.loosening import Change
from yardfall.core.fixes.nearest import Nearest
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.web.answers.fixes.fix_patch import Patch, merged, patch_of
from yardfall.web.answers.fixes.fix_words import change_text, value_answer
from yardfall.web.answers.water.water_answer import flow_text
from yardfall.web.openapi.numbers import percent_words, rounded
from yardfall.web.parse.pipe_drop import is_pipe_drop

POINTERS: Final[dict[Change, str]] = {
    "start_cover": "/start/cover",
    "start_depth": "/start/depth",
    "start_invert": "/start/invert",
    "min_cover": "/limits/min_cover",
    "run_out": "/limits/outlet_taper",
    "max_depth": "/limits/max_depth",
    "min_grade": "/grade/min_percent",
    "max_grade": "/grade/max_percent",
    "outlet_depth": "/outlet/depth/max",
    "outlet_depth_min": "/outlet/depth/min",
    "outlet_invert": "/outlet/invert/min",
    "outlet_invert_max": "/outlet/invert/max",
    "pipe": "/pipe/code",
    "outlet_kind": "/outlet/kind",
    "end_at": "/route/length",
    "crossing": "/crossings",
    "grade_changes": "/grade/max_breaks",
    "soil_start": "/fills",
    "soil_dip": "/fills",
    "soil_hump": "/ground",
}


def fixes_answer(plan: Plan, units: UnitSystem, body: dict[str, Any] | None) -> dict[str, Any]:
    """`fixes`, `fix_pair` and `advice`; `body` is the request as it was read, None: not known.

    A hump to take off is advice: a reading is of the ground as it lies, so no patch may put what is
    not yet dug into it. Any other change that no request could say is left out.
    """
    fixes, advice = [], []
    for fix in plan.fixes:
        patch = None if body is None else patch_of(fix, plan, body, units)
        if fix.ground_m is not None:
            advice.append(_advised(fix.change, _text(fix, plan, units)))
        elif patch is not None or body is None:
            fixes.append(fix_answer(fix, plan, units, patch))
    if body is not None and is_pipe_drop(body["ground"]):
        return {"fixes": fixes, "fix_pair": None, "advice": []}  # no ground to dig or pump over
    return {
        "fixes": fixes,
        "fix_pair": None if plan.pair is None else _pair(plan.pair, plan, units, body),
        "advice": [*_one_more(plan, units), *advice, *_advice(plan, units)],
    }


def _pair(
    pair: tuple[Fix, Fix], plan: Plan, units: UnitSystem, body: dict[str, Any] | None
) -> list[dict[str, Any]]:
    """Two fixes that only work together: both hold the patch of both."""
    patch: Patch | None = None
    if body is not None:
        one, two = (patch_of(fix, plan, body, units) or {} for fix in pair)
        patch = merged(one, two)
    return [fix_answer(fix, plan, units, patch) for fix in pair]


def fix_answer(fix: Fix, plan: Plan, units: UnitSystem, patch: Patch | None) -> dict[str, Any]:
    """One change: from, to, what is spare after it, what it costs, and a sentence."""
    on_line = fix.change == "end_at" and plan.route.xy is not None
    return {
        "change": fix.change,
        "pointer": "/route/line" if on_line else POINTERS[fix.change],
        "from": value_answer(fix.change, fix.before, units),
        "to": value_answer(fix.change, fix.after, units),
        "at": None if fix.where_m is None else rounded(fix.where_m / units.length_m),
        "spare_after": rounded(fix.spare_m / units.depth_m),
        "trench_area": rounded(fix.area_m2 / units.area_m2),
        "text": _text(fix, plan, units),
        "patch": patch,
    }


def _text(fix: Fix, plan: Plan, units: UnitSystem) -> str:
    how = {"kind": fix.asked.outlet.kind, "where_m": fix.where_m, "values": fix.values}
    text = _change_text(fix, plan, units, **how, what=fix.what, fill=fix.fill)
    text = say("fixes.end_in_hollow", fix=text) if fix.hollow else text
    return say("fixes.much", fix=text) if is_much(fix) else text


def _nearest_text(nearest: Nearest, plan: Plan, units: UnitSystem) -> str:
    text = _change_text(nearest, plan, units, kind=plan.design.outlet.kind)
    return say("fixes.nearest", fix=text, short=units.depth_text(nearest.short_m))


def _change_text(one: Fix | Nearest, plan: Plan, units: UnitSystem, **how: Any) -> str:
    before, after = one.before, one.after
    return change_text(one.change, before, after, plan.asked, units, site=plan.eased.site, **how)


def _one_more(plan: Plan, units: UnitSystem) -> list[dict[str, Any]]:
    """Where to read the ground as well, if that would settle most."""
    if plan.one_more is None or plan.chance is None:
        return []
    at_m, chance = plan.one_more.at_m, plan.one_more.chance
    rises = chance > plan.chance.chance
    text = say(
        f"fixes.one_more_reading{'' if rises else '_less'}",
        at=units.station_label(at_m),
        now=percent_words(plan.chance.chance),
        then=percent_words(chance),
    )
    named = {"at": rounded(at_m / units.length_m), "chance": rounded(chance)}
    return [_advised("one_more_reading", text) | named]


def _advised(code: str, text: str) -> dict[str, Any]:
    return {"code": code, "text": text, "at": None, "chance": None}


def _advice(plan: Plan, units: UnitSystem) -> list[dict[str, Any]]:
    """What no second run can prove: going on over ground that was not measured, and a pump.

    No pump where the ground falls too much for the pipe.
    """
    found = []
    if plan.nearest is not None:
        found.append(_advised("nearest", _nearest_text(plan.nearest, plan, units)))
    if plan.further_m is not None:
        length = units.length_text(plan.further_m)
        found.append(_advised("carry_on", say("fixes.carry_on", length=length)))
    if plan.explained and plan.verdict == "no" and not plan.judged.decision.pinch.steep:
        lift_m = float(plan.points.ground_m.max() - plan.decision.invert_m[0])
        lift = units.length_text(round(lift_m / units.length_m, 1) * units.length_m)
        flow_m3s = (
            0.0
            if plan.works.water is None
            else max(r.ruling.state.flow_m3s for r in plan.works.water.runs)
        )
        name = "pump" if flow_m3s > 0 else "pump_unknown"
        rate = flow_text(flow_m3s, units)
        found.append(_advised("pump", say(f"fixes.{name}", lift=lift, rate=rate)))
    return found
