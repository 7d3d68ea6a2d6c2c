"""Lines over one raster, drawn together: what is wrong with a cell is wrong for each of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from yardfall.core.chance.draws import Draws, draw
from yardfall.core.numerics.interpolation import straight_between
from yardfall.core.uncertainty.accuracy import ErrorModel
from yardfall.core.uncertainty.lidar import MOST_CELLS
from yardfall.core.uncertainty.true_ground import Seen


def draw_lines(
    models: Sequence[ErrorModel | None], count: int, seed: int
) -> Iterator[Draws | None]:
    """Draws of each line's ground, line by line; those of one raster share its errors."""
    groups = {its[0]: its for its in _sharing(models)}
    waiting: dict[int, Draws] = {}
    for i, model in enumerate(models):
        its = groups.get(i, [])
        lines = [one for one in (models[k] for k in its) if one is not None]
        together = _together(lines)
        if together is not None:
            waiting |= zip(its, _apart(draw(together, count, seed + i), lines), strict=True)
        if model is None:
            yield None
        else:
            yield waiting.pop(i, None) or draw(model, count, seed + i)


def _apart(drawn: Draws, models: Sequence[ErrorModel]) -> list[Draws]:
    """The draws of lines that were drawn together."""
    ends = np.cumsum([len(one.ground_at_m) for one in models])
    found = []
    for one, change_m in zip(models, np.split(drawn.change_m, ends[:-1]), strict=True):
        errors_m = straight_between(change_m, one.ground_at_m, one.at_m)
        found.append(Draws(one.ground_at_m, change_m, errors_m, one))
    return found


def _sharing(models: Sequence[ErrorModel | None]) -> list[list[int]]:
    """Which models are of one raster, and each other one alone; those that are None left out."""
    groups: dict[object, list[int]] = {}
    for i, model in enumerate(models):
        if model is not None:
            seen = model.seen
            shares = seen is not None and model.of_cells and seen.raster is not None
            key = (seen.raster, seen.lidars, seen.lawns, seen.by_hand) if shares and seen else i
            groups.setdefault(key, []).append(i)
    return list(groups.values())


def _together(models: Sequence[ErrorModel]) -> ErrorModel | None:
    """All the lines' points as of one line, given all their cells; None: too many of them."""
    parts = [one.seen for one in models if one.seen is not None]
    if len(parts) < 2:
        return None
    if parts[0].by_hand:
        return _pinned_together(models[0], parts)
    every = np.vstack([np.column_stack([part.places_m, part.z_m]) for part in parts])
    cells, where = np.unique(every, axis=0, return_inverse=True)
    if len(cells) > MOST_CELLS:
        return None
    columns = np.split(where.reshape(-1), np.cumsum([len(part.z_m) for part in parts])[:-1])
    carry = [np.zeros((len(part.points_m), len(cells))) for part in parts]
    for own, part, column in zip(carry, parts, columns, strict=True):
        own[:, column] = part.carry
    first = parts[0]
    seen = Seen(
        cells[:, :2],
        cells[:, 2],
        tuple(lidar.covariance(cells[:, :2]) for lidar in first.lidars),
        np.vstack([part.points_m for part in parts]),
        np.concatenate([part.read_m for part in parts]),
        np.vstack(carry),
        first.lawns,
        np.empty((0, len(cells))),
        np.empty(0),
        raster=first.raster,
        lidars=first.lidars,
    )
    return _as_one_line(models[0], seen)


def _pinned_together(first: ErrorModel, parts: Sequence[Seen]) -> ErrorModel | None:
    """The points of lines that were pinned together, as of one; None: each was pinned apart."""
    own = parts[0]
    if any(part.places_m is not own.places_m for part in parts):
        return None
    seen = replace(
        own,
        points_m=np.vstack([part.points_m for part in parts]),
        read_m=np.concatenate([part.read_m for part in parts]),
        carry=np.vstack([part.carry for part in parts]),
    )
    return _as_one_line(first, seen)


def _as_one_line(model: ErrorModel, seen: Seen) -> ErrorModel:
    along_m = np.arange(len(seen.points_m), dtype=np.float64)  # no station: rows in their order
    return replace(model, seen=seen, ground_at_m=along_m, at_m=along_m[:1])
