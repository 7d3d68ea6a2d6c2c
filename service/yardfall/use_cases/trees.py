"""A line with its branches as one: surveyed, planned, how sure it is, and the water in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.cautions import BUOYANCY, FROST, Caution
from yardfall.core.chance.verdict import Verdict, verdict_of
from yardfall.core.easing.usual_limits import at_last
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.route import SAME_STATION_M, Route
from yardfall.core.hydraulics.backwater import Backwater, back_up
from yardfall.core.hydraulics.capacity import Inflow
from yardfall.core.hydraulics.head import Opening
from yardfall.core.hydraulics.hydraulic_grade_line import (
    End,
    Inlet,
    Standing,
    StandingWater,
    WetLine,
    water_at_inlets,
)
from yardfall.core.network.tree import Joined, Line, Place, TreePinch, tree_pinch
from yardfall.core.network.tree_chance import DrawnLine, draw_tree
from yardfall.core.outlet_levels import lid_m, tailwater_m
from yardfall.core.plan import Plan
from yardfall.core.remarks import Remark
from yardfall.core.request import BranchRequest, PlanRequest
from yardfall.core.uncertainty.accuracy import ErrorModel
from yardfall.use_cases.survey import Survey

FROM_HOUSE: Final = ("roof", "pump")
"""Kinds of inflow whose inlet stands at the house."""


@dataclass(frozen=True, eq=False)
class Tree:
    """A planned line and the branches that join it, each a tree of its own.

    `chance` is the share of draws in which all its lines exist (None: the errors are not known).
    `inlets` is the water at the line's inlets, None where none enters the tree and none is stated
    to stand at its outlet. `drowned` is what must be said of them. `backwater` is what water stated
    to stand at the outlet does, None where none is; the main line's alone, branches and all.
    """

    plan: Plan
    branches: tuple[BranchTree, ...] = ()
    chance: float | None = None
    pinch: TreePinch | None = None
    inlets: tuple[StandingWater, ...] | None = None
    drowned: tuple[Remark, ...] = ()
    backwater: Backwater | None = None

    @property
    def warnings(self) -> tuple[Remark, ...]:
        """What must be said of its line and of the water at its inlets."""
        told = self.plan.warnings
        if self.drowned:
            told = tuple(remark for remark in told if remark.code != "water_near_opening")
        return (*told, *self.drowned)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Those of its line, and of the water that stands in it."""
        water = self.backwater
        if water is None:
            return self.plan.cautions
        frost = [] if water.to_m is None else [FROST]
        return (*self.plan.cautions, *frost, *([BUOYANCY] if water.drowns_outlet else []))

    @property
    def floods_house(self) -> bool:
        """Whether water standing at the outlet could come out at the house because of it."""
        return self.backwater is not None and bool(self.backwater.at_house)

    @property
    def lines(self) -> tuple[Plan, ...]:
        """The line and every branch of it."""
        return (self.plan, *(line for b in self.branches for line in b.tree.lines))

    @property
    def fits(self) -> bool:
        """Whether every line exists on the readings as they stand."""
        return self.plan.decision.yes and all(b.tree.fits for b in self.branches)

    @property
    def verdict(self) -> Verdict:
        """Of all lines together: by the chance that they all exist, else as the readings stand."""
        if not self.branches:
            return self.plan.verdict
        blocked = any(line.judged.blocked for line in self.lines)
        return verdict_of(self.fits, self.chance, blocked=blocked)


@dataclass(frozen=True, eq=False)
class BranchTree:
    """A branch's request, its tree, its drop, and what its levels are over the main's.

    `drop_m` is its end's invert over the main's there; `steps_down_m` what of it a slanting piece
    of pipe takes, 0 where the branch falls right to its join.
    """

    request: BranchRequest
    tree: Tree
    drop_m: float
    offset_m: float
    steps_down_m: float = 0.0


@dataclass(frozen=True, eq=False)
class Surveyed:
    """A request with its ground, and its branches', before anything is planned.

    Branches come with the drop asked for, and what their levels are over the line's. Of a branch
    that is laid, `steps_down_m` is what its end lies over that: a slanting piece leads down.
    """

    request: PlanRequest
    survey: Survey
    branches: tuple[tuple[BranchRequest, Surveyed, float, float], ...]
    joins_another: bool = False
    steps_down_m: float = 0.0


def with_chance(surveyed: Surveyed, planned: Tree) -> Tree:
    """The tree with the chance and the pinch of every line and what joins it."""
    if not planned.branches:
        plan = planned.plan
        chance = None if plan.chance is None else plan.chance.chance
        return Tree(plan, (), chance, _pinch_of(plan))
    line = line_of(surveyed, planned)
    models = _models(planned)
    known = any(model is not None for model in models)
    drawn = draw_tree(line_of(surveyed, planned, drawn=True), models) if known else None
    return _told(planned, line, drawn)


def _pinch_of(plan: Plan) -> TreePinch:
    """The pinch of a line that nothing joins."""
    decision, at_m = plan.judged.decision, plan.judged.points.at_m
    pinch, turn = decision.pinch, decision.pinch.turns_on
    return TreePinch(
        decision.margin_m,
        Place((), float(at_m[pinch.upstream]), pinch.limits[0]),
        Place((), float(at_m[pinch.downstream]), pinch.limits[1]),
        None if turn is None else Place((), float(at_m[turn]), decision.band.hi_why[turn]),
    )


