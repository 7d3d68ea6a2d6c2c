"""Which limit to loosen where a pipe comes out nowhere on a lot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from yardfall.core.design import Design, OutletKind
from yardfall.core.easing.usual_limits import ending_in
from yardfall.core.fixes.fixes import flatter_pipes, with_pipe
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
    for pipe in flatter_pipes(design):
        spare_m = best_of(with_pipe(design, pipe))
        if spare_m >= 0:
            yield Loosened("pipe", now.code or now.name, pipe.code or pipe.name, spare_m)
    kinds: tuple[OutletKind, ...] = ("daylight", "pop_up", "dry_well")
    for kind in kinds:
        other = ending_in(design, kind)
        if kind == design.outlet.kind or other is None:
            continue
        spare_m = best_of(other)
        if spare_m >= 0:
            yield Loosened("outlet_kind", design.outlet.kind, kind, spare_m)
