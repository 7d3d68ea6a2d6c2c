"""The true ground of a whole grid, given its cells: the same draws as `true_ground`, by spectra.

Far from the edges ground and errors are as likely to be shifted as not, so waves of each length are
independent. Of a wave whose variance is G on the ground and E in the errors, the share G / (G + E)
of what was read is ground, and what is not known of it has variance G E / (G + E): the Wiener
filter (N. Wiener, 1949). G of the roughness is the spectrum of a variogram A d^1.4 / 2 in the
plane (I. M. Gelfand and G. E. Shilov, Generalized Functions I, 1964, on the power of a distance;
from memory). The edge is mirrored, and a hole filled with the nearest cell, for the waves alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.fft import fft2, ifft2, next_fast_len
from scipy.ndimage import distance_transform_edt
from scipy.special import gamma

from yardfall.core.arrays import Floats
from yardfall.core.reach.grid import Grid
from yardfall.core.uncertainty.lawns import EXPONENT, LAND_REACH_M, Lawn, per_distance_m2
from yardfall.core.uncertainty.lidar import Lidar
from yardfall.core.uncertainty.likely_lawns import kinds_by_shares

MARGIN_CELLS: Final = 16
ALIASES: Final = 2
"""Waves too short for the cells are seen as longer ones; so many of them are counted each way."""
PATCH_CELLS: Final = 12
"""The kinds of ground are weighed by a square of so many cells about the start."""


Waves = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class RoughGrid:
    """Fields (rows, columns) to draw, by the deviation of each wave of each kind, padded."""

    shape: tuple[int, int]
    waves: tuple[Waves, ...]
    kind_of: NDArray[np.intp]

    @classmethod
    def of(cls, grid: Grid, lawns: tuple[Lawn, ...], count: int) -> RoughGrid:
        """The roughness of lawns, each as often as it is usual; none: no roughness."""
        rows, columns = grid.z_m.shape
        padded = _padded(rows, columns)
        if not lawns:
            nothing = np.zeros(padded, dtype=np.float32)
            return cls((rows, columns), (nothing,), np.zeros(count, dtype=np.intp))
        waves = tuple(_deviations(_ground_waves(lawn, padded, grid)) for lawn in lawns)
        shares = np.cumsum([lawn.share for lawn in lawns])
        ends = np.rint(shares / shares[-1] * count).astype(int)
        return cls((rows, columns), waves, np.repeat(np.arange(len(lawns)), np.diff([0, *ends])))

    def draw(self, pair: int, seed: np.random.SeedSequence) -> Iterator[Floats]:
        """Fields 2·pair and, where there is one, the next, each drawn when it is asked for."""
        rng, rows, columns = np.random.default_rng(seed), *self.shape
        white = rng.standard_normal((*self.waves[0].shape, 2), dtype=np.float32)
        waves = white.view(np.complex64)[..., 0]
        for one, kind in enumerate(self.kind_of[2 * pair : 2 * pair + 2]):
            both = ifft2(waves * self.waves[kind], overwrite_x=True)[:rows, :columns]
            field = (both.imag if one else both.real).astype(np.float64)
            del both  # while its half is worked on
            yield field


@dataclass(frozen=True, eq=False)
class TrueGrid:
    """What to draw the true ground from: for each kind of ground, what was read of it that is not
    ground, `off_m` (rows, columns), and what is not known of it."""

    off_m: tuple[Floats, ...]
    unknown: RoughGrid

    def change_m(self, pair: int, seed: np.random.SeedSequence) -> Iterator[Floats]:
        """Draws 2·pair and, where there is one, the next: ground less ground as read."""
        kinds = self.unknown.kind_of[2 * pair : 2 * pair + 2]
        fields = self.unknown.draw(pair, seed)
        for field, k in zip(fields, kinds, strict=True):
            yield np.subtract(field, self.off_m[k], out=field)


def _padded(rows: int, columns: int) -> tuple[int, int]:
    margin = 2 * min(MARGIN_CELLS, rows - 1, columns - 1)
    return next_fast_len(rows + margin), next_fast_len(columns + margin)


def _deviations(variance: Floats) -> Waves:
    """Standard deviation of each wave, such that its transform has the variance of a cell."""
    return np.sqrt(variance * variance.size).astype(np.float32)


def true_grid(
    grid: Grid,
    lidars: tuple[Lidar, ...],
    lawns: tuple[Lawn, ...],
    about: tuple[int, int],
    count: int,
) -> TrueGrid:
    """Ready to draw `count` times; the kinds are weighed by the cells `about` a row and column."""
    kinds = [(lawn, lidar) for lawn in lawns for lidar in lidars]
    places, z_m = _patch(grid, about)
    covariances = [(lawn, lidar.covariance(places)) for lawn, lidar in kinds]
    of_draw = kinds_by_shares(covariances, places, z_m, count)
    used = np.unique(of_draw)
    rows, columns = grid.z_m.shape
    margin = min(MARGIN_CELLS, rows - 1, columns - 1)
    shape = _padded(rows, columns)
    read = fft2(_mirrored(grid, margin, shape))
    off_m, waves = [], []
    for k in used:
        lawn, lidar = kinds[k]
        ground = _ground_waves(lawn, shape, grid)
        error = _error_waves(lidar, shape, grid)
        not_ground = error / (ground + error)
        off = ifft2(read * not_ground, overwrite_x=True).real[
            margin : margin + rows, margin : margin + columns
        ]
        off_m.append(off.copy())  # without it the whole transform would be kept
        waves.append(_deviations(ground * not_ground))
    kind_of = np.searchsorted(used, of_draw)
    return TrueGrid(tuple(off_m), RoughGrid((rows, columns), tuple(waves), kind_of))


def _mirrored(grid: Grid, margin: int, shape: tuple[int, int]) -> Floats:
    """Elevations less their plane, mirrored at the edges to fill the shape padded."""
    whole, trend = _filled(grid)
    sides = zip(whole.shape, shape, strict=True)
    return np.pad(
        np.subtract(whole, trend, out=trend),
        [(margin, full - side - margin) for side, full in sides],
        mode="reflect",
    )


def _patch(grid: Grid, about: tuple[int, int]) -> tuple[Floats, Floats]:
    """Places (k, 2) and elevations (k,) of known cells about one."""
    rows, columns = grid.z_m.shape
    half = PATCH_CELLS // 2
    top = min(max(about[0] - half, 0), max(rows - PATCH_CELLS, 0))
    left = min(max(about[1] - half, 0), max(columns - PATCH_CELLS, 0))
    patch = grid.z_m[top : top + PATCH_CELLS, left : left + PATCH_CELLS]
    row, column = np.nonzero(np.isfinite(patch))
    return grid.xy(row, column), patch[row, column]


def _filled(grid: Grid) -> tuple[Floats, Floats]:
    """Elevations with holes filled, and the plane that fits them best."""
    z = grid.z_m
    if not grid.known.all():
        nearest = distance_transform_edt(~grid.known, return_distances=False, return_indices=True)
        z = z[tuple(nearest)]
    down = (np.arange(z.shape[0]) - (z.shape[0] - 1) / 2)[:, None]
    across = (np.arange(z.shape[1]) - (z.shape[1] - 1) / 2)[None]
    per_row = float((z * down).sum() / max((down**2).sum() * z.shape[1], 1))
    per_column = float((z * across).sum() / max((across**2).sum() * z.shape[0], 1))
    return z, z.mean() + per_row * down + per_column * across


def _ground_waves(lawn: Lawn, shape: tuple[int, int], grid: Grid) -> Floats:
    """Variance of each wave of the roughness, a cell; the level as good as free."""
    scale = per_distance_m2(lawn.middle_m) / 2
    power = 2 + EXPONENT
    scale *= 2**power * np.pi * gamma(power / 2) / abs(gamma(-EXPONENT / 2))
    down = np.fft.fftfreq(shape[0], grid.dy_m)
    across = np.fft.fftfreq(shape[1], grid.dx_m)
    total = np.zeros(shape)
    for i in range(-ALIASES, ALIASES + 1):
        for j in range(-ALIASES, ALIASES + 1):
            square = (down + i / grid.dy_m)[:, None] ** 2 + (across + j / grid.dx_m)[None] ** 2
            if i == j == 0:
                square[0, 0] = 0.01 * min(square[0, 1], square[1, 0])
            total += (4 * np.pi**2 * square) ** (-power / 2)
    square = down[:, None] ** 2 + across[None] ** 2
    land = np.exp(-2 * (np.pi * LAND_REACH_M) ** 2 * square)
    total = scale * total + 2 * np.pi * (lawn.land_m * LAND_REACH_M) ** 2 * land
    found: Floats = total / (grid.dx_m * grid.dy_m)
    return found


def _error_waves(lidar: Lidar, shape: tuple[int, int], grid: Grid) -> Floats:
    """Variance of each wave of the errors, a cell."""
    down = np.abs(np.fft.fftfreq(shape[0])) * shape[0] * grid.dy_m
    across = np.abs(np.fft.fftfreq(shape[1])) * shape[1] * grid.dx_m
    found: Floats = np.maximum(fft2(lidar.apart(down[:, None], across[None])).real, 0.0)
    return found
