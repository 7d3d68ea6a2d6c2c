"""A check of an old pipe from the caller's units to SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from yardfall.core.asbuilt.old_pipe import FROM_A_LEVEL, By, OldPipe, PipePoint
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.units import FOOT_M, ROD_UNITS_M, SYSTEMS, UnitSystem, plain_number
from yardfall.sentences import say
from yardfall.web.parse.assumption import COMMON, Assumption
from yardfall.web.parse.parse_pipe import read_pipe

BY: Final[tuple[By, ...]] = ("invert", "depth", "down", "rod")
USUAL_INSTRUMENT: Final = {"down": "line_level", "rod": "builders_level"}
USUAL_GRADE: Final = 0.01
"""Of a pipe that is not known: that of a smooth one (common practice, no source)."""


@dataclass(frozen=True)
class ReadPipeCheck:
    """A checked pipe-check body in SI, the units to answer in, and what was assumed.

    `datum` is the id of the sentence that says what inverts count from.
    """

    old: OldPipe
    units: UnitSystem
    datum: str
    assumptions: tuple[Assumption, ...]


def read_pipe_check(body: dict[str, Any]) -> ReadPipeCheck:
    """The whole body. Raises InputError for a pipe that cannot be."""
    units = SYSTEMS[body["units"]]
    assumed: list[Assumption] = []
    rod_m = ROD_UNITS_M[body.get("rod_unit", units.rod_unit)]
    points = tuple(_point(one, units, rod_m) for one in body["points"])
    pipe = read_pipe(body["pipe"], units) if "pipe" in body else None
    if "grade" in body:
        least = body["grade"]["min_percent"] / 100
    else:
        least = USUAL_GRADE if pipe is None else pipe.min_grade
        known = "old_pipe.least_grade" if pipe else "old_pipe.least_grade_unknown"
        source = COMMON if pipe is None else pipe.source.rsplit("; ", 1)[-1]
        assumed.append(Assumption("/grade/min_percent", least * 100, "percent", say(known), source))
    level = next((point.by for point in points if point.by in FROM_A_LEVEL), None)
    height = body.get("height")
    old = OldPipe(
        points,
        pipe,
        least,
        None if height is None else height * units.length_m,
        _accuracy(body.get("accuracy"), level, units, assumed),
    )
    stated = level is None or height is not None
    datum = "stated" if stated else "line" if level == "down" else "instrument"
    return ReadPipeCheck(old, units, f"old_pipe.datum_{datum}", tuple(assumed))


def _point(body: dict[str, Any], units: UnitSystem, rod_m: float) -> PipePoint:
    by = next(name for name in BY if name in body)
    unit_m = {"invert": units.length_m, "rod": rod_m}.get(by, units.depth_m)
    ground = body.get("ground")
    return PipePoint(
        body["at"] * units.length_m,
        by,
        body[by] * unit_m,
        body.get("on", "invert"),
        None if ground is None else ground * units.length_m,
        body["fixed"],
    )


def _accuracy(
    body: dict[str, Any] | None, level: str | None, units: UnitSystem, assumed: list[Assumption]
) -> Accuracy | None:
    """What the caller says, else the usual instrument where a level was read from, else None."""
    if body is not None and "sigma" in body:
        common = body.get("common", 0.0) * units.depth_m
        return Accuracy(sigma_m=body["sigma"] * units.depth_m, common_m=common)
    if body is not None:
        return Accuracy(INSTRUMENTS[body["instrument"]])
    if level is None:
        return None
    usual = INSTRUMENTS[USUAL_INSTRUMENT[level]]
    reach = f"{plain_number(usual.per_m / FOOT_M, 0)} ft ({plain_number(usual.per_m, 1)} m)"
    told = say("old_pipe.accuracy_reach", instrument=usual.label, reach=reach)
    assumed.append(Assumption("/accuracy", usual.error_m, "depth", told, usual.source))
    return Accuracy(usual)
