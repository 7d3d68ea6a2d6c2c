"""Levelling notes in book order: backsights, intermediate sights, foresights.

Height of instrument = elevation of the backsighted point + backsight; elevation of any other
point = height of instrument − its rod reading. The misclosure (computed − known) is taken out
by equal shares, one more share with every set-up (US Army FM 5-233, App. B: the correction has
the opposite sign).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Generic, Literal, TypeVar

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.profile import Closure, GroundProfile, Reference, refuse_repeats

Level = TypeVar("Level", float, Floats)
"""A level, or how far each reading moves it (k,): the sums are the same."""
Sight = Literal["BS", "IS", "FS"]

THIRD_ORDER_M_PER_SQRT_KM: Final = 0.012
"""Third-order misclosure, 12 mm·√km (FGCC, Standards and Specifications, 1984)."""
SET_UP_ERROR_M: Final = 0.0016
"""Reading error of a builder's level or laser over 50 ft, 1/16 in (common practice, no source)."""


@dataclass(frozen=True)
class Shot:
    """A rod reading `rod_m`, in book order; `on` names the point, `at_m` puts it on the route."""

    sight: Sight
    rod_m: float
    on: str | None = None
    at_m: float | None = None


@dataclass(frozen=True)
class LevelBook:
    """Every elevation the notes give, after the misclosure is taken out.

    `points_m` holds named points (turning points and the closing), `heights_m` the height of
    instrument of each set-up, `shot_m` the elevation of each shot's point.
    """

    shot_m: tuple[float, ...]
    set_up: tuple[int, ...]
    heights_m: tuple[float, ...]
    points_m: dict[str, float]
    closure: Closure | None


def closure_limit_m(distance_m: float, set_ups: int, rounding_m: float = 0.0) -> float:
    """Largest misclosure a sound run shows: third order, or the instrument's own error.

    The larger of 12 mm·√km (FGCC 1984) and the reading error of two sights a set-up,
    `SET_UP_ERROR_M`·√(2·set-ups): over a yard the second governs. Never less than `rounding_m`,
    what rounding alone may make of readings without any error.
    """
    third_order = THIRD_ORDER_M_PER_SQRT_KM * math.sqrt(distance_m / 1000)
    return max(third_order, SET_UP_ERROR_M * math.sqrt(2 * set_ups), rounding_m)


def _rounding_m(shots: Sequence[Shot], known: Mapping[str, float], rod_step_m: float) -> float:
    """Misclosure from rounding alone: half a unit of the last digit of every reading in it.

    All to one side, so the bound (common practice, no source): backsights too large, foresights
    too small.
    """
    half_m = rod_step_m / 2
    rods = [half_m if shot.sight == "BS" else -half_m for shot in shots]
    return _walk(shots, rods, 0.0, dict.fromkeys(known, 0.0)).misclosure or 0.0


def reduce_levels(
    benchmark: str,
    benchmark_m: float,
    shots: Sequence[Shot],
    known_m: Mapping[str, float],
    distance_m: float | None,
    rod_step_m: float = 0.0,
) -> LevelBook:
    """Work the notes through. `known_m` are further points of known elevation to close on.

    Without `distance_m` the run is taken to go out over the stations and back. `rod_step_m` is the
    last digit that the rod is read to.
    Raises InputError where the notes are out of order.
    """
    known = {benchmark: benchmark_m, **known_m}
    refuse_disorder(shots, known)
    run = _walk(shots, [shot.rod_m for shot in shots], benchmark_m, known)
    closure, heights = None, run.heights
    last = shots[-1]
    if run.misclosure is not None and last.on is not None:
        stations = [s.at_m for s in shots if s.at_m is not None]
        there_and_back = 2 * (max(stations) - min(stations)) if stations else 0.0
        run_m = there_and_back if distance_m is None else distance_m
        closure = Closure(
            last.on,
            run.misclosure,
            closure_limit_m(run_m, len(heights), _rounding_m(shots, known, rod_step_m)),
            len(heights),
            run_m,
            distance_m is not None,
        )
    named_m = {s.on: z for s, z in zip(shots, run.shot, strict=True) if s.on and s.sight != "BS"}
    return LevelBook(tuple(run.shot), tuple(run.set_up), tuple(heights), named_m, closure)


@dataclass(frozen=True, eq=False)
class _Run(Generic[Level]):
    """Levels of the shots' points and of the instrument, the misclosure (None: not closed) out."""

    shot: list[Level]
    set_up: list[int]
    heights: list[Level]
    misclosure: Level | None


