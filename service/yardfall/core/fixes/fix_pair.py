"""Two changes to make together, where no single change turns a "no" into a "yes"."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from yardfall.core.chance.scenario import Case
from yardfall.core.design import Design
from yardfall.core.fixes.fixes import Fix, is_much, knobs_of, outlets_of, turned
from yardfall.core.fixes.loosening import Knob, same_knob
from yardfall.core.fixes.turning import with_free_start
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.decision import decide

PAIRS_PROVEN: Final = 4
Pair = tuple[Fix, Fix]
Way = Callable[[Case], Pair | None]
"""How two changes are found on a case."""


def best_pair(case: Case) -> Pair | None:
    """Two changes to make together, least digging first, each no further than it must.

    Two limits, or another outlet and a limit. Of two limits the second goes as far as it must with
    the first as far as it may; then the first goes back as far as the second lets it. The pairs
    that serve on the readings as they stand are proven on the draws in order, PAIRS_PROVEN of them
    at the most. Both fixes hold the design with both changes.
    """
    plain = replace(case, draws=None)
    ways = [*_pairs(plain, knobs_of(case)), *_with_other_outlets(plain)]
    found = [(pair, way) for way in ways if (pair := way(plain)) is not None]
    found.sort(key=lambda entry: (any(map(is_much, entry[0])), entry[0][1].area_m2))
    if case.draws is None:
        return found[0][0] if found else None
    for _, way in found[:PAIRS_PROVEN]:
        pair = way(case)
        if pair is not None:
            return pair
    return None


def _with_other_outlets(case: Case) -> Iterator[Way]:
    """Another outlet together with each limit that it leaves to loosen."""
    for asked, rank in outlets_of(case):
        there = case.as_asked(asked)
        options = knobs_of(there)
        for knob in options if _all_together(there, options) else ():
            if _all_together(there, [knob]):
                yield partial(_outlet_and, asked=asked, rank=rank, knob=knob)


def _outlet_and(case: Case, asked: Design, rank: int, knob: Knob) -> Pair | None:
    second = turned(case.as_asked(asked), knob)
    if second is None:
        return None
    kinds = case.as_it_is.outlet.kind, asked.outlet.kind
    return replace(second, change="outlet_kind", rank=rank, before=kinds[0], after=kinds[1]), second


def _least_of_both(case: Case, one: Knob, two: Knob) -> Pair | None:
    """The least of the second with the first at its last, then the least of the first with it.

    A start moved less far may ask less of the second: then the least of that once more.
    """
    second = _beside(case, one, one.last, two)
    if second is None:
        return None
    first = _beside(case, two, second.after, one)
    if first is None:
        return None
    last = first
    if not one.widens:
        last = second = _beside(case, one, first.after, two) or second
    after = {"spare_m": last.spare_m, "area_m2": last.area_m2, "deepest_m": last.deepest_m}
    first = replace(first, **after, asked=last.asked)  # type: ignore[arg-type]
    return first, replace(second, **after, asked=last.asked)  # type: ignore[arg-type]


def _beside(case: Case, other: Knob, value: float | str, wanted: Knob) -> Fix | None:
    """The least of a limit that settles it with the other at a value; None where none does."""
    if isinstance(value, str):
        return None
    there = case.as_asked(other.turned(value))
    knob = same_knob(knobs_of(there), wanted)
    fix = None if knob is None else turned(there, knob)
    return None if knob is None or fix is None or fix.after == knob.before else fix


def _pairs(case: Case, options: list[Knob]) -> Iterator[Way]:
    """Every two limits, in both orders, that serve when both are loosened all the way."""
    if not _all_together(case, options):
        return
    for one, two in itertools.combinations(options, 2):
        if one.change == two.change:
            continue
        if not _all_together(case, [one, two]):
            continue
        yield partial(_least_of_both, one=one, two=two)
        yield partial(_least_of_both, one=two, two=one)


def _all_together(case: Case, options: list[Knob]) -> bool:
    """Whether a line exists with every limit loosened as far as it may be, from any start."""
    starts = [knob.turned(value) for knob in options if is_start(knob) for value in ends_of(knob)]
    there = with_free_start(case, starts) if starts else case
    for wanted in options:
        knob = None if is_start(wanted) else same_knob(knobs_of(there), wanted)
        if knob is not None:
            there = there.as_asked(knob.turned(knob.last))
    return decide(there.design, there.points, any_line=True).margin_m >= -DECISION_SLACK_M


def is_start(knob: Knob) -> bool:
    """Whether a limit is that of the start."""
    return knob.change.startswith("start_")


def ends_of(knob: Knob) -> tuple[float, float]:
    """Where a limit stands, and how far it may go."""
    return knob.before, knob.last
