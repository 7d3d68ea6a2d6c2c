"""A design on its ground, to be run again with something changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.chance.chance import TOO_CLOSE, Bands, drawn_margins
from yardfall.core.chance.draws import Draws, draw_again, drawn_on
from yardfall.core.design import Alignment, Design, Limits
from yardfall.core.easing.site import SAME_M, Site, level_site, site_of
from yardfall.core.easing.usual_limits import at_last, values_of
from yardfall.core.grading.alignment import shortened
from yardfall.core.grading.band import DECISION_SLACK_M, find_pinch
from yardfall.core.grading.decision import Decision, band_of, bands_of, decide, ways_to_pass
from yardfall.core.ground.profile import GroundProfile

ROUGH_DRAWS: Final = 800
TIGHTEST: Final = 6
"""Points of each kind that are looked at before all of them are."""


@dataclass(frozen=True, eq=False)
class Case:
    """A design on its ground, with what is needed to run it again.

    With `draws` of the readings' errors a fix must hold in 95 % of them, without (None) on the
    readings as they stand. `may_go_on` is false for a drawn line, which ends where it was drawn,
    `ends_free` for a line that joins another: its end is not its own. What must stay on the line
    lies within its first `served_m`.
    """

    design: Design
    ground: GroundProfile
    stations_m: Floats
    points: Alignment
    draws: Draws | None = None
    may_go_on: bool = True
    ends_free: bool = True
    served_m: float = 0.0
    whole: Case | None = None
    """The line as asked for, where this one was ended at another station."""
    asked: Design | None = None
    """The design before its usual values were put in; None: as it stands."""

    @cached_property
    def draws_on_points(self) -> Draws | None:
        """The draws carried from the ground's points to those of the alignment."""
        return None if self.draws is None else self.draws.onto(self.points.at_m)

    @cached_property
    def change_m(self) -> Floats | None:
        """How far the drawn ground lies from the one read (n, d) at the points."""
        return None if self.draws_on_points is None else self.draws_on_points.change_m

    def change_at_m(self, rows: NDArray[np.intp]) -> Floats:
        """How far the drawn ground lies from the one read at some of the points (r, d)."""
        if self.draws is None:
            raise ValueError("this case has no draws")
        if self.whole is None and self.change_m is not None:
            return self.change_m[rows]
        return self.draws.onto(self.points.at_m[rows]).change_m

    def _points_on(self, ground: GroundProfile, end_m: float, limits: Limits) -> Alignment:
        """The points of a line that ends there, those where the true ground is drawn among them."""
        return shortened(drawn_on(ground, self.draws), self.stations_m, end_m, limits)

    def with_design(self, design: Design, asked: Design | None = None) -> Case:
        """The same ground under another design; `asked`: before its usual values were put in."""
        asked = asked or self.asked
        length_m = float(self.points.at_m[-1])
        edges_m = design.limits.edges_m(length_m)
        if edges_m != self.design.limits.edges_m(length_m):
            points = self._points_on(self.ground, length_m, design.limits)
            whole = self.whole or self
            return replace(self, design=design, points=points, whole=whole, asked=asked)
        changed = replace(self, design=design, asked=asked)
        if "change_m" in self.__dict__:
            changed.__dict__["change_m"] = self.change_m  # same points, same ground
        return changed

    def as_asked(self, asked: Design) -> Case:
        """Another design as someone asks for it, its usual values at their last."""
        last = at_last(asked, self.site, float(self.points.at_m[-1]))
        there = self.with_design(last, asked)
        there.__dict__["site"] = self.site
        return there

    @property
    def as_it_is(self) -> Design:
        """The design before its usual values were put in."""
        return self.asked or self.design

    @cached_property
    def site(self) -> Site:
        """What easing asks of the ground."""
        return self.site_at(float(self.points.at_m[-1]))

    def on_ground(self, ground: GroundProfile) -> Case:
        """The same design over other ground, known at the same points."""
        end_m = float(self.points.at_m[-1])
        site = site_of(ground, end_m, values_of(self.as_it_is).stretch_m)
        design = at_last(self.as_it_is, site, end_m)
        points = self._points_on(ground, end_m, design.limits)
        draws = None if self.draws is None else draw_again(self.draws, ground)
        return replace(
            self, design=design, ground=ground, draws=draws, points=points, whole=self.whole or self
        )

    def site_at(self, end_m: float) -> Site:
        """What easing asks of the ground of a line that ends there.

        Around another end than the one that a raster was read about nothing is known.
        """
        around = self.ground.around
        if around is not None and abs(around.end_m - end_m) > SAME_M:
            return level_site(self.ground.elevation_at(0.0))
        return site_of(self.ground, end_m, values_of(self.asked or self.design).stretch_m)

    @cached_property
    def roughly(self) -> Case:
        """The same case on the first ROUGH_DRAWS draws: for searching, not for proving."""
        if self.draws is None or self.change_m is None:
            return self
        few = self.draws.first(ROUGH_DRAWS)
        case = replace(self, draws=few)
        case.__dict__["change_m"] = np.ascontiguousarray(self.change_m[:, :ROUGH_DRAWS])
        return case

    def ended_at(self, end_m: float) -> Case:
        """The same design on a line that ends at another station."""
        kept = tuple(c for c in self.as_it_is.crossings if c.at_m < end_m)
        limits = self.as_it_is.limits
        fills = tuple(fill for fill in limits.fills if fill.from_m < end_m)
        limits = replace(limits, fills=fills) if limits.fills else limits
        asked = replace(self.as_it_is, crossings=kept, limits=limits)
        design = at_last(asked, self.site_at(end_m), end_m)
        points = self._points_on(self.ground, end_m, design.limits)
        whole = self.whole or self
        return replace(self, design=design, points=points, whole=whole, asked=asked)


