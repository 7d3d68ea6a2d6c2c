"""The chance told against what is so, on grounds that are known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from lawn_trees import told_on_a_tree
from lawns import KINDS, MIDDLE_M, a_design, accuracy_of, told, told_on_a_lot
from numpy.testing import assert_array_less

from yardfall.core.chance.chance import by_worth, drawn_margins, share_that_fits
from yardfall.core.chance.draws import draw
from yardfall.core.design import Alignment
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.decision import decide

CASES = 40
"""Of each kind, on three lawns in turn: 200 in all, stated and not."""


@pytest.mark.parametrize("stated", [True, False], ids=["stated", "not stated"])
def test_a_chance_is_what_it_says(stated: bool) -> None:
    """In each fifth of what is told, so many are truly yes: within 3.3 standard errors of a sum of
    as many draws, one in a thousand by chance. Where the lawn is not stated, lawns come as often
    as they are taken to (graded and rough 1 : 2 to the ordinary one)."""
    names = [*MIDDLE_M] if stated else ["graded", "ordinary", "rough", "ordinary"]
    found = [
        told(7000 + i, kind, names[i % len(names)], stated=stated)
        for kind in KINDS
        for i in range(CASES)
    ]
    for k in range(5):
        its = [t for t in found if k / 5 <= t.chance < (k + 1) / 5 + (k == 4)]
        chances = np.array([t.chance for t in its])
        assert len(its) >= 10
        allowed = 3.3 * math.sqrt((chances * (1 - chances)).sum()) + 1
        assert abs(sum(t.truly for t in its) - chances.sum()) <= allowed, k
    for verdict, truly in (("yes", True), ("no", False)):
        its = [t for t in found if t.verdict == verdict]
        wrong = sum(t.truly is not truly for t in its)
        assert wrong <= 0.05 * len(its) + 3.3 * math.sqrt(0.05 * 0.95 * len(its))
        assert len(its) >= 20


def test_a_lots_chances_are_what_they_say() -> None:
    """Places of one lot share its ground: half as many as there are count as apart."""
    found = [t for i in range(40) for t in told_on_a_lot(50 + i, "ordinary", stated=True)]
    doubtful = [t for t in found if 0.1 <= t.chance <= 0.9]
    chances = np.array([t.chance for t in doubtful])
    allowed = 3.3 * math.sqrt(2 * (chances * (1 - chances)).sum()) + 1
    assert len(doubtful) >= 15
    assert abs(sum(t.truly for t in doubtful) - chances.sum()) <= allowed
    sure = [t.truly for t in found if t.chance >= 0.95]
    assert np.mean(sure) >= 0.95


def test_a_pinned_trees_chances_are_what_they_say() -> None:
    """A line and its branch over one raster that readings along the line pin."""
    lawns = [*MIDDLE_M]
    found = [told_on_a_tree(300 + i, lawns[i % 3], stated=True) for i in range(90)]
    chances = np.array([t.chance for t in found])
    assert ((chances > 0.1) & (chances < 0.9)).sum() >= 20
    allowed = 3.3 * math.sqrt((chances * (1 - chances)).sum()) + 1
    assert abs(sum(t.truly for t in found) - chances.sum()) <= allowed
    assert np.mean([t.truly for t in found if t.chance >= 0.9]) >= 0.8
    assert np.mean([t.truly for t in found if t.chance <= 0.1]) <= 0.2


def test_the_reading_named_first_settles_most() -> None:
    """Against 60,000 draws: how often the chance is settled once a reading's error is known."""
    lost = []
    for seed in range(20):
        kind = ("string", "rod", "slopes")[seed % 3]
        rng = np.random.default_rng([seed, 78])
        known = KINDS[kind](rng, MIDDLE_M["graded"], accuracy_of(kind, "graded"))
        design, ground, at_m = a_design(rng, "straight"), known.ground, known.errors.ground_at_m
        points = Alignment(at_m, ground.elevation(at_m), np.ones(len(at_m), dtype=bool))
        spare_m = decide(design, points).margin_m
        most_m = max(0.3 - spare_m + float(rng.uniform(-0.015, 0.015)), 0.01)
        design = replace(design, outlet=replace(design.outlet, most_m=most_m))
        band = decide(design, points).band
        draws = draw(known.errors)
        margin = drawn_margins(design, [band], draws.change_m)
        if not 0.05 < share_that_fits(margin) < 0.95:
            continue
        first = by_worth(design, [band], draws, margin)[0]
        many = draw(known.errors, 60_000, seed=9)
        fits = drawn_margins(design, [band], many.change_m) >= -DECISION_SLACK_M
        truly = []
        for error in many.errors_m:
            chance = fits[np.argsort(error)].reshape(100, -1).mean(axis=1)
            truly.append(float(((chance >= 0.95) | (chance <= 0.05)).mean()))
        lost.append(max(truly) - truly[first])
    assert len(lost) >= 10
    assert_array_less(lost, 0.06)
