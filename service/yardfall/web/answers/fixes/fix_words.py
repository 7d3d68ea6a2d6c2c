"""What a change of a plan is, in a sentence with its price."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from yardfall.core.design import Design, OutletKind
from yardfall.core.easing.site import Site
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.fill import Fill
from yardfall.core.fixes.loosening import QUANTITIES, Change
from yardfall.core.fixes.outward import FINEST
from yardfall.core.hydraulics.manning import SELF_CLEANING_M_S, capacity_full, velocity_full
from yardfall.core.pipes import CATALOGUE
from yardfall.core.units import FOOT_M, UnitSystem, plain_number
from yardfall.sentences import say
from yardfall.sentences.answer.fixes import OUTLETS
from yardfall.web.answers.fill_answer import fill_words
from yardfall.web.answers.water.water_answer import flow_text

LEVEL_DIGITS: Final = {"us": 2, "si": 3}
STICK_M: Final = {"us": 10 * FOOT_M, "si": 3.0}
"""Length of a stick of pipe (common practice, no source)."""


def change_text(
    change: Change,
    before: float | str,
    after: float | str,
    design: Design,
    units: UnitSystem,
    *,
    kind: OutletKind | None = None,
    site: Site | None = None,
    where_m: float | None = None,
    values: Mapping[str, float] | None = None,
    what: str = "",
    fill: Fill | None = None,
) -> str:
    """The sentence of a change to a design: metres, ratios or names go in, rounded outward."""
    parts = {
        "before": value_words(change, before, units),
        "after": value_words(change, after, units, before),
    }
    name: str = change
    match change:
        case "start_cover" | "start_depth":
            name = f"{change}_deeper" if _number(after) > _number(before) else change
        case "start_invert":
            name = f"{change}_deeper" if _number(after) < _number(before) else change
        case "run_out":
            parts["least"] = units.depth_text(values_of(design).thin_cover_m)
            name = "run_out" if _number(before) > 0 else "run_out_first"
        case "min_grade":
            name, more = _flatter(_number(before), _number(after), design, units)
            parts |= more
        case "pipe":
            pipe = CATALOGUE[str(after)]
            parts |= {"before": design.pipe.name, "after": pipe.name}
            parts["grade"] = _percent(pipe.min_grade)
        case "outlet_depth":
            name, more = _lower_end(_number(after), kind or design.outlet.kind, design, site, units)
            parts |= more
        case "outlet_depth_min":
            name = "outlet_shallower"
        case "outlet_kind":
            name = f"kind_{after}"
            parts["before"] = OUTLETS[str(before)]
        case "end_at" if what:
            name = "end_before"
            parts |= {"what": what, "where": units.station_label(where_m or 0.0)}
        case "crossing":
            name = f"crossing_{after}"
            parts["where"] = units.station_label(where_m or 0.0)
        case "grade_changes":
            name = "grade_changes_one" if after == 1 else change
        case "soil_start" | "soil_dip" if fill is not None:
            peak = change == "soil_dip" and fill.full_from_m == fill.full_to_m
            name = "soil_dip_peak" if peak else change
            parts |= fill_words(fill, units)
        case "soil_hump":
            parts |= _taken_off(values or {}, units)
    return say(f"fixes.{name}", **parts)


def _number(value: float | str) -> float:
    return float(value)


def _percent(grade: float) -> str:
    return f"{plain_number(grade * 100, 3)} %"


def _flatter(
    before: float, after: float, design: Design, units: UnitSystem
) -> tuple[str, dict[str, str]]:
    """What a flatter grade costs: what it carries, whether it cleans itself, what belly it allows.

    At grade s a joint of sticks L long may settle s·L, a stick's middle may sag s·L/4.
    """
    pipe, stick_m = design.pipe, STICK_M[units.name]
    size = pipe.inside_m, pipe.n
    cleans = velocity_full(size[0], after, size[1]) >= SELF_CLEANING_M_S
    parts = {
        "carries": flow_text(capacity_full(size[0], after, size[1]), units),
        "carried": flow_text(capacity_full(size[0], before, size[1]), units),
        "stick": units.length_text(stick_m),
        "settles": units.depth_text(after * stick_m, 1),
        "sags": units.depth_text(after * stick_m / 4, 1),
    }
    return "min_grade_cleans" if cleans else "min_grade_silts", parts


def _lower_end(
    after_m: float, kind: OutletKind, design: Design, site: Site | None, units: UnitSystem
) -> tuple[str, dict[str, str]]:
    values = values_of(design)
    if kind != "daylight" or site is None:
        return f"outlet_{kind}", {}
    ditch_m = site.ditch_m(after_m)
    if ditch_m > values.longest_ditch_m * (1 + 1e-9):
        return "outlet_daylight", {}
    step_m = values.length_step_m
    length_m = math.ceil(ditch_m / step_m - 1e-6) * step_m
    name = "outlet_ditch" if site.measured_m >= ditch_m else "outlet_ditch_unmeasured"
    return name, {"length": units.length_text(length_m)}


def _taken_off(values: Mapping[str, float], units: UnitSystem) -> dict[str, str]:
    label, volume = units.station_label, values["volume_m3"] / units.volume_m3
    unit = "cu yd" if units.name == "us" else "m³"
    return {
        "from_at": label(values["from_m"]),
        "peak_at": label(values["peak_m"]),
        "to_at": label(values["to_m"]),
        "width": units.length_text(values["width_m"]),
        "volume": f"{plain_number(max(volume, 0.1), 1)} {unit}",
    }


def value_answer(change: Change, value: float | str, units: UnitSystem) -> float | str:
    """What a change goes from or to, in the caller's units."""
    if isinstance(value, str):
        return value
    match QUANTITIES.get(change, "depth"):
        case "count":
            return int(value)
        case "percent":
            return round(value * 100, FINEST)
        case "depth":
            return round(value / units.depth_m, FINEST)
    return round(value / units.length_m, FINEST)


def value_words(
    change: Change, value: float | str, units: UnitSystem, before: float | str = ""
) -> str:
    """What a change goes from or to, in words; rounded away from what it was `before`."""
    if isinstance(value, str):
        return value
    quantity = QUANTITIES.get(change, "depth")
    if quantity == "count":
        return f"{value:g}"
    if quantity == "percent":
        return _percent(value)
    if change == "end_at":
        return units.station_label(value)
    level = quantity == "level"
    step_m = 10.0 ** -LEVEL_DIGITS[units.name] * units.length_m if level else units.depth_step_m
    if quantity == "length":
        return units.length_text(value)
    if not level and units.is_fine(value):
        return units.fine_text(value)
    if not isinstance(before, str):
        value = _away(value / step_m, before / step_m) * step_m
    if level:
        digits = LEVEL_DIGITS[units.name]
        return f"{plain_number(value / units.length_m, digits)} {units.length_name}"
    return units.depth_text(value)


def _away(steps: float, before: float) -> int:
    """Whole steps that reach as far as some steps do, so that a limit as told works too."""
    return math.ceil(steps - 1e-6) if steps > before else math.floor(steps + 1e-6)
