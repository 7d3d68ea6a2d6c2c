"""A pipe from a body in the caller's units."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from yardfall.core.errors import InputError
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.units import UnitSystem


def read_pipe(body: dict[str, Any], units: UnitSystem) -> Pipe:
    """A catalogue pipe with its overrides, or one by its measures."""
    own = {
        name: body[key] * units.depth_m
        for key, name in (("outside", "outside_m"), ("inside", "inside_m"), ("wall", "wall_m"))
        if key in body
    }
    if "n" in body:
        own["n"] = body["n"]
    if "min_percent" in body:
        own["min_grade"] = body["min_percent"] / 100
    if "wall_m" not in own and ("outside_m" in own or "inside_m" in own):
        base = CATALOGUE.get(body.get("code", ""))
        outside_m = own.get("outside_m", base.outside_m if base else 0.0)
        inside_m = own.get("inside_m", base.inside_m if base else 0.0)
        own["wall_m"] = (outside_m - inside_m) / 2
    if "code" in body:
        listed = CATALOGUE[body["code"]]
        pipe = replace(listed, **own) if own else listed
    else:
        pipe = Pipe(
            code=None,
            name="your own pipe",
            material="as you state",
            nominal_in=None,
            n_range=(body["n"], body["n"]),
            source="as you state",
            **{"min_grade": 0.01, **own},
        )
    if pipe.outside_m <= pipe.inside_m:
        raise InputError.at("/pipe/outside", "The outside must be larger than the inside.")
    if pipe.wall_m > pipe.outside_m - pipe.inside_m:
        raise InputError.at(
            "/pipe/wall", "The wall cannot be thicker than the outside less the inside."
        )
    return pipe