def _told(tree: Tree, line: Line, drawn: DrawnLine | None) -> Tree:
    above = drawn.above if drawn else (None,) * len(tree.branches)
    branches = tuple(
        replace(branch, tree=_told(branch.tree, joined.line, one))
        for branch, joined, one in zip(tree.branches, line.joined, above, strict=True)
    )
    return replace(
        tree,
        branches=branches,
        chance=drawn.chance if drawn else None,
        pinch=tree_pinch(line),
    )


def line_of(surveyed: Surveyed, planned: Tree, *, drawn: bool = False) -> Line:
    """The tree as its own sums need it, every branch's end left open.

    `drawn`: on the points where the ground is drawn.
    """
    joined = tuple(
        Joined(
            branch.name,
            line_of(below, its.tree, drawn=drawn),
            branch.joins_at_m,
            drop_m,
            offset_m,
            branch.own_datum,
        )
        for (branch, below, drop_m, offset_m), its in zip(
            surveyed.branches, planned.branches, strict=True
        )
    )
    plan = planned.plan
    design = at_last(surveyed.request.design, plan.eased.site, plan.route.length_m)
    judged = plan.judged
    points = (drawn and plan.drawn_on) or judged.points
    return Line(design, points, judged.decision.ways, joined)


def _models(tree: Tree) -> list[ErrorModel | None]:
    chance = tree.plan.chance
    own = None if chance is None else chance.model
    return [own, *(model for branch in tree.branches for model in _models(branch.tree))]


def inflows_of(surveyed: Surveyed) -> tuple[Inflow, ...]:
    """What enters a line, and everything that enters its branches at the station of the join.

    A branch that joins at the very end meets the water below the line.
    """
    end_m = surveyed.survey.route.length_m - SAME_STATION_M
    return (
        *surveyed.request.inflows,
        *(
            replace(inflow, at_m=branch.joins_at_m)
            for branch, below, _, _ in surveyed.branches
            for inflow in inflows_of(below)
            if branch.joins_at_m <= end_m
        ),
    )


def with_water(surveyed: Surveyed, planned: Tree) -> Tree:
    """The tree with the water at every inlet, and a warning for each that is drowned.

    Where water is stated to stand at the outlet, also what that does, in level water if none runs.
    """
    line = _wet(surveyed, planned)
    plan, tailwater = planned.plan, surveyed.request.tailwater
    runs = bool(line.inflows) or any(below.inflows for _, _, below in line.branches)
    if not runs and tailwater is None and not any(_opens(b) for _, _, b in line.branches):
        return planned
    end = End(lid_m(plan), tailwater_m(plan, tailwater))
    told = runs or tailwater is None
    watered = _watered(planned, water_at_inlets(line, end), told=told)
    if tailwater is None:
        return watered
    shown_m = np.array([station.at_m for station in plan.stations])
    return replace(watered, backwater=back_up(line, end.water_m, shown_m, end.lid_m))


def _opens(line: WetLine) -> bool:
    """Whether an opening is stated on a line or what joins it."""
    stated = any(inlet.stated for inlet in line.inlets)
    return stated or any(_opens(branch) for _, _, branch in line.branches)


def _wet(surveyed: Surveyed, planned: Tree, name: str = "") -> WetLine:
    plan = planned.plan
    branches = tuple(
        (branch.joins_at_m, offset_m, _wet(below, its.tree, branch.name))
        for (branch, below, _, offset_m), its in zip(
            surveyed.branches, planned.branches, strict=True
        )
    )
    return WetLine(
        plan.design.pipe,
        plan.points.at_m,
        plan.decision.invert_m,
        plan.runs,
        inflows_of(surveyed),
        _inlets(surveyed.request, plan),
        branches,
        plan.points.ground_m,
        name,
    )


def _inlets(request: PlanRequest, plan: Plan) -> tuple[Inlet, ...]:
    """The openings stated, and the ground wherever water enters and none is stated."""
    stated = [Inlet(o.what, o.at_m, o.level_m, stated=True) for o in request.openings]
    entering: dict[float, list[Inflow]] = {}
    for inflow in request.inflows if plan.ground.known else ():
        at_m = inflow.at_m or 0.0
        if all(abs(at_m - inlet.at_m) > SAME_STATION_M for inlet in stated):
            entering.setdefault(at_m, []).append(inflow)
    ground = [
        Inlet(
            " and ".join(dict.fromkeys(i.name or i.kind for i in inflows)),
            x,
            plan.ground.elevation_at(x),
            stated=False,
            at_house=any(i.kind in FROM_HOUSE for i in inflows),
        )
        for x, inflows in entering.items()
    ]
    return tuple(sorted((*stated, *ground), key=lambda inlet: inlet.at_m))


def _watered(tree: Tree, standing: Standing, *, told: bool) -> Tree:
    drowned = tuple(
        Remark(
            "inlet_drowned" if one.level_m > one.still_m else "opening_too_low",
            "/head/openings" if one.inlet.stated else "/inflows",
            {"inlet": one.inlet.what, "station_m": one.inlet.at_m, "short_m": -one.spare_m},
        )
        for one in standing.inlets
        if told and one.spare_m < 0
    )
    return replace(
        tree,
        inlets=standing.inlets,
        drowned=drowned,
        branches=tuple(
            replace(branch, tree=_watered(branch.tree, below, told=told))
            for branch, below in zip(tree.branches, standing.branches, strict=True)
        ),
    )


def refuse_openings_beyond(openings: tuple[Opening, ...], route: Route) -> None:
    """Raise InputError for an opening beyond the end of its line."""
    beyond = [
        Problem(f"/head/openings/{i}/at", "This opening lies beyond the end of the line.")
        for i, opening in enumerate(openings)
        if opening.at_m > route.length_m + SAME_STATION_M
    ]
    if beyond:
        raise InputError(*beyond)
