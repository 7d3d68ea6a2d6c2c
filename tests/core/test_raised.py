"""Starts raised for many draws at once, against one linear program a draw."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from yardfall.core.band import Band
from yardfall.core.raised import margins_from, raised_margins, straight_ends

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
    return Band(x, hi[:, 0], lo[:, 0], *names, s, greatest), hi, lo


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
    margin = raised_margins(band, hi, lo, margins_from(band, hi, lo, lo[0])[0])
    ends = straight_ends(band, hi, lo, may_rise=True)
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
