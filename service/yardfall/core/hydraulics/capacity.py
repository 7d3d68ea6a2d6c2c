"""Whether a pipe carries the water that reaches it, on every published basis that applies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.route import SAME_STATION_M, merge_stations
from yardfall.core.hydraulics.manning import FlowState, flow_state
from yardfall.core.hydraulics.rational_method import flow_in_runs, largest_roof, long_rain
from yardfall.core.pipes import CATALOGUE, Pipe

InflowKind = Literal["roof", "yard", "pump", "other"]
OLDER_CODE_N: Final = 0.015
"""Roughness implied by the older code tables (IPC 2012 Table 1106.3; UPC): a third less flow."""
OLDER_CODE: Final = "older code tables (IPC 2012 Table 1106.3), n about 0.015"


@dataclass(frozen=True)
class Inflow:
    """Water that enters at a station (None: at the head). Rain kinds keep how it was found."""

    kind: InflowKind
    flow_m3s: float
    at_m: float | None = None
    rain_m_s: float | None = None
    coefficient: float = 1.0
    duration_s: float | None = None
    name: str = ""

    @property
    def area_m2(self) -> float:
        """The area that rain is counted on; 0 without rain."""
        return self.flow_m3s / (self.coefficient * self.rain_m_s) if self.rain_m_s else 0.0


@dataclass(frozen=True)
class Basis:
    """A published roughness and what the pipe does by it."""

    n: float
    source: str
    state: FlowState


@dataclass(frozen=True)
class Carried:
    """The water in one stretch of one grade.

    `bases` go from the pipe's own roughness on; the one with the least capacity rules.
    `serves` is the smallest catalogue pipe that carries the flow at this grade on its own ruling
    basis, None when none does. `roof_m2` is the most roof whose water would fit beside the rest,
    on the ruling basis, as `largest_roof` tells.
    """

    from_m: float
    to_m: float
    grade: float
    bases: tuple[Basis, ...]
    serves: Pipe | None
    roof_m2: float | None

    @property
    def ruling(self) -> Basis:
        """The cautious basis."""
        return min(self.bases, key=lambda basis: basis.state.capacity_full_m3s)

    @property
    def carries(self) -> bool:
        """Whether the flow fits in the full bore on the cautious basis."""
        state = self.ruling.state
        return state.flow_m3s <= state.capacity_full_m3s


@dataclass(frozen=True)
class Water:
    """Every stretch, the inflows, and what rain and pumps each bring alone, m³/s."""

    inflows: tuple[Inflow, ...]
    runs: tuple[Carried, ...]
    rain_m3s: float
    pumped_m3s: float

    @property
    def carries(self) -> bool:
        """Whether every stretch carries its water."""
        return all(run.carries for run in self.runs)

    @property
    def long_rain(self) -> bool:
        """Whether a rain rate over an hour or more stands for a burst."""
        durations = [i.duration_s for i in self.inflows if i.duration_s is not None]
        return any(long_rain(duration_s) is not None for duration_s in durations)


def bases_of(pipe: Pipe) -> tuple[tuple[float, str], ...]:
    """Roughness figures that published sources give for a pipe, its own first."""
    if pipe.n_other is not None:
        return (pipe.n, "the cautious figure for this pipe"), (pipe.n_other, "the other figure")
    if pipe.code is None or pipe.n >= OLDER_CODE_N:
        return ((pipe.n, "this pipe's roughness"),)
    return (pipe.n, "this pipe's roughness"), (OLDER_CODE_N, OLDER_CODE)


def cautious(pipe: Pipe) -> Pipe:
    """The pipe at the greatest of its published roughness figures."""
    return replace(pipe, n=max(n for n, _ in bases_of(pipe)))


@dataclass(frozen=True)
class Stretch:
    """A length of one grade (a ratio) with one flow."""

    from_m: float
    to_m: float
    grade: float
    flow_m3s: float


def carried(stretch: Stretch, pipe: Pipe, roof_m2: float = 0.0, roof_m3s: float = 0.0) -> Carried:
    """One stretch of pipe with its flow, `roof_m3s` of which comes from `roof_m2` of roofs."""
    flow_m3s, grade = stretch.flow_m3s, stretch.grade
    bases = tuple(
        Basis(n, source, flow_state(flow_m3s, pipe.inside_m, grade, n))
        for n, source in bases_of(pipe)
    )
    left_m3s = min(basis.state.capacity_full_m3s for basis in bases) - (flow_m3s - roof_m3s)
    serves = smallest_that_serves(flow_m3s, grade)
    largest_m2 = largest_roof(left_m3s, roof_m2, roof_m3s)
    return Carried(stretch.from_m, stretch.to_m, grade, bases, serves, largest_m2)


def smallest_that_serves(flow_m3s: float, grade: float) -> Pipe | None:
    """The smallest catalogue pipe whose least published capacity at a grade takes the flow."""
    for pipe in sorted(CATALOGUE.values(), key=lambda p: (p.inside_m, p.outside_m)):
        n = max(n for n, _ in bases_of(pipe))
        if flow_m3s <= flow_state(0.0, pipe.inside_m, grade, n).capacity_full_m3s:
            return pipe
    return None


def stretches(inflows: Sequence[Inflow], runs: Sequence[GradeRun]) -> tuple[Stretch, ...]:
    """Flow accumulated downstream, between inflows and changes of grade.

    Raises InputError for an inflow off the pipe.
    """
    at_m = np.array([i.at_m or 0.0 for i in inflows])
    ends_m = np.array([runs[0].from_m, *(run.to_m for run in runs)])
    inside = at_m[(at_m > ends_m[0]) & (at_m < ends_m[-1] - SAME_STATION_M)]
    knots_m = merge_stations(ends_m, inside)
    flows = flow_in_runs(at_m, np.array([i.flow_m3s for i in inflows]), knots_m)
    grades = [runs[int(k)].grade for k in np.searchsorted(ends_m[1:], knots_m[1:] - SAME_STATION_M)]
    return tuple(
        Stretch(float(a), float(b), grade, float(q))
        for q, grade, a, b in zip(flows, grades, knots_m, knots_m[1:], strict=False)
    )


def water_in(inflows: Sequence[Inflow], pipe: Pipe, runs: Sequence[GradeRun]) -> Water:
    """What each stretch carries. Raises InputError for an inflow off the pipe."""
    found = stretches(inflows, runs)
    roofs = [i for i in inflows if i.kind == "roof" and i.flow_m3s > 0]
    at_m = np.array([i.at_m or 0.0 for i in roofs])
    knots_m = np.array([found[0].from_m, *(s.to_m for s in found)])
    areas_m2 = flow_in_runs(at_m, np.array([i.area_m2 for i in roofs]), knots_m).tolist()
    flows_m3s = flow_in_runs(at_m, np.array([i.flow_m3s for i in roofs]), knots_m).tolist()
    return Water(
        tuple(inflows),
        tuple(
            carried(s, pipe, roof_m2, roof_m3s)
            for s, roof_m2, roof_m3s in zip(found, areas_m2, flows_m3s, strict=True)
        ),
        sum(i.flow_m3s for i in inflows if i.kind in ("roof", "yard")),
        sum(i.flow_m3s for i in inflows if i.kind in ("pump", "other")),
    )
