"""The trench as it was dug, or the pipe as it lies, held against the plan.

A reading gives the level of the trench bottom, of the pipe's top or of its invert; each is carried
to the invert by the pipe's section. A check passes when every reading is within the tolerance of
the plan, nothing falls back, no stretch between neighbours is flatter than the least grade, no
reading is contradicted by its neighbours, and every station of the plan has been read on the
surface that is asked for: a trench that passes says nothing of the pipe.

One flat stretch passes, and is told: one that falls as much as its own marks on the dig sheet,
where no marks of the tape keep the least grade (`stakeout.tape_marks`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.doubts import in_doubt
from yardfall.core.asbuilt.dug_readings import (
    AsDug,
    DugReading,
    Surface,
    inverts_read,
    refuse_above_ground,
)
from yardfall.core.asbuilt.judgement import FallKept, judge, least, lengths
from yardfall.core.asbuilt.next_readings import Wanted, printed_m, still_to_read
from yardfall.core.asbuilt.ponding import READING_SLACK_M, Pond, depth_at_points, standing_water
from yardfall.core.design import Design, Start
from yardfall.core.easing.lay import Laid
from yardfall.core.grade_runs import GradeRun, grade_runs
from yardfall.core.grading.alignment import align
from yardfall.core.grading.decision import band_of
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M, merge_stations
from yardfall.core.remarks import Remark
from yardfall.core.units import INCH_M

GradeVerdict = Literal["pass", "fail", "more_readings"]

TOLERANCE_M: Final = INCH_M / 4
"""One city's figure for grade, 1/4 in; line 1/2 in (common practice, no source)."""
FAR_OFF_M: Final = 6 * INCH_M
"""So far off the plan a slip of the tape is likelier than of the spade (common practice, no
source)."""


@dataclass(frozen=True)
class Dug:
    """One reading against the plan; levels are inverts.

    `off_m` is positive where it lies high. `change_m` is the least work, negative to take off;
    `marked_m` what to do by the tape: to `should_mark_m`, the figure on the dig sheet, where the
    trench then passes, else the least in whole marks. `water_m` stands here. One `in_doubt` is to
    be read again; nothing else is judged by it. `beside` are the neighbours that contradict it.
    `fill_m` is the soil to be laid there once the trench is closed; `cover_m` counts it.
    """

    index: int
    reading: DugReading
    should_read_m: float
    should_mark_m: float
    invert_m: float
    planned_m: float
    cover_m: float
    ground_known: bool
    off_m: float
    within: bool
    change_m: float
    marked_m: float
    water_m: float
    in_doubt: bool = False
    fill_m: float = 0.0
    beside: tuple[float, ...] = ()


@dataclass(frozen=True)
class Lies:
    """Whether the trench keeps every limit of the plan as it lies, forgetting the planned line.

    `change_m` (n,) is the least work that makes it so; None where no work does.
    """

    kept: bool
    change_m: tuple[float, ...] | None


@dataclass(frozen=True, eq=False)
class Check:
    """The whole check in SI. `dug` and `runs` go downstream, `wanted` from the outlet up;
    `planned` are the plan's own grades.

    `on` is the surface read next, to which `wanted` refers. `lies` is for a trench that fails.
    `runs` and what is judged leave out readings in doubt. `as_near_as_marks_come` where a stretch
    passes that is flatter than the least grade.
    """

    design: Design
    plan_fits: bool
    verdict: GradeVerdict
    tolerance_m: float
    dug: tuple[Dug, ...]
    runs: tuple[tuple[GradeRun, float], ...]
    ponds: tuple[Pond, ...]
    fall: FallKept | None
    lies: Lies | None
    wanted: tuple[Wanted, ...]
    on: Surface
    work_m3: float
    remarks: tuple[Remark, ...]
    planned: tuple[GradeRun, ...] = ()
    as_near_as_marks_come: bool = False


