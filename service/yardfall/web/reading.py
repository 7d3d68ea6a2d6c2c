"""From a checked body in the caller's units to a request in SI. Defaults are told, never silent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from yardfall.core.accuracy import INSTRUMENTS, Accuracy
from yardfall.core.decision import Design, Grading
from yardfall.core.errors import InputError
from yardfall.core.head import MARGIN_M, Opening
from yardfall.core.pipes import Pipe
from yardfall.core.request import (
    BranchRequest,
    PlanRequest,
)
from yardfall.core.trench import (
    DEFAULT_MIN_COVER_M,
    DEFAULT_TAPER_M,
    DIGGERS_M,
    SURFACE_OUTLETS,
    TRENCH_BESIDE_PIPE_M,
    Crossing,
    Limits,
    Outlet,
    Start,
    default_outlet,
)
from yardfall.core.units import FOOT_M, UnitSystem, plain_number
from yardfall.survey import under
from yardfall.web.assumption import COMMON, Assumption
from yardfall.web.fields import BIG
from yardfall.web.pipe_drop import with_pipe_drop
from yardfall.web.pipe_reading import read_pipe
from yardfall.web.quantities_reading import read_supply
from yardfall.web.survey_reading import read_survey
from yardfall.web.water_reading import read_inflows, read_pump, read_storm

USUAL_INSTRUMENTS: Final = {
    "level_line": "line_level",
    "rod": "builders_level",
    "raster": "lidar_ql2",
    "steps": "board_level",
}


@dataclass(frozen=True)
class ReadPlan:
    """A plan request in SI, the units to answer in, and what was assumed; branches likewise."""

    request: PlanRequest
    units: UnitSystem
    rod_unit: str
    assumptions: tuple[Assumption, ...]
    branches: tuple[ReadPlan, ...] = ()


def read_plan(body: dict[str, Any]) -> ReadPlan:
    """The whole plan request. Raises InputError where parts contradict each other."""
    body = with_pipe_drop(body)
    survey, units = read_survey(body)
    assumed: list[Assumption] = []
    pipe = read_pipe(body["pipe"], units)
    limits = _limits(body.get("limits", {}), body["outlet"]["kind"], pipe, units, assumed)
    design = Design(
        pipe,
        _start(body["start"], units),
        _grading(body.get("grade", {}), pipe, units, assumed),
        limits,
        _outlet(body["outlet"], pipe, units, assumed),
        _crossings(body.get("crossings", []), units),
    )
    rod_unit = body["ground"].get("rod_unit", units.rod_unit)
    if survey.every_m is not None and "stations" not in body:
        assumed.append(
            Assumption("/stations/every", survey.every_m, "length", "Station spacing", COMMON)
        )
    head = body.get("head", {"openings": []})
    margin = head.get("margin")
    branches = []
    for i, branch in enumerate(body.get("branches", [])):
        with under(f"/branches/{i}"):
            branches.append(_branch(branch, body, units))
    request = PlanRequest(
        survey,
        design,
        units.tape_step_m,
        _accuracy(body.get("accuracy"), body["ground"]["kind"], units, assumed),
        tuple(
            Opening(o["what"], o["elevation"] * units.length_m, o.get("at", 0.0) * units.length_m)
            for o in head["openings"]
        ),
        head["flow"] * units.flow_m3s if "flow" in head else None,
        MARGIN_M if margin is None else margin * units.depth_m,
        read_inflows(body.get("inflows", []), units, assumed),
        tuple(request for request, _ in branches),
        read_pump(body["pump_leg"], units) if "pump_leg" in body else None,
        read_storm(body["dry_well"], units) if "dry_well" in body else None,
        supply=read_supply(body, units),
        explain=body.get("explain", True),
    )
    return ReadPlan(request, units, rod_unit, tuple(assumed), tuple(read for _, read in branches))


SAME_WIDTH_M: Final = 1e-6
"""A trench so much narrower than its pipe is as wide: numbers are told to a millionth."""
OWN_LEVELS: Final = ("level_line", "slopes", "steps", "length_and_drop")
"""Kinds of ground that count from a level of their own."""


def _branch(
    body: dict[str, Any], main: dict[str, Any], units: UnitSystem
) -> tuple[BranchRequest, ReadPlan]:
    """A branch is a plan that ends in the line it joins; limits left out are the main's."""
    limits = {"outlet_taper": 0.0, **main.get("limits", {}), **body.get("limits", {})}
    if "outlet_taper" not in body.get("limits", {}):
        limits["outlet_taper"] = 0.0
    whole: dict[str, Any] = {
        "units": main["units"],
        "outlet": {"kind": "tie_in", "invert": {"min": -BIG}},
        **{k: v for k, v in main.items() if k in ("accuracy", "explain", "supply", "prices")},
        **{k: v for k, v in body.items() if k not in ("name", "joins_at", "drop")},
        "limits": limits,
    }
    read = read_plan(whole)
    drop = body.get("drop")
    request = BranchRequest(
        body["name"],
        body["joins_at"] * units.length_m,
        None if drop is None else drop * units.depth_m,
        read.request,
        body["ground"]["kind"] in OWN_LEVELS,
    )
    return request, read


