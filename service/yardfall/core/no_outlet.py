"""Which limit to loosen where a pipe comes out nowhere on a lot."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from yardfall.core.decision import Design
from yardfall.core.easing import ending_in
from yardfall.core.loosening import Change, knobs
from yardfall.core.pipes import CATALOGUE
from yardfall.core.trench import OutletKind

HALVINGS: Final = 12
HALVINGS_LARGE: Final = 5
LARGE: Final = 250_000
"""Points of a grid from which on a search is dear."""


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
        if best_of(knob.turned(knob.last_m)) < 0:
            continue
        short, enough = knob.before_m, knob.last_m
        for _ in range(halvings):
            middle = (short + enough) / 2
            if best_of(knob.turned(middle)) >= 0:
                enough = middle
            else:
                short = middle
        yield Loosened(knob.change, knob.before_m, enough, best_of(knob.turned(enough)))


def _names(design: Design, best_of: Callable[[Design], float]) -> Iterator[Loosened]:
    now = design.pipe
    for pipe in CATALOGUE.values():
        if pipe.nominal_in != now.nominal_in or pipe.min_grade >= design.grading.min_grade:
            continue
        grading = replace(design.grading, min_grade=pipe.min_grade)
        spare_m = best_of(replace(design, pipe=pipe, grading=grading))
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
