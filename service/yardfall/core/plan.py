"""The plan: a graded pipe along a route, its stations, and the answer."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from yardfall.core.band import DECISION_SLACK_M, Band, Pinch, find_pinch
from yardfall.core.cautions import Caution, cautions_for
from yardfall.core.ground import GroundProfile, Reference, Source
from yardfall.core.marks import TapeMarks, tape_marks
from yardfall.core.pipes import Pipe
from yardfall.core.route import SAME_STATION_M, Floats, Route, merge_stations
from yardfall.core.straight import StraightRange, least_raise, straight_from
from yardfall.core.trench import Limits, Outlet, Section, Start, make_band, section_of


@dataclass(frozen=True)
class Grading:
    """How the grade is chosen. Grades are ratios; `fall_step_m` rounds the whole fall up."""

    min_grade: float
    max_grade: float = np.inf
    shape: Literal["straight"] = "straight"
    fall_step_m: float | None = None
    aim: Literal["least_fall", "outlet_depth"] = "least_fall"


@dataclass(frozen=True)
class Design:
    """What is to be planned on a known ground: pipe, start, grade, limits, outlet."""

    pipe: Pipe
    start: Start
    grading: Grading
    limits: Limits
    outlet: Outlet

    @property
    def section(self) -> Section:
        """The pipe's section in the trench."""
        return section_of(self.pipe, self.limits)


@dataclass(frozen=True)
class Remark:
    """A warning: stable code, pointer to the field it is about, and values for the sentence."""

    code: str
    pointer: str
    values: dict[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True)
class Station:
    """One checkpoint, in metres. `marks` in whole tape steps; None where nothing is read from."""

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
    dig_mark: int
    line_mark: int | None


@dataclass(frozen=True)
class GradeRun:
    """A stretch of one grade (a ratio)."""

    from_m: float
    to_m: float
    grade: float
    fall_m: float


@dataclass(frozen=True, eq=False)
class Plan:
    """The whole answer in SI. Arrays (n,) run over every profile point."""

    route: Route
    ground: GroundProfile
    design: Design
    at_m: Floats
    ground_m: Floats
    invert_m: Floats
    band: Band
    yes: bool
    pinch: Pinch
    straight_blocked: bool
    raised_m: float
    stations: tuple[Station, ...]
    runs: tuple[GradeRun, ...]
    marks: TapeMarks
    warnings: tuple[Remark, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, eq=False)
class Line:
    """The chosen line and the decision behind it.

    `straight_blocked` is set when only the wish for one straight grade stands in the way.
    """

    invert_m: Floats
    yes: bool
    pinch: Pinch
    straight_blocked: bool
    raised_m: float
    warnings: tuple[Remark, ...] = ()


def profile_points(
    route: Route, ground: GroundProfile, stations_m: Floats, taper_m: float
) -> Floats:
    """Every station at which the limits are held: ground points, stations, end of the taper."""
    inside = ground.at_m[(ground.at_m >= 0) & (ground.at_m <= route.length_m)]
    taper_at_m = np.array([max(0.0, route.length_m - taper_m)])
    return merge_stations(stations_m, inside, taper_at_m)


def straight_line(design: Design, band: Band, ground_m: Floats) -> Line:
    """The straight grade that `design` asks for, and the verdict.

    The stated start is kept if it works; otherwise it is raised by the least that does.
    """
    stated_m = design.start.invert_m(float(ground_m[0]), design.section)
    lowest_m, highest_m = float(band.lo_m[0]), float(band.hi_m[0])
    general = find_pinch(band)
    if lowest_m > highest_m + DECISION_SLACK_M:
        found = straight_from(band, stated_m)
        clash = Pinch(0, 0, (band.hi_why[0], band.lo_why[0]), highest_m - lowest_m, 0.0)
        shortage = min(clash, general, key=lambda pinch: pinch.margin_m)
        return Line(_drawn(band, found, found.flattest), False, shortage, False, 0.0)
    found = least_raise(band, lowest_m, highest_m)
    raised_m = found.start_m - stated_m
    if found.shortage is not None:
        blocked = general.margin_m >= -DECISION_SLACK_M
        grade = min(found.flattest, band.greatest_grade)
        return Line(_drawn(band, found, grade), False, found.shortage, blocked, raised_m)
    grade, warnings = _choose_grade(design, band, found, float(ground_m[-1]))
    settled = replace_start(band, found.start_m)
    return Line(_drawn(band, found, grade), True, find_pinch(settled), False, raised_m, warnings)


def replace_start(band: Band, start_m: float) -> Band:
    """The band with its start held at one level."""
    hi, lo = band.hi_m.copy(), band.lo_m.copy()
    hi[0] = lo[0] = start_m
    why = (band.lo_why[0],)
    return replace(
        band, hi_m=hi, lo_m=lo, hi_why=why + band.hi_why[1:], lo_why=why + band.lo_why[1:]
    )


def _drawn(band: Band, found: StraightRange, grade: float) -> Floats:
    line: Floats = found.start_m - grade * band.at_m
    return line


def _choose_grade(
    design: Design, band: Band, found: StraightRange, outlet_ground_m: float
) -> tuple[float, tuple[Remark, ...]]:
    """The grade between flattest and steepest that the aim and the fall step ask for."""
    length_m = float(band.at_m[-1])
    grading = design.grading
    steepest = max(found.steepest, found.flattest)
    if grading.aim == "outlet_depth":
        aimed_m = design.outlet.preferred_m(outlet_ground_m, design.section)
        if aimed_m is not None:
            grade = (found.start_m - aimed_m) / length_m
            return min(max(grade, found.flattest), steepest), ()
    if grading.fall_step_m is None:
        return found.flattest, ()
    step_m = grading.fall_step_m
    fall_m = np.ceil(found.flattest * length_m / step_m - 1e-9) * step_m
    if fall_m / length_m <= steepest + DECISION_SLACK_M / length_m:
        return float(fall_m / length_m), ()
    remark = Remark("fall_step_left_out", "/grade/fall_step", {"fall_m": float(fall_m)})
    return found.flattest, (remark,)


