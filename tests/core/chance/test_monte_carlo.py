"""A line on many grounds at once, against one linear program, and one plain decision, a ground."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from yardfall.core.chance.monte_carlo import Caps, on_many_grounds
from yardfall.core.grading.band import DECISION_SLACK_M, Band, Layers, find_pinch, highest_line
from yardfall.core.grading.straight import least_raise, straight_from

DRAWS = 40


def a_band(seed: int) -> tuple[Band, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 12))
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(1, 4, n - 1))])
    s = float(rng.uniform(0, 0.02))
    greatest = np.inf if rng.random() < 0.5 else s + float(rng.uniform(0.002, 0.05))
    centre = -rng.uniform(0, 0.03) * x + rng.normal(0, 0.03, n)
    width = rng.uniform(0.02, 0.3)
    hi = centre[:, None] + width / 2 + rng.normal(0, 0.05, (n, DRAWS))
    lo = hi - width - rng.uniform(0, 0.1, (n, 1))
    if rng.random() < 0.4:
        lo[1:-1] = -np.inf
    names = tuple(f"over {i}" for i in range(n)), tuple(f"under {i}" for i in range(n))
    none = np.full(n, np.inf)
    layers = Layers(hi[:, 0], lo[:, 0], none, -none)
    return Band(x, hi[:, 0], lo[:, 0], *names, s, greatest, layers), hi, lo


def solved(
    band: Band, hi: np.ndarray, lo: np.ndarray, cost: list[float], margin_m: float | None = None
) -> np.ndarray | None:
    """The best (start, grade, margin) of straight lines in the band with a margin below."""
    x = band.at_m
    one, none = np.ones(len(x)), np.zeros(len(x))
    deep = np.isfinite(lo) & (x > 0)
    matrix = np.concatenate(
        [
            np.column_stack([one, -x, none]),
            np.column_stack([-one, x, one])[deep],
        ]
    )
    most = np.concatenate([hi, -lo[deep]])
    bounds = [(lo[0], hi[0]), (band.least_grade, None), (margin_m, 0.0)]
    if np.isfinite(band.greatest_grade):
        bounds[1] = (band.least_grade, band.greatest_grade)
    answer = linprog(cost, matrix, most, bounds=bounds)
    return answer.x if answer.status == 0 else None


@pytest.mark.parametrize("seed", range(25))
def test_margins_and_ends(seed: int) -> None:
    band, hi, lo = a_band(seed)
    margin, ends = on_many_grounds(band, hi - hi[:, :1], straight=True, may_rise=True)
    for d in range(DRAWS):
        best = solved(band, hi[:, d], lo[:, d], [0, 0, -1])
        fits = best is not None and best[2] > -1e-9
        if best is not None and abs(best[2]) < 1e-6 and not fits:
            continue  # the linear program's own tolerance
        assert (margin[d] >= -1e-9) == fits
        if best is not None and np.isinf(band.greatest_grade):
            assert min(margin[d], 0) == pytest.approx(best[2], abs=1e-7)
        if fits:
            highest = solved(band, hi[:, d], lo[:, d], [-1, float(band.at_m[-1]), 0], 0.0)
            assert highest is not None
            end = highest[0] - highest[1] * band.at_m[-1]
            assert ends[d] == pytest.approx(end, abs=1e-7)


def a_band_with_levels(seed: int) -> tuple[Band, np.ndarray, Caps, np.ndarray, np.ndarray]:
    """A band with limits at fixed levels too, a change of ground, caps, and the limits then."""
    rng = np.random.default_rng(seed)
    band, hi, _ = a_band(seed)
    n = len(band.at_m)
    change = hi - hi[:, :1]
    layers = band.layers
    assert layers is not None
    hi_level = np.where(rng.random(n) < 0.3, layers.hi_ground_m + rng.normal(0, 0.03, n), np.inf)
    lo_level = np.where(rng.random(n) < 0.3, layers.lo_ground_m + rng.normal(0, 0.03, n), -np.inf)
    same = rng.random(n) < 0.3
    point = rng.integers(0, n, int(rng.integers(0, 3)))
    same[point] = False  # a cap is a limit of its own
    band = Band(
        band.at_m,
        np.minimum(layers.hi_ground_m, hi_level),
        np.maximum(layers.lo_ground_m, lo_level),
        tuple("same" if one else f"over {i}" for i, one in enumerate(same)),
        tuple("same" if one else f"under {i}" for i, one in enumerate(same)),
        band.least_grade,
        band.greatest_grade,
        Layers(layers.hi_ground_m, layers.lo_ground_m, hi_level, lo_level),
    )
    caps = Caps(point, band.hi_m[point][:, None] + rng.normal(0, 0.05, (len(point), DRAWS)))
    hi = np.minimum(layers.hi_ground_m[:, None] + change, hi_level[:, None])
    np.minimum.at(hi, point, caps.level_m)
    lo = np.maximum(layers.lo_ground_m[:, None] + change, lo_level[:, None])
    return band, change, caps, hi, lo


def room_by_hand(band: Band, start_m: float) -> float:
    """Room of a straight line, point by point: below it, the line that all others force down."""
    n, collides = len(band.at_m), band.collides
    room = np.inf
    for i in range(1, n):
        falls = [
            (start_m - band.hi_m[k]) / band.at_m[k] for k in range(1, n) if k != i or collides[i]
        ]
        grade = max(band.least_grade, *falls, band.least_grade)
        room = min(room, start_m - grade * band.at_m[i] - band.lo_m[i])
        if np.isfinite(band.greatest_grade):
            room = min(room, band.hi_m[i] - start_m + band.greatest_grade * band.at_m[i])
    return float(room)


@pytest.mark.parametrize("seed", range(40))
def test_as_a_plain_decision_on_each_ground(seed: int) -> None:
    band, change, caps, hi, lo = a_band_with_levels(seed)
    s, greatest = band.least_grade, band.greatest_grade
    bent, bent_end = on_many_grounds(band, change, straight=False, may_rise=False, caps=caps)
    held, held_end = on_many_grounds(band, change, straight=True, may_rise=False, caps=caps)
    raised, _ = on_many_grounds(band, change, straight=True, may_rise=True, caps=caps)
    for d in range(DRAWS):
        one = Band(band.at_m, hi[:, d], lo[:, d], band.hi_why, band.lo_why, s, greatest)
        own_m = float(hi[0, d] - lo[0, d]) if band.collides[0] else np.inf
        plain = find_pinch(one).margin_m
        assert bent[d] == pytest.approx(plain, abs=1e-12)
        assert bent_end[d] == pytest.approx(highest_line(band.at_m, hi[:, d], s)[-1], abs=1e-12)
        start = straight_from(one, float(lo[0, d]))
        within = room_by_hand(one, start.start_m)
        assert held[d] == pytest.approx(min(within, own_m), abs=1e-12)
        fits = start.fits and own_m >= -DECISION_SLACK_M
        assert (held[d] >= -DECISION_SLACK_M) == fits
        end_m = start.start_m - start.flattest * band.at_m[-1]
        assert held_end[d] == pytest.approx(end_m, abs=1e-12)
        best = least_raise(one, float(lo[0, d]), float(hi[0, d])).margin_m
        if held[d] >= -DECISION_SLACK_M:
            assert raised[d] == held[d]
        assert (raised[d] >= -DECISION_SLACK_M) == (min(best, own_m) >= -DECISION_SLACK_M)
        if held[d] < -DECISION_SLACK_M and np.isinf(greatest):
            assert min(raised[d], 0) == pytest.approx(min(best, own_m, 0), abs=1e-9)
