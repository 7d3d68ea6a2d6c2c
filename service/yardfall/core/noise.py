"""Errors of a raster's cells, drawn so that neighbours share them as the plan's model says."""

from __future__ import annotations

import numpy as np

from yardfall.core.accuracy import LIDAR_SPACING_M
from yardfall.core.grid import Grid
from yardfall.core.route import Floats


def cell_noise(grid: Grid, sigma_m: float, rng: np.random.Generator) -> Floats:
    """Errors (rows, columns): of their own every cell, or every LIDAR_SPACING_M in finer cells.

    Between those the error runs straight, as `accuracy.cell_errors` has it along a route.
    """
    rows, columns = grid.z_m.shape
    down, row = _along(rows, grid.dy_m)
    across, column = _along(columns, grid.dx_m)
    own = sigma_m * rng.standard_normal((int(down[-1]) + 2, int(across[-1]) + 2))
    on_rows = own[down] * (1 - row[:, None]) + own[down + 1] * row[:, None]
    noise: Floats = on_rows[:, across] * (1 - column) + on_rows[:, across + 1] * column
    return noise


def _along(count: int, cell_m: float) -> tuple[np.ndarray, Floats]:
    """Which error each cell follows, and its share of the next one."""
    at = np.arange(count) * min(cell_m / LIDAR_SPACING_M, 1.0)
    whole = np.floor(at + 1e-9).astype(np.int64)
    return whole, np.maximum(at - whole, 0.0)
