"""Where no change nor two of them mend a line: the change that comes nearest, and what is left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from yardfall.core.chance.scenario import Case
from yardfall.core.fixes.fixes import knobs_of
from yardfall.core.fixes.loosening import Change
from yardfall.core.grading.decision import decide

LEAST_GAIN: Final = 0.1
"""A change that takes away less of what it is short by is none to tell."""


@dataclass(frozen=True)
class Nearest:
    """A limit loosened as far as it may be, `before` to `after`, and by how much that falls short.

    Metres, or a ratio for a grade. `short_m` is on the readings as they stand.
    """

    change: Change
    before: float
    after: float
    short_m: float


def nearest_of(case: Case) -> Nearest | None:
    """The limit that, loosened all the way, leaves the line least short; None where none helps."""
    plain = replace(case, draws=None)
    now_m = decide(plain.design, plain.points, any_line=True).margin_m
    tried = []
    for knob in knobs_of(plain):
        there = plain.as_asked(knob.turned(knob.last))
        margin_m = decide(there.design, there.points, any_line=True).margin_m
        tried.append((margin_m, knob))
    if not tried:
        return None
    margin_m, knob = max(tried, key=lambda entry: entry[0])
    if margin_m >= 0 or margin_m < now_m * (1 - LEAST_GAIN):
        return None
    return Nearest(knob.change, knob.before, knob.last, -margin_m)
