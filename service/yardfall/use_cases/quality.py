"""How good a survey's readings are: which to compare for slips, and how their errors reach the
ground."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np

from yardfall.core.ground.blunders import Readings, likely_blunders
from yardfall.core.ground.level_book import Shot, spread_of_book
from yardfall.core.ground.level_line import LineReading, spread_of_lines
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.remarks import Remark
from yardfall.core.request import (
    ElevationGround,
    LengthAndDropGround,
    LevelBookGround,
    LevelLineGround,
    PlanRequest,
    RasterGround,
    SourceGround,
    SpotGround,
    StepGround,
)
from yardfall.core.uncertainty.accuracy import (
    Accuracy,
    ErrorModel,
    end_errors,
    point_errors,
    reading_errors,
    step_errors,
)
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.place_errors import cell_errors, spot_errors
from yardfall.geo.crs import find_crs, to_plane_m
from yardfall.use_cases.survey import KEPT, Survey


def quality_of(request: PlanRequest, found: Survey) -> tuple[Sequence[Remark], ErrorModel | None]:
    """What looks like a slip among hand readings, and how well the ground is known (None: not
    told)."""
    return (_kept_quality if found.kept else _slips_and_errors)(found, request.accuracy)


def _slips_and_errors(
    found: Survey, accuracy: Accuracy | None
) -> tuple[Sequence[Remark], ErrorModel | None]:
    groups, errors = _quality(found, accuracy)
    return likely_blunders(groups, found.ground) if groups else (), errors


_kept_quality = lru_cache(maxsize=KEPT)(_slips_and_errors)


def _quality(found: Survey, accuracy: Accuracy | None) -> tuple[list[Readings], ErrorModel | None]:
    spec, ground, route = found.asked.ground, found.ground, found.asked.route
    match spec:
        case LevelLineGround(readings=lines):
            return _line_quality(lines, ground, accuracy)
        case LevelBookGround():
            return _book_quality(spec, ground, accuracy)
        case StepGround():
            return _step_quality(spec, ground, accuracy)
        case _ if accuracy is None:
            return [], None
        case LengthAndDropGround():
            return [], end_errors(accuracy, ground)
        case RasterGround() | SourceGround() if found.pinned is not None:
            return [], found.pinned.errors()
        case RasterGround() | SourceGround() if found.cells is not None:
            return [], cell_errors(accuracy, ground, found.cells)
        case SpotGround() if found.route.xy is not None:
            crs, unit_m = find_crs(route.crs), route.local_unit_m
            origin = found.route.xy[0]
            along = found.route.position(ground.at_m)
            spots_m = to_plane_m(spec.xy, crs, unit_m, origin)
            assert along is not None
            return [], spot_errors(
                accuracy, ground, spots_m, spec.z_m, to_plane_m(along, crs, unit_m, origin)
            )
        case ElevationGround():
            order = np.argsort(spec.at_m, kind="stable")
            return [], point_errors(accuracy, ground, [f"/ground/points/{i}" for i in order])
    return [], point_errors(accuracy, ground, ["/ground/runs"] * len(ground.at_m))


def _line_quality(
    lines: tuple[LineReading, ...], ground: GroundProfile, accuracy: Accuracy | None
) -> tuple[list[Readings], ErrorModel | None]:
    at_m = np.array([r.at_m for r in lines])
    down_m = np.array([r.down_m for r in lines])
    pointers = tuple(f"/ground/readings/{i}" for i in range(len(lines)))
    strung = accuracy is not None and accuracy.label == INSTRUMENTS["line_level"].label
    by_line: dict[str, list[int]] = {}
    for i, reading in enumerate(lines):
        by_line.setdefault(reading.line, []).append(i)
    groups = [
        Readings(at_m[its], down_m[its], tuple(pointers[i] + "/down" for i in its), strung=strung)
        for its in by_line.values()
    ]

    if accuracy is None:
        return groups, None
    return groups, reading_errors(accuracy, ground, at_m, pointers, spread_of_lines(lines))


SAME_BOARD: Final = 0.1
"""Steps whose length differs from the middle one's by more are not compared with the others."""


def _step_quality(
    spec: StepGround, ground: GroundProfile, accuracy: Accuracy | None
) -> tuple[list[Readings], ErrorModel | None]:
    """Drops of steps of one board are compared; a shorter last one is left out."""
    lengths_m = np.array([step.length_m for step in spec.steps])
    drops_m = np.array([step.drop_m for step in spec.steps])
    usual_m = float(np.sort(lengths_m)[len(lengths_m) // 2])
    alike = np.flatnonzero(np.abs(lengths_m - usual_m) <= SAME_BOARD * usual_m)
    pointers = tuple(f"/ground/steps/{i}/drop" for i in alike)
    groups = [Readings(ground.at_m[1:][alike], drops_m[alike], pointers)]
    if accuracy is None:
        return groups, None
    return groups, step_errors(accuracy, ground, turned=spec.turned)


def _book_quality(
    spec: LevelBookGround, ground: GroundProfile, accuracy: Accuracy | None
) -> tuple[list[Readings], ErrorModel | None]:
    rod_m = np.array([s.rod_m for s in spec.shots])
    stations = [s.at_m for s in spec.shots]
    pointers = tuple(f"/ground/shots/{i}" for i in range(len(spec.shots)))
    groups: list[Readings] = []
    its: list[int] = []
    for i, shot in enumerate([*spec.shots, Shot("BS", 0.0)]):
        if shot.sight == "BS" and its:
            where = tuple(pointers[k] + "/rod" for k in its)
            at = np.array([stations[k] for k in its], dtype=np.float64)
            groups.append(Readings(at, rod_m[its], where, rod=True))
            its = []
        elif shot.sight != "BS" and shot.at_m is not None:
            its.append(i)

    if accuracy is None:
        return groups, None
    at_m = np.array([0.0 if x is None else x for x in stations])
    spread = spread_of_book(spec.benchmark, spec.shots, spec.known_m)
    return groups, reading_errors(accuracy, ground, at_m, pointers, spread)
