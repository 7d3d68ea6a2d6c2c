"""Two limits to loosen together, where no single change turns a "no" into a "yes"."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.case import Case
from yardfall.core.decision import decide
from yardfall.core.fixes import Fix, is_much, knobs_of, turned, with_free_start
from yardfall.core.loosening import Knob, same_knob

PAIRS_PROVEN: Final = 4


def best_pair(case: Case) -> tuple[Fix, Fix] | None:
    """Two limits to loosen together, least digging first, each no further than it must.

    The second goes as far as it must with the first as far as it may; then the first goes back as
    far as the second lets it. The pairs that serve on the readings as they stand are proven on the
    draws in order, PAIRS_PROVEN of them at the most. Both fixes hold the design with both changes.
    """
    options = knobs_of(case)
    if not _all_together(case, options):
        return None
    plain = replace(case, draws=None)
    found = [
        (pair, one, two)
        for one, two in _pairs(plain, options)
        if (pair := _least_of_both(plain, one, two)) is not None
    ]
    found.sort(key=lambda entry: (is_much(entry[0][1]), entry[0][1].area_m2))
    if case.draws is None:
        return found[0][0] if found else None
    for _, one, two in found[:PAIRS_PROVEN]:
        pair = _least_of_both(case, one, two)
        if pair is not None:
            return pair
    return None


def _least_of_both(case: Case, one: Knob, two: Knob) -> tuple[Fix, Fix] | None:
    """The least of the second with the first at its last, then the least of the first with it."""
    loose = case.as_asked(one.turned(one.last))
    again = same_knob(knobs_of(loose), two)
    second = None if again is None else turned(loose, again)
    if again is None or second is None or isinstance(second.after, str):
        return None
    there = case.as_asked(two.turned(second.after))
    back = same_knob(knobs_of(there), one)
    first = None if back is None else turned(there, back)
    if back is None or first is None or first.after == back.before:
        return None
    after = {"spare_m": first.spare_m, "area_m2": first.area_m2, "deepest_m": first.deepest_m}
    return first, replace(second, **after, asked=first.asked)  # type: ignore[arg-type]


def _pairs(case: Case, options: list[Knob]) -> Iterator[tuple[Knob, Knob]]:
    """Every two limits in both orders, but for those that do not serve loosened all the way."""
    for one, two in itertools.combinations(options, 2):
        if one.change == two.change:
            continue
        if not _all_together(case, [one, two]):
            continue
        yield one, two
        yield two, one


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
