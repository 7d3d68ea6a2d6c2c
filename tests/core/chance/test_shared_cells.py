"""Lines over one raster are drawn on one ground; the same equations as for each alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from yardfall.core.chance.draws import draw
from yardfall.core.chance.shared_cells import MOST_CELLS, draw_lines
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.uncertainty.accuracy import Accuracy, ErrorModel
from yardfall.core.uncertainty.lawns import LAWNS
from yardfall.core.uncertainty.lidar import LIDARS, Cells
from yardfall.core.uncertainty.place_errors import cell_errors

COUNT = 4000
ACCURACY = Accuracy(lidar=LIDARS["usual"], lawns=(LAWNS["ordinary"],))


def height(places: np.ndarray) -> np.ndarray:
    x, y = places.T
    return 5 - 0.02 * x + 0.01 * y + 0.01 * np.sin(3.1 * x + 1.7 * y)


def over(start: tuple[float, float], end: tuple[float, float], raster: str | None) -> ErrorModel:
    """Errors of the ground along a line over cells of a metre."""
    length = float(np.hypot(*np.subtract(end, start)))
    at_m = np.linspace(0, length, int(2 * length) + 1)
    places = np.linspace(start, end, len(at_m))
    near = {(i + a, j + b) for i, j in np.floor(places).astype(int) for a in (0, 1) for b in (0, 1)}
    cells_m = np.array(sorted(near), dtype=np.float64)
    every = np.arange(len(places))
    cells = Cells(cells_m, height(cells_m), places, every, (1.0, 1.0), raster)
    ground = GroundProfile(at_m, cells.carry() @ cells.z_m, "raster", "")
    return cell_errors(ACCURACY, ground, cells)


def test_two_lines_that_meet_meet_on_one_ground() -> None:
    main, branch = over((0, 5), (20, 5), "yard"), over((10, 15), (10, 5), "yard")
    on_main, on_branch = draw_lines([main, branch], COUNT, 1)
    assert on_main is not None
    assert on_branch is not None
    there = int(np.argmin(np.abs(on_main.at_m - 10)))
    assert on_main.at_m[there] == pytest.approx(10, abs=0.01)
    apart_m = on_main.change_m[there] - on_branch.change_m[-1]
    assert np.std(apart_m) < 0.001
    assert np.std(on_main.change_m[there]) > 0.01
    for model, drawn in ((main, on_main), (branch, on_branch)):
        alone = draw(model, COUNT)
        falls, own = (one.change_m[0] - one.change_m[-1] for one in (drawn, alone))
        # the other line's cells tell of this ground too: a little less is left unknown
        assert 0.85 * np.std(own) < np.std(falls) < 1.04 * np.std(own)
        assert drawn.errors_m.shape == alone.errors_m.shape


def test_lines_over_other_rasters_are_drawn_apart() -> None:
    main, branch = over((0, 5), (20, 5), "yard"), over((10, 15), (10, 5), "other")
    unknown = over((10, 15), (10, 5), None)
    for other in (branch, unknown, replace(branch, seen=None, spread=np.eye(len(branch.at_m)))):
        on_main, on_branch = draw_lines([main, other], COUNT, 1)
        assert on_main is not None
        assert on_branch is not None
        there = int(np.argmin(np.abs(on_main.at_m - 10)))
        assert abs(np.corrcoef(on_main.change_m[there], on_branch.change_m[-1])[0, 1]) < 0.1


def test_a_line_whose_ground_is_certain_has_no_draws() -> None:
    main, branch = over((0, 5), (20, 5), "yard"), over((10, 15), (10, 5), "yard")
    drawn = list(draw_lines([main, None, branch], COUNT, 1))
    assert [one is None for one in drawn] == [False, True, False]
    assert drawn[0].change_m.shape[1] == drawn[2].change_m.shape[1] == COUNT


def test_very_many_cells_are_drawn_line_by_line() -> None:
    lines = [over((0.5, 7 * k + 0.5), (120.5, 7 * k + 0.5), "yard") for k in range(5)]
    assert sum(len(one.seen.z_m) for one in lines) > MOST_CELLS
    first, *_ = draw_lines(lines, 200, 1)
    assert first is not None
    assert (first.change_m == draw(lines[0], 200, 1).change_m).all()
