"""The ground along a route: one profile type, whatever it was measured with."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import GroundGap, InputError, Problem
from yardfall.core.ground.route import SAME_STATION_M, same_station

Source = Literal["reading", "interpolated", "raster", "spots", "given"]


@dataclass(frozen=True)
class Reference:
    """A level that a crew measures down from: a strung line or an instrument set-up.

    `elevation_m` is the height of the line or of the instrument; it serves stations
    `from_m` to `to_m`.
    """

    kind: Literal["line", "instrument"]
    name: str
    from_m: float
    to_m: float
    elevation_m: float

    def away_m(self, at_m: float) -> float:
        """How far a station lies from those it serves; to the nanometre, so that a station half
        way between two is always the first one's."""
        return round(max(self.from_m - at_m, at_m - self.to_m, 0.0), 9)


CLOSE_M: Final = 1e-9
"""Sums of readings differ by less from what they are on paper."""


@dataclass(frozen=True)
class Closure:
    """How well a run of levels closes on a known point.

    misclosure = computed − known; `limit_m` is what a sound run of this length may show, or what
    its readings' rounding alone may.
    """

    on: str
    misclosure_m: float
    limit_m: float
    set_ups: int
    distance_m: float
    distance_known: bool

    @property
    def within(self) -> bool:
        """Whether the run misses by no more than its limit."""
        return abs(self.misclosure_m) <= self.limit_m + CLOSE_M


@dataclass(frozen=True, eq=False)
class FallAround:
    """How far the ground falls around the end of a line, where a raster tells it.

    `fall_m` (k,) is the most fall within `distance_m` (k,), increasing, straight away from the
    point at `end_m` in any of the ways of `core.reach.grid`.
    """

    end_m: float
    distance_m: Floats
    fall_m: Floats


@dataclass(frozen=True)
class NamedSource:
    """Where elevations came from that nobody of the job measured, as whoever named them states it.

    `date` is when the ground was so (ISO 8601, from/to where it took several days), `rmse_m` the
    vertical error of the elevations, root mean square, `lidar` how it was flown, by its name in
    `uncertainty.lidar`. "" and None: not stated.
    """

    name: str
    date: str = ""
    rmse_m: float | None = None
    licence: str = ""
    vertical_datum: str = ""
    lidar: str = ""


@dataclass(frozen=True, eq=False)
class GroundProfile:
    """Ground elevations (n,) at stations (n,), increasing, and where they came from.

    Between points the ground is a straight line. `references` are the levels to measure down
    from; `closure` and `tie_gaps_m` report how well the readings agree with themselves. `known` is
    false where nobody measured the ground and the elevations are those of the pipe's own line.
    `read_over_m` are the stations read by hand over a raster; `named` the source it came from, of
    those that whoever runs the planner named.
    """

    at_m: Floats
    elevation_m: Floats
    source: Source
    datum: str
    references: tuple[Reference, ...] = ()
    closure: Closure | None = None
    tie_gaps_m: dict[str, float] = field(default_factory=dict)
    around: FallAround | None = None
    known: bool = True
    read_over_m: Floats = field(default_factory=lambda: np.empty(0))
    named: NamedSource | None = None

    @property
    def reading_at_m(self) -> Floats:
        """Stations where a value was measured by hand: each becomes a station of the plan."""
        return self.at_m if self.source in ("reading", "given") else self.read_over_m

    def elevation(self, at_m: Floats) -> Floats:
        """Ground at stations (n,), straight between points; the ends must be covered."""
        return np.interp(at_m, self.at_m, self.elevation_m)

    def elevation_at(self, at_m: float) -> float:
        """Ground at one station."""
        return float(np.interp(at_m, self.at_m, self.elevation_m))

    def sources_at(self, at_m: Floats) -> list[Source]:
        """Where the values at stations (n,) come from."""
        found: list[Source] = [
            self.source if it else "interpolated" for it in same_station(at_m, self.at_m)
        ]
        if len(self.read_over_m):
            for i in np.flatnonzero(same_station(at_m, self.read_over_m)).tolist():
                found[i] = "reading"
        return found

    def references_at(self, at_m: Floats) -> list[Reference | None]:
        """The level that serves each station (n,): the first that spans it, else the nearest."""
        if len(self.references) < 2:
            return [self.references[0] if self.references else None] * len(at_m)
        return [min(self.references, key=lambda r: r.away_m(x)) for x in at_m.tolist()]

    def require_reach(self, length_m: float) -> None:
        """Raise GroundGap unless ground is known from station 0 to `length_m`."""
        gaps = []
        if self.at_m[0] > SAME_STATION_M:
            gaps.append((0.0, float(self.at_m[0])))
        if self.at_m[-1] < length_m - SAME_STATION_M:
            gaps.append((float(self.at_m[-1]), length_m))
        if gaps:
            raise GroundGap(tuple(gaps), "the ground readings do not reach the whole route")


ASSUMED_DATUM: Final = "ground at station 0 is elevation 0"


def from_elevations(at_m: Floats, elevation_m: Floats) -> GroundProfile:
    """Points given as station and elevation, in any order. Two at one station are an error."""
    order = np.argsort(at_m, kind="stable")
    refuse_repeats(at_m, "points")
    return GroundProfile(at_m[order], elevation_m[order], "given", "elevations as given")


def refuse_repeats(at_m: Floats, name: str) -> None:
    """Raise InputError when two entries of list `name` share a station."""
    order = [int(i) for i in np.argsort(at_m, kind="stable")]
    problems = [
        Problem(
            f"/{name}/{max(one, two)}/at",
            f"Entry {max(one, two) + 1} stands at the same station as entry "
            f"{min(one, two) + 1}; a station takes one value.",
        )
        for one, two in itertools.pairwise(order)
        if abs(at_m[one] - at_m[two]) <= SAME_STATION_M
    ]
    if problems:
        raise InputError(*problems)


@dataclass(frozen=True)
class SlopeRun:
    """Ground that rises by `percent` (downhill negative) from one station to the next."""

    from_m: float
    to_m: float
    percent: float


def from_slopes(runs: Sequence[SlopeRun]) -> GroundProfile:
    """Slopes end to end; elevation 0 at the first station.

    Raises InputError when a run is backwards or does not start where the one before ends.
    """
    problems = []
    for i, run in enumerate(runs):
        if run.to_m <= run.from_m + SAME_STATION_M:
            problems.append(Problem(f"/runs/{i}/to", "A run must end beyond where it starts."))
        if i and abs(run.from_m - runs[i - 1].to_m) > SAME_STATION_M:
            problems.append(
                Problem(
                    f"/runs/{i}/from",
                    f"Run {i + 1} must start where run {i} ends: "
                    "between them the ground is not known.",
                )
            )
    if problems:
        raise InputError(*problems)
    at_m = np.array([runs[0].from_m, *(run.to_m for run in runs)])
    rises = [(run.to_m - run.from_m) * run.percent / 100 for run in runs]
    elevation_m = np.concatenate([[0.0], np.cumsum(rises)])
    return GroundProfile(at_m, elevation_m, "given", ASSUMED_DATUM)
