"""From a checked body in the caller's units to a request in SI. Defaults are told, never silent."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np

from yardfall.core.design import Crossing, Design, Grading, Start
from yardfall.core.errors import InputError, under
from yardfall.core.hydraulics.backwater import Tailwater
from yardfall.core.hydraulics.head import MARGIN_M, Opening
from yardfall.core.pipes import Pipe
from yardfall.core.request import (
    BranchRequest,
    CellGround,
    PlanRequest,
    SurveyRequest,
)
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.instruments import INSTRUMENTS, Instrument
from yardfall.core.uncertainty.lawns import LAWNS, ROUGHNESS_SOURCE, STRAIGHT
from yardfall.core.uncertainty.lidar import LIDARS
from yardfall.core.units import FOOT_M, UnitSystem
from yardfall.sentences import say
from yardfall.web.openapi.fields import BIG
from yardfall.web.parse.assumption import COMMON, Assumption
from yardfall.web.parse.parse_limits import read_limits, read_open, read_outlet
from yardfall.web.parse.parse_pipe import read_pipe
from yardfall.web.parse.parse_quantities import read_supply
from yardfall.web.parse.parse_survey import USUAL_RASTER, USUAL_READ_WITH, read_survey
from yardfall.web.parse.parse_water import read_inflows, read_pump, read_storm
from yardfall.web.parse.pipe_drop import with_pipe_drop

USUAL_INSTRUMENTS: Final = {
    "level_line": "line_level",
    "rod": "builders_level",
    "raster": USUAL_RASTER,
    "steps": "board_level",
}


@dataclass(frozen=True)
class ReadPlan:
    """A plan request in SI, the units to answer in, and what was assumed; branches likewise.

    `body` is the request it was read from.
    """

    request: PlanRequest
    units: UnitSystem
    rod_unit: str
    assumptions: tuple[Assumption, ...]
    branches: tuple[ReadPlan, ...] = ()
    body: dict[str, Any] = field(default_factory=dict)


def read_plan(body: dict[str, Any]) -> ReadPlan:
    """The whole plan request. Raises InputError where parts contradict each other."""
    body = with_pipe_drop(body)
    survey, units = read_survey(body)
    assumed: list[Assumption] = []
    pipe = read_pipe(body["pipe"], units)
    limits = read_limits(body, pipe, units, assumed)
    design = Design(
        pipe,
        _start(body["start"], units),
        _grading(body.get("grade", {}), pipe, units, assumed),
        limits,
        read_outlet(body["outlet"], pipe, units),
        _crossings(body.get("crossings", []), units),
        open=read_open(body, units),
    )
    rod_unit = body["ground"].get("rod_unit", units.rod_unit)
    if survey.every_m is not None and "stations" not in body:
        assumed.append(
            Assumption(
                "/stations/every",
                survey.every_m,
                "length",
                say("assumptions.station_spacing"),
                COMMON,
            )
        )
    accuracy = _accuracy(body.get("accuracy"), body["ground"]["kind"], units, assumed)
    survey = _pinned(survey, accuracy, body, assumed)
    head = body.get("head", {"openings": []})
    margin = head.get("margin")
    branches = []
    for i, branch in enumerate(body.get("branches", [])):
        with under(f"/branches/{i}"):
            branches.append(_branch(branch, body, units))
    request = PlanRequest(
        survey,
        design,
        units.divisions(rod_unit),
        accuracy,
        tuple(
            Opening(o["what"], o["elevation"] * units.length_m, o.get("at", 0.0) * units.length_m)
            for o in head["openings"]
        ),
        head["flow"] * units.flow_m3s if "flow" in head else None,
        MARGIN_M if margin is None else margin * units.depth_m,
        read_inflows(body.get("inflows", []), units, assumed),
        tuple(request for request, _ in branches),
        read_pump(body["pump_leg"], units) if "pump_leg" in body else None,
        read_storm(body["dry_well"], units, assumed) if "dry_well" in body else None,
        supply=read_supply(body, units),
        explain=body.get("explain", True),
        tailwater=_tailwater(body["outlet"], units),
    )
    below = tuple(read for _, read in branches)
    return ReadPlan(request, units, rod_unit, tuple(assumed), below, body)


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
                say("assumptions.min_grade"),
                pipe.source.rsplit("; ", 1)[-1],
            )
        )
    greatest = body["max_percent"] / 100 if "max_percent" in body else np.inf
    if greatest < least:
        raise InputError.at(
            "/grade/max_percent",
            f"The maximum grade cannot be less than the minimum grade, {least * 100:g} %.",
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


def _crossings(body: list[dict[str, Any]], units: UnitSystem) -> tuple[Crossing, ...]:
    return tuple(
        Crossing(
            c["at"] * units.length_m,
            c["what"],
            c["top_depth"] * units.depth_m,
            c["size"] * units.depth_m,
            c["clearance"] * units.depth_m,
            c["pass_"],
            c.get("exposed", False),
        )
        for c in body
    )


def _accuracy(
    body: dict[str, Any] | None,
    ground_kind: str,
    units: UnitSystem,
    assumed: list[Assumption],
) -> Accuracy | None:
    """What the caller says, else what is usual of the kind; None where nothing is."""
    said = body or {}
    found = _how_read(said, ground_kind, units, assumed)
    if found is None and "lawn" in said:
        found = Accuracy(sigma_m=0.0)
    if found is None or said.get("lawn") == STRAIGHT:
        return found
    if "lawn" in said:
        return replace(found, lawns=(LAWNS[said["lawn"]],))
    if found.certain or ground_kind == "length_and_drop":  # there it is a condition that it is even
        return found
    usual = LAWNS["ordinary"]
    words = say("chance.lawn_assumed")
    assumed.append(Assumption("/accuracy/lawn", usual.middle_m, "depth", words, ROUGHNESS_SOURCE))
    return replace(found, lawns=tuple(LAWNS.values()))


def _how_read(
    body: dict[str, Any], ground_kind: str, units: UnitSystem, assumed: list[Assumption]
) -> Accuracy | None:
    if "sigma" in body:
        return Accuracy(
            sigma_m=body["sigma"] * units.depth_m,
            common_m=body.get("common", 0.0) * units.depth_m,
        )
    if "instrument" in body:
        return Accuracy(INSTRUMENTS[body["instrument"]])
    if "lidar" in body and ground_kind in ("raster", "source"):
        return Accuracy(INSTRUMENTS["lidar_ql2"], lidar=LIDARS[body["lidar"]])
    usual = USUAL_INSTRUMENTS.get(ground_kind)
    if usual is None:
        return None
    instrument = INSTRUMENTS[usual]
    assumed.append(_taken("/accuracy", instrument, "accuracy"))
    return Accuracy(instrument)


@lru_cache(maxsize=64)
def _taken(pointer: str, instrument: Instrument, name: str) -> Assumption:
    """That readings are as good as such an instrument's usually are."""
    words = say(f"assumptions.{name}", instrument=instrument.label)
    if instrument.per_m:
        feet, metres = f"{instrument.per_m / FOOT_M:.0f}", f"{instrument.per_m:.1f}"
        named = instrument.label
        words = say(f"assumptions.{name}_reach", instrument=named, feet=feet, metres=metres)
    return Assumption(pointer, instrument.error_m, "depth", words, instrument.source)


def _pinned(
    survey: SurveyRequest,
    raster: Accuracy | None,
    body: dict[str, Any],
    assumed: list[Assumption],
) -> SurveyRequest:
    """Hand readings over a raster or a source that is known so well."""
    spec = survey.ground
    if not isinstance(spec, CellGround) or spec.hand is None:
        return survey
    if raster is None or (raster.sigma_m == 0 and "sigma" not in body["accuracy"]):
        raise InputError.at("/accuracy", say("sources.readings_accuracy"))
    if raster.certain:
        raise InputError.at("/ground/readings", say("sources.readings_certain"))
    if "read_with" not in body["ground"]:
        usual = INSTRUMENTS[USUAL_READ_WITH]
        assumed.append(_taken("/ground/read_with", usual, "read_with"))
    return replace(survey, ground=replace(spec, hand=replace(spec.hand, raster=raster)))


def _tailwater(body: dict[str, Any], units: UnitSystem) -> Tailwater | None:
    """The highest water where the pipe ends, where it is told."""
    water = body.get("water_level")
    if water is None:
        return None
    if "elevation" in water:
        return Tailwater("elevation", water["elevation"] * units.length_m)
    return Tailwater("depth", water["depth"] * units.depth_m)
