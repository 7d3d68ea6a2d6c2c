"""The answer's verdict in the caller's units and in plain sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from yardfall.core.chance.chance import Chance
from yardfall.core.design import LEAST_COVER
from yardfall.core.fixes.fixes import MOST_BREAKS
from yardfall.core.grading.decision import Decision
from yardfall.core.hydraulics.backwater import Backwater
from yardfall.core.hydraulics.hydraulic_grade_line import StandingWater
from yardfall.core.outlet_levels import no_outlet
from yardfall.core.plan import Plan
from yardfall.core.uncertainty.lawns import BROKEN, STRAIGHT, Lawn
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.sentences.answer.limits import limit_words
from yardfall.web.answers.condition_answer import condition_answer, conditions_said
from yardfall.web.answers.fixes.fix_answer import fixes_answer
from yardfall.web.answers.said_condition import Said
from yardfall.web.openapi.numbers import percent_words, rounded

TURNS: Final = ("turn_cover", "turn_under")
NUMBERS: Final = ("one", "two", "three")
RAISED_M: Final = 1e-9
JUST_M: Final = 5e-4
"""Less to spare is told as none."""


def verdict_answer(
    plan: Plan,
    units: UnitSystem,
    inlets: Sequence[StandingWater] = (),
    backwater: Backwater | None = None,
    body: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """The `answer` part of a plan; its water at the inlets and the outlet, where any is known.

    `body` is the request as it was read.
    """
    decision, pinch = plan.judged.decision, plan.judged.decision.pinch
    at_m = plan.judged.points.at_m
    up_m, down_m = float(at_m[pinch.upstream]), float(at_m[pinch.downstream])
    turn = pinch.turns_on
    conditions = conditions_said(plan, inlets, units, backwater)
    return {
        "verdict": plan.verdict,
        "overall": overall_of(plan.verdict, conditions, soaks=not no_outlet(plan)),
        "sentence": verdict_sentence(plan, conditions, units),
        "conditions": [condition_answer(said, units) for said in conditions],
        "fall_available": rounded(pinch.available_m / units.depth_m),
        "fall_needed": rounded(pinch.needed_m / units.depth_m),
        "spare": rounded(decision.margin_m / units.depth_m),
        "pinch": {
            "upstream": rounded(up_m / units.length_m),
            "downstream": rounded(down_m / units.length_m),
            "limits": list(pinch.limits),
            "turns_on": None
            if turn is None
            else {
                "at": rounded(float(at_m[turn]) / units.length_m),
                "limit": decision.band.hi_why[turn],
            },
        },
        "shape_blocks": decision.blocked_by_shape,
        "explained": plan.explained,
        "chance": None if plan.chance is None else rounded(plan.chance.chance),
        "chance_sentence": chance_sentence(plan.chance, units),
        "spare_error": None
        if plan.chance is None
        else rounded(plan.chance.spare_sigma_m / units.depth_m),
        "reading_error": None
        if plan.chance is None
        else rounded(plan.chance.model.typical_m / units.depth_m),
        **fixes_answer(plan, units, body),
        "retake": [
            {
                "pointer": r.pointer,
                "at": rounded(r.at_m / units.length_m),
                "label": units.station_label(r.at_m),
                "share": rounded(r.share),
                "chance_if_certain": rounded(r.chance_if_certain),
            }
            for r in (plan.chance.retakes if plan.chance else ())
        ],
    }


def overall_of(verdict: str, conditions: Sequence[Said], *, soaks: bool = True) -> str:
    """Fall, conditions, water and outlet as one: yes, conditional, too_close or no.

    Not `soaks`: it ends in a dry well that never empties.
    """
    if not soaks:
        return "no"
    return "conditional" if verdict == "yes" and conditions else verdict


def verdict_sentence(plan: Plan, conditions: Sequence[Said], units: UnitSystem) -> str:
    """The whole answer in a few plain words: the verdict with its number, and what it rests on."""
    decision = plan.judged.decision
    parts = {"amount": units.amount_text(abs(decision.margin_m))} if _finite(decision) else {}
    raised_m = plan.decision.raised_m
    raised = decision.yes and raised_m > RAISED_M
    if raised:
        parts["raised"] = units.depth_text(raised_m)
    if plan.verdict != "no" and no_outlet(plan):
        return say("verdict.no_soaks")
    if plan.verdict != "yes" and decision.yes and "amount" not in parts:
        by_errors = plan.verdict == "no"
        return say("verdict.no_by_errors_open" if by_errors else "verdict.too_close_open")
    if plan.verdict == "too_close":
        name = (
            "too_close_no"
            if not decision.yes
            else "too_close_raised"
            if raised
            else "too_close_yes"
        )
        return say(f"verdict.{name}", **parts)
    if plan.verdict == "yes":
        just = decision.margin_m < JUST_M
        return _yes(conditions, parts, raised=raised, just=just)
    if decision.yes:
        return say("verdict.no_by_errors", **parts)
    return no_sentence(plan, units)


def _finite(decision: Decision) -> bool:
    return math.isfinite(decision.margin_m)


def _yes(conditions: Sequence[Said], parts: dict[str, str], *, raised: bool, just: bool) -> str:
    open_end = "" if "amount" in parts else "_open"
    clauses = [said.clause for said in conditions if said.clause is not None]
    beyond_the_fall = [said.text for said in conditions if said.clause is None]
    if beyond_the_fall:
        first = say(f"verdict.falls_but{open_end}", **parts)
        texts = [said.text for said in conditions if said.clause is not None]
        return " ".join([first, *beyond_the_fall, *texts])
    if not clauses:
        how = open_end or ("_raised" if raised else "_just" if just else "")
        return say(f"verdict.yes{how}", **parts)
    if open_end:
        return say("verdict.yes_open_if", one=clauses[0])
    if len(clauses) > len(NUMBERS):
        return say("verdict.yes_if_many", count=str(len(clauses)), **parts)
    named = dict(zip(NUMBERS, clauses, strict=False))
    return say(f"verdict.yes_if_{len(clauses)}", **named, **parts)


def no_sentence(plan: Plan, units: UnitSystem) -> str:
    """What would be wrong and by how much, then what makes it so."""
    decision, pinch = plan.judged.decision, plan.judged.decision.pinch
    at_m, band = plan.judged.points.at_m, decision.band
    upper, lower = pinch.limits
    parts = {
        "amount": units.amount_text(abs(decision.margin_m)),
        "needed": units.depth_text(pinch.needed_m),
        "available": units.depth_text(pinch.available_m),
        "up": units.station_label(float(at_m[pinch.upstream])),
        "down": units.station_label(float(at_m[pinch.downstream])),
        "what": limit_words(lower),
        "limit": limit_words(upper),
    }
    if pinch.steep:
        said = [say("verdict.no.steep", **parts), say("verdict.why.steep", **parts)]
    else:
        said = [say(f"verdict.no.{_effect(lower)}", **parts)]
        if pinch.turns_on is None:
            here = pinch.upstream == pinch.downstream
            said.append(say(f"verdict.why.{_cause(upper, here=here)}", **parts))
        else:
            limit = band.hi_why[pinch.turns_on]
            turn = units.station_label(float(at_m[pinch.turns_on]))
            name = f"turn_{_cause(limit, here=False)}"
            name = name if name in TURNS else "turn_other"
            said.append(say(f"verdict.why.{name}", turn=turn, limit=limit_words(limit)))
    if decision.blocked_by_shape:
        said.append(say(f"verdict.{_better_shape(plan)}"))
    return " ".join(said)


def _better_shape(plan: Plan) -> str:
    """What a line that fits would do otherwise; the grade changes at stations alone."""
    design, breaks = plan.judged.design, plan.judged.design.grading.max_breaks
    if design.straight:
        return "more_changes_straight"
    if breaks >= len(plan.points.changes_at):
        return "more_stations"
    return "more_changes" if breaks < MOST_BREAKS else "more_changes_or_stations"


def _effect(lower: str) -> str:
    """What a lower limit that is not kept comes to."""
    for start, name in (("outlet", "outlet"), ("greatest", "depth"), ("over ", "over")):
        if lower.startswith(start):
            return name
    return "start" if lower.startswith("start") else "other"


def _cause(upper: str, *, here: bool) -> str:
    """What an upper limit is, that keeps the pipe down."""
    if upper == LEAST_COVER:
        return "cover_here" if here else "cover"
    if here:
        return "other"
    names = (
        ("start", "start"),
        ("cover under", "cover_under"),
        ("under ", "under"),
        ("branch", "branch"),
        ("ground", "surface"),
    )
    return next((name for start, name in names if upper.startswith(start)), "other")


def chance_sentence(chance: Chance | None, units: UnitSystem) -> str | None:
    """How sure the answer is, and what that stands on."""
    if chance is None:
        return None
    model, seen = chance.model, chance.model.seen
    if model.adds_up:
        words, fall = percent_words(chance.chance), units.depth_text(model.whole_fall_m)
        return say("even_slope.chance.adds_up", chance=words, label=model.label, fall=fall)
    parts = {
        "chance": percent_words(chance.chance),
        "tool": model.label,
        "lawn": say(f"chance.lawn.{lawn_name(() if seen is None else seen.lawns)}"),
        "fall": units.depth_text(math.sqrt(2) * model.typical_m),
        "cell": units.depth_text(model.typical_m),
    }
    if seen is not None and seen.by_hand:
        said = [say("chance.pinned", **parts)]
    else:
        said = [say("chance.cells" if model.of_cells else "chance.readings", **parts)]
    if model.common_m > 0:
        said.append(say("chance.common", common=units.depth_text(model.common_m)))
    return " ".join(said)


def lawn_name(lawns: Sequence[Lawn]) -> str:
    """The lawn's name; `any` where it is not known which, `straight` for none."""
    names = [*dict.fromkeys(lawn.name for lawn in lawns if lawn is not BROKEN)] or [STRAIGHT]
    return names[0] if len(names) == 1 else "any"
