"""The margin of a line with one change of grade, held against scipy's linear programs.

The programs are written from the definition: levels at the start, the change and the end, every
limit at every point, and the margin by which all lower limits may rise.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.least_dig import least_dig
from yardfall.core.grading.one_break import fits_one_break, one_break_margin
from yardfall.core.grading.straight import grades_from

EXACT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
GROUNDS = 250


def a_ground(seed):
    """Limits at 8 to 30 points with up to 8 candidates: at, hi, lo, start, highest, s, S, stations.

    Every other one has its levels in whole steps at even stations: ties and limits that meet.
    """
    rng = np.random.default_rng(seed)
    n = int(rng.integers(8, 30))
    if seed % 2:
        at = np.concatenate([[0.0], np.cumsum(rng.uniform(0.2, 2.0, n - 1))])
        hi = -rng.uniform(0, 0.05) * at + np.cumsum(rng.normal(0, 0.04, n))
        lo = hi - rng.uniform(0.05, 0.8)
        s, S = rng.choice([0.0, 0.01]), rng.choice([np.inf, 0.15, 0.3])
    else:
        at = np.arange(n, dtype=float)
        hi = 0.05 * np.cumsum(rng.integers(-2, 2, n))
        lo = hi - 0.05 * rng.integers(1, 9)
        s, S = 0.05 * rng.integers(0, 2), rng.choice([np.inf, 0.1, 0.2])
    lo[rng.random(n) < rng.choice([0.0, 0.3, 0.9])] = -np.inf
    start = hi[0] - (0.05 * rng.integers(0, 4))
    highest = start + (rng.choice([0.05, 0.4]) if seed % 3 == 0 else 0.0)
    chosen = rng.choice(np.arange(1, n - 1), min(int(rng.integers(0, 8)), n - 2), replace=False)
    return at, hi, lo, float(start), float(highest), float(s), float(S), np.sort(chosen)


def program(at, hi, lo, start, highest, s, S, b, rises):
    """Greatest margin for a change at b; `rises` (n,) are upper limits that are lo + margin.

    -inf where nothing keeps the limits, inf without a lower limit.
    """
    places = np.unique([0, b, len(at) - 1])
    hats = np.column_stack([np.interp(at, at[places], one) for one in np.eye(len(places))])[1:]
    fall, run = -np.diff(np.eye(len(places)), axis=0), np.diff(at[places])
    top = np.where(rises, lo, hi)[1:]
    deep = np.isfinite(lo[1:])
    blocks = [
        (hats, np.where(rises[1:], -1.0, 0.0), top),
        (-hats[deep], np.ones(deep.sum()), -lo[1:][deep]),
        (-fall, np.zeros(len(run)), -s * run),
    ]
    if np.isfinite(S):
        blocks.append((fall, np.zeros(len(run)), S * run))
        first = np.eye(1, len(places))
        blocks.append((first, np.ones(1), np.array([np.min((hi + S * at)[1:])])))
    answer = linprog(
        -np.eye(len(places) + 1)[-1],
        np.concatenate([np.column_stack([a, m]) for a, m, _ in blocks]),
        np.concatenate([most for *_, most in blocks]),
        bounds=[(start, highest), *[(None, None)] * len(places)],
        options=EXACT,
    )
    if answer.status == 3:
        return np.inf
    return -answer.fun if answer.status == 0 else -np.inf


def from_programs(at, hi, lo, collides, start, highest, s, S, stations):
    """Greatest margin over all places for the change, by its definition.

    A limit with a range of its own has its upper end give way once the margin is that range; no
    more counts than a line has that keeps the upper end, and not the lower.
    """
    left = np.min((hi + S * at)[1:]) - start if np.isfinite(S) else np.inf
    cap = hi[0] - lo[0] if collides[0] else np.inf
    if left < 0:
        S, cap = np.inf, min(cap, left)
    best = -np.inf
    for b in stations if len(stations) else [len(at) - 1]:
        rises = np.zeros(len(at), dtype=bool)
        found = -np.inf
        while True:
            margin = program(at, hi, lo, start, highest, s, S, b, rises)
            if margin <= found:
                break
            found = margin
            more = ~collides & ~rises & np.isfinite(lo)
            more &= found >= hi - lo - 1e-9
            more[0] = False
            if not more.any():
                break
            rises |= more
        if rises.any():
            upper_kept = np.where(rises, -np.inf, lo)
            none = np.zeros(len(at), dtype=bool)
            found = min(found, program(at, hi, upper_kept, start, highest, s, S, b, none))
        best = max(best, found)
    return min(best, cap)


def same(one, two):
    return one == two or abs(one - two) < 1e-8


LATER = [pytest.param(lot, marks=pytest.mark.long) for lot in range(1, 8)]


@pytest.mark.parametrize("lot", [0, *LATER])
@pytest.mark.parametrize("own_ranges", [False, True])
def test_the_margin_is_that_of_the_linear_programs(lot, own_ranges):
    """2,000 grounds without, 2,000 with limits that are not held against themselves; 250 of each
    but for `--long`."""
    unlike, kinds = [], set()
    for seed in range(lot * GROUNDS, (lot + 1) * GROUNDS):
        at, hi, lo, start, highest, s, S, stations = a_ground(seed)
        collides = np.ones(len(at), dtype=bool)
        if own_ranges:
            collides[[0, -1]] = False
            if seed % 5 == 0:
                collides[len(at) // 2] = False
                lo[len(at) // 2] = hi[len(at) // 2]
        else:
            collides[0] = seed % 4 == 0
        found, at_b = one_break_margin(
            at,
            hi,
            lo,
            collides,
            start,
            highest,
            s,
            S,
            stations,
            np.inf,
            np.empty(3),
            np.zeros(1, np.uint8),
        )
        expected = from_programs(at, hi, lo, collides, start, highest, s, S, stations)
        if not same(found, expected):
            unlike.append((seed, found, expected))
        assert (at_b == -1) == (found == -np.inf)
        kinds.add(int(np.sign(found)) if abs(found) > 1e-9 else 0)
        if abs(expected + DECISION_SLACK_M) > 1e-8:
            fits = fits_one_break(at, hi, lo, collides, start, highest, s, S, stations)
            assert fits == (expected >= -DECISION_SLACK_M), seed
    assert not unlike
    assert {-1, 1} <= kinds


@pytest.mark.parametrize("seed", range(400))
def test_without_a_place_for_the_change_it_is_the_straight_grade(seed):
    at, hi, lo, start, _, s, S, _ = a_ground(seed)
    rng = np.random.default_rng(seed)
    collides = rng.random(len(at)) < 0.8
    collides[0] = False
    none = np.array([], dtype=np.int64)
    *_, room, _, left = grades_from(at, hi, lo, collides, start, s, S)
    limits = at, hi, lo, collides, start, start, s, S, none
    found, _ = one_break_margin(*limits, np.inf, np.empty(3), np.zeros(1, np.uint8))
    assert same(found, min(room, left))


def test_without_a_place_the_outlets_least_depth_draws_the_straight_grade_down():
    """A margin beyond the outlet's own small range does not lift the line over it."""
    none = np.array([], dtype=np.int64)
    unlike = []
    for seed in range(400):
        at, hi, lo, start, _, s, _, _ = a_ground(seed)
        lo -= 0.5
        hi[-1] = min(hi[-1], hi[-2]) - 0.3
        lo[-1] = hi[-1] - 0.05
        collides = np.ones(len(at), dtype=bool)
        collides[[0, -1]] = False
        room = grades_from(at, hi, lo, collides, start, s, np.inf)[5]
        limits = at, hi, lo, collides, start, start, s, np.inf, none
        found, _ = one_break_margin(*limits, np.inf, np.empty(3), np.zeros(1, np.uint8))
        if not same(found, room):
            unlike.append((seed, found, room))
    assert not unlike


@pytest.mark.parametrize("seed", range(300))
def test_it_fits_where_the_line_that_digs_least_is_found(seed):
    at, hi, lo, start, _, s, S, stations = a_ground(seed)
    lo, hi = lo.copy(), hi.copy()
    lo[0] = hi[0] = start
    collides = np.ones(len(at), dtype=bool)
    line = least_dig(at, lo, hi, s, None if np.isinf(S) else S, stations, 1)
    fits = fits_one_break(at, hi, lo, collides, start, start, s, S, stations)
    assert fits == (line is not None)


def test_the_first_that_is_enough_will_do():
    """On an even slope every place leaves the same; the first one ends the search."""
    at = np.arange(11.0)
    hi = -0.02 * at
    collides = np.ones(11, dtype=bool)
    site = (at, hi, hi - 0.5, collides, 0.0, 0.0, 0.01, np.inf, np.arange(1, 10))
    margin, b = one_break_margin(*site, -DECISION_SLACK_M, np.empty(3), np.zeros(1, np.uint8))
    assert b == 1
    assert margin >= -DECISION_SLACK_M
    assert one_break_margin(*site, np.inf, np.empty(3), np.zeros(1, np.uint8))[0] == pytest.approx(
        0.5
    )
