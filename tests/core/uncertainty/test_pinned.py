"""A raster pinned by hand readings, against kriging's own equations and what it must keep."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from yardfall.core.chance.draws import draw
from yardfall.core.chance.shared_cells import draw_lines
from yardfall.core.errors import InputError
from yardfall.core.ground.level_line import LineReading
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.lawns import LAWNS, Lawn
from yardfall.core.uncertainty.lidar import LIDARS, Cells
from yardfall.core.uncertainty.pinned import HandReadings, Pinned, pin, pin_lines
from yardfall.core.uncertainty.place_errors import cell_errors
from yardfall.core.uncertainty.true_ground import mean_change_m

USUAL, ORDINARY = LIDARS["usual"], LAWNS["ordinary"]
LENGTH_M = 16
RASTER = Accuracy(lidar=USUAL, lawns=tuple(LAWNS.values()))


def yard(seed: int) -> tuple[GroundProfile, Cells, np.ndarray]:
    """Two rows of cells of 1 m, a route between them sampled every metre, and the true ground.

    The ground falls 2 %, with a wave of 30 mm; each cell is off by 20 mm and by what neighbours
    share, 30 mm.
    """
    rng = np.random.default_rng(seed)
    places = np.array([[x, y] for x in range(LENGTH_M + 1) for y in (0.0, 1.0)])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    shared = np.linalg.cholesky(np.exp(-apart / 10) + 1e-12 * np.eye(len(places)))
    off_m = 0.03 * shared @ rng.standard_normal(len(places))
    off_m += 0.02 * rng.standard_normal(len(places))

    def true_at(x: np.ndarray) -> np.ndarray:
        return 50 - 0.02 * x + 0.03 * np.sin(x / 3)

    z = true_at(places[:, 0]) + off_m
    at = np.arange(LENGTH_M + 1.0)
    points = np.column_stack([at, np.full(len(at), 0.4)])
    ground = GroundProfile(at, 0.6 * z[::2] + 0.4 * z[1::2], "raster", "cells")
    return ground, Cells(places, z, points, np.arange(len(at))), true_at(at)


def read(at: list[float], levels_m: np.ndarray, string_m: float = 51.3, line: str = ""):
    return [LineReading(x, string_m - float(z), line) for x, z in zip(at, levels_m, strict=True)]


def pinned(seed: int, readings: list[LineReading], sigma_m: float, raster: Accuracy = RASTER):
    ground, cells, _ = yard(seed)
    return pin(ground, cells, HandReadings(tuple(readings), Accuracy(sigma_m=sigma_m), raster))


def test_the_ground_is_that_of_universal_kriging() -> None:
    """By its variogram, in plain numpy: G. Matheron, Le krigeage universel, 1969.

    Γ w + F μ = γ, Fᵀ w = f. The drift holds level and slopes and, for the readings of each string
    alone, its height. What was read is the ground and an error of covariance E, so Γ holds
    variogram − E. Two strings of unlike heights, one lawn on even land.
    """
    ground, _, true_m = yard(4)
    sigma_m, per = 0.006, ORDINARY.middle_m**2 / (5**1.4 - 10**1.4 / 4)
    at = [1.0, 4.0, 9.0, 9.0, 15.0]
    off = np.array([0.004, -0.007, 0.002, -0.003, 0.005])
    lines = ["low", "low", "low", "high", "high"]
    heights = [50.9, 50.9, 50.9, 51.6, 51.6]
    readings = [
        LineReading(x, height - float(true_m[int(x)] + error), line)
        for x, error, line, height in zip(at, off, lines, heights, strict=True)
    ]
    one = Accuracy(lidar=USUAL, lawns=(ORDINARY,))
    model = pinned(4, readings, sigma_m, one).errors()
    assert model.seen is not None
    seen = replace(model.seen, lawns=(Lawn("ordinary", ORDINARY.middle_m),))

    _, cells, _ = yard(4)
    here = np.array([[x, 0.4] for x in at])
    places = np.vstack([cells.places_m, here])
    z = np.append(cells.z_m, [-r.down_m for r in readings])
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    k, h = len(cells.z_m), len(at)
    error = np.zeros((k + h, k + h))
    error[:k, :k] = 0.03**2 * np.exp(-apart[:k, :k] / 10) + 0.02**2 * np.eye(k)
    error[k:, k:] = sigma_m**2 * np.eye(h)
    drift = np.column_stack(
        [np.ones(k + h), places, [0.0] * k + [line == "low" for line in lines],
         [0.0] * k + [line == "high" for line in lines]]
    )  # fmt: skip
    system = np.block([[per / 2 * apart**1.4 - error, drift], [drift.T, np.zeros((5, 5))]])
    drawn = draw(replace(model, seen=seen), 20_000)
    mean_m = seen.read_m + mean_change_m(seen)
    for i in range(0, len(seen.points_m), 7):
        there = seen.points_m[i]
        variogram = per / 2 * np.hypot(*(places - there).T) ** 1.4
        right = np.concatenate([variogram, [1.0, *there, 0.0, 0.0]])
        weights = np.linalg.solve(system, right)
        expected_m = weights[: k + h] @ z
        assert mean_m[i] == pytest.approx(expected_m, abs=2e-4)
        assert drawn.change_m[i].mean() == pytest.approx(expected_m - seen.read_m[i], abs=6e-4)
        assert drawn.change_m[i].std() == pytest.approx(np.sqrt(weights @ right), rel=0.04)
    assert np.abs(
        mean_m - np.interp(seen.points_m[:, 0], ground.at_m, ground.elevation_m)
    ).max() > (0.01), "the readings moved it"


def test_exact_readings_at_every_point_are_the_ground_but_for_the_strings_height() -> None:
    ground, _, true_m = yard(1)
    found = pinned(1, read(ground.at_m.tolist(), true_m), 0.0)
    apart = found.ground.elevation_m - true_m
    assert np.ptp(apart) < 1e-5
    assert np.ptp(ground.elevation_m - true_m) > 0.03, "the raster alone is off by more"
    assert abs(apart[0]) < 0.06, "where the raster puts it"


def test_the_strings_height_changes_nothing() -> None:
    _, _, true_m = yard(2)
    at = [2.0, 7.0, 13.0]
    low, high = (pinned(2, read(at, true_m[[2, 7, 13]], height), 0.005) for height in (50.5, 58.0))
    assert low.ground.elevation_m == pytest.approx(high.ground.elevation_m, abs=1e-6)


def test_good_readings_bring_the_ground_nearer_to_the_truth_and_make_it_surer() -> None:
    at = [1, 5, 10, 15]
    before, after, spread = [], [], []
    for seed in range(20):
        ground, cells, true_m = yard(seed)
        found = pinned(seed, read([float(x) for x in at], true_m[at]), 0.004)
        for off_m, its in ((before, ground), (after, found.ground)):
            off_m.append(np.std(its.elevation_m - true_m))
        pair = [draw(m, 2000) for m in (cell_errors(RASTER, ground, cells), found.errors())]
        spread.append([np.std(d.change_m[-1] - d.change_m[0]) for d in pair])
    assert np.mean(after) < 0.6 * np.mean(before)
    assert np.mean(spread, axis=0)[1] < 0.5 * np.mean(spread, axis=0)[0]


def test_the_draws_are_about_the_ground_that_is_told() -> None:
    _, _, true_m = yard(6)
    found = pinned(6, read([3.0, 8.0, 14.0], true_m[[3, 8, 14]]), 0.005)
    drawn = draw(found.errors(), 20_000)
    at_points = np.isin(drawn.at_m, found.ground.at_m)
    assert np.abs(drawn.change_m[at_points].mean(axis=1)).max() < 0.001


def codes(found: Pinned) -> list[str]:
    return [remark.code for remark in found.remarks]


def test_a_slip_is_told_at_its_station_and_by_its_size() -> None:
    _, _, true_m = yard(3)
    at = [1, 4, 8, 12, 15]
    readings = read([float(x) for x in at], true_m[at])
    assert codes(pinned(3, readings, 0.006)) == []
    for slip_m, code in ((0.25, "reading_below_raster"), (-0.25, "reading_above_raster")):
        slipped = list(readings)
        slipped[2] = replace(readings[2], down_m=readings[2].down_m + slip_m)
        found = pinned(3, slipped, 0.006)
        assert codes(found) == [code]
        (remark,) = found.remarks
        assert remark.pointer == "/ground/readings/2/down"
        assert remark.values["station_m"] == 8.0
        assert remark.values["off_m"] == pytest.approx(0.25, abs=0.06)


def test_of_two_readings_it_is_not_told_which_is_off() -> None:
    _, _, true_m = yard(3)
    levels = true_m[[4, 12]] + [0.0, -0.3]
    (remark,) = pinned(3, read([4.0, 12.0], levels), 0.006).remarks
    assert remark.code == "two_readings_off_raster"
    assert (remark.values["from_station_m"], remark.values["to_station_m"]) == (4.0, 12.0)
    assert remark.values["off_m"] == pytest.approx(0.3, abs=0.1)


def test_readings_as_good_as_they_are_said_to_be_hardly_ever_look_like_slips() -> None:
    at = [1, 4, 8, 12, 15]
    rng = np.random.default_rng(9)
    told = 0
    for seed in range(100, 140):
        _, _, true_m = yard(seed)
        levels = true_m[at] + 0.006 * rng.standard_normal(len(at))
        told += bool(codes(pinned(seed, read([float(x) for x in at], levels), 0.006)))
    assert told <= 2


def test_a_reading_alone_on_its_line_tells_nothing() -> None:
    hand = Accuracy(sigma_m=0.005)
    three = [LineReading(1.0, 0.4), LineReading(5.0, 0.5), LineReading(5.0, 0.9, "B")]
    with pytest.raises(InputError) as caught:
        HandReadings(tuple(three), hand, RASTER).refuse_useless()
    assert caught.value.problems[0].pointer == "/readings/2"
    twice = (LineReading(1.0, 0.4), LineReading(1.0, 0.5))
    with pytest.raises(InputError) as caught:
        HandReadings(twice, hand, RASTER).refuse_useless()
    assert caught.value.problems[0].pointer == "/readings/1/at"


def test_readings_beyond_the_route_are_left_out() -> None:
    three = tuple(LineReading(x, 0.4) for x in (30.0, 5.0, 9.0))
    hand = HandReadings(three, Accuracy(sigma_m=0.005), RASTER)
    left = hand.within(10.0)
    assert left is not None
    assert (left.at_m.tolist(), left.rows) == ([5.0, 9.0], (1, 2))
    assert hand.within(2.0) is None


def crossing_lines() -> tuple[list[tuple[GroundProfile, Cells]], np.ndarray]:
    """The yard's line, one that comes down to its station 8 from 6 m beside it, over the cells of
    one raster; and the true ground along the first."""
    first, its_cells, true_m = yard(11)
    rng = np.random.default_rng(12)
    known = {tuple(place): z for place, z in zip(its_cells.places_m, its_cells.z_m, strict=True)}
    places = np.array([[x, y] for x in (8.0, 9.0) for y in np.arange(8.0)])
    z = [known.get((x, y), 50 - 0.02 * x + 0.02 * rng.standard_normal()) for x, y in places]
    at = np.arange(7.0)
    points = np.column_stack([np.full(7, 8.0), 6.4 - at])
    cells = Cells(places, np.array(z), points, np.arange(7), raster="yard")
    second = GroundProfile(at, cells.carry() @ cells.z_m, "raster", "cells")
    return [(first, replace(its_cells, raster="yard")), (second, cells)], true_m


def test_lines_pinned_together_are_one_ground_and_share_its_errors() -> None:
    """The mean, and how the error at a place of one line goes with that at a place of the other, by
    a dense posterior in plain numpy whose level, slopes and string are as good as free."""
    lines, true_m = crossing_lines()
    one, at = Accuracy(lidar=USUAL, lawns=(ORDINARY,)), [2, 7, 13]
    readings = read([float(x) for x in at], true_m[at] - np.array([0, 0.06, 0]))
    hand = HandReadings(tuple(readings), Accuracy(sigma_m=0.005), one)
    found = pin_lines(lines, hand)
    even = (Lawn("ordinary", ORDINARY.middle_m),)
    models = [line.errors() for line in found]
    models = [replace(m, seen=replace(m.seen, lawns=even)) for m in models]
    drawn = list(draw_lines(models, 20_000, 1))

    every = np.unique(np.vstack([np.column_stack([c.places_m, c.z_m]) for _, c in lines]), axis=0)
    there = np.vstack([np.column_stack([at, np.full(3, 0.4)]), [[3.0, 0.4], [8.0, 0.4], [8, 4.4]]])
    places = np.vstack([every[:, :2], there])
    k, h, n = len(every), len(at), len(places)
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    out = np.hypot(*(places - [-50.0, -70.0]).T)
    per = ORDINARY.middle_m**2 / (5**1.4 - 10**1.4 / 4)
    drift = np.column_stack([np.ones(n), places])
    ground = per / 2 * (out[:, None] ** 1.4 + out[None] ** 1.4 - apart**1.4)
    ground += 100 * drift @ drift.T
    errors = np.zeros((k + h, k + h))
    errors[:k, :k] = 0.03**2 * np.exp(-apart[:k, :k] / 10) + 0.02**2 * np.eye(k)
    errors[k:, k:] = 100.0 + 0.005**2 * np.eye(h)
    gain = np.linalg.solve(ground[: k + h, : k + h] + errors, ground[: k + h, k:]).T
    z = np.append(every[:, 2], [-r.down_m for r in readings])
    mean_m = gain @ z
    left = ground[k:, k:] - gain @ ground[: k + h, k:]

    def told(line: int, at_m: float) -> np.ndarray:
        its = drawn[line]
        row = int(np.abs(its.at_m - at_m).argmin())
        assert its.at_m[row] == pytest.approx(at_m, abs=1e-6)
        return found[line].ground.elevation(its.at_m)[row] + its.change_m[row]

    three = [told(0, 3.0), told(0, 8.0), told(1, 2.0)]
    expected = left[h:, h:]
    assert [one.mean() for one in three] == pytest.approx(mean_m[h:].tolist(), abs=8e-4)
    assert np.cov(three) == pytest.approx(expected, abs=0.05 * expected.max())
    assert expected[0, 2] > 0.1 * expected[2, 2], "not by chance alone"
    # where they meet they are one ground
    assert np.std(told(0, 8.0) - told(1, 6.0)) < 1e-4
    main_m, branch_m = (line.ground.elevation_at(x) for line, x in zip(found, (8, 6), strict=True))
    assert main_m == pytest.approx(branch_m, abs=1e-6)
    raw_m = lines[0][0].elevation_at(8)
    assert abs(main_m - raw_m) > 0.005, "the readings moved it"


def test_lines_about_very_many_cells_are_pinned_each_with_the_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lines, true_m = crossing_lines()
    hand = HandReadings(
        tuple(read([2.0, 7.0, 13.0], true_m[[2, 7, 13]])), Accuracy(sigma_m=0.005), RASTER
    )
    monkeypatch.setattr("yardfall.core.uncertainty.pinned.MOST_CELLS", 10)
    first, second, third = pin_lines([*lines, lines[1]], hand)
    alone = pin(*lines[0], hand)
    assert first.ground.elevation_m == pytest.approx(alone.ground.elevation_m)
    both = pin_lines(lines, hand)[1]
    assert second.ground.elevation_m == pytest.approx(both.ground.elevation_m)
    assert third.ground.elevation_m == pytest.approx(both.ground.elevation_m)
    on_first, on_second, _ = draw_lines([one.errors() for one in (first, second, third)], 500, 1)
    assert on_first is not None
    assert on_second is not None
    assert len(on_second.change_m) == len(on_second.at_m)
