"""Which limit to loosen where a pipe comes out nowhere on a lot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from yardfall.core.design import Design
from yardfall.core.fixes.fixes import with_flatter_pipes, with_other_outlets
from yardfall.core.fixes.loosening import Change, knobs

HALVINGS: Final = 12
HALVINGS_LARGE: Final = 5
LARGE: Final = 250_000
"""Points of a grid from which on a search is dear."""
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
    """One change that alone makes an outlet somewhere; metres, or a name. `spare_m` after it."""

    change: Change
    before: float | str
    after: float | str
    spare_m: float


def loosenings(
    design: Design, best_of: Callable[[Design], float], points: int
) -> tuple[Loosened, ...]:
    """Every single change that alone makes an outlet. `best_of` is the most spare anywhere.

    A limit in metres is loosened no further than it must, to a 4,000th of how far it may go; to a
    32nd on a grid of LARGE points.
    """
    halvings = HALVINGS if points < LARGE else HALVINGS_LARGE
    return (*_limits(design, best_of, halvings), *_names(design, best_of))


def _limits(
    design: Design, best_of: Callable[[Design], float], halvings: int
) -> Iterator[Loosened]:
    for knob in knobs(design):
        if knob.change not in LOOSENED or knob.rank == DEEPER_START:
            continue
        if best_of(knob.turned(knob.last)) < 0:
            continue
        short, enough = knob.before, knob.last
        for _ in range(halvings):
            middle = (short + enough) / 2
            if best_of(knob.turned(middle)) >= 0:
                enough = middle
            else:
                short = middle
        yield Loosened(knob.change, knob.before, enough, best_of(knob.turned(enough)))


def _names(design: Design, best_of: Callable[[Design], float]) -> Iterator[Loosened]:
    now = design.pipe
    for other in with_flatter_pipes(design):
        spare_m = best_of(other)
        if spare_m >= 0:
            pipe = other.pipe
            yield Loosened("pipe", now.code or now.name, pipe.code or pipe.name, spare_m)
    for other in with_other_outlets(design):
        spare_m = best_of(other)
        if spare_m >= 0:
            yield Loosened("outlet_kind", design.outlet.kind, other.outlet.kind, spare_m)
