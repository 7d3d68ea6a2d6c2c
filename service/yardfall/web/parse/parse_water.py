"""Inflows and the flow call, from the caller's units to SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from yardfall.core.hydraulics.capacity import Inflow
from yardfall.core.hydraulics.dry_well import SAFETY_FACTOR, STONE_VOIDS, Rain, Storm
from yardfall.core.hydraulics.pump_leg import C_PLASTIC, PumpLeg
from yardfall.core.hydraulics.rational_method import ROOF_COEFFICIENT, rational_flow, roof_with_wall
from yardfall.core.pipes import Pipe
from yardfall.core.request import PumpDuty
from yardfall.core.units import SYSTEMS, UnitSystem
from yardfall.sentences import say
from yardfall.web.parse.assumption import Assumption
from yardfall.web.parse.parse_pipe import read_pipe


@dataclass(frozen=True)
class ReadFlow:
    """A flow call in SI."""

    units: UnitSystem
    pipe: Pipe
    grade: float
    inflows: tuple[Inflow, ...]
    assumptions: tuple[Assumption, ...]


def read_flow(body: dict[str, Any]) -> ReadFlow:
    """The whole flow body."""
    units = SYSTEMS[body["units"]]
    assumed: list[Assumption] = []
    pipe = read_pipe(body["pipe"], units)
    inflows = read_inflows(body["inflows"], units, assumed)
    return ReadFlow(units, pipe, body["grade"]["percent"] / 100, inflows, tuple(assumed))


def read_inflows(
    body: list[dict[str, Any]], units: UnitSystem, assumed: list[Assumption]
) -> tuple[Inflow, ...]:
    """Inflows with their flows worked out."""
    return tuple(_inflow(one, i, units, assumed) for i, one in enumerate(body))


def _inflow(body: dict[str, Any], i: int, units: UnitSystem, assumed: list[Assumption]) -> Inflow:
    at_m = body["at"] * units.length_m if "at" in body else None
    if "rate" in body:
        name = body.get("name", "")
        return Inflow(body["kind"], body["rate"] * units.flow_m3s, at_m, name=name)
    coefficient = body.get("coefficient")
    if coefficient is None:
        coefficient = ROOF_COEFFICIENT
        assumed.append(
            Assumption(
                f"/inflows/{i}/coefficient",
                coefficient,
                "none",
                say("assumptions.roof_coefficient"),
                "plumbing codes; FHWA HEC-22 Table 3-1 gives 0.75 to 0.95 (from memory)",
            )
        )
    area_m2 = roof_with_wall(
        body["area"] * units.area_m2, body.get("wall_area", 0.0) * units.area_m2
    )
    rain_m_s = body["rain_rate"] * units.rain_m_s
    duration = body.get("duration")
    return Inflow(
        body["kind"],
        rational_flow(coefficient, rain_m_s, area_m2),
        at_m,
        rain_m_s,
        coefficient,
        None if duration is None else duration * 60,
        body.get("name", ""),
    )


def read_pump(body: dict[str, Any], units: UnitSystem) -> PumpDuty:
    """A pump and its leg."""
    leg = PumpLeg(
        body["lift"] * units.length_m,
        body["length"] * units.length_m,
        body.get("fittings_length", 0.0) * units.length_m,
        body["inside"] * units.depth_m,
        body.get("c", C_PLASTIC),
    )
    return PumpDuty(leg, body["rate"] * units.flow_m3s, body["pump_head"] * units.length_m)


def read_storm(body: dict[str, Any], units: UnitSystem, assumed: list[Assumption]) -> Storm:
    """The storms and their pit."""
    factor = body.get("safety_factor")
    if factor is None:
        factor = SAFETY_FACTOR
        words = say("assumptions.safety_factor")
        source = "Minnesota Stormwater Manual; CIRIA C753, table 25.2 (from memory)"
        assumed.append(Assumption("/dry_well/safety_factor", factor, "none", words, source))
    rains = (body, *body.get("storms", []))
    return Storm(
        body["area"] * units.area_m2,
        tuple(Rain(one["rain_depth"] * units.depth_m, one["duration"] * 60) for one in rains),
        body["soak_rate"] * units.rain_m_s,
        body["stone_depth"] * units.depth_m,
        body.get("voids", STONE_VOIDS),
        factor,
    )
