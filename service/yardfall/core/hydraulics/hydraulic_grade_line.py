"""How high the water stands along a line and its branches when everything runs at once.

The hydraulic grade line, from the outlet up. Where the water below stands above a pipe's normal
depth, it rises upstream by the friction slope of the full bore at the flow of that stretch,
S_f = (Q·n/(A·R^(2/3)))²; elsewhere it keeps its normal depth, and a pipe asked for more than its
full-bore flow runs full:

    level(x) = max(level below + S_f·(distance), invert(x) + normal depth)

A branch starts from the line's level at its join. At the start of a line the water must get into
the pipe, and stands the higher for it (`entrance`); what comes in further down joins by a wye, in
water that runs already. An inlet whose opening lies lower than the level
at its station is drowned: water comes out there. Friction of the straight pipe only, by the
cautious roughness; bends, joins and the speed of the water are for a margin to cover.

TxDOT, Hydraulic Design Manual, ch. 6 sec. 3, "Hydraulic Grade Line Procedure", which lets the
full-flow friction slope stand for partial flow; FHWA HEC-22 ch. 7 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.hydraulics.capacity import Inflow, cautious, stretches
from yardfall.core.hydraulics.entrance import entrance_head
from yardfall.core.hydraulics.manning import depth_at_flow, grade_for_flow
from yardfall.core.pipes import CATALOGUE, Pipe


@dataclass(frozen=True)
class Inlet:
    """Where water enters, and the level at which it would come out again.

    `stated`: the level is the caller's; else it is the ground's. `at_house`: what comes in there
    comes from the house, as a roof's or a pump's water does.
    """

    what: str
    at_m: float
    opening_m: float
    stated: bool
    at_house: bool = False


@dataclass(frozen=True)
class StandingWater:
    """An inlet and the water at it. `still_m` is the level with no flow at all; `entry_m` is what
    of the level it takes to get into the pipe.

    `serves` is the smallest larger catalogue pipe that, laid at the same inverts all the way to
    the outlet, keeps the water in; None where it is in already, or where none does.
    """

    inlet: Inlet
    level_m: float
    still_m: float
    serves: Pipe | None = None
    entry_m: float = 0.0

    @property
    def spare_m(self) -> float:
        """From the water up to the opening; negative: the inlet is drowned."""
        return self.inlet.opening_m - self.level_m


@dataclass(frozen=True, eq=False)
class WetLine:
    """A laid line: pipe, inverts (n,) at stations (n,), all that enters it, its inlets.

    `inflows` hold what the branches bring, at their joins. `branches` come with the station of
    their join and what their levels are over the line's. `ground_m` (n,) is asked for only by
    `backwater`.
    """

    pipe: Pipe
    at_m: Floats
    invert_m: Floats
    runs: tuple[GradeRun, ...]
    inflows: tuple[Inflow, ...]
    inlets: tuple[Inlet, ...]
    branches: tuple[tuple[float, float, WetLine], ...] = ()
    ground_m: Floats = field(default_factory=lambda: np.empty(0))
    name: str = ""


@dataclass(frozen=True)
class End:
    """Where the water leaves: over a lid, or (None) at the top of the bore; `water_m` stands there.

    Of a whole tree the main line's alone: a branch ends in the water of the line it joins.
    """

    lid_m: float | None = None
    water_m: float = -math.inf

    def level_m(self, crown_m: float) -> float:
        """The level from which the water rises up the line, with its end's crown at `crown_m`."""
        return max(crown_m if self.lid_m is None else self.lid_m, self.water_m)


FREE: Final = End()


@dataclass(frozen=True, eq=False)
class Standing:
    """The water at each inlet of a line, and on its branches."""

    inlets: tuple[StandingWater, ...]
    branches: tuple[Standing, ...]


def water_at_inlets(line: WetLine, end: End = FREE) -> Standing:
    """The water at every inlet, by where it leaves the whole."""
    flowing, still = levels(line, end), levels(line, end, flowing=False)
    larger: dict[str, _Levels] = {}
    return _standing(line, end, line, flowing, still, (), larger)


@dataclass(frozen=True, eq=False)
class _Levels:
    """Levels at the inlets of a line, and on its branches."""

    inlets_m: tuple[float, ...]
    branches: tuple[_Levels, ...]
    entries_m: tuple[float, ...] = ()

    def on(self, path: Sequence[int]) -> _Levels:
        return self if not path else self.branches[path[0]].on(path[1:])