def make_plan(
    route: Route,
    ground: GroundProfile,
    design: Design,
    asked_m: Floats,
    tape_step_m: float,
    warnings: tuple[Remark, ...] = (),
) -> Plan:
    """Plan `design` on `ground`. `asked_m` are the stations the caller wants shown.

    `warnings` of the survey go before those of the plan.

    Raises GroundGap where the ground does not reach the whole route.
    """
    ground.require_reach(route.length_m)
    read_m = ground.reading_at_m
    read_m = read_m[(read_m >= 0) & (read_m <= route.length_m)]
    shown_m = merge_stations(asked_m, route.vertex_at_m, read_m)
    at_m = profile_points(route, ground, shown_m, design.limits.outlet_taper_m)
    ground_m = ground.elevation(at_m)
    grading = design.grading
    band = make_band(
        at_m,
        ground_m,
        design.section,
        design.start,
        design.limits,
        design.outlet,
        grading.min_grade,
        grading.max_grade,
    )
    line = straight_line(design, band, ground_m)
    runs = grade_runs(at_m, line.invert_m)
    stations, marks = make_stations(
        route, ground, design, shown_m, at_m, ground_m, line.invert_m, asked_m, tape_step_m
    )
    deepest_m = max(s.dig_depth_m for s in stations)
    return Plan(
        route=route,
        ground=ground,
        design=design,
        at_m=at_m,
        ground_m=ground_m,
        invert_m=line.invert_m,
        band=band,
        yes=line.yes,
        pinch=line.pinch,
        straight_blocked=line.straight_blocked,
        raised_m=line.raised_m,
        stations=stations,
        runs=runs,
        marks=marks,
        warnings=warnings + line.warnings,
        cautions=cautions_for(design.outlet.kind, deepest_m),
    )


def grade_runs(at_m: Floats, invert_m: Floats) -> tuple[GradeRun, ...]:
    """Stretches of one grade, joined where the grade changes by less than 1e-9."""
    grades = -np.diff(invert_m) / np.diff(at_m)
    breaks = np.flatnonzero(np.abs(np.diff(grades)) > 1e-7) + 1
    knots = [0, *(int(b) for b in breaks), len(at_m) - 1]
    return tuple(
        GradeRun(
            float(at_m[i]),
            float(at_m[j]),
            float((invert_m[i] - invert_m[j]) / (at_m[j] - at_m[i])),
            float(invert_m[i] - invert_m[j]),
        )
        for i, j in itertools.pairwise(knots)
    )


def make_stations(
    route: Route,
    ground: GroundProfile,
    design: Design,
    shown_m: Floats,
    at_m: Floats,
    ground_m: Floats,
    invert_m: Floats,
    asked_m: Floats,
    tape_step_m: float,
) -> tuple[tuple[Station, ...], TapeMarks]:
    """Every checkpoint with its depths and tape marks.

    The marks returned are those a crew digs by: from the line where there is one, else depths.
    """
    section = design.section
    where = np.searchsorted(at_m, shown_m - SAME_STATION_M)
    bottom_m = invert_m[where] - section.below_invert_m
    depth_m = ground_m[where] - bottom_m
    xy = route.position(shown_m)
    references = [ground.reference_at(float(x)) for x in shown_m]
    from_m = np.array([r.elevation_m if r else np.nan for r in references]) - bottom_m
    needed_m = design.grading.min_grade * route.length_m
    dig = tape_marks(shown_m, depth_m, bottom_m, tape_step_m, needed_m)
    strung = all(r is not None for r in references)
    line = tape_marks(shown_m, from_m, bottom_m, tape_step_m, needed_m) if strung else None
    grades = -np.diff(invert_m) / np.diff(at_m)
    bends = route.vertex_at_m[1:-1]
    stations = tuple(
        Station(
            at_m=float(shown_m[k]),
            xy=None if xy is None else (float(xy[k, 0]), float(xy[k, 1])),
            ground_m=float(ground_m[i]),
            source=ground.source_at(float(shown_m[k])),
            invert_m=float(invert_m[i]),
            dig_depth_m=float(depth_m[k]),
            cover_m=float(ground_m[i] - invert_m[i] - section.above_invert_m),
            reference=references[k],
            from_reference_m=float(from_m[k]) if references[k] else None,
            grade=float(grades[min(i, len(grades) - 1)]),
            why=_reasons(float(shown_m[k]), route.length_m, ground.reading_at_m, bends, asked_m),
            dig_mark=int(dig.steps[k]),
            line_mark=int(line.steps[k]) if line else None,
        )
        for k, i in enumerate(int(i) for i in where)
    )
    return stations, line or dig


def _reasons(
    at_m: float, length_m: float, read_m: Floats, bends_m: Floats, asked_m: Floats
) -> tuple[str, ...]:
    """Why a station stands where it does."""

    def holds(stations_m: Floats) -> bool:
        return bool(np.any(np.abs(stations_m - at_m) <= SAME_STATION_M))

    reasons = [
        ("start", at_m <= SAME_STATION_M),
        ("reading", holds(read_m)),
        ("bend", holds(bends_m)),
        ("asked", holds(asked_m) and SAME_STATION_M < at_m < length_m - SAME_STATION_M),
        ("outlet", at_m >= length_m - SAME_STATION_M),
    ]
    return tuple(name for name, here in reasons if here)
