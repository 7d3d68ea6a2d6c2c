"""Limits and outlet from a body in the caller's units, and which of them nobody stated."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from yardfall.core.design import LIDDED_OUTLETS, SURFACE_OUTLETS, CoverStretch, Limits, Outlet
from yardfall.core.easing.usual_limits import usual_outlet
from yardfall.core.errors import InputError, Problem
from yardfall.core.pipes import Pipe
from yardfall.core.quantities.earthwork import DIGGERS_M, TRENCH_BESIDE_PIPE_M
from yardfall.core.units import UnitSystem, plain_number
from yardfall.core.usual import USUAL, Open
from yardfall.sentences import say
from yardfall.web.parse.assumption import COMMON, Assumption
from yardfall.web.parse.parse_fills import read_fills

SAME_WIDTH_M: Final = 1e-6
"""A trench so much narrower than its pipe is as wide: numbers are told to a millionth."""


def read_open(body: dict[str, Any], units: UnitSystem) -> Open:
    """Which limits a plan's body leaves open."""
    limits, outlet = body.get("limits", {}), body["outlet"]
    return Open(
        USUAL[units.name],
        cover="min_cover" not in limits,
        run_out="outlet_taper" not in limits,
        outlet_depth="depth" not in outlet and "invert" not in outlet,
        shape="shape" not in body.get("grade", {}),
        max_depth=not limits.keys() & {"max_depth", "dig_by"},
        trench_width="trench_width" not in limits,
    )


def read_limits(
    body: dict[str, Any], pipe: Pipe, units: UnitSystem, assumed: list[Assumption]
) -> Limits:
    """The limits of a plan; those that nobody stated hold a place until the ground is known."""
    limits, usual = body.get("limits", {}), USUAL[units.name]
    depth, digger = limits.get("max_depth"), limits.get("dig_by")
    deepest_m = None if depth is None else depth * units.depth_m
    if depth is None and digger is not None:
        deepest_m = DIGGERS_M[digger]
        words = say(f"assumptions.max_depth.{digger}")
        assumed.append(Assumption("/limits/max_depth", deepest_m, "depth", words, COMMON))
    surface = body["outlet"]["kind"] in SURFACE_OUTLETS
    taper, cover = limits.get("outlet_taper"), limits.get("min_cover")
    taper_m = taper * units.length_m if taper is not None else usual.run_out_m if surface else 0.0
    kept, run_in = limits.get("run_out_cover"), limits.get("run_in")
    return Limits(
        usual.cover_m if cover is None else cover * units.depth_m,
        deepest_m,
        taper_m,
        limits.get("bedding", 0.0) * units.depth_m,
        _trench_width_m(limits.get("trench_width"), pipe, units, assumed),
        None if kept is None else kept * units.depth_m,
        0.0 if kept is None else min(usual.run_out_m, taper_m),
        0.0 if run_in is None else run_in * units.length_m,
        limits.get("run_in_cover", 0.0) * units.depth_m,
        _covers(body.get("covers", []), units),
        0.0 if body["outlet"]["kind"] in LIDDED_OUTLETS else None,
        read_fills(body.get("fills", []), units, assumed),
    )


def _covers(rows: list[dict[str, Any]], units: UnitSystem) -> tuple[CoverStretch, ...]:
    backwards = [
        Problem(f"/covers/{i}/to", "A stretch must end beyond where it begins.")
        for i, row in enumerate(rows)
        if row["to"] <= row["from_"]
    ]
    if backwards:
        raise InputError(*backwards)
    return tuple(
        CoverStretch(
            row["from_"] * units.length_m,
            row["to"] * units.length_m,
            row["cover"] * units.depth_m,
            row["what"],
            row.get("wheels", False),
        )
        for row in rows
    )


def _trench_width_m(
    width: float | None, pipe: Pipe, units: UnitSystem, assumed: list[Assumption]
) -> float:
    if width is None:
        width_m = pipe.outside_m + TRENCH_BESIDE_PIPE_M
        words = say("assumptions.trench_width")
        assumed.append(Assumption("/limits/trench_width", width_m, "depth", words, COMMON))
        return width_m
    width_m = width * units.depth_m
    if width_m < pipe.outside_m - SAME_WIDTH_M:
        outside = plain_number(pipe.outside_m / units.depth_m, 6)
        raise InputError.at(
            "/limits/trench_width",
            f"The pipe does not fit into this trench: it is {outside} {units.depth_name} across "
            f"outside. Make the trench at least {outside} {units.depth_name} wide.",
        )
    return width_m


def read_outlet(body: dict[str, Any], pipe: Pipe, units: UnitSystem) -> Outlet:
    """How the pipe ends. Raises InputError where a level must be told, or is told twice."""
    kind = body["kind"]
    if "depth" in body and "invert" in body:
        raise InputError.at("/outlet/invert", "Give the outlet's depth or its invert, not both.")
    if "depth" not in body and "invert" not in body:
        outlet = usual_outlet(kind, pipe.outside_m, USUAL[units.name])
        if outlet is None:
            raise InputError.at(
                "/outlet",
                "This outlet stands at a level of its own: measure it, and give the outlet's "
                "invert (an elevation) or depth.",
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
