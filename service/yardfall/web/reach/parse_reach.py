"""A checked reach body in the caller's units to a request in SI."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from yardfall.core.errors import InputError
from yardfall.core.fixes.fixes import NEAREST_OUTLET_M
from yardfall.core.reach.request import ReachRequest, Shape
from yardfall.core.units import FOOT_M, UnitSystem
from yardfall.sentences import say
from yardfall.web.parse.assumption import COMMON, Assumption
from yardfall.web.parse.parse_plan import ReadPlan, read_plan

PLAN_PARTS: Final = ("units", "ground", "pipe", "grade", "limits", "outlet", "accuracy", "stations")
"""What a reach and the plans of its routes share."""
RADIUS_M: Final = 200 * FOOT_M
BANDS: Final = {"us": (1.0, 3.0, 6.0, 12.0, 24.0), "si": (25.0, 75.0, 150.0, 300.0, 600.0)}
"""Edges between bands of spare fall above 0, in or mm."""


@dataclass(frozen=True)
class ReadReach:
    """A reach request in SI, the body of its routes' plans, and what was assumed."""

    request: ReachRequest
    plan_body: dict[str, Any]
    units: UnitSystem
    assumptions: tuple[Assumption, ...]


def read_reach(body: dict[str, Any]) -> ReadReach:
    """The whole reach request. Raises InputError where parts contradict each other."""
    point = body["start"]["point"]
    shared: dict[str, Any] = {key: body[key] for key in PLAN_PARTS if key in body}
    shared["start"] = {key: v for key, v in body["start"].items() if key != "point"}
    own: list[Assumption] = []
    if "limits" in body:
        shared["limits"] = body["limits"]
    read = read_plan(with_line(shared, [point, [point[0] + 1, point[1]]], body["crs"]))
    if read.request.design.outlet.by == "invert" and "targets" not in body and "to" not in body:
        raise InputError.at(
            "/outlet/invert",
            "An outlet at a level of its own stands at one place: say where in targets.",
        )
    length_m = read.units.length_m
    own += _left_open(body)
    return ReadReach(
        _request(body, read, length_m),
        shared,
        read.units,
        (*own, *read.assumptions),
    )


def _request(body: dict[str, Any], read: ReadPlan, length_m: float) -> ReachRequest:
    edges = body.get("bands", BANDS[read.units.name])
    if any(b <= a for a, b in itertools.pairwise(edges)):
        raise InputError.at("/bands", "The edges of the bands must grow.")
    radius, least_run = body.get("radius"), body.get("least_run")

    def shapes(name: str) -> tuple[Shape, ...]:
        return tuple(_in_metres(shape, length_m) for shape in body.get(name, ()))

    to = body.get("to")
    return ReachRequest(
        plan=read.request,
        start=tuple(body["start"]["point"]),
        within=shapes("within"),
        avoid=shapes("avoid"),
        targets=shapes("targets"),
        ask=tuple(tuple(xy) for xy in body.get("ask", ())),
        to=None if to is None else tuple(to),
        clearance_m=body["clearance"] * length_m,
        radius_m=RADIUS_M if radius is None else radius * length_m,
        least_run_m=NEAREST_OUTLET_M if least_run is None else least_run * length_m,
        bands_m=tuple(edge * read.units.depth_m for edge in edges if edge > 0),
        routes=body["routes"],
        draws=body["draws"],
        may_bend="shape" not in body.get("grade", {}),
    )


def _in_metres(shape: Shape, length_m: float) -> Shape:
    if shape.clearance_m is None:
        return shape
    return replace(shape, clearance_m=shape.clearance_m * length_m)


def _left_open(body: dict[str, Any]) -> list[Assumption]:
    found = []
    on_cells = body["ground"]["kind"] in ("raster", "source")
    if "within" not in body and "radius" not in body and on_cells:
        words = say("assumptions.radius")
        found.append(Assumption("/radius", RADIUS_M, "length", words, COMMON))
    if "least_run" not in body:
        found.append(
            Assumption(
                "/least_run",
                NEAREST_OUTLET_M,
                "length",
                say("assumptions.least_run"),
                "the ground beside a house falls over its first 10 ft (IRC R401.3)",
            )
        )
    return found


def with_line(body: dict[str, Any], line: Any, crs: str) -> dict[str, Any]:
    """A plan body along a line of positions."""
    coordinates = np.asarray(line).tolist()
    route = {"line": {"type": "LineString", "coordinates": coordinates}, "crs": crs}
    units = body["units"]
    return {"units": units, "route": route, **{k: v for k, v in body.items() if k != "units"}}