def check_trench(design: Design, ground: GroundProfile, laid: Laid, as_dug: AsDug) -> Check:
    """Hold readings against the plan laid on this ground.

    Raises InputError with pointers into the readings for one beyond the route, on a line or from
    an instrument that the plan does not have, for two of one kind at one station, and for a depth
    above the ground.
    """
    at_m, invert_m, readings = inverts_read(
        design, ground, float(laid.points.at_m[-1]), as_dug.readings
    )
    points, tolerance_m = laid.points, as_dug.tolerance_m
    every_m = np.array([reading.at_m for reading in as_dug.readings])
    bottom_m = np.interp(every_m, points.at_m, laid.decision.invert_m)
    bottom_m -= design.section.below_invert_m
    refuse_above_ground(design.section, as_dug.readings, ground.elevation(every_m) - bottom_m)
    planned_m = np.interp(at_m, points.at_m, laid.decision.invert_m)
    off_m = invert_m - planned_m
    within = np.abs(off_m) <= tolerance_m + READING_SLACK_M
    again = np.array([reading.again for _, reading in readings], dtype=bool)
    doubted = in_doubt(at_m, off_m, tolerance_m, again)
    sure = ~doubted
    should_m = np.array([r.value_m for _, r in readings]) + off_m
    taken = [reading for _, reading in readings]
    mark_m, own = printed_m(design, ground, laid, as_dug, taken, should_m)
    marked_m = np.where(own, planned_m + should_m - mark_m, np.nan)
    ways = np.array([f"{reading.by} {reading.on}" for reading in taken])
    judged = judge(
        design, at_m[sure], invert_m[sure], planned_m[sure], (marked_m[sure], ways[sure]), as_dug
    )
    on, wanted = still_to_read(design, ground, laid, as_dug)

    change_m, work_to_m, work_m2, lies = np.zeros(len(at_m)), np.zeros(len(at_m)), 0.0, None
    if judged.failed:
        change_m[sure] = judged.left_m - invert_m[sure]
        to_mark_m = np.where(change_m != 0, should_m - off_m - mark_m, 0.0)
        work_to_m[sure] = judged.in_marks(to_mark_m[sure])
        work_m2 = float(np.abs(change_m[sure]) @ lengths(at_m[sure]))
        lies = _as_it_lies(design, ground, laid, at_m, invert_m, tolerance_m, judged.needed_m, sure)
    ground_m = ground.elevation(at_m)
    cover_m, fill_m = design.cover_m(at_m, ground_m, invert_m), design.limits.fill_m(at_m)
    sources, water_m = ground.sources_at(at_m), np.zeros(len(at_m))
    water_m[sure] = depth_at_points(invert_m[sure])
    dug = tuple(
        Dug(
            index=index,
            reading=reading,
            should_read_m=float(should_m[k]),
            should_mark_m=float(mark_m[k]),
            invert_m=float(invert_m[k]),
            planned_m=float(planned_m[k]),
            cover_m=float(cover_m[k]),
            fill_m=float(fill_m[k]),
            ground_known=sources[k] in ("reading", "given"),
            off_m=float(off_m[k]),
            within=bool(within[k]),
            change_m=float(change_m[k]),
            marked_m=float(work_to_m[k]),
            water_m=float(water_m[k]),
            in_doubt=bool(doubted[k]),
            beside=tuple(at_m[max(0, k - 1) : k].tolist() + at_m[k + 1 : k + 2].tolist()),
        )
        for k, (index, reading) in enumerate(readings)
    )
    more = bool(wanted) or bool(doubted.any())
    verdict: GradeVerdict = "fail" if judged.failed else "more_readings" if more else "pass"
    return Check(
        design=design,
        plan_fits=laid.decision.yes,
        verdict=verdict,
        tolerance_m=tolerance_m,
        dug=dug,
        runs=_runs(at_m[sure], invert_m[sure], planned_m[sure]),
        ponds=standing_water(at_m[sure], invert_m[sure]),
        fall=judged.fall,
        lies=lies,
        wanted=wanted,
        on=on,
        work_m3=work_m2 * design.limits.trench_width_m,
        remarks=_remarks(dug, laid.decision.yes),
        planned=grade_runs(laid.points.at_m, laid.decision.invert_m),
        as_near_as_marks_come=judged.as_near,
    )


def _as_it_lies(
    design: Design,
    ground: GroundProfile,
    laid: Laid,
    at_m: Floats,
    invert_m: Floats,
    tolerance_m: float,
    needed_m: float,
    sure: NDArray[np.bool_],
) -> Lies:
    """The limits of the plan, a tolerance wider, in place of its line, for the readings that are
    sure.

    Between neighbours the least grade counts, less the tolerance. A start given by its cover or
    depth may lie anywhere that the other limits allow.
    """
    limits, start = design.limits, design.start
    if start.by != "invert":
        deepest_m = 1e6 if limits.max_depth_m is None else limits.max_depth_m
        first_m = float(laid.points.ground_m[0])
        stated_m, finished_m = design.start_invert_m(first_m), first_m + design.start_fill_m
        stated_cover_m = finished_m - stated_m - design.section.above_invert_m
        shallowest_m = min(limits.min_cover_m, stated_cover_m)
        design = replace(design, start=Start("depth", deepest_m, shallowest_m))
    length_m = float(laid.points.at_m[-1])
    points = align(ground, merge_stations(laid.shown_m, at_m), length_m, limits)
    band = band_of(design, points, laid.decision.ways)
    at_m, read_m = at_m[sure], invert_m[sure]
    where = np.searchsorted(points.at_m, at_m - SAME_STATION_M)
    lo_m, hi_m = band.lo_m[where] - tolerance_m, band.hi_m[where] + tolerance_m
    drop_m = np.maximum(0.0, design.grading.min_grade * np.diff(at_m) - tolerance_m)
    found = least(at_m, read_m, lo_m, hi_m, drop_m, needed_m)
    if found is None:
        return Lies(False, None)
    change_m = np.zeros(len(invert_m))
    change_m[sure] = found - read_m
    return Lies(bool((change_m == 0).all()), tuple(change_m.tolist()))


def _runs(at_m: Floats, invert_m: Floats, planned_m: Floats) -> tuple[tuple[GradeRun, float], ...]:
    """Each stretch between neighbouring readings with the grade that was planned for it."""
    length_m = np.diff(at_m)
    fall_m, wanted_m = -np.diff(invert_m), -np.diff(planned_m)
    return tuple(
        (
            GradeRun(float(at_m[k]), float(at_m[k + 1]), float(fall_m[k] / d), float(fall_m[k])),
            float(wanted_m[k] / d),
        )
        for k, d in enumerate(length_m)
    )


def _remarks(dug: tuple[Dug, ...], plan_fits: bool) -> tuple[Remark, ...]:
    """What a careful foreman would look at again."""
    found = [] if plan_fits else [Remark("plan_does_not_fit", "/plan", {})]
    for one in dug:
        pointer, station_m = f"/as_dug/{one.index}", one.reading.at_m
        if abs(one.off_m) > FAR_OFF_M:
            values: dict[str, float | str] = {"station_m": station_m, "off_m": abs(one.off_m)}
            found.append(Remark("far_off_the_plan", f"{pointer}/{one.reading.by}", values))
    unread = [one for one in dug if one.reading.by == "depth" and not one.ground_known]
    if unread:
        pointer, station_m = f"/as_dug/{unread[0].index}/depth", unread[0].reading.at_m
        found.append(Remark("depth_from_unread_ground", pointer, {"station_m": station_m}))
    return tuple(found)
