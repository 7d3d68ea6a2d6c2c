"""Stated and usual: which usual limit gives way, and how far.

A plan is asked with every usual limit at its first value; where no line exists, groups of them give
way in a fixed order, each by the least that serves, rounded outward. All by linear programs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np

from . import figures
from .job import Job
from .lines import Band, exists, spare, spare_of_any_shape

RUN_OUT, END, SHAPE = "/limits/outlet_taper", "/outlet/depth/max", "/grade/shape"
RUN_IN = "/limits/min_cover"
ORDER = ((RUN_OUT,), (END,), (SHAPE,), (SHAPE, END), (SHAPE, RUN_OUT), (RUN_OUT, END),
         (RUN_OUT, END, SHAPE))  # fmt: skip


@dataclass(frozen=True)
class Taken:
    """One value for each usual limit: run-out and end depth in metres, changes of grade."""

    run_out: float | None
    end: float | None
    changes: int


@dataclass(frozen=True)
class Answer:
    verdict: str
    conditions: dict[str, dict[str, Any]] = field(default_factory=dict)
    taken: Taken | None = None
    spare: float | None = None  # m, with every usual limit at its last


@dataclass(frozen=True)
class Rule:
    """The rule on one job."""

    job: Job

    # --- what is usual here -------------------------------------------------------------------
    @property
    def usual_cover(self) -> float:
        """Usual cover, lowered by a shallower start but not under the floor."""
        u = self.job.usual
        return min(u.cover, max(u.cover_floor, self.job.start_cover))

    @property
    def cover(self) -> float:
        """What the line is held to away from its ends."""
        if self.job.min_cover is not None:
            return self.job.min_cover
        u = self.job.usual
        if figures.LOWERED_COVER_IS_NOMINAL:
            return max(u.cover_floor, self.usual_cover - u.nominal)
        return min(u.cover - u.nominal, self.usual_cover)

    @property
    def runs_in(self) -> bool:
        """The start lies shallower than any usual cover: it is eased over a run-in, and said."""
        job = self.job
        return job.min_cover is None and job.start_cover < job.usual.cover_floor - figures.TOLERANCE

    @property
    def bottom(self) -> float:
        """Pipe and bedding: what a trench is deep with no cover left."""
        return self.job.outside + self.job.bedding

    @property
    def end_is_usual(self) -> bool:
        job = self.job
        return job.kind in ("daylight", "pop_up") and not (job.depth.stated or job.invert.stated)

    def ditch_depth(self, length: float, which: str = "") -> float:
        """What a level ditch of this length takes to run out on the ground as it falls there."""
        depth = max(0.0, self.job.last_slope * length)
        return max(self.bottom, depth) if which in figures.DITCH_HOLDS_PIPE else depth

    @cached_property
    def first(self) -> Taken:
        job, u = self.job, self.job.usual
        run_out = job.run_out
        if run_out is None:
            run_out = u.run_out if job.kind in figures.RUN_OUT_KINDS else 0.0
        end = job.depth.max
        if self.end_is_usual:
            if job.kind == "daylight":
                end = self.ditch_depth(u.ditch, "first")
            else:
                cover = self.usual_cover
                if job.min_cover is not None:
                    cover = u.cover if figures.RISER_COUNTS_USUAL_COVER else job.min_cover
                end = max(u.riser + self.larger, cover + self.bottom)
        changes = 0
        if job.shape == "least_dig":
            changes = 3 if job.max_breaks is None else job.max_breaks
        return Taken(min(run_out, job.length), end, changes)

    @property
    def larger(self) -> float:
        return max(0.0, self.job.outside - figures.SMALL_PIPE)

    @cached_property
    def last(self) -> Taken:
        job, u, first = self.job, self.job.usual, self.first
        run_out, end, changes = first.run_out, first.end, first.changes
        eases = job.min_cover is None or not figures.STATED_COVER_KEEPS_RUN_OUT
        if job.run_out is None and job.kind in figures.RUN_OUT_KINDS and eases:
            run_out = job.length
        if self.end_is_usual:
            if job.kind == "daylight":
                end = self.ditch_depth(u.ditch_last, "last")
            else:
                end = max(u.riser_last, first.end)
        if job.shape is None and len(job.stations):
            changes = 1
        return Taken(run_out, end, changes)

    @cached_property
    def begun_as_stated(self) -> Rule:
        """The rule with the start where it is stated; that comes first where it may rise.

        Raised only as far as its own greatest depth asks.
        """
        job = self.job
        start = job.start_invert
        if job.start_highest is not None and job.max_depth is not None:
            deepest = float(job.ground[0]) + job.wall + job.bedding - job.max_depth
            start = min(max(start, deepest), job.start_highest)
        return Rule(replace(job, start_invert=start, start_highest=None))

    # --- the band, and whether a line is in it ------------------------------------------------
    def band(self, taken: Taken, ways: tuple[str, ...] = ()) -> tuple[Band, list[int]]:
        """Limits at every point for these values, and the points where the grade may change.

        `ways` says of each crossing whether the pipe passes over or under it.
        """
        job, u = self.job, self.job.usual
        run_out = taken.run_out or 0.0
        stated = job.run_out is not None or job.kind not in figures.RUN_OUT_KINDS
        free = run_out if stated else min(u.run_out, job.length)
        special = [0.0, job.length, job.length - free, job.length - run_out]
        if self.runs_in:
            special.append(u.run_in)
        special += [c.at for c in job.crossings] + [at for at, _ in job.joins]
        special += [at for fill in job.fills for at in fill.at]
        special += [end for c in job.covers for end in (c.first, c.last)]
        x = np.array(
            sorted({round(p, 9) for p in (*job.at, *job.stations, *special) if p >= -1e-9})
        )
        x = x[x <= job.length + 1e-9]
        g, finished = job.ground_at(x), job.finished_at(x)
        cover = np.full(len(x), self.cover)
        if self.runs_in:
            cover[x < u.run_in - 1e-6] = job.start_cover
        thin = x > job.length - run_out + 1e-6
        if run_out >= job.length - 1e-9:
            thin[:] = True  # the whole run
        cover[thin] = np.minimum(cover[thin], u.thin)
        hi = finished - cover - job.outside + job.wall
        surface = g + job.wall + job.bedding  # the trench bottom stays below the ground
        open_to = finished + job.wall + job.bedding
        inside_free = x > job.length - free + 1e-6
        if free >= job.length - 1e-9:
            inside_free[:] = True
        bare = open_to
        if job.kind in ("pop_up", "curb"):
            bare = (
                finished - job.outside + job.wall
            )  # what ends in a lid or a curb lies in the ground
        hi[inside_free] = bare[inside_free]
        hi = np.minimum(hi, open_to)
        for c in job.covers:  # holds on a run-in and a run-out as well
            under = (x >= c.first - 1e-6) & (x <= c.last + 1e-6)
            hi[under] = np.minimum(hi, finished - c.cover - job.outside + job.wall)[under]
        lo = np.full(len(x), -np.inf)
        if job.max_depth is not None:
            lo = surface - job.max_depth
        for crossing, way in zip(job.crossings, ways, strict=True):
            i = int(np.argmin(np.abs(x - crossing.at)))
            if way == "over":
                apart = max(crossing.clearance, job.bedding)  # no trench cuts into it
                lo[i] = max(lo[i], crossing.top + apart + job.wall)
            else:
                under = crossing.top - crossing.size - crossing.clearance
                hi[i] = min(hi[i], under - job.outside + job.wall)
        for at, highest in job.joins:
            i = int(np.argmin(np.abs(x - at)))
            hi[i] = min(hi[i], highest)
        end_hi = float(hi[-1])
        end_least = job.depth.min
        if end_least is None and self.end_is_usual and job.kind == "pop_up":
            end_least = u.riser_least + self.larger
        own_hi = np.inf if job.invert.max is None else job.invert.max
        if end_least is None and self.end_is_usual:
            end_least = 0.0
        if end_least is not None:
            own_hi = min(own_hi, float(surface[-1]) - end_least)
        hi[-1] = min(hi[-1], own_hi)
        if taken.end is not None:
            lo[-1] = max(lo[-1], surface[-1] - taken.end)
        if job.invert.min is not None:
            lo[-1] = max(lo[-1], job.invert.min)
        places = [int(np.argmin(np.abs(x - s))) for s in job.stations]
        start, rises = job.start_invert, None
        if job.start_highest is not None:
            start, rises = None, (job.start_invert, job.start_highest)
        band = Band(x, hi, lo, job.least_grade, job.greatest_grade, start, end_hi, own_hi, rises)
        return band, places

    def bands(self, taken: Taken) -> list[tuple[Band, list[int]]]:
        """The band for every choice of ways past the crossings."""
        every = itertools.product(*(c.ways for c in self.job.crossings))
        return [self.band(taken, ways) for ways in every]

    def feasible(self, taken: Taken) -> bool:
        return any(exists(band, places, taken.changes) for band, places in self.bands(taken))

    def spare(self, taken: Taken, ways: tuple[str, ...] | None = None) -> float | None:
        """Fall to spare: by the best ways past the crossings, or by `ways`.

        Of at most one change of grade it is that of the best line; of more, a yes is told by pairs
        of points, which no line can better.
        """
        bands = self.bands(taken) if ways is None else [self.band(taken, ways)]
        if taken.changes > 1:
            pairs = _most([spare_of_any_shape(band) for band, _ in bands])
            if pairs is None or pairs < 0 or self.feasible(taken):
                return pairs  # else so few changes alone stand in the way: they are short
        return _most([spare(band, places, taken.changes) for band, places in bands])

    # --- which gives way, and how far ---------------------------------------------------------
    def least_end(self, taken: Taken) -> Taken:
        """The least riser or ditch that serves with the rest as in `taken`, rounded outward."""
        ends = self.ends

        def at(n: int) -> Taken:
            return replace(taken, end=ends[n])

        return at(_least(lambda n: self.feasible(at(n)), 0, len(ends) - 1))

    @property
    def ends(self) -> list[float]:
        """Depths of an end that a person would say, from the first value to the last.

        A daylight end's are those of ditches of whole steps; deeper than the last of these no ditch
        leads out, and the end is at a bank as deep as what lies in the trench.
        """
        u, last = self.job.usual, self.last.end
        if self.job.kind == "daylight":
            steps = range(_up(u.ditch, u.length_step), _up(u.ditch_last, u.length_step) + 1)
            depths = [self.ditch_depth(min(n * u.length_step, u.ditch_last)) for n in steps]
        else:
            steps = range(_up(self.first.end, u.depth_step), _up(last, u.depth_step) + 1)
            depths = [min(n * u.depth_step, last) for n in steps]
        return [d for d in depths if d < last - figures.TOLERANCE] + [last]

    def least_run_out(self, taken: Taken) -> Taken:
        step, first, last = self.job.usual.length_step, self.first.run_out, self.last.run_out

        def at(n: int) -> Taken:
            return Taken(min(n * step, last), taken.end, taken.changes)

        return at(_least(lambda n: self.feasible(at(n)), _up(first, step), _up(last, step)))

    def ease(self, group: tuple[str, ...]) -> Taken | None:
        """The least that this group of limits must give, or None where it does not serve."""
        first, last = self.first, self.last
        if (
            (RUN_OUT in group and last.run_out <= first.run_out + 1e-9)
            or (END in group and (first.end is None or last.end <= first.end + 1e-9))
            or (SHAPE in group and last.changes <= first.changes)
        ):
            return None
        taken = Taken(
            last.run_out if RUN_OUT in group else first.run_out,
            last.end if END in group else first.end,
            last.changes if SHAPE in group else first.changes,
        )
        if not self.feasible(taken):
            return None
        if END in group:
            taken = self.least_end(taken)
        if RUN_OUT in group:
            taken = self.least_run_out(taken)
        return taken

    def answer(self) -> Answer:
        margin = self.spare(self.last)
        if self.feasible(self.first):
            return Answer("yes", self._conditions((), self.first), self.first, margin)
        for group in ORDER:
            taken = self.ease(group)
            if taken is not None:
                return Answer("yes", self._conditions(group, taken), taken, margin)
        return Answer("no", {}, None, margin)

    def _conditions(self, group: tuple[str, ...], taken: Taken) -> dict[str, dict[str, Any]]:
        """By pointer: usual and taken, in the caller's units."""
        job, u = self.job, self.job.usual
        told: dict[str, dict[str, Any]] = {}
        if self.runs_in:
            told[RUN_IN] = {
                "usual": self.usual_cover / u.small,
                "taken": job.start_cover / u.small,
                "to_at": min(u.run_in, job.length) / u.length,
            }
        if RUN_OUT in group:
            told[RUN_OUT] = {
                "usual": self.first.run_out / u.length,
                "taken": taken.run_out / u.length,
            }
        if END in group:
            told[END] = {"usual": self.first.end / u.small, "taken": taken.end / u.small}
            if job.kind == "daylight":
                ditch = taken.end / job.last_slope if job.last_slope > 0 else np.inf
                if ditch > u.ditch_last + 1e-6:
                    ditch = 0.0  # no ditch leads out: the pipe must end at a bank
                told[END]["to_at"] = (job.length + ditch) / u.length
        if SHAPE in group:
            told[SHAPE] = {"usual": "straight"}
        return told


def _most(margins: list[float | None]) -> float | None:
    """The greatest; None, no limit on depth, is more than any."""
    return None if None in margins else max(m for m in margins if m is not None)


def _up(value: float, step: float) -> int:
    """How many steps hold this value."""
    return math.ceil(value / step - 1e-7)


def _least(works: Callable[[int], bool], low: int, high: int) -> int:
    """Least n from low to high that works; `high` does, and what works goes on to work."""
    while low < high:
        middle = (low + high) // 2
        if works(middle):
            high = middle
        else:
            low = middle + 1
    return low
