"""Every single change that alone turns a "no" into a "yes", each proven by running it again.

The margin of a plan is the optimum of a linear program in its limits, so it is concave in each
of them: from a failing value there is one first value that works, and false position finds it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from yardfall.core.alignment import shortened
from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.chance import TOO_CLOSE, Draws, drawn_margins, onto
from yardfall.core.decision import Decision, Design, decide
from yardfall.core.ground import GroundProfile
from yardfall.core.pipes import CATALOGUE
from yardfall.core.route import Floats
from yardfall.core.trench import Alignment, Outlet, OutletKind, default_outlet
from yardfall.core.units import FOOT_M, INCH_M

DEEPEST_M: Final = 60 * INCH_M
"""No fix asks for a deeper trench: nobody may stand in it unprotected (29 CFR 1926.652(a)(1))."""
LEAST_COVER_M: Final = 2 * INCH_M
"""No fix asks for less soil over the pipe (common practice, no source)."""
NEAREST_OUTLET_M: Final = 10 * FOOT_M
"""No fix ends the pipe nearer to its start. IRC R801.3 asks 5 ft from the foundation; the ground
beside a house falls over its first 10 ft (IRC R401.3)."""
ROOT_STEPS: Final = 40
ROOT_M: Final = 1e-10

Change = Literal[
    "start_cover",
    "start_depth",
    "start_invert",
    "min_cover",
    "max_depth",
    "pipe",
    "outlet_depth",
    "outlet_invert",
    "outlet_kind",
    "end_at",
    "crossing",
    "grade_changes",
]


@dataclass(frozen=True)
class Fix:
    """One change: what, from and to (metres, or a name), and what it costs in digging.

    `spare_m` is the spare after it, `area_m2` the trench's area along the route. `where_m` is
    the station of a crossing that is passed the other way.
    """

    change: Change
    before: float | str
    after: float | str
    spare_m: float
    area_m2: float
    where_m: float | None = None
    breaks: int | None = None


@dataclass(frozen=True, eq=False)
class Case:
    """A design on its ground, with what is needed to run it again.

    `draws` are the readings' errors and `change_m` (d, n) what they do to the points' ground;
    with them a fix must hold in 95 % of the draws, without them (None) on the readings as they
    stand.
    """

    design: Design
    ground: GroundProfile
    stations_m: Floats
    points: Alignment
    draws: Draws | None = None
    change_m: Floats | None = None

    def with_design(self, design: Design) -> Case:
        """The same ground under another design."""
        return replace(self, design=design)

    def ended_at(self, end_m: float) -> Case:
        """The same design on a line that ends at another station."""
        taper_m = self.design.limits.outlet_taper_m
        points = shortened(self.ground, self.stations_m, end_m, taper_m)
        kept = tuple(c for c in self.design.crossings if c.at_m < end_m)
        design = replace(self.design, crossings=kept)
        return make_case(design, self.ground, self.stations_m, points, self.draws)


def make_case(
    design: Design,
    ground: GroundProfile,
    stations_m: Floats,
    points: Alignment,
    draws: Draws | None,
) -> Case:
    """A case with the draws carried onto its points."""
    if draws is None:
        return Case(design, ground, stations_m, points)
    on_points = replace(draws, model=onto(draws.model, ground.at_m, points.at_m))
    return Case(design, ground, stations_m, points, on_points, on_points.ground_change_m())


def judge(case: Case) -> tuple[float, Decision]:
    """The margin that a fix must bring to zero or more, and the decision behind it.

    With draws it is the spare that all but 5 % of them reach, or the plain margin if less.
    """
    decision = decide(case.design, case.points)
    if case.change_m is None:
        return decision.margin_m, decision
    drawn = drawn_margins(case.design, decision.band, case.change_m)
    return min(decision.margin_m, float(np.quantile(drawn, 1 - TOO_CLOSE[1]))), decision


def find_fixes(case: Case) -> tuple[Fix, ...]:
    """Every single change that alone settles it, least digging first."""
    found = [
        *(f for knob in knobs(case.design) if (f := _turned(case, knob)) is not None),
        *_other_pipes(case),
        *_other_outlets(case),
        *_other_ends(case),
        *_other_passings(case),
        *_more_breaks(case),
    ]
    return tuple(sorted(found, key=lambda fix: fix.area_m2))


@dataclass(frozen=True)
class Knob:
    """A limit that can be loosened from `before_m` towards `last_m`, and the design with it."""

    change: Change
    before_m: float
    last_m: float
    turned: Callable[[float], Design]


def knobs(design: Design) -> list[Knob]:
    """Every limit in metres that may be loosened, and how far."""
    start, limits, outlet = design.start, design.limits, design.outlet
    found: list[Knob] = []
    to_start = f"start_{start.by}"
    outside_m = design.pipe.outside_m + limits.bedding_m
    highest = {
        "cover": min(limits.min_cover_m, start.value_m),
        "depth": min(limits.min_cover_m + outside_m, start.value_m),
        "invert": start.value_m + 2 * FOOT_M,
    }[start.by]
    found.append(
        Knob(
            to_start,  # type: ignore[arg-type]
            start.value_m,
            highest,
            lambda v: replace(design, start=replace(start, value_m=v, shallowest_cover_m=None)),
        )
    )
    if limits.min_cover_m > LEAST_COVER_M:
        found.append(
            Knob(
                "min_cover",
                limits.min_cover_m,
                LEAST_COVER_M,
                lambda v: replace(design, limits=replace(limits, min_cover_m=v)),
            )
        )
    if limits.max_depth_m is not None and limits.max_depth_m < DEEPEST_M:
        found.append(
            Knob(
                "max_depth",
                limits.max_depth_m,
                DEEPEST_M,
                lambda v: replace(design, limits=replace(limits, max_depth_m=v)),
            )
        )
    if outlet.by == "depth" and np.isfinite(outlet.most_m) and outlet.most_m < DEEPEST_M:
        found.append(
            Knob(
                "outlet_depth",
                outlet.most_m,
                DEEPEST_M,
                lambda v: replace(design, outlet=replace(outlet, most_m=v)),
            )
        )
    if outlet.by == "invert" and np.isfinite(outlet.least_m):
        found.append(
            Knob(
                "outlet_invert",
                outlet.least_m,
                outlet.least_m - 5 * FOOT_M,
                lambda v: replace(design, outlet=replace(outlet, least_m=v)),
            )
        )
    return [knob for knob in found if abs(knob.last_m - knob.before_m) > DECISION_SLACK_M]


def first_that_works(margin: Callable[[float], float], most: float) -> float | None:
    """The smallest x in (0, most] with margin(x) ≥ 0, where margin is concave and margin(0) < 0.

    False position with the Illinois change of weight; the answer is always on the working side.
    """
    low, high = 0.0, most
    f_low, f_high = margin(low), margin(high)
    if f_high < 0:
        top = _top(margin, most)
        if top is None:
            return None
        high, f_high = top
    for _ in range(ROOT_STEPS):
        if high - low <= ROOT_M:
            break
        x = high - f_high * (high - low) / (f_high - f_low) if f_high > f_low else (low + high) / 2
        if not low < x < high:
            x = (low + high) / 2
        f = margin(x)
        if f >= 0:
            stuck = f >= f_high * 0.5
            high, f_high = x, f
            f_low = f_low / 2 if stuck else f_low
            if f <= ROOT_M:
                break
        else:
            low, f_low = x, f
            f_high = max(f_high / 2, ROOT_M)
    return high


def _top(margin: Callable[[float], float], most: float) -> tuple[float, float] | None:
    """A point of [0, most] where a concave margin is not negative, by golden section; or None."""
    golden = (5**0.5 - 1) / 2
    a, b = 0.0, most
    c, d = b - golden * (b - a), a + golden * (b - a)
    f_c, f_d = margin(c), margin(d)
    for _ in range(ROOT_STEPS):
        if f_c >= 0:
            return c, f_c
        if f_d >= 0:
            return d, f_d
        if f_c < f_d:
            a, c, f_c = c, d, f_d
            d = a + golden * (b - a)
            f_d = margin(d)
        else:
            b, d, f_d = d, c, f_c
            c = b - golden * (b - a)
            f_c = margin(c)
    return None


def _turned(case: Case, knob: Knob) -> Fix | None:
    """The least turn of a knob that settles it, run again to prove it."""
    way = np.sign(knob.last_m - knob.before_m)

    def tried(x: float) -> Case:
        return case.with_design(knob.turned(knob.before_m + way * x))

    x = first_that_works(lambda x: judge(tried(x))[0], abs(knob.last_m - knob.before_m))
    if x is None:
        return None
    after_m = float(knob.before_m + way * x)
    return _proven(tried(x), knob.change, knob.before_m, after_m)


def _proven(
    case: Case,
    change: Change,
    before: float | str,
    after: float | str,
    where_m: float | None = None,
    breaks: int | None = None,
) -> Fix | None:
    """The fix if the case as changed passes; None otherwise."""
    margin_m, decision = judge(case)
    if margin_m < -DECISION_SLACK_M or not decision.yes:
        return None
    depth_m = case.points.ground_m - decision.invert_m + case.design.section.below_invert_m
    area_m2 = float(np.trapezoid(depth_m, case.points.at_m))
    return Fix(change, before, after, decision.margin_m, area_m2, where_m, breaks)


def _other_pipes(case: Case) -> Iterator[Fix]:
    """Pipes of the same nominal size that may lie flatter."""
    now = case.design
    if now.pipe.nominal_in is None:
        return
    for pipe in CATALOGUE.values():
        if pipe.nominal_in != now.pipe.nominal_in or pipe.min_grade >= now.grading.min_grade:
            continue
        grading = replace(now.grading, min_grade=pipe.min_grade)
        changed = case.with_design(replace(now, pipe=pipe, grading=grading))
        fix = _proven(changed, "pipe", now.pipe.code or now.pipe.name, pipe.code or pipe.name)
        if fix is not None:
            yield fix


def _other_outlets(case: Case) -> Iterator[Fix]:
    """Outlet kinds that need no level of their own, at their usual depths."""
    now = case.design
    kinds: tuple[OutletKind, ...] = ("daylight", "pop_up", "dry_well")
    for kind in kinds:
        outlet: Outlet | None = default_outlet(kind, now.pipe.outside_m)
        if kind == now.outlet.kind or outlet is None:
            continue
        changed = case.with_design(replace(now, outlet=outlet))
        fix = _proven(changed, "outlet_kind", now.outlet.kind, kind)
        if fix is not None:
            yield fix


def _other_ends(case: Case) -> Iterator[Fix]:
    """Ending the line at an earlier station, or going on over ground that is known."""
    end_m = float(case.points.at_m[-1])
    if case.design.outlet.by == "invert":
        return  # a level measured at one place says nothing of another
    earlier = [x for x in case.stations_m[::-1] if NEAREST_OUTLET_M <= x < end_m - 1e-6]
    later = [x for x in case.ground.at_m if x > end_m + 1e-6]
    for candidates in (earlier, later):
        for at_m in candidates:
            fix = _proven(case.ended_at(float(at_m)), "end_at", end_m, float(at_m))
            if fix is not None:
                yield fix
                break


def _other_passings(case: Case) -> Iterator[Fix]:
    """Passing one crossing the other way."""
    crossings = case.design.crossings
    for i, crossing in enumerate(crossings):
        if crossing.passing == "either":
            continue
        other = replace(crossing, passing="over" if crossing.passing == "under" else "under")
        changed = replace(case.design, crossings=(*crossings[:i], other, *crossings[i + 1 :]))
        fix = _proven(
            case.with_design(changed), "crossing", crossing.passing, other.passing, crossing.at_m
        )
        if fix is not None:
            yield fix


def _more_breaks(case: Case) -> Iterator[Fix]:
    """Letting the grade change on the way, with the fewest changes that do."""
    grading = case.design.grading
    least = 1 if grading.shape == "straight" else grading.max_breaks + 1
    before = 0 if grading.shape == "straight" else grading.max_breaks
    for breaks in range(least, 4):
        changed = replace(grading, shape="least_dig", max_breaks=breaks)
        fix = _proven(
            case.with_design(replace(case.design, grading=changed)),
            "grade_changes",
            float(before),
            float(breaks),
            breaks=breaks,
        )
        if fix is not None:
            yield fix
            return


def best_pair(case: Case) -> tuple[Fix, Fix] | None:
    """Two limits to loosen together, least digging first, when no single change does it.

    One goes as far as it may, the other as far as it must.
    """
    found = []
    options = knobs(case.design)
    for one, two in itertools.permutations(options, 2):
        eased = case.with_design(one.turned(one.last_m))
        again = next((k for k in knobs(eased.design) if k.change == two.change), None)
        second = None if again is None else _turned(eased, again)
        if second is not None:
            first = replace(second, change=one.change, before=one.before_m, after=one.last_m)
            found.append((first, second))
    return min(found, key=lambda pair: pair[1].area_m2, default=None)