def levels(
    line: WetLine,
    end: End = FREE,
    *,
    flowing: bool = True,
    at_least: Pipe | None = None,
) -> _Levels:
    """Levels at the inlets from the outlet up, in pipes no smaller than `at_least`."""
    pipe = _laid(line, at_least)
    end_m = end.level_m(float(line.invert_m[-1]) + pipe.inside_m)
    return _rising(line, end_m, flowing, at_least)


def grade_line(line: WetLine, pipe: Pipe, end_m: float, at_m: Floats, *, flowing: bool) -> Floats:
    """Water level (k,) at stations (k,) of one line, from the level `end_m` below its end."""
    n = cautious(pipe).n
    found = np.full(len(at_m), -np.inf)
    below_m = end_m
    for stretch in reversed(stretches(line.inflows, line.runs)):
        flow_m3s = stretch.flow_m3s if flowing else 0.0
        depth_m = depth_at_flow(flow_m3s, pipe.inside_m, stretch.grade, n)
        depth_m = pipe.inside_m if depth_m is None else depth_m
        friction = grade_for_flow(flow_m3s, pipe.inside_m, n)
        here = (at_m >= stretch.from_m) & (at_m <= stretch.to_m)
        at = np.append(at_m[here], [stretch.from_m, stretch.to_m])
        free_m = np.interp(at, line.at_m, line.invert_m) + depth_m
        below_m = max(below_m, float(free_m[-1]))
        level_m = np.maximum(below_m + friction * (stretch.to_m - at), free_m)
        found[here] = np.maximum(found[here], level_m[:-2])
        below_m = float(level_m[-2])
    return found


def at_openings(line: WetLine, pipe: Pipe, at_m: Floats, level_m: Floats) -> Floats:
    """Water (k,) that stands at openings (k,) where the pipe's is at `level_m` (k,), all running.

    The same but at the start of the line, where the water gets into the pipe.
    """
    flow_m3s = stretches(line.inflows, line.runs)[0].flow_m3s
    start_m = float(line.invert_m[0])
    first = at_m <= float(line.at_m[0]) + SAME_STATION_M
    return np.array(
        [
            start_m + entrance_head(flow_m3s, pipe.inside_m, max(0.0, one - start_m))
            if here
            else one
            for here, one in zip(first.tolist(), level_m.tolist(), strict=True)
        ]
    )


def _laid(line: WetLine, at_least: Pipe | None) -> Pipe:
    larger = at_least is not None and at_least.inside_m > line.pipe.inside_m
    return at_least if larger and at_least is not None else line.pipe


def _rising(line: WetLine, end_m: float, flowing: bool, at_least: Pipe | None) -> _Levels:
    pipe = _laid(line, at_least)
    places = [inlet.at_m for inlet in line.inlets] + [at_m for at_m, _, _ in line.branches]
    level_m = grade_line(line, pipe, end_m, np.array(places), flowing=flowing)
    own, joins = level_m[: len(line.inlets)], level_m[len(line.inlets) :]
    standing = at_openings(line, pipe, np.array(places[: len(own)]), own) if flowing else own
    above = tuple(
        _rising(branch, float(join_m) + offset_m, flowing, at_least)
        for join_m, (_, offset_m, branch) in zip(joins, line.branches, strict=True)
    )
    return _Levels(tuple(standing.tolist()), above, tuple((standing - own).tolist()))


def _standing(
    whole: WetLine,
    end: End,
    line: WetLine,
    flowing: _Levels,
    still: _Levels,
    path: tuple[int, ...],
    larger: dict[str, _Levels],
) -> Standing:
    found = []
    for k, inlet in enumerate(line.inlets):
        level_m, still_m = flowing.inlets_m[k], still.inlets_m[k]
        serves = None
        if still_m <= inlet.opening_m < level_m:
            serves = _that_serves(whole, end, line, path, k, larger)
        found.append(StandingWater(inlet, level_m, still_m, serves, flowing.entries_m[k]))
    below = tuple(
        _standing(whole, end, branch, flowing.branches[i], still.branches[i], (*path, i), larger)
        for i, (_, _, branch) in enumerate(line.branches)
    )
    return Standing(tuple(found), below)


def _that_serves(
    whole: WetLine,
    end: End,
    line: WetLine,
    path: tuple[int, ...],
    k: int,
    larger: dict[str, _Levels],
) -> Pipe | None:
    for code, pipe in sorted(CATALOGUE.items(), key=lambda item: item[1].inside_m):
        if pipe.inside_m <= line.pipe.inside_m:
            continue
        if code not in larger:
            larger[code] = levels(whole, end, at_least=pipe)
        if larger[code].on(path).inlets_m[k] <= line.inlets[k].opening_m:
            return pipe
    return None
