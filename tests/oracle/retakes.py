"""What taking one reading again is worth, by brute force: no regression, no few errors tried.

Of very many draws of the true ground, those in which a reading's error is about the same make the
chance once that error is known. A draw fits where one straight grade does, by the grades that each
point allows. The worth is how often the chance is settled then: at most 0.05, or at least 0.95.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import lawns
import numpy as np

from yardfall.core.chance.chance import by_worth, drawn_margins, share_that_fits
from yardfall.core.chance.draws import draw
from yardfall.core.design import Alignment, Design
from yardfall.core.grading.decision import decide

Floats = np.ndarray
SETTLED = (0.05, 0.95)
MANY = 120_000
ALIKE = 2000
"""So many draws have about the same error."""
SPARE_M = {"graded": 0.02, "ordinary": 0.04, "rough": 0.06}
LEAST_RISER_M = 0.01
KINDS = ("string", "rod", "slopes", "spots")


@dataclass(frozen=True, eq=False)
class Problem:
    """Readings of a ground, and a design that they hardly settle."""

    known: lawns.Known
    design: Design
    at_m: Floats
    ground_m: Floats


def problem(seed: int) -> Problem:
    """Each kind of readings on each lawn in turn, with about nothing to spare."""
    rng = np.random.default_rng([seed, 78])
    lawn = list(SPARE_M)[seed // len(KINDS) % len(SPARE_M)]
    kind = KINDS[seed % len(KINDS)]
    known = lawns.KINDS[kind](rng, lawns.MIDDLE_M[lawn], lawns.accuracy_of(kind, lawn))
    design, ground, at_m = lawns.a_design(rng, "straight"), known.ground, known.errors.ground_at_m
    ground_m = ground.elevation(at_m)
    points = Alignment(at_m, ground_m, np.ones(len(at_m), dtype=bool))
    spare_m = decide(design, points).margin_m
    off_m = float(rng.uniform(-1, 1)) * SPARE_M[lawn]
    outlet = replace(design.outlet, most_m=max(0.3 - spare_m + off_m, LEAST_RISER_M))
    limits = replace(design.limits, end_cover_m=0.0)  # a pop-up's pipe lies in the ground
    return Problem(known, replace(design, outlet=outlet, limits=limits), at_m, ground_m)


def fits(one: Problem, change_m: Floats) -> Floats:
    """Whether one straight grade fits each ground (d,): the steepest and the flattest that each
    point allows, the start's level being given by its cover."""
    design, at = one.design, one.at_m[1:, None]
    ground = one.ground_m[:, None] + change_m
    pipe, limits = design.pipe, design.limits
    above, below = (pipe.outside_m + pipe.inside_m) / 2, pipe.wall_m
    start = ground[0] - design.start.value_m - above
    run_out = one.at_m[1:] > one.at_m[-1] - limits.outlet_taper_m + 1e-9
    cover = np.where(run_out, 0.0, limits.min_cover_m)[:, None]
    top = ground[1:] - cover - above
    top[-1] = ground[-1] + below
    flattest = np.maximum(((start - top) / at).max(axis=0), design.grading.min_grade)
    deepest = ground[-1] - design.outlet.most_m + below
    steepest = (start - deepest) / at[-1]
    found: Floats = flattest <= steepest + 1e-9
    return found


def worth(fitting: Floats, error_m: Floats) -> float:
    """How often (0 to 1) the answer is settled once a reading's error is known."""
    in_order = np.concatenate([[0], np.cumsum(fitting[np.argsort(error_m, kind="stable")])])
    half, count = ALIKE // 2, len(error_m)
    here = np.arange(count)
    first, last = np.maximum(here - half, 0), np.minimum(here + half, count)
    chance = (in_order[last] - in_order[first]) / (last - first)
    return float(((chance <= SETTLED[0]) | (chance >= SETTLED[1])).mean())


def lost(seed: int) -> float | None:
    """How much less the first reading named is worth than the best.

    None where the answer is sure, by the planner or in truth: there is nothing to settle then, and
    a reading that tells nothing settles it as often as any.
    """
    one = problem(seed)
    points = Alignment(one.at_m, one.ground_m, np.ones(len(one.at_m), dtype=bool))
    band, draws = decide(one.design, points).band, draw(one.known.errors)
    margin = drawn_margins(one.design, [band], draws.change_m)
    sure = not SETTLED[0] < share_that_fits(margin) < SETTLED[1]
    if sure or one.design.outlet.most_m <= LEAST_RISER_M:
        return None
    many = draw(one.known.errors, MANY, seed=9)
    fitting = fits(one, many.change_m)
    if not SETTLED[0] < fitting.mean() < SETTLED[1]:
        return None
    named = by_worth(one.design, [band], draws, margin)
    true = [worth(fitting, error) for error in many.errors_m]
    return max(true) - (true[named[0]] if named else 0.0)
