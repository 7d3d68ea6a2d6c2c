"""How far each reading moves the ground, against moving it and reducing all readings again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from yardfall.core.ground.level_book import Shot, from_level_book, spread_of_book
from yardfall.core.ground.level_line import LineReading, from_level_line, spread_of_lines


def by_moving(values: Sequence[float], reduce: Callable[[list[float]], np.ndarray]) -> np.ndarray:
    """The sums are linear, so a reading moved by 1 m tells its share exactly."""
    base = reduce(list(values))
    moved = []
    for k in range(len(values)):
        changed = list(values)
        changed[k] += 1.0
        moved.append(reduce(changed) - base)
    return np.array(moved).T


@pytest.mark.parametrize("seed", range(12))
def test_lines_strung_anew(seed: int) -> None:
    """Random lines, tied at one to three stations each, in random order in the notes."""
    rng = np.random.default_rng(seed)
    readings, first = [], 0
    for line in range(int(rng.integers(1, 5))):
        at = np.arange(first, first + int(rng.integers(3, 7)))
        readings += [LineReading(float(x), float(rng.uniform(0.1, 1)), f"L{line}") for x in at]
        first = int(at[-1]) - int(rng.integers(0, 3))
    rng.shuffle(readings)

    def reduce(down: list[float]) -> np.ndarray:
        changed = [replace(r, down_m=d) for r, d in zip(readings, down, strict=True)]
        return from_level_line(changed).elevation_m

    moved = by_moving([r.down_m for r in readings], reduce)
    assert spread_of_lines(readings) == pytest.approx(moved, abs=1e-12)


@pytest.mark.parametrize("closing", [None, "A", "B"])
@pytest.mark.parametrize("named", [True, False])
def test_a_level_book(closing: str | None, named: bool) -> None:
    """Three set-ups, open or closed on either known point; closing shares reach every shot."""
    rng = np.random.default_rng(4)
    shots, at = [], 0.0
    for k in range(3):
        point = f"T{k}" if named and k else None
        shots.append(Shot("BS", float(rng.uniform(1, 2)), point))
        for _ in range(int(rng.integers(1, 5))):
            shots.append(Shot("IS", float(rng.uniform(1, 3)), at_m=at))
            at += 2.5
        on = f"T{k + 1}" if k < 2 and named else closing if k == 2 else None
        shots.append(Shot("FS", float(rng.uniform(1, 3)), on, at_m=None if k == 2 else at))
        at += 2.5
    known = {"B": 30.2}

    def reduce(rods: list[float]) -> np.ndarray:
        changed = [replace(s, rod_m=r) for s, r in zip(shots, rods, strict=True)]
        return from_level_book("A", 30.0, changed, known).elevation_m

    moved = by_moving([s.rod_m for s in shots], reduce)
    assert spread_of_book("A", shots, known) == pytest.approx(moved, abs=1e-12)
