"""Draws of the true ground against kriging's own equations, and what they must keep."""

from __future__ import annotations

import gc
import math
import weakref
from dataclasses import replace

import numpy as np
import pytest

from yardfall.core.chance.draws import KEPT_NUMBERS, draw, drawn_on
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.reach.grid import Grid
from yardfall.core.reach.true_grid import true_grid
from yardfall.core.uncertainty.accuracy import Accuracy, ErrorModel, point_errors
from yardfall.core.uncertainty.lawns import LAWNS, Lawn
from yardfall.core.uncertainty.lidar import LIDARS, Cells
from yardfall.core.uncertainty.place_errors import cell_errors

ORDINARY = LAWNS["ordinary"]


def errors_of(at_m: list[float], sigma_m: float, lawns: tuple[Lawn, ...], z_m=None):
    z = np.zeros(len(at_m)) if z_m is None else np.asarray(z_m)
    ground = from_elevations(np.array(at_m), z)
    return point_errors(Accuracy(sigma_m=sigma_m, lawns=lawns), ground, ["r"] * len(at_m))


def on_even_land(model: ErrorModel, lawn: Lawn) -> ErrorModel:
    """Of this lawn alone, on land without a lie of its own."""
    assert model.seen is not None
    return replace(model, seen=replace(model.seen, lawns=(lawn,)))


@pytest.mark.parametrize("name", LAWNS)
def test_the_middle_of_ten_metres_lies_off_its_chord_as_the_lawn_is_told(name: str) -> None:
    """Ends without error, level and slope free: nothing but the roughness is left."""
    lawn = LAWNS[name]
    drawn = draw(on_even_land(errors_of([0.0, 10.0], 0.0, (lawn,)), lawn), 20_000)
    middle = drawn.change_m[np.argmin(np.abs(drawn.at_m - 5.0))]
    assert np.std(middle) == pytest.approx(LAWNS[name].middle_m, rel=0.03)
    assert np.abs(drawn.change_m[[0, -1]]).max() < 1e-4


def test_the_spread_is_that_of_universal_kriging() -> None:
    """Kriging with a straight drift, by its variogram: G. Matheron, Le krigeage universel, 1969.

    Γ w + F μ = γ, Fᵀ w = f; the variance is w·γ + μ·f, with errors on Γ's diagonal taken off.
    """
    at = np.array([0.0, 2.0, 5.5, 9.0, 14.0])
    sigma_m, per = 0.01, ORDINARY.middle_m**2 / (5**1.4 - 10**1.4 / 4)
    drawn = draw(on_even_land(errors_of(at.tolist(), sigma_m, (ORDINARY,)), ORDINARY), 40_000)

    def variogram(d: np.ndarray) -> np.ndarray:
        return per / 2 * np.abs(d) ** 1.4

    drift = np.column_stack([np.ones(5), at])
    system = np.block(
        [[variogram(at[:, None] - at) - sigma_m**2 * np.eye(5), drift], [drift.T, np.zeros((2, 2))]]
    )
    for x in (1.0, 3.75, 7.0, 11.5):
        right = np.concatenate([variogram(at - x), [1.0, x]])
        weights = np.linalg.solve(system, right)
        there = np.argmin(np.abs(drawn.at_m - x))
        assert drawn.at_m[there] == pytest.approx(x, abs=0.13)
        assert np.std(drawn.change_m[there]) == pytest.approx(math.sqrt(weights @ right), rel=0.04)


def test_noise_on_a_graded_lawn_is_smoothed_and_a_true_hump_is_not() -> None:
    """A 6 mm error cannot be told from the lawn; a hump of 30 cm over 6 m is ground."""
    at = [float(x) for x in range(0, 21, 2)]
    noise = [0.006 * (-1) ** i for i in range(11)]
    smooth = draw(errors_of(at, 0.006, (LAWNS["graded"],), noise))
    means = smooth.change_m[np.isin(smooth.at_m, at)].mean(axis=1)
    assert (means[1:-1] * np.array(noise)[1:-1] < 0).all(), "each is drawn back"
    hump = np.interp(at, [0, 7, 10, 13, 20], [0, 0, 0.3, 0, 0])
    kept = draw(errors_of(at, 0.006, (LAWNS["graded"],), hump))
    assert np.abs(kept.change_m.mean(axis=1)).max() < 0.01


def test_rough_readings_speak_for_a_rough_lawn() -> None:
    """With the lawn not told, the spread between readings follows what was read."""
    at = [float(x) for x in range(0, 31, 2)]
    rng = np.random.default_rng(3)
    spread = []
    for middle_m in (0.0, 0.05):
        z = middle_m * rng.standard_normal(len(at))
        drawn = draw(errors_of(at, 0.002, tuple(LAWNS.values()), z))
        spread.append(np.std(drawn.change_m[np.argmin(np.abs(drawn.at_m - 15))]))
    assert spread[1] > 1.5 * spread[0]


def test_certain_readings_of_straight_ground_are_the_ground() -> None:
    assert not draw(errors_of([0.0, 4.0, 9.0], 0.0, ())).change_m.any()


