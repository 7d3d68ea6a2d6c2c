"""Route, ground and stations from a checked body in the caller's units."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

import numpy as np

from yardfall.core.errors import InputError, under
from yardfall.core.ground.even_slope import Hump
from yardfall.core.ground.level_book import Shot
from yardfall.core.ground.level_line import LineReading
from yardfall.core.ground.profile import SlopeRun
from yardfall.core.ground.steps import Step
from yardfall.core.request import (
    ElevationGround,
    GroundSpec,
    LengthAndDropGround,
    LevelBookGround,
    LevelLineGround,
    RasterGround,
    RouteSpec,
    SlopeGround,
    SourceGround,
    SpotGround,
    StepGround,
    SurveyRequest,
)
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.lawns import LAWNS
from yardfall.core.uncertainty.pinned import HandReadings
from yardfall.core.units import FOOT_M, ROD_UNITS_M, SYSTEMS, UnitSystem

SPARSE_GROUNDS: Final = ("raster", "source", "spots", "slopes", "length_and_drop")
USUAL_READ_WITH: Final = "line_level"
USUAL_RASTER: Final = "lidar_ql2"
DEFAULT_SPACING_M: Final = {"us": 10 * FOOT_M, "si": 3.0}


def read_survey(body: dict[str, Any]) -> tuple[SurveyRequest, UnitSystem]:
    """Route, ground and stations."""
    units = SYSTEMS[body["units"]]
    stations = body.get("stations", {})
    every = stations.get("every")
    if every is None and not stations.get("at") and body["ground"]["kind"] in SPARSE_GROUNDS:
        every_m: float | None = DEFAULT_SPACING_M[units.name]
    else:
        every_m = None if every is None else every * units.length_m
    return (
        SurveyRequest(
            _route(body["route"], units),
            _ground(body["ground"], units),
            every_m,
            tuple(at * units.length_m for at in stations.get("at", [])),
        ),
        units,
    )


def _route(body: dict[str, Any], units: UnitSystem) -> RouteSpec:
    if "length" in body:
        return RouteSpec(length_m=body["length"] * units.length_m)
    tape = body.get("tape_length")
    return RouteSpec(
        line=np.array(body["line"]["coordinates"], dtype=np.float64),
        crs=body["crs"],
        local_unit_m=units.length_m,
        tape_length_m=None if tape is None else tape * units.length_m,
    )


def _decimals(value: float) -> int:
    """Decimals that a number was sent with; JSON keeps no zeros at its end."""
    exponent = Decimal(repr(value)).normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _ground(body: dict[str, Any], units: UnitSystem) -> GroundSpec:
    length_m, depth_m = units.length_m, units.depth_m
    match body["kind"]:
        case "level_line":
            return LevelLineGround(_lines(body["readings"], units))
        case "rod":
            rod_m = ROD_UNITS_M[body.get("rod_unit", units.rod_unit)]
            distance = body.get("distance")
            digits = max(_decimals(s["rod"]) for s in body["shots"])
            return LevelBookGround(
                body["benchmark"]["name"],
                body["benchmark"]["elevation"] * length_m,
                tuple(
                    Shot(
                        s["sight"],
                        s["rod"] * rod_m,
                        s.get("on"),
                        s["at"] * length_m if "at" in s else None,
                    )
                    for s in body["shots"]
                ),
                {k["name"]: k["elevation"] * length_m for k in body.get("known", [])},
                None if distance is None else distance * length_m,
                rod_m * 10.0**-digits,
            )
        case "elevations":
            points = body["points"]
            return ElevationGround(
                np.array([p["at"] for p in points]) * length_m,
                np.array([p["elevation"] for p in points]) * length_m,
            )
        case "slopes":
            return SlopeGround(
                tuple(
                    SlopeRun(r["from_"] * length_m, r["to"] * length_m, r["percent"])
                    for r in body["runs"]
                )
            )
        case "steps":
            return StepGround(
                tuple(Step(s["length"] * length_m, s["drop"] * depth_m) for s in body["steps"]),
                body.get("reversed", False),
            )
        case "length_and_drop":
            hump = body.get("hump")
            return LengthAndDropGround(
                body["drop"] * depth_m,
                body["of"],
                None if hump is None else Hump(hump["at"] * length_m, hump["height"] * depth_m),
                DEFAULT_SPACING_M[units.name],
                body.get("start", 0.0) * length_m,
            )
        case "spots":
            spots = np.array(body["points"], dtype=np.float64)
            return SpotGround(spots[:, :2], spots[:, 2] * length_m)
        case "source":
            return SourceGround(body["name"], _read_over(body, units))
    return RasterGround(body["raster"], body.get("vertical_unit"), _read_over(body, units))


def _lines(readings: list[dict[str, Any]], units: UnitSystem) -> tuple[LineReading, ...]:
    return tuple(
        LineReading(r["at"] * units.length_m, r["down"] * units.depth_m, r.get("line", ""))
        for r in readings
    )


def _read_over(body: dict[str, Any], units: UnitSystem) -> HandReadings | None:
    """Hand readings over a raster or a source, taken to be as good as rasters usually are."""
    if "readings" not in body:
        if "read_with" in body:
            raise InputError.at(
                "/ground/read_with",
                "This says how hand readings were taken, but there are none: give readings too, "
                "or leave it out.",
            )
        return None
    tool = INSTRUMENTS[body.get("read_with", USUAL_READ_WITH)]
    usual = Accuracy(INSTRUMENTS[USUAL_RASTER], lawns=tuple(LAWNS.values()))
    found = HandReadings(_lines(body["readings"], units), Accuracy(tool), usual)
    with under("/ground"):
        found.refuse_useless()
    return found
