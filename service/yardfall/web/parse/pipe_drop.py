"""A plan by the pipe's own drop, from its start to the drain it ties into: the ground not known.

The start's invert and the drop give the tie-in's invert; the pipe goes from one to the other, and
the question is whether that is grade enough. Limits on cover and depth hold nothing here: what is
above the pipe is not known, so they are left open and no depth, cover or volume is answered.
What cannot be told without the ground is refused, with a pointer to it.
"""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.errors import InputError, Problem
from yardfall.sentences import say
from yardfall.web.openapi.fields import BIG

REFUSED: Final = ("branches", "crossings", "fills", "accuracy", "dry_well")
"""Parts of a request that need the ground, or its readings."""


def is_pipe_drop(ground: dict[str, Any]) -> bool:
    """Whether a checked ground is the pipe's own drop."""
    return bool(ground["kind"] == "length_and_drop" and ground["of"] == "pipe")


def with_pipe_drop(body: dict[str, Any]) -> dict[str, Any]:
    """The checked body with what the pipe's drop says of outlet, grade and limits; others as is.

    Raises InputError for what contradicts the drop, or cannot be told without the ground.
    """
    ground = body["ground"]
    if not is_pipe_drop(ground):
        return body
    refuse_what_needs_ground(body)
    start = body["start"]["invert"]
    per_length = 12 if body["units"] == "us" else 1000
    end = start - ground["drop"] / per_length
    grade = {k: v for k, v in body.get("grade", {}).items() if k not in ("aim", "fall_step")}
    limits = {k: v for k, v in body.get("limits", {}).items() if k in ("bedding", "trench_width")}
    return body | {
        "ground": ground | {"start": start},
        "grade": grade | {"aim": "outlet_depth"},
        "limits": limits | {"min_cover": -BIG, "outlet_taper": 0.0},
        "outlet": {"kind": "tie_in", "invert": {"min": end, "prefer": end}},
    }


def refuse_what_needs_ground(body: dict[str, Any]) -> None:
    """Raise InputError, with every fault, where the pipe's own drop leaves something untold."""
    found = [("/" + name, f"even_slope.pipe_drop.{name}") for name in REFUSED if body.get(name)]
    if "hump" in body["ground"]:
        found.append(("/ground/hump", "even_slope.pipe_drop.hump"))
    start = body["start"]
    by = next(name for name in ("cover", "depth", "invert") if name in start)
    if by != "invert":
        found.append((f"/start/{by}", "even_slope.pipe_drop.start"))
    if "shallowest_cover" in start:
        found.append(("/start/shallowest_cover", "even_slope.pipe_drop.shallowest_cover"))
    if body["outlet"]["kind"] != "tie_in":
        found.append(("/outlet/kind", "even_slope.pipe_drop.outlet_kind"))
    found += [
        (f"/outlet/{by}", "even_slope.pipe_drop.outlet")
        for by in ("depth", "invert")
        if by in body["outlet"]
    ]
    if body.get("grade", {}).get("shape") == "least_dig":
        found.append(("/grade/shape", "even_slope.pipe_drop.shape"))
    if found:
        raise InputError(*(Problem(pointer, say(name)) for pointer, name in found))
