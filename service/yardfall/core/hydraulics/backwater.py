"""Water standing where the pipe ends, such as a ditch in flood, and how far it backs up the line.

From the outlet the water stands level, or rises by friction where water runs in the full pipe,
until it meets the pipe's own water (`hydraulic_grade_line`). What opens below it lets water out.

"Choose the outlet to allow free flow (unsubmerged) most of the time"; an outlet at least 1 ft over
the bottom of its ditch: Michigan State University Extension, Subsurface drainage outlet
considerations (www.egr.msu.edu/bae/water/drainage/drainage-outlet-considerations, fig. 8).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.hydraulics.capacity import cautious, stretches
from yardfall.core.hydraulics.hydraulic_grade_line import Inlet, WetLine, at_openings, grade_line
from yardfall.core.hydraulics.manning import depth_at_flow, grade_for_flow

OVER_M: Final = 1e-6
"""Water stands above a level if it does so by more than rounding."""


@dataclass(frozen=True)
class Tailwater:
    """The highest water where the pipe ends: an elevation, or a depth below the ground there."""

    by: Literal["elevation", "depth"]
    value_m: float

    def level_m(self, ground_m: float) -> float:
        """Its elevation, over ground at `ground_m` where the pipe ends."""
        return self.value_m if self.by == "elevation" else ground_m - self.value_m


@dataclass(frozen=True)
class Flooded:
    """A place that the water stands above; `line` names the branches that lead to its line.

    `kind`: an opening stated, the ground at an inlet, or the ground where a line starts.
    """

    line: tuple[str, ...]
    kind: Literal["opening", "inlet", "start"]
    inlet: Inlet
    level_m: float

    @property
    def over_m(self) -> float:
        """From the place up to the water."""
        return self.level_m - self.inlet.opening_m

    @property
    def at_house(self) -> bool:
        """Whether water that comes out there comes out at the house, as far as was told."""
        return self.kind != "inlet" or self.inlet.at_house


@dataclass(frozen=True, eq=False)
class Backwater:
    """Water that stands at the outlet and what it does up the line.

    `own_m` is where water leaves without it: the lid, else the top of the pipe's end. `to_m` is the
    station it backs up to, None where it does not come into the pipe; `full_m` the length at the
    end that it keeps full. `level_m` (k,) is the water at `at_m` (k,), from `to_m` to the end;
    `under_m` are the shown stations whose ground it stands above. `flowing`: with all the inflows
    running, else still water. `all_dry` says that no place lies below the water, whatever it comes
    from; `over_all` that the outlet's stands above all the line's ground.
    """

    stated_m: float
    own_m: float
    lid: bool
    flowing: bool
    to_m: float | None
    full_m: float
    at_m: Floats
    level_m: Floats
    under_m: tuple[float, ...]
    flooded: tuple[Flooded, ...]
    all_dry: bool
    over_all: bool

    @property
    def over_m(self) -> float:
        """How far it stands above where water leaves the outlet; 0 or less: it changes nothing."""
        return self.stated_m - self.own_m

    @property
    def drowns_outlet(self) -> bool:
        """Whether the outlet lies under water."""
        return self.over_m > OVER_M

    @property
    def at_house(self) -> tuple[Flooded, ...]:
        """The places at the house where water could come out because of it, the worst first."""
        return tuple(one for one in self.flooded if one.at_house)


def back_up(line: WetLine, stated_m: float, shown_m: Floats, lid_m: float | None) -> Backwater:
    """What water at `stated_m` at the outlet does along a line and its branches.

    `shown_m` (k,) are the stations to tell of. `lid_m`: where water leaves a closed end; None: an
    open one, which it enters by the bottom.
    """
    crown_m = float(line.invert_m[-1]) + line.pipe.inside_m
    own_m = crown_m if lid_m is None else lid_m
    end_m = max(own_m, stated_m)
    before = list(_places(line, own_m, ()))
    after = list(_places(line, end_m, ()))
    found = [
        now
        for then, now in zip(before, after, strict=True)
        if _floods(then.level_m, now.level_m, now)
    ]
    enters = lid_m is None or stated_m > lid_m
    to_m = _back_to(line, stated_m, crown=False) if enters else None
    full_to_m = _back_to(line, stated_m, crown=True) if enters else None
    length_m = float(line.at_m[-1])
    at_m = _stations_from(line, length_m if to_m is None else to_m)
    level_m = np.full(len(at_m), stated_m)
    if to_m is not None:
        level_m = grade_line(line, line.pipe, stated_m, at_m, flowing=True)
    then_m = grade_line(line, line.pipe, own_m, shown_m, flowing=True)
    now_m = grade_line(line, line.pipe, end_m, shown_m, flowing=True)
    ground_m = np.interp(shown_m, line.at_m, line.ground_m)
    under = (now_m > ground_m + OVER_M) & (now_m > then_m + OVER_M)
    return Backwater(
        stated_m,
        own_m,
        lid_m is not None,
        _flows(line),
        to_m,
        0.0 if full_to_m is None else length_m - full_to_m,
        at_m,
        level_m,
        tuple(shown_m[under].tolist()),
        tuple(sorted(found, key=lambda one: -one.over_m)),
        all(now.over_m <= OVER_M for now in after),
        stated_m > float(np.max(line.ground_m)) + OVER_M,
    )


def _flows(line: WetLine) -> bool:
    """Whether any water is said to come into the line or its branches."""
    return any(inflow.flow_m3s > 0 for inflow in line.inflows) or any(
        _flows(branch) for _, _, branch in line.branches
    )


def _floods(then_m: float, now_m: float, place: Flooded) -> bool:
    """Whether the water stands above a place, and higher than it would without."""
    return now_m > place.inlet.opening_m + OVER_M and now_m > then_m + OVER_M


def _places(line: WetLine, end_m: float, path: tuple[str, ...]) -> Iterator[Flooded]:
    """Every place where water could come out, with the water there."""
    places: list[tuple[Literal["opening", "inlet", "start"], Inlet]] = [
        (_kind(inlet, line), inlet) for inlet in line.inlets
    ]
    if all(kind != "start" for kind, _ in places):
        start = Inlet("ground at the start", float(line.at_m[0]), float(line.ground_m[0]), False)
        places.insert(0, ("start", start))
    stations = [inlet.at_m for _, inlet in places] + [at_m for at_m, _, _ in line.branches]
    level_m = grade_line(line, line.pipe, end_m, np.array(stations), flowing=True).tolist()
    own_m = np.array(level_m[: len(places)])
    standing_m = at_openings(line, line.pipe, np.array(stations[: len(places)]), own_m).tolist()
    for (kind, inlet), one_m in zip(places, standing_m, strict=True):
        yield Flooded(path, kind, inlet, one_m)
    for (_, offset_m, branch), join_m in zip(line.branches, level_m[len(places) :], strict=True):
        yield from _places(branch, join_m + offset_m, (*path, branch.name))


def _kind(inlet: Inlet, line: WetLine) -> Literal["opening", "inlet", "start"]:
    if inlet.stated:
        return "opening"
    return "start" if inlet.at_m <= line.at_m[0] + SAME_STATION_M else "inlet"


def _back_to(line: WetLine, end_m: float, *, crown: bool) -> float | None:
    """The station up to which water from `end_m` at the end stands above the pipe's own water.

    With `crown`, up to which it fills the bore. None where it does neither at the end.
    """
    n, inside_m = cautious(line.pipe).n, line.pipe.inside_m
    found, below_m = None, end_m
    for stretch in reversed(stretches(line.inflows, line.runs)):
        own_m = depth_at_flow(stretch.flow_m3s, inside_m, stretch.grade, n)
        depth_m = inside_m if own_m is None or crown else own_m
        ends = np.array([stretch.from_m, stretch.to_m])
        free_m = np.interp(ends, line.at_m, line.invert_m) + depth_m
        over_m = below_m - float(free_m[1])
        if over_m < 0 or (over_m == 0 and found is None and not crown):
            return found
        length_m = stretch.to_m - stretch.from_m
        below_m += grade_for_flow(stretch.flow_m3s, inside_m, n) * length_m
        far_m = below_m - float(free_m[0])
        if far_m <= 0:
            share = 0.0 if over_m == far_m else over_m / (over_m - far_m)
            return stretch.to_m - share * length_m
        found = stretch.from_m
    return found


def _stations_from(line: WetLine, from_m: float) -> Floats:
    """From a station to the end: every station of the line, and where its flow changes."""
    bounds = [stretch.from_m for stretch in stretches(line.inflows, line.runs)]
    end_m = float(line.at_m[-1])
    at_m = np.unique(np.array([from_m, end_m, *line.at_m.tolist(), *bounds]))
    return at_m[(at_m >= from_m) & (at_m <= end_m)]
