"""A grade check from the caller's units to SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from yardfall.core.asbuilt.check import TOLERANCE_M
from yardfall.core.asbuilt.dug_readings import AsDug, By, DugReading
from yardfall.core.errors import under
from yardfall.core.units import ROD_UNITS_M, UnitSystem
from yardfall.sentences import say
from yardfall.web.parse.assumption import Assumption
from yardfall.web.parse.parse_plan import ReadPlan, read_plan

BY: Final[tuple[By, ...]] = ("depth", "line_to_bottom", "rod")


@dataclass(frozen=True)
class ReadCheck:
    """A checked grade-check body: the plan, the readings, the unit a rod is read in."""

    plan: ReadPlan
    as_dug: AsDug
    rod_unit: str
    assumptions: tuple[Assumption, ...]


def read_check(body: dict[str, Any]) -> ReadCheck:
    """The whole body. Raises InputError where parts of the plan contradict each other."""
    with under("/plan"):
        plan = read_plan(body["plan"])
    units, tolerance = plan.units, body.get("tolerance")
    rod_unit = body.get("rod_unit", plan.rod_unit)
    assumed = []
    if tolerance is None:
        assumed.append(
            Assumption(
                "/tolerance",
                TOLERANCE_M,
                "depth",
                say("assumptions.tolerance"),
                "1/4 in on grade is one city's figure (common practice, no source)",
            )
        )
    readings = tuple(_reading(one, units, ROD_UNITS_M[rod_unit]) for one in body["as_dug"])
    as_dug = AsDug(
        readings,
        TOLERANCE_M if tolerance is None else tolerance * units.depth_m,
        units.fine_step_m,
        units.divisions(plan.rod_unit),
        body.get("branch"),
        body.get("next_on"),
    )
    return ReadCheck(plan, as_dug, rod_unit, tuple(assumed))


def _reading(body: dict[str, Any], units: UnitSystem, rod_m: float) -> DugReading:
    by = next(name for name in BY if name in body)
    height = body.get("height")
    return DugReading(
        body["at"] * units.length_m,
        by,
        body[by] * (rod_m if by == "rod" else units.depth_m),
        body["on"],
        body.get("line"),
        None if height is None else height * units.length_m,
        body.get("again", False),
    )
