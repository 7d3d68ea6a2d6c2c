"""The checkpoints a crew digs by: depths, marks, and the grade at each."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Design
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.profile import GroundProfile, Reference, Source
from yardfall.core.ground.route import SAME_STATION_M, Route
from yardfall.core.stakeout.sheet_marks import SheetMarks


class Station(NamedTuple):
    """One checkpoint, in metres. A mark is None where nothing is read from.

    `fill_m` is the soil laid on the ground there, which `cover_m` counts and `dig_depth_m` not.
    """

    at_m: float
    xy: tuple[float, float] | None
    ground_m: float
    source: Source
    invert_m: float
    dig_depth_m: float
    cover_m: float
    reference: Reference | None
    from_reference_m: float | None
    grade: float
    why: tuple[str, ...]
    dig_mark_m: float
    line_mark_m: float | None
    rod_mark_m: float | None
    fill_m: float


def make_stations(
    route: Route,
    ground: GroundProfile,
    design: Design,
    shown_m: Floats,
    points: Alignment,
    invert_m: Floats,
    runs: Sequence[GradeRun],
    asked_m: Floats,
    marks: SheetMarks,
) -> tuple[Station, ...]:
    """Every checkpoint with its depths and its marks."""
    section, at_m = design.section, points.at_m
    where = np.searchsorted(at_m, shown_m - SAME_STATION_M)
    shown, ground_m, shown_invert_m = shown_m.tolist(), points.ground_m[where], invert_m[where]
    bottom_m = shown_invert_m - section.below_invert_m
    bottoms = bottom_m.tolist()
    depth_m = ground_m - bottom_m
    cover_m = design.cover_m(shown_m, ground_m, shown_invert_m)
    positions = route.position(shown_m)
    xy = [None] * len(shown) if positions is None else [(x, y) for x, y in positions.tolist()]
    references, sources = ground.references_at(shown_m), ground.sources_at(shown_m)
    last_m = route.length_m - SAME_STATION_M
    reasons = _reasons(
        shown,
        route.length_m,
        {
            "reading": ground.reading_at_m.tolist(),
            "bend": route.vertex_at_m[1:-1].tolist(),
            "crossing": [c.at_m for c in design.crossings],
            "join": [j.at_m for j in design.joins],
            "grade break": [run.from_m for run in runs[1:]],
            "asked": [x for x in asked_m.tolist() if SAME_STATION_M < x < last_m],
        },
    )
    columns = zip(
        shown,
        xy,
        ground_m.tolist(),
        sources,
        shown_invert_m.tolist(),
        depth_m.tolist(),
        cover_m.tolist(),
        references,
        [r.elevation_m - z if r else None for r, z in zip(references, bottoms, strict=True)],
        _grades_from(shown, runs),
        reasons,
        marks.dig.mark_m.tolist(),
        *(one.mark_m.tolist() if one else [None] * len(shown) for one in (marks.line, marks.rod)),
        design.limits.fill_m(shown_m).tolist(),
        strict=True,
    )
    return tuple(Station(*column) for column in columns)


def _grades_from(stations_m: Sequence[float], runs: Sequence[GradeRun]) -> list[float]:
    """The grade downstream of each station, in order; at the end, the grade it arrives with."""
    left = list(reversed(runs))
    grades = []
    for x in stations_m:
        while len(left) > 1 and x >= left[-1].to_m - SAME_STATION_M:
            left.pop()
        grades.append(left[-1].grade)
    return grades


def _reasons(
    at: Sequence[float], length_m: float, places: dict[str, Sequence[float]]
) -> list[tuple[str, ...]]:
    """Why each station stands where it does, in the order of `places`."""
    ends = {"start": [0.0], **places, "outlet": [length_m]}
    found: list[list[str]] = [[] for _ in at]
    for name, stations_m in ends.items():
        for x in stations_m:
            here = bisect_left(at, x - SAME_STATION_M)
            while here < len(at) and at[here] <= x + SAME_STATION_M:
                if name not in found[here]:
                    found[here].append(name)
                here += 1
    return [tuple(names) for names in found]
