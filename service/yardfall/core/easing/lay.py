"""A line decided and judged, before anything is said about it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Design, Limits
from yardfall.core.easing.easing import Eased, ease
from yardfall.core.easing.usual_limits import at_last, site_for
from yardfall.core.errors import InputError
from yardfall.core.grade_runs import GradeRun, grade_runs
from yardfall.core.grading.alignment import align, stations_of
from yardfall.core.grading.decision import Decision, band_of, decide, passing
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M, Route


@dataclass(frozen=True, eq=False)
class Judged:
    """The design that spare, chance and verdict stand on, its points, and the decision there."""

    design: Design
    points: Alignment
    decision: Decision

    @property
    def blocked(self) -> bool:
        """Whether more changes of grade would mend it; the chance allows any number of them."""
        exact = self.design.straight or self.design.one_change
        return self.decision.blocked_by_shape and not exact


@dataclass(frozen=True, eq=False)
class Laid:
    """A decided line, before anything is said about it, and what it was decided from.

    `design` is what was `asked` with what was taken for its usual values. `asked_m` (k,) are the
    stations asked for, `shown_m` (n,) all that are shown.
    """

    route: Route
    ground: GroundProfile
    asked: Design
    asked_m: Floats
    shown_m: Floats
    eased: Eased
    judged: Judged

    @property
    def design(self) -> Design:
        """The design with what was taken for its usual values."""
        return self.eased.design

    @property
    def points(self) -> Alignment:
        """The points where its limits are held."""
        return self.eased.points

    @property
    def decision(self) -> Decision:
        """Its line."""
        return self.eased.decision

    @cached_property
    def runs(self) -> tuple[GradeRun, ...]:
        """Its stretches of one grade."""
        return grade_runs(self.points.at_m, self.decision.invert_m)


def lay(route: Route, ground: GroundProfile, design: Design, asked_m: Floats) -> Laid:
    """Decide the line of `design` on `ground`; `asked_m` (k,) are the stations asked for.

    Raises GroundGap where the ground does not reach the whole route, InputError for a crossing
    beyond its end.
    """
    ground.require_reach(route.length_m)
    _refuse_beyond(design, route)
    length_m = route.length_m
    shown_m = stations_of(route, ground, asked_m, special_stations(design))
    site = site_for(design, ground, length_m)

    def points_of(limits: Limits) -> Alignment:
        return align(ground, shown_m, length_m, limits)

    eased = ease(design, site, length_m, points_of)
    judged = judge_at_last(design, eased, ground, shown_m, length_m)
    drawn, told = eased.decision.ways, judged.decision.ways
    if drawn != told and eased.decision.yes:  # a yes is told as it is drawn
        decision = decide(passing(judged.design, drawn), judged.points, any_line=True)
        judged = replace(judged, decision=decision)
    elif drawn != told:  # a no is drawn as it is told
        eased = ease(passing(design, told), site, length_m, points_of)
    return Laid(route, ground, design, asked_m, shown_m, eased, judged)


def judge_at_last(
    design: Design, eased: Eased, ground: GroundProfile, shown_m: Floats, length_m: float
) -> Judged:
    """The design judged with every usual value at its last; where none is open, as it is laid."""
    last = at_last(design, eased.site, length_m)
    if last == eased.design:
        return Judged(last, eased.points, eased.decision)
    points = eased.points
    if last.limits.edges_m(length_m) != eased.design.limits.edges_m(length_m):
        points = align(ground, shown_m, length_m, last.limits)
    return Judged(last, points, decide(last, points, any_line=True))


def with_open_end(judged: Design, laid: Laid) -> Judged:
    """A branch judged with its end left open, by the levels of its own line's decision."""
    held, length_m = laid.judged, laid.route.length_m
    last = at_last(judged, laid.eased.site, length_m)
    points = held.points
    if last.limits.edges_m(length_m) != held.design.limits.edges_m(length_m):
        points = align(laid.ground, laid.shown_m, length_m, last.limits)
    decision = held.decision
    return Judged(last, points, replace(decision, band=band_of(last, points, decision.ways)))


def special_stations(design: Design) -> list[float]:
    """Crossings, joins, and where what bears on the ground, or soil to be laid, begins and ends:
    stations in their own right, some perhaps beyond the end."""
    edges_m = [at_m for cover in design.limits.covers for at_m in (cover.from_m, cover.to_m)]
    edges_m += [at_m for fill in design.limits.fills for at_m in fill.corners_m]
    return [c.at_m for c in design.crossings] + [j.at_m for j in design.joins] + edges_m


LEVEL_M: Final = 1e-6
"""Soil thinner than this at an outlet is rounding."""


def _refuse_beyond(design: Design, route: Route) -> None:
    for i, crossing in enumerate(design.crossings):
        if crossing.at_m > route.length_m + SAME_STATION_M:
            raise InputError.at(
                f"/crossings/{i}/at", "This crossing lies beyond the end of the route."
            )
    end_m = np.array([route.length_m])
    for i, fill in enumerate(design.limits.fills):
        if fill.from_m >= route.length_m - SAME_STATION_M:
            raise InputError.at(f"/fills/{i}/from", "This soil lies beyond the end of the route.")
        if design.outlet.kind != "tie_in" and float(fill.depth_at(end_m)[0]) > LEVEL_M:
            raise InputError.at(
                f"/fills/{i}/to",
                "No soil can be laid over the outlet: it comes out at the ground as it was "
                "measured. Let the soil end before it.",
            )
