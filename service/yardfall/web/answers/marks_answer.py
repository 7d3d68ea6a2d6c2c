"""How well the marks of a dig sheet keep what the plan keeps, in the caller's units."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from yardfall.core.plan import Plan
from yardfall.core.stakeout.tape_marks import TapeMarks
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.web.openapi.numbers import rounded

NAMED: Final = 3
"""Places that a sentence names; the rest are counted."""
FINER: Final = 2
"""What marks lack is told so many digits finer than a depth: it is less than a step."""


def marks_answer(plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """The steps of the tape marks, how far those dug by depart, and what they could not keep."""
    by_hand, grade = plan.marks.by_hand, plan.marks.by_hand.worst_grade
    return {
        "step": rounded(plan.marks.dig.step_m / units.depth_m),
        "worst_departure": rounded(by_hand.worst_m / units.depth_m),
        "worst_percent": None if grade is None else rounded(grade * 100),
        "least_percent": rounded(plan.design.grading.min_grade * 100),
        "notes": _notes(plan, units),
    }


def _notes(plan: Plan, units: UnitSystem) -> list[str]:
    marks, found = plan.marks, []
    ways: tuple[tuple[str, TapeMarks | None], ...] = (
        ("dig", marks.dig),
        ("line", marks.line),
        ("rod", marks.rod),
    )

    def label(i: int) -> str:
        return units.station_label(plan.stations[i].at_m)

    for way, one in ways:
        if one is None:
            continue
        short_m, past_m = one.short_m.tolist(), one.past_m.tolist()
        if any(short_m):
            flat = [i for i, short in enumerate(short_m) if short]
            where = [say("marks.stretch", from_=label(i), to=label(i + 1)) for i in flat]
            short = units.depth_text(max(short_m), FINER)
            found.append(say(f"marks.flat_{way}", short=short, where=_named(where)))
        if any(past_m):
            amount = units.depth_text(max(past_m), FINER)
            where = [label(i) for i, past in enumerate(past_m) if past]
            found.append(say(f"marks.past_{way}", past=amount, where=_named(where)))
    return found


def _named(places: Sequence[str]) -> str:
    named = ", ".join(places[:NAMED])
    if len(places) <= NAMED:
        return named
    return say("marks.and_more", where=named, count=str(len(places) - NAMED))
