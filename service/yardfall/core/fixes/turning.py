"""How far a limit must be turned before a line exists."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from yardfall.core.chance.scenario import Case, judge
from yardfall.core.design import Design
from yardfall.core.fixes.loosening import Knob
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.decision import decide, passing, ways_to_pass
from yardfall.core.numerics.root_finding import first_that_works

DRAWN_ROOT_M: Final = 1e-5
"""How closely a fix that is judged by draws is found: the draws themselves are no finer."""
DRAWN_STEPS: Final = 12


def least_turn(case: Case, knob: Knob) -> float | None:
    """The least turn that settles it; None where none does.

    Where a start is moved past what may be passed either way, each way has a least turn of its own.
    """
    ways = list(ways_to_pass(case.as_it_is.crossings))
    if knob.widens or len(ways) == 1:
        return _least_turn(case, knob)
    found = []
    for each in ways:
        there = case.as_asked(passing(case.as_it_is, each))
        held = replace(knob, turned=lambda v, each=each: passing(knob.turned(v), each))  # type: ignore[misc]
        found.append(_least_turn(there, held))
    return min(
        (v for v in found if v is not None), key=lambda v: abs(v - knob.before), default=None
    )


def _least_turn(case: Case, knob: Knob) -> float | None:
    """The same past crossings as they are.

    Found on the readings as they stand; from there on by some of the draws, then by all. With few
    changes of grade the margin is not concave in the start: then any start that serves bounds it.
    Where the start may rise, a line that is raised by as little as serves has no margin: then all
    that counts is whether there is one.
    """
    raised = knob.turned(knob.last).start.shallowest_cover_m is not None
    way = np.sign(knob.last - knob.before)
    most = abs(knob.last - knob.before)

    def at(x: float, here: Case) -> Case:
        return here.as_asked(knob.turned(float(knob.before + way * x)))

    def margin(x: float) -> float:
        there = at(x, case)
        return counted(decide(there.design, there.points, any_line=True).margin_m)

    def counted(margin_m: float) -> float:
        return np.copysign(1.0, margin_m + DECISION_SLACK_M) if raised else margin_m

    moves_start = not knob.widens and not knob.change.startswith("soil_")
    served = _served(case, knob) if moves_start else None
    if moves_start and served is None:
        return None
    x = first_that_works(margin, 0.0, most, rises=knob.widens)
    if x is None and served is not None and margin(served) >= 0:
        x = first_that_works(margin, 0.0, served, rises=True)
    if x is not None and case.draws is not None:
        for tried in (case.roughly, case):
            if x is not None and judge(at(x, tried))[0] < 0:
                x = first_that_works(
                    lambda x, tried=tried: counted(judge(at(x, tried))[0]),  # type: ignore[misc]
                    x,
                    most,
                    DRAWN_ROOT_M,
                    DRAWN_STEPS,
                    rises=knob.widens,
                )
    return None if x is None else float(knob.before + way * x)


def _served(case: Case, knob: Knob) -> float | None:
    """How far a start is turned where any line begins between the ends of its knob; None: none."""
    ends = [knob.turned(knob.before), knob.turned(knob.last)]
    free = with_free_start(case, ends)
    decision = decide(free.design, free.points, any_line=True)
    if not decision.yes:
        return None
    ground_m = float(case.points.ground_m[0])
    before_m = ends[0].start_invert_m(ground_m)
    return abs(float(decision.invert_m[0]) - before_m)


def with_free_start(case: Case, ends: list[Design]) -> Case:
    """The case with any start between the lowest and the highest of some designs'."""
    ground_m, section = float(case.points.ground_m[0]), case.design.section
    inverts_m = [end.start_invert_m(ground_m) for end in ends]
    lowest = ends[int(np.argmin(inverts_m))].start
    finished_m = ground_m + case.design.start_fill_m
    cover_m = finished_m - max(inverts_m) - section.above_invert_m
    start = replace(lowest, shallowest_cover_m=cover_m)
    return case.as_asked(replace(case.as_it_is, start=start))