def proven(case: Case) -> Decision | None:
    """The decision, if it is a yes that all but 5 % of the draws keep; the same test as `judge`.

    The margin over some of the points is never below that over all, nor that of a line that may
    change its grade anywhere below that of one that may not: so too many draws that fail at the
    tightest few, or by any line, are enough to say no, before the line that digs least is found.
    """
    design, ways = case.design, list(ways_to_pass(case.design.crossings))
    if len(ways) == 1 and not design.straight:
        band = band_of(design, case.points, ways[0])
        if find_pinch(band).margin_m < -DECISION_SLACK_M or _fails(case, [band], few=True):
            return None
        if not design.one_change and _fails(case, [band]):
            return None
    decision = decide(design, case.points, shortage=False)
    if decision.margin_m < -DECISION_SLACK_M or not decision.yes:
        return None
    bands = bands_of(design, case.points, decision.ways)
    return None if _fails(case, bands, few=True) or _fails(case, bands) else decision


def _fails(case: Case, bands: Bands, *, few: bool = False) -> bool:
    """Whether more than 5 % of the draws leave no line; `few`: by the tightest points alone."""
    if case.draws is None:
        return False
    rows = np.arange(len(case.points.at_m))
    if few:
        rows = np.unique(np.concatenate([band.tightest(TIGHTEST) for band in bands]))
    there = [band.only(rows) for band in bands]
    margin_m = drawn_margins(case.design, there, case.change_at_m(rows), fits_only=True)
    allowed = int((1 - TOO_CLOSE[1]) * (len(margin_m) - 1))
    return int(np.count_nonzero(margin_m < -DECISION_SLACK_M)) > allowed


def judge(case: Case) -> tuple[float, Decision]:
    """The margin that a fix must bring to zero or more, and the decision behind it.

    With draws it is the spare that all but 5 % of them reach, or the plain margin if less. The
    decision's line is any that fits.
    """
    decision = decide(case.design, case.points, any_line=True)
    if decision.margin_m < -DECISION_SLACK_M or case.change_m is None:
        return decision.margin_m, decision
    bands = bands_of(case.design, case.points, decision.ways)
    drawn = drawn_margins(case.design, bands, case.change_m)
    return min(
        decision.margin_m, float(np.quantile(drawn, 1 - TOO_CLOSE[1], method="lower"))
    ), decision