def _walk(
    shots: Sequence[Shot], rods: Sequence[Level], benchmark: Level, known: Mapping[str, Level]
) -> _Run[Level]:
    """The sums through the book, on its readings or on anything that adds up as they do."""
    points = dict(known)
    raw: list[Level] = []
    set_up: list[int] = []
    heights: list[Level] = []
    turning = benchmark
    for i, (shot, rod) in enumerate(zip(shots, rods, strict=True)):
        if shot.sight == "BS":
            named = points.get(shot.on) if shot.on else None
            start = turning if named is None else named
            if not heights and shot.on is None:
                start = benchmark
            heights.append(start + rod)
            raw.append(start)
        else:
            raw.append(heights[-1] - rod)
        if shot.sight == "FS":
            turning = raw[-1]
            if shot.on and shot.on not in known:
                points[shot.on] = turning
        set_up.append(len(heights) - 1)
        if shot.sight == "FS" and i + 1 < len(shots) and shots[i + 1].sight != "BS":
            raise InputError.at(
                f"/shots/{i + 1}/sight",
                "After a foresight the instrument moves: the next reading is a backsight.",
            )
    last = shots[-1]
    if last.sight != "FS" or last.on is None or last.on not in known:
        return _Run(raw, set_up, heights, None)
    misclosure: Level = raw[-1] - known[last.on]
    share = misclosure / len(heights)
    shot_levels = [
        level - share * (k if shot.sight == "BS" else k + 1)
        for level, k, shot in zip(raw, set_up, shots, strict=True)
    ]
    return _Run(
        shot_levels, set_up, [h - share * (k + 1) for k, h in enumerate(heights)], misclosure
    )


def refuse_disorder(shots: Sequence[Shot], known_m: Mapping[str, float]) -> None:
    """Raise InputError unless the book starts on a known point and every turn is sound."""
    problems = []
    if shots[0].sight != "BS":
        problems.append(
            Problem("/shots/0/sight", "The book starts with a backsight on the benchmark.")
        )
    elif shots[0].on is not None and shots[0].on not in known_m:
        problems.append(
            Problem(
                "/shots/0/on",
                f"{shots[0].on!r} is not a known point; the first backsight stands on the "
                "benchmark.",
            )
        )
    problems += [
        Problem(
            f"/shots/{i}/at",
            "An intermediate sight needs the station it was read at, or in `on` the name of what "
            "it was read on.",
        )
        for i, shot in enumerate(shots)
        if shot.sight == "IS" and shot.at_m is None and shot.on is None
    ]
    for i, (before, shot) in enumerate(itertools.pairwise(shots), start=1):
        if shot.sight != "BS":
            continue
        if before.sight != "FS":
            problems.append(
                Problem(
                    f"/shots/{i}/sight",
                    "A new backsight needs a foresight before it, on the same turning point.",
                )
            )
        elif shot.on and before.on and shot.on != before.on and shot.on not in known_m:
            problems.append(
                Problem(
                    f"/shots/{i}/on",
                    f"The backsight is on {shot.on!r}, the foresight before it on {before.on!r}; "
                    "both must stand on the same turning point.",
                )
            )
    if problems:
        raise InputError(*problems)


def from_level_book(
    benchmark: str,
    benchmark_m: float,
    shots: Sequence[Shot],
    known_m: Mapping[str, float] | None = None,
    distance_m: float | None = None,
    rod_step_m: float = 0.0,
) -> GroundProfile:
    """Ground from the notes' shots that stand on the route.

    Raises InputError when no shot carries a station or two ground shots share one.
    """
    book = reduce_levels(benchmark, benchmark_m, shots, known_m or {}, distance_m, rod_step_m)
    ground = _ground_shots(shots)
    if not ground:
        raise InputError.at("/shots", "No shot carries a station (`at`); nothing is on the route.")
    at_m = np.array([shots[i].at_m for i in ground], dtype=np.float64)
    order = np.argsort(at_m, kind="stable")
    try:
        refuse_repeats(at_m, "shots")
    except InputError as error:
        raise InputError(
            *(
                Problem(f"/shots/{ground[int(p.pointer.split('/')[2])]}/at", p.detail)
                for p in error.problems
            )
        ) from None
    references = []
    for k, height_m in enumerate(book.heights_m):
        here = [float(shots[i].at_m or 0) for i in ground if book.set_up[i] == k]
        if here:
            references.append(
                Reference("instrument", f"set-up {k + 1}", min(here), max(here), height_m)
            )
    return GroundProfile(
        at_m[order],
        np.array([book.shot_m[ground[int(i)]] for i in order]),
        "reading",
        f"benchmark {benchmark!r} has the elevation given",
        tuple(sorted(references, key=lambda r: r.from_m)),
        closure=book.closure,
    )


def spread_of_book(
    benchmark: str, shots: Sequence[Shot], known_m: Mapping[str, float] | None = None
) -> Floats:
    """How far each of k rod readings moves each of the ground's n points, (n, k).

    In metres a metre, for a book that `from_level_book` takes: the same sums, worked on unit
    readings from points that do not move.
    """
    still = np.zeros(len(shots))
    known = dict.fromkeys([benchmark, *(known_m or {})], still)
    run = _walk(shots, list(np.eye(len(shots))), still, known)
    ground = _ground_shots(shots)
    order = np.argsort([float(shots[i].at_m or 0) for i in ground], kind="stable")
    return np.array([run.shot[ground[int(i)]] for i in order])


def _ground_shots(shots: Sequence[Shot]) -> list[int]:
    return [i for i, s in enumerate(shots) if s.at_m is not None and not _is_repeat(shots, i)]


def _is_repeat(shots: Sequence[Shot], i: int) -> bool:
    """A backsight on the turning point that the foresight before it already gave."""
    return shots[i].sight == "BS" and i > 0 and shots[i - 1].at_m == shots[i].at_m
