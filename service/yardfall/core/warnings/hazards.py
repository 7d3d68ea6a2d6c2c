"""What of a laid line may do harm where it bears: wheels over a thin cover, a pipe so steep that it
slides, water so fast that it wears and scours, and what must then be said.

Anchors and the greater velocity: Recommended Standards for Wastewater Facilities (Ten States
Standards), 33.45 and 33.46. The lesser velocity: Lakeside, Texas, code of ordinances, 3.3.8. They
are written for public sewers; they are the right thresholds for any pipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from yardfall.core.arrays import Floats
from yardfall.core.cautions import HAUNCHING, WAY_OUT_M, Caution
from yardfall.core.design import Alignment, Design
from yardfall.core.easing.lay import Laid
from yardfall.core.easing.site import SAME_M
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.hydraulics.capacity import Water, bases_of
from yardfall.core.hydraulics.manning import velocity_full
from yardfall.core.pipes import Pipe
from yardfall.core.remarks import Remark
from yardfall.core.units import FOOT_M

FAST_M_S: Final = 10 * FOOT_M
VERY_FAST_M_S: Final = 15 * FOOT_M
ANCHORS: Final = ((0.20, 36 * FOOT_M), (0.35, 24 * FOOT_M), (0.50, 16 * FOOT_M))
"""From each grade on, anchors no further apart than this."""
GRADE_SLACK: Final = 1e-9


def anchor_spacing_m(grade: float) -> float | None:
    """The greatest distance between anchors on a grade (a ratio); None: it needs none."""
    found = [spacing_m for from_grade, spacing_m in ANCHORS if grade >= from_grade - GRADE_SLACK]
    return found[-1] if found else None


def steep_runs(runs: Sequence[GradeRun]) -> list[Remark]:
    """Each run so steep that its pipe is to be anchored."""
    found = []
    for run in runs:
        spacing_m = anchor_spacing_m(run.grade)
        if spacing_m is not None:
            values: dict[str, float | str] = {
                "from_station_m": run.from_m,
                "to_station_m": run.to_m,
                "grade": run.grade,
                "apart_m": spacing_m,
            }
            found.append(Remark("anchors", "/grade", values))
    return found


def fast_water(pipe: Pipe, runs: Sequence[GradeRun], water: Water | None) -> list[Remark]:
    """The fastest the water runs, where that is too fast, by the smoothest of its roughnesses.

    Where no inflow is known, what it would be in the full pipe.
    """
    if water is not None:
        states = [basis.state for run in water.runs for basis in run.bases]
        fastest_m_s = max((s.velocity_m_s for s in states if s.flow_m3s > 0), default=0.0)
    else:
        n = min(n for n, _ in bases_of(pipe))
        steepest = max(0.0, *(run.grade for run in runs))
        fastest_m_s = velocity_full(pipe.inside_m, steepest, n)
    if fastest_m_s <= FAST_M_S:
        return []
    known, very = water is not None, fastest_m_s > VERY_FAST_M_S
    if known:
        code = "very_fast" if very else "fast"
    else:
        code = "very_fast_if_full" if very else "fast_if_full"
    limits = {"fast_m_s": FAST_M_S, "very_fast_m_s": VERY_FAST_M_S}
    return [Remark(code, "/grade", {"speed_m_s": fastest_m_s, **limits})]


def thin_under_wheels(design: Design, points: Alignment, invert_m: Floats) -> list[Remark]:
    """Each stretch under wheels with less soil over the pipe than is usual there."""
    usual_m = values_of(design).wheel_cover_m
    cover_m = design.cover_m(points.at_m, points.ground_m, invert_m)
    found = []
    for i, stretch in enumerate(design.limits.covers):
        on_it = (points.at_m >= stretch.from_m - SAME_STATION_M) & (
            points.at_m <= stretch.to_m + SAME_STATION_M
        )
        if not stretch.wheels or not on_it.any():
            continue
        least_m = float(cover_m[on_it].min())
        if least_m < usual_m - SAME_M:
            values: dict[str, float | str] = {
                "what": stretch.what,
                "from_station_m": stretch.from_m,
                "to_station_m": min(stretch.to_m, float(points.at_m[-1])),
                "least_m": max(0.0, least_m),
                "usual_m": usual_m,
            }
            found.append(Remark("thin_under_wheels", f"/covers/{i}/cover", values))
    return found


def harm_told(laid: Laid, water: Water | None) -> list[Remark]:
    """What must be said of a line once it is laid."""
    found = [*steep_runs(laid.runs), *fast_water(laid.design.pipe, laid.runs, water)]
    if laid.ground.known:
        found += thin_under_wheels(laid.design, laid.points, laid.decision.invert_m)
    return found


def special_cautions(laid: Laid, deepest_m: float) -> tuple[Caution, ...]:
    """The bed, where much bears on the pipe: wheels, or a trench as deep as `deepest_m`."""
    if not laid.ground.known:
        return ()
    loaded = any(stretch.wheels for stretch in laid.design.limits.covers)
    return (HAUNCHING,) if loaded or deepest_m >= WAY_OUT_M else ()
