"""A line's ground over triangles, against scipy's surface looked along densely."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

from yardfall.core.reach.triangles import Triangles, profile_over


def profile(triangles: Triangles, line: np.ndarray, levels: np.ndarray, marks: np.ndarray):
    at, ground, seen = np.empty(2000), np.empty(2000), np.empty(2000, dtype=np.bool_)
    legs = np.empty(len(line))
    n = profile_over(triangles.arrays, line, levels, len(line), marks, legs, at, ground, seen)
    return at[:n], ground[:n], seen[:n]


@pytest.mark.parametrize("even", [False, True], ids=["scattered", "on an even grid"])
def test_nothing_of_the_ground_along_a_line_is_missed(even: bool) -> None:
    """On an even grid lines run through corners and along edges."""
    rng = np.random.default_rng(3)
    for _ in range(40):
        if even:
            spots = np.array([[2.0 * i, 2.0 * j] for i in range(9) for j in range(7)])
            line = rng.integers(0, 13, (3, 2)).astype(float)
        else:
            spots = rng.uniform(0, 20, (int(rng.integers(5, 200)), 2))
            corners = rng.dirichlet(np.ones(3), 3)
            line = corners @ spots[rng.choice(len(spots), 3, replace=False)]
        if np.hypot(*np.diff(line, axis=0).T).min() < 0.1:
            continue
        z = rng.normal(0, 1, len(spots))
        delaunay = Delaunay(spots)
        surface = LinearNDInterpolator(delaunay, z)
        marks = np.arange(0.0, 100.0, 1.7)
        triangles = Triangles.of(delaunay.simplices, spots, z)
        at, ground, seen = profile(triangles, line, surface(line), marks)
        legs = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        dense = np.linspace(0, legs[-1], 4001)
        xy = np.column_stack([np.interp(dense, legs, line[:, k]) for k in (0, 1)])
        inside = np.isfinite(surface(xy))
        assert inside.mean() > 0.99
        assert np.abs(np.interp(dense, at, ground) - surface(xy))[inside].max() < 1e-6
        assert (np.diff(at) > 1e-6).all()
        shown = np.union1d(np.round(legs, 5), np.round(marks[marks < legs[-1] - 1e-6], 5))
        assert np.unique(np.round(at[seen], 5)).tolist() == shown.tolist()


def test_too_many_points_are_no_line() -> None:
    spots = np.array([[x, y] for x in np.arange(50.0) for y in (0.0, 1.0)])
    triangles = Triangles.of(Delaunay(spots).simplices, spots, np.zeros(len(spots)))
    line, at = np.array([[0.5, 0.5], [48.5, 0.5]]), np.empty(20)
    for room in (10, 20):
        n = profile_over(
            triangles.arrays, line, np.zeros(2), 2, np.zeros(0), np.empty(2), at[:room],
            np.empty(room), np.empty(room, dtype=np.bool_),
        )  # fmt: skip
        assert n == 0