def cells(slope: float = 0.02) -> tuple[GroundProfile, Cells]:
    at = np.arange(0.0, 20.5)
    places = np.array([[x, y] for x in at for y in (0.0, 1.0)])
    on = np.column_stack([at, np.full(len(at), 0.5)])
    ground = GroundProfile(at, -slope * at, "raster", "cells")
    return ground, Cells(places, -slope * places[:, 0], on, np.arange(len(at)))


def test_what_the_cells_share_cancels_over_a_short_way() -> None:
    """Errors of 20 mm a cell, 30 mm shared over 10 m: next to each other most of it cancels."""
    ground, about = cells()
    model = cell_errors(Accuracy(lawns=(ORDINARY,), lidar=LIDARS["usual"]), ground, about)
    drawn = draw(model)
    z = drawn.change_m
    near, far = (np.std(z[0] - z[np.argmin(np.abs(drawn.at_m - d))]) for d in (1.0, 20.0))
    assert near < 0.5 * 0.031, "as read: √2 · √(20² + 30² · (1 − e^−0.1)) = 31 mm"
    assert 0.03 < far < 0.049, "as read: 49 mm"


@pytest.mark.parametrize("cell_m", [0.25, 0.5, 1.0])
def test_cells_however_fine_with_noise_of_their_own_bend_no_even_lawn(cell_m: float) -> None:
    """Half-metre cells 20 mm off, each by itself, once put a line 138 mm off on even ground."""
    noise = np.random.default_rng(5)
    across = cell_m * np.arange(int(18 / cell_m) + 2)
    places = np.array([[x, y] for x in across for y in (0.0, cell_m)])
    at = np.linspace(0.0, 18.0, int(18 / (0.97 * cell_m)))  # off the cells' middles
    on = np.column_stack([at + cell_m / 2, np.full(len(at), cell_m / 2)])
    accuracy = Accuracy(sigma_m=0.02, lawns=tuple(LAWNS.values()))
    off = []
    for _ in range(6):
        z = noise.normal(0.0, 0.02, len(places)) - 0.02 * (places[:, 0] - cell_m / 2)
        about = Cells(places, z, on, np.arange(len(at)), (cell_m, cell_m))
        ground = GroundProfile(at, about.carry() @ z, "raster", "cells")
        drawn = draw(cell_errors(accuracy, ground, about))
        true_m = -0.02 * drawn.at_m - ground.elevation(drawn.at_m)
        error = true_m - drawn.change_m.mean(axis=1)
        off.append(error / np.maximum(drawn.change_m.std(axis=1), 1e-3))
        assert drawn.change_m.std(axis=1).max() < 0.02, "of noise no broken ground is made"
        assert np.sqrt(np.mean(error**2)) < 0.02, "no worse than the cells themselves"
    assert 0.3 < np.std(off) < 1.5, "and as sure as it says"


def test_a_whole_grid_is_drawn_as_its_cells_are() -> None:
    """By spectra and by the exact posterior: the spread of falls in the middle of a plane."""
    down, across = np.mgrid[:36, :40]
    grid = Grid(-0.02 * down.astype(float), 1.0, 1.0)
    lidar = LIDARS["usual"]
    spectra = true_grid(grid, (lidar,), (ORDINARY,), (5, 5), 400)
    seeds = np.random.SeedSequence(1).spawn(200)
    fields = np.array([f for i in range(200) for f in spectra.change_m(i, seeds[i])])
    assert fields.shape == (400, 36, 40)
    inner = (slice(8, 28, 2), slice(10, 30, 2))
    places = np.column_stack([across[8:28].ravel(), down[8:28].ravel()]).astype(float)
    wanted = [(12, 20), (16, 20), (24, 20)]
    about = Cells(
        places,
        -0.02 * places[:, 1],
        np.array([[20.0, r] for r, _ in wanted]),
        np.arange(3),
    )
    ground = GroundProfile(
        np.array([0.0, 4.0, 12.0]), np.array([-0.24, -0.32, -0.48]), "raster", ""
    )
    exact = draw(cell_errors(Accuracy(lawns=(ORDINARY,), lidar=lidar), ground, about), 8000)
    first = exact.change_m[0]
    for d, (row, column) in zip((4.0, 12.0), wanted[1:], strict=True):
        there = exact.change_m[np.argmin(np.abs(exact.at_m - d))]
        spread = np.std(fields[:, 12, 20] - fields[:, row, column])
        assert spread == pytest.approx(np.std(first - there), rel=0.15)
    assert np.abs(fields[(slice(None), *inner)].mean()) < 0.01


@pytest.mark.parametrize(("count", "kept"), [(10, True), (300, False)])
def test_only_what_few_readings_tell_of_a_ground_is_kept(count: int, kept: bool) -> None:
    """The covariances of many readings take hundreds of MiB: they go with their request."""
    at = (2.0 * np.arange(count)).tolist()
    model = errors_of(at, 0.01, (ORDINARY,))
    draws = draw(model, 500)
    assert (draws.change_m.shape[0] + len(model.sigma_m) <= KEPT_NUMBERS / 500) is kept
    finer = drawn_on(from_elevations(np.array(at), np.zeros(count)), draws)
    assert set(draws.at_m) <= set(finer.at_m)
    seen = weakref.ref(model.seen)
    del model, draws, finer
    gc.collect()
    assert (seen() is not None) is kept
