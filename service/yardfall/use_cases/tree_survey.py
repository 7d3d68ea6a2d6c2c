"""A line and its branches surveyed, and what each branch asks of the line it joins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from yardfall.core.design import Design, Join
from yardfall.core.easing.lay import special_stations
from yardfall.core.easing.usual_limits import Given, given, site_for
from yardfall.core.errors import InputError, under
from yardfall.core.grading.alignment import align, stations_of
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.network.tree import highest_end_m, usual_drop_m
from yardfall.core.request import PlanRequest
from yardfall.core.uncertainty.pinned import pin_lines
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.survey import Survey, survey
from yardfall.use_cases.trees import Surveyed, refuse_openings_beyond


@dataclass(frozen=True, eq=False)
class _Grounds:
    """A request with its ground alone, and its branches'."""

    request: PlanRequest
    survey: Survey
    branches: tuple[_Grounds, ...]

    def lines(self) -> Iterator[_Grounds]:
        """It and all that joins it, each line before its branches."""
        yield self
        for branch in self.branches:
            yield from branch.lines()

    def with_surveys(self, surveys: Iterator[Survey]) -> _Grounds:
        """The same with other surveys, in the order of `lines`."""
        own = next(surveys)
        return replace(
            self,
            survey=own,
            branches=tuple(branch.with_surveys(surveys) for branch in self.branches),
        )


def survey_lines(request: PlanRequest, rasters: RasterStore) -> Surveyed:
    """Survey a line and its branches. Raises what `survey` raises."""
    return _joined(_pinned(_grounds(request, rasters)))


def _grounds(request: PlanRequest, rasters: RasterStore) -> _Grounds:
    found = survey(request.survey, rasters, _ditch_m(request.design))
    refuse_openings_beyond(request.openings, found.route)
    branches = []
    for i, branch in enumerate(request.branches):
        with under(f"/branches/{i}"):
            branches.append(_grounds(branch.request, rasters))
            if branch.joins_at_m > found.route.length_m + SAME_STATION_M:
                raise InputError.at("/joins_at", "The join lies beyond the end of the line.")
    return _Grounds(request, found, tuple(branches))


def _pinned(main: _Grounds) -> _Grounds:
    """Every line over the raster that readings along the main line pin, on the one ground that all
    their cells and the readings tell."""
    pinned = main.survey.pinned
    if pinned is None:
        return main
    lines = list(main.lines())
    shared = [
        line.survey.cells is not None and line.survey.cells.raster == pinned.cells.raster
        for line in lines
    ]
    if sum(shared) < 2:
        return main
    parts = [(pinned.raw, pinned.cells)]
    parts += [
        (line.survey.ground, line.survey.cells)
        for line, shares in zip(lines[1:], shared[1:], strict=True)
        if shares and line.survey.cells is not None
    ]
    found = iter(pin_lines(parts, pinned.hand))
    return main.with_surveys(
        line.survey.pinned_by(next(found)) if shares else line.survey
        for line, shares in zip(lines, shared, strict=True)
    )


def _joined(grounds: _Grounds) -> Surveyed:
    """From the leaves: each branch gives the line it joins one more upper limit."""
    request, found = grounds.request, grounds.survey
    branches, joins = [], []
    for branch, its in zip(request.branches, grounds.branches, strict=True):
        below = replace(_joined(its), joins_another=True)
        offset_m = 0.0
        if branch.own_datum:
            end_m = below.survey.ground.elevation_at(below.survey.route.length_m)
            offset_m = end_m - found.ground.elevation_at(branch.joins_at_m)
        drop_m = branch.drop_m
        if drop_m is None:
            drop_m = usual_drop_m(below.request.design.pipe, request.design.pipe)
        first_m, last_m = (end_m - drop_m - offset_m for end_m in _highest_ends_m(below))
        joins.append(Join(branch.joins_at_m, branch.name, first_m, last_m))
        branches.append((branch, below, drop_m, offset_m))
    if joins:
        request = replace(request, design=replace(request.design, joins=tuple(joins)))
    return Surveyed(request, found, tuple(branches))


def _ditch_m(design: Design) -> float | None:
    """How far around the end the ground is asked about, where nobody stated how deep it may lie."""
    free = design.open
    if free is None or not free.outlet_depth or design.outlet.kind != "daylight":
        return None
    return free.values.last_ditch_m


def _highest_ends_m(branch: Surveyed) -> tuple[float, float]:
    """The highest invert of a branch's end: by its usual values as they are, and at their last."""
    design, route, ground = branch.request.design, branch.survey.route, branch.survey.ground
    shown_m = stations_of(route, ground, branch.survey.asked_m, special_stations(design))
    site = site_for(design, ground, route.length_m)
    first = given(design, site, Given(nominal=True))
    points = align(ground, shown_m, route.length_m, first.limits)
    last = given(design, site, Given(nominal=True, branches=True))
    return highest_end_m(first, points), highest_end_m(last, points)
