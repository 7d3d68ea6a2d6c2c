"""Which limit to loosen where a pipe comes out nowhere on a lot.

The search of the grid tells about how far, a search anew with lines laid and planned proves it:
the first counts any number of changes of grade, the second is what is told when the change is made.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from yardfall.core.design import Design
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.fixes.fixes import with_flatter_pipes, with_other_outlets
from yardfall.core.fixes.loosening import QUANTITIES, Change, Knob, knobs
from yardfall.core.fixes.outward import outward

HALVINGS: Final = 12
HALVINGS_LARGE: Final = 5
LARGE: Final = 250_000
"""Points of a grid from which on a search is dear."""
PROOFS: Final = 6
PROOFS_LARGE: Final = 3
"""Times that a limit is tried by lines laid and planned before it is given up."""
GROWS: Final = 1.5
"""What was missing by the last proof is made up so many times: spare grows ever more slowly."""
LOOSENED: Final[frozenset[Change]] = frozenset(
    {
        "start_cover",
        "start_depth",
        "start_invert",
        "min_cover",
        "max_depth",
        "min_grade",
        "outlet_depth",
        "outlet_invert",
    }
)
"""The limits that bear on how high a pipe can come; each search anew is dear."""
DEEPER_START: Final = 5
"""A start that is lowered brings no pipe higher."""


@dataclass(frozen=True)
class Loosened:
    """One change that alone makes an outlet somewhere; metres, or a name. `spare_m` after it.

    `asked` is the design with the change in it, as someone would ask for it.
    """

    change: Change
    before: float | str
    after: float | str
    spare_m: float
    asked: Design


@dataclass(frozen=True)
class Trials:
    """How a design may be tried on a lot: the most fall to spare anywhere, -inf for nowhere.

    `rough` is by the search of the grid, `proven` by lines laid and planned. `missing_m` is what
    is missing as asked for, by its own plan.
    """

    rough: Callable[[Design], float]
    proven: Callable[[Design], float]
    missing_m: float
    points: int


def loosenings(asked: Design, held: Design, trials: Trials) -> Iterator[Loosened]:
    """Every single change that alone makes an outlet, as proven, each as soon as it is found.

    `held` is as asked for with every usual value at its last. A limit is loosened to the first
    value that people would say from which on the proof holds, as near as PROOFS tell.
    """
    for knob in knobs(asked, held):
        if knob.change in LOOSENED and knob.rank != DEEPER_START:
            found = _turned(knob, asked, trials)
            if found is not None:
                yield found
    yield from _names(asked, trials)


def _turned(knob: Knob, asked: Design, trials: Trials) -> Loosened | None:
    if trials.rough(knob.turned(knob.last)) < 0:
        return None
    large = trials.points >= LARGE
    short, enough = knob.before, knob.last
    for _ in range(HALVINGS_LARGE if large else HALVINGS):
        middle = (short + enough) / 2
        if trials.rough(knob.turned(middle)) >= 0:
            enough = middle
        else:
            short = middle
    quantity, units = QUANTITIES.get(knob.change, "depth"), values_of(asked).units

    def told(value: float) -> float | None:
        return next(outward(value, knob.before, knob.last, quantity, units), None)

    failing, missing_m = knob.before, trials.missing_m
    value = told(enough)
    holds: tuple[float, float] | None = None
    for left in range(PROOFS_LARGE if large else PROOFS, 0, -1):
        if value is None:
            break
        spare_m = trials.proven(knob.turned(value))
        if spare_m >= 0:
            holds = value, spare_m
        else:
            enough = _grown(knob, failing, missing_m, value, -spare_m, last=left == 2)
            failing, missing_m = value, -spare_m
        if holds is not None:
            enough = (failing + holds[0]) / 2
        value = told(enough)
        if value == failing or (holds is not None and value == holds[0]):
            break
    if holds is None:
        return None
    return Loosened(knob.change, knob.before, holds[0], holds[1], knob.turned(holds[0]))


def _grown(
    knob: Knob, one: float, one_missing_m: float, two: float, two_missing_m: float, *, last: bool
) -> float:
    """A value beyond the second of two that fail, by what they are missing; at the `last` the last
    there is."""
    gained_m = one_missing_m - two_missing_m
    if last or not math.isfinite(two_missing_m):
        return knob.last
    way = math.copysign(1.0, knob.last - knob.before)
    if gained_m > 0 and two != one:
        further = GROWS * two_missing_m * abs(two - one) / gained_m
    else:
        further = abs(knob.last - two) / 2
    return two + way * min(further, abs(knob.last - two))


def _names(asked: Design, trials: Trials) -> Iterator[Loosened]:
    now = asked.pipe
    for other in with_flatter_pipes(asked):
        spare_m = _spare_m(other, trials)
        if spare_m >= 0:
            pipe = other.pipe
            yield Loosened("pipe", now.code or now.name, pipe.code or pipe.name, spare_m, other)
    for other in with_other_outlets(asked):
        spare_m = _spare_m(other, trials)
        if spare_m >= 0:
            yield Loosened("outlet_kind", asked.outlet.kind, other.outlet.kind, spare_m, other)


def _spare_m(design: Design, trials: Trials) -> float:
    """What is left by the proof, which is dear, where the search leaves any."""
    return trials.proven(design) if trials.rough(design) >= 0 else -math.inf
