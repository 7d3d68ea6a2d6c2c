"""How sure a judged line is, and what that makes of it: yes, no or too close."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from yardfall.core.chance.chance import TOO_CLOSE, Chance, find_chance
from yardfall.core.chance.draws import drawn_on
from yardfall.core.chance.one_more import OneMore, one_more_reading
from yardfall.core.chance.scenario import Case
from yardfall.core.grading.alignment import align
from yardfall.core.grading.decision import Decision, bands_of

Verdict = Literal["yes", "no", "too_close"]


def on_drawn_points(case: Case, length_m: float) -> Case:
    """The case with the stations where the true ground is drawn among its points."""
    finer = drawn_on(case.ground, case.draws)
    if finer is case.ground:
        return case
    return replace(case, points=align(finer, case.stations_m, length_m, case.design.limits))


def chance_of(case: Case, decision: Decision, *, retake: bool) -> Chance:
    """The chance of the case's design, its crossings passed as each ground allows."""
    assert case.draws_on_points is not None
    bands = bands_of(case.design, case.points, decision.ways)
    draws = case.draws_on_points
    return find_chance(case.design, bands, draws, yes=decision.yes, retake=retake)


def reading_of(case: Case, decision: Decision, chance: Chance) -> OneMore | None:
    """One more reading that would settle what is too close to call."""
    assert case.draws_on_points is not None
    bands = bands_of(case.design, case.points, decision.ways)
    return one_more_reading(case.design, bands, case.draws_on_points, chance)


def verdict_of(yes: bool, chance: float | None, *, blocked: bool) -> Verdict:
    """Yes or no by the readings as they stand, unless their errors cannot settle it.

    Readings that leave no line on ground that most likely has one do not settle it either: there is
    none to lay. Where they leave one on ground that hardly has one, it is a no; and so it is where
    the shape asked for blocks it (`blocked`), which the chance does not count.
    """
    if chance is None:
        return "yes" if yes else "no"
    if TOO_CLOSE[0] < chance < TOO_CLOSE[1]:
        return "too_close"
    if chance <= TOO_CLOSE[0] or blocked:
        return "no"
    return "yes" if yes else "too_close"