def _start(body: dict[str, Any], units: UnitSystem) -> Start:
    shallowest = body.get("shallowest_cover")
    shallowest_m = None if shallowest is None else shallowest * units.depth_m
    if "invert" in body:
        return Start("invert", body["invert"] * units.length_m, shallowest_m)
    by = "cover" if "cover" in body else "depth"
    if by == "cover" and shallowest is not None and shallowest > body["cover"]:
        raise InputError.at(
            "/start/shallowest_cover",
            "The shallowest cover cannot be more than the cover the pipe starts with.",
        )
    return Start(by, body[by] * units.depth_m, shallowest_m)  # type: ignore[arg-type]


def _grading(
    body: dict[str, Any], pipe: Pipe, units: UnitSystem, assumed: list[Assumption]
) -> Grading:
    if "min_percent" in body:
        least = body["min_percent"] / 100
    else:
        least = pipe.min_grade
        assumed.append(
            Assumption(
                "/grade/min_percent",
                least * 100,
                "percent",
                "Least grade of this pipe",
                pipe.source.rsplit("; ", 1)[-1],
            )
        )
    greatest = body["max_percent"] / 100 if "max_percent" in body else np.inf
    if greatest < least:
        raise InputError.at(
            "/grade/max_percent",
            f"The greatest grade cannot be less than the least grade, {least * 100:g} %.",
        )
    step = body.get("fall_step")
    return Grading(
        least,
        greatest,
        body.get("shape", "straight"),
        body.get("max_breaks", 2),
        None if step is None else step * units.depth_m,
        body.get("aim", "least_fall"),
    )


def _limits(
    body: dict[str, Any],
    outlet_kind: str,
    pipe: Pipe,
    units: UnitSystem,
    assumed: list[Assumption],
) -> Limits:
    cover = body.get("min_cover")
    if cover is None:
        assumed.append(
            Assumption(
                "/limits/min_cover", DEFAULT_MIN_COVER_M, "depth", "Least cover under lawn", COMMON
            )
        )
    taper = body.get("outlet_taper")
    taper_m = DEFAULT_TAPER_M if outlet_kind in SURFACE_OUTLETS else 0.0
    if taper is None and taper_m:
        assumed.append(
            Assumption(
                "/limits/outlet_taper",
                taper_m,
                "length",
                "Length before the outlet on which the cover may run out",
                COMMON,
            )
        )
    depth, digger = body.get("max_depth"), body.get("dig_by")
    deepest_m = None if depth is None else depth * units.depth_m
    if depth is None and digger is not None:
        deepest_m = DIGGERS_M[digger]
        words = f"Greatest depth, {digger.replace('_', ' ')}"
        assumed.append(Assumption("/limits/max_depth", deepest_m, "depth", words, COMMON))
    width = body.get("trench_width")
    width_m = pipe.outside_m + TRENCH_BESIDE_PIPE_M if width is None else width * units.depth_m
    if width is None:
        words = "Trench width: the pipe and 2 in (51 mm)"
        assumed.append(Assumption("/limits/trench_width", width_m, "depth", words, COMMON))
    if width_m < pipe.outside_m - SAME_WIDTH_M:
        outside = plain_number(pipe.outside_m / units.depth_m, 6)
        raise InputError.at(
            "/limits/trench_width",
            f"The pipe does not go into this trench: it is {outside} {units.depth_name} across "
            "outside, and the trench is so wide at least.",
        )
    return Limits(
        DEFAULT_MIN_COVER_M if cover is None else cover * units.depth_m,
        deepest_m,
        taper_m if taper is None else taper * units.length_m,
        body.get("bedding", 0.0) * units.depth_m,
        width_m,
        taper is None,
    )


