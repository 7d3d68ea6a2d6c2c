"""Ground known by its drop alone: what is told of it, and what is left out of its answer."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.fixes.to_measure import MOST_OFF_M
from yardfall.core.ground.even_slope import ToMeasure
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.openapi.numbers import rounded

TAKEN: Final = ("even_slope_taken", "even_slopes_taken", "ground_not_known")
"""Codes of the warnings that say so."""


def to_measure_answer(plan: Plan, units: UnitSystem) -> list[dict[str, Any]]:
    """The places to measure next, in order of the run."""
    return [
        {
            "at": rounded(one.at_m / units.length_m),
            "label": units.station_label(one.at_m),
            "rise": None if one.rise_m is None else rounded(one.rise_m / units.depth_m),
            "dip": None if one.dip_m is None else rounded(one.dip_m / units.depth_m),
            "first": one.first,
            "text": measure_sentence(one, units, known=plan.ground.known),
        }
        for one in plan.works.to_measure
    ]


def measure_sentence(one: ToMeasure, units: UnitSystem, *, known: bool) -> str:
    """What a place is to be measured for, in words."""
    station = units.station_label(one.at_m)
    if not one.fits:
        return say(
            "even_slope.measure.no" if known else "even_slope.measure.not_known", station=station
        )
    step_m = units.tape_step_m
    told = {
        name: f"{units.tape_text(round(value_m / step_m) * step_m)} {units.depth_name}"
        for name, value_m in (("rise", one.rise_m), ("dip", one.dip_m))
        if value_m is not None
    }
    if not told:
        return say("even_slope.measure.neither", station=station, most=units.depth_text(MOST_OFF_M))
    which = "rise_and_dip" if len(told) > 1 else "rise" if "rise" in told else "dip"
    return say(f"even_slope.measure.{which}", station=station, **told)


def even_slope_condition(plan: Plan, units: UnitSystem) -> dict[str, Any] | None:
    """What the answer takes for granted of ground that nobody measured: over which stretch, in
    words. None where the ground was measured."""
    taken = next((r for r in plan.warnings if r.code in TAKEN), None)
    if taken is None:
        return None
    return {
        "pointer": taken.pointer,
        "from_at": rounded(float(taken.values["from_station_m"]) / units.length_m),
        "to_at": rounded(float(taken.values["to_station_m"]) / units.length_m),
        "text": warning_answer(taken, units)["text"],
    }


def without_ground(answer: dict[str, Any]) -> dict[str, Any]:
    """The answer for one line with null for all that is measured from the ground."""
    ends = {name: answer[name] | {"dig_depth": None, "cover": None} for name in ("start", "outlet")}
    stations = [
        station
        | {"ground": None, "dig_depth": None, "cover": None}
        | {"source": "not known", "marks": dict.fromkeys(station["marks"])}
        for station in answer["stations"]
    ]
    verdict = answer["answer"]
    fixes = [fix | {"trench_area": None} for fix in verdict["fixes"]]
    return answer | {
        "ground_known": False,
        "stations": stations,
        "profile": answer["profile"] | {"ground": []},
        "covers": [cover | {"least": None} for cover in answer["covers"]],
        **ends,
        "answer": verdict | {"fixes": fixes},
        "trench": answer["trench"] | {"volume": None},
        "marks": answer["marks"] | {"worst_percent": None, "notes": []},
        "assumptions": [a for a in answer["assumptions"] if a["pointer"] != "/limits/trench_width"],
    }
