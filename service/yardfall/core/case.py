"""A design on its ground, to be run again with something changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from yardfall.core.alignment import shortened
from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.chance import TOO_CLOSE, Draws, drawn_margins, onto
from yardfall.core.decision import Decision, Design, decide
from yardfall.core.ground import GroundProfile
from yardfall.core.route import Floats
from yardfall.core.trench import Alignment

ROUGH_DRAWS: Final = 800


@dataclass(frozen=True, eq=False)
class Case:
    """A design on its ground, with what is needed to run it again.

    With `draws` of the readings' errors a fix must hold in 95 % of them, without (None) on the
    readings as they stand. `may_go_on` is false for a drawn line, which ends where it was drawn.
    """

    design: Design
    ground: GroundProfile
    stations_m: Floats
    points: Alignment
    draws: Draws | None = None
    may_go_on: bool = True

    @cached_property
    def draws_on_points(self) -> Draws | None:
        """The draws carried from the ground's points to those of the alignment."""
        if self.draws is None:
            return None
        model = onto(self.draws.model, self.ground.at_m, self.points.at_m)
        return replace(self.draws, model=model)

    @cached_property
    def change_m(self) -> Floats | None:
        """What the readings' errors do to the ground (n, d) of the points."""
        draws = self.draws_on_points
        return None if draws is None else draws.ground_change_m()

    def with_design(self, design: Design) -> Case:
        """The same ground under another design."""
        changed = replace(self, design=design)
        if "change_m" in self.__dict__:
            changed.__dict__["change_m"] = self.change_m  # same points, same ground
        return changed

    @cached_property
    def roughly(self) -> Case:
        """The same case on the first ROUGH_DRAWS draws: for searching, not for proving."""
        if self.draws is None or self.change_m is None:
            return self
        few = replace(self.draws, standard=self.draws.standard[:, :ROUGH_DRAWS])
        case = Case(self.design, self.ground, self.stations_m, self.points, few)
        case.__dict__["change_m"] = np.ascontiguousarray(self.change_m[:, :ROUGH_DRAWS])
        return case

    def ended_at(self, end_m: float) -> Case:
        """The same design on a line that ends at another station."""
        taper_m = self.design.limits.outlet_taper_m
        points = shortened(self.ground, self.stations_m, end_m, taper_m)
        kept = tuple(c for c in self.design.crossings if c.at_m < end_m)
        design = replace(self.design, crossings=kept)
        return replace(self, design=design, points=points)


def judge(case: Case) -> tuple[float, Decision]:
    """The margin that a fix must bring to zero or more, and the decision behind it.

    With draws it is the spare that all but 5 % of them reach, or the plain margin if less.
    """
    decision = decide(case.design, case.points)
    if case.draws is None or case.change_m is None or decision.margin_m < -DECISION_SLACK_M:
        return decision.margin_m, decision
    drawn = drawn_margins(case.design, decision.band, case.change_m)
    return min(
        decision.margin_m, float(np.quantile(drawn, 1 - TOO_CLOSE[1], method="lower"))
    ), decision