def _crossings(body: list[dict[str, Any]], units: UnitSystem) -> tuple[Crossing, ...]:
    return tuple(
        Crossing(
            c["at"] * units.length_m,
            c["what"],
            c["top_depth"] * units.depth_m,
            c["size"] * units.depth_m,
            c["clearance"] * units.depth_m,
            c["pass_"],
        )
        for c in body
    )


def _accuracy(
    body: dict[str, Any] | None,
    ground_kind: str,
    units: UnitSystem,
    assumed: list[Assumption],
) -> Accuracy | None:
    """What the caller says, else the usual instrument of the kind; None where there is none."""
    if body is not None and "sigma" in body:
        return Accuracy(
            sigma_m=body["sigma"] * units.depth_m,
            common_m=body.get("common", 0.0) * units.depth_m,
        )
    if body is not None:
        return Accuracy(INSTRUMENTS[body["instrument"]])
    usual = USUAL_INSTRUMENTS.get(ground_kind)
    if usual is None:
        return None
    instrument = INSTRUMENTS[usual]
    words = f"Accuracy of the ground: {instrument.label}"
    if instrument.per_m:
        words += (
            f", for every {instrument.per_m / FOOT_M:.0f} ft ({instrument.per_m:.1f} m) of reach"
        )
    assumed.append(Assumption("/accuracy", instrument.error_m, "depth", words, instrument.source))
    return Accuracy(instrument)


def _outlet(
    body: dict[str, Any], pipe: Pipe, units: UnitSystem, assumed: list[Assumption]
) -> Outlet:
    kind = body["kind"]
    if "depth" in body and "invert" in body:
        raise InputError.at("/outlet/invert", "Give the outlet's depth or its invert, not both.")
    if "depth" not in body and "invert" not in body:
        outlet = default_outlet(kind, pipe.outside_m)
        if outlet is None:
            raise InputError.at(
                "/outlet",
                "This outlet stands at a level of its own: measure it, and give the outlet's "
                "invert (an elevation) or depth.",
            )
        for key, value in (("min", outlet.least_m), ("max", outlet.most_m)):
            if np.isfinite(value):
                assumed.append(
                    Assumption(
                        f"/outlet/depth/{key}",
                        value,
                        "depth",
                        f"{'Least' if key == 'min' else 'Greatest'} depth of the trench at the "
                        "outlet",
                        COMMON,
                    )
                )
        return outlet
    by = "depth" if "depth" in body else "invert"
    unit_m = units.depth_m if by == "depth" else units.length_m
    span = {key: value * unit_m for key, value in body[by].items()}
    if not span.keys() & {"min", "max"}:
        raise InputError.at(f"/outlet/{by}", "Give min, max or both.")
    if span.get("min", -np.inf) > span.get("max", np.inf):
        raise InputError.at(f"/outlet/{by}/min", "The least cannot be more than the greatest.")
    if "prefer" in span and not span.get("min", -np.inf) <= span["prefer"] <= span.get(
        "max", np.inf
    ):
        raise InputError.at(f"/outlet/{by}/prefer", "What is preferred must lie from min to max.")
    return Outlet(kind, by, span.get("min", -np.inf), span.get("max", np.inf), span.get("prefer"))  # type: ignore[arg-type]
