"""A request's body read into the sums' terms, in metres. What is not stated stays None."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from . import figures
from . import ground as grounds
from .figures import FIGURES, Figures

Catalogue = dict[str, dict[str, Any]]  # GET /pipes by code, in inches


@dataclass(frozen=True)
class Limit:
    min: float | None = None
    max: float | None = None

    @property
    def stated(self) -> bool:
        return self.min is not None or self.max is not None


@dataclass(frozen=True)
class Crossing:
    """Something buried in the way; the pipe keeps `clearance` from it, outside to outside."""

    at: float
    top: float  # level of its top
    size: float
    clearance: float
    ways: tuple[str, ...]


@dataclass(frozen=True)
class Fill:
    """Soil laid on the ground: its depth at the stations where its surface turns."""

    at: tuple[float, ...]
    depth: tuple[float, ...]

    def depth_at(self, x: np.ndarray | float) -> np.ndarray:
        return np.interp(x, self.at, self.depth, left=0.0, right=0.0)


@dataclass(frozen=True)
class Stretch:
    """Something bears on the line from here to there: `cover` over the pipe, never eased."""

    first: float
    last: float
    cover: float


@dataclass(frozen=True)
class Job:
    """One line of pipe, as stated."""

    usual: Figures
    length: float
    at: np.ndarray  # where the ground was measured
    ground: np.ndarray
    stations: np.ndarray  # inner stations, where the grade may change
    outside: float
    wall: float
    bedding: float
    least_grade: float
    greatest_grade: float | None
    start_invert: float
    min_cover: float | None
    max_depth: float | None
    run_out: float | None
    shape: str | None
    max_breaks: int | None
    kind: str
    depth: Limit  # ground to trench bottom at the end
    invert: Limit
    crossings: tuple[Crossing, ...] = ()
    covers: tuple[Stretch, ...] = ()
    start_highest: float | None = None  # how far the start may rise, where it may
    joins: tuple[tuple[float, float], ...] = ()  # station, and the highest invert a branch allows
    fills: tuple[Fill, ...] = ()

    def ground_at(self, x: np.ndarray | float) -> np.ndarray:
        return np.interp(x, self.at, self.ground)

    def finished_at(self, x: np.ndarray | float) -> np.ndarray:
        """The ground once all soil is laid: what lies over the pipe counts to it."""
        return self.ground_at(x) + sum(fill.depth_at(x) for fill in self.fills)

    @property
    def start_cover(self) -> float:
        return float(self.finished_at(0.0)) - (self.start_invert - self.wall + self.outside)

    @property
    def last_slope(self) -> float:
        """Fall per length of the ground between the last two points that were measured."""
        before = -2
        if figures.LAST_STRETCH_IS_LONG:
            far = np.flatnonzero(self.at <= self.at[-1] - self.usual.stretch + 1e-9)
            before = int(far[-1]) if len(far) else 0
        return float((self.ground[before] - self.ground[-1]) / (self.at[-1] - self.at[before]))


def read(body: dict[str, Any], pipes: Catalogue) -> Job:
    """The job of a /plan body: its main line, without branches."""
    usual = FIGURES[body["units"]]
    ft, small = usual.length, usual.small
    at, levels = grounds.profile(body)
    length = grounds.length(body)
    outside, wall, least = _pipe(body["pipe"], pipes, small)
    limits, grade = body.get("limits", {}), body.get("grade", {})
    bedding = limits.get("bedding", 0) * small
    top = float(levels[0])
    start = body["start"]
    fills = tuple(_fill(f, ft, small) for f in body.get("fills", ()))
    if "cover" in start:
        invert = (
            top
            + sum(float(f.depth_at(0.0)) for f in fills)
            - start["cover"] * small
            - outside
            + wall
        )
    elif "depth" in start:
        invert = top - start["depth"] * small + bedding + wall
    else:
        invert = start["invert"] * ft
    shallowest = start.get("shallowest_cover")
    rises = None if shallowest is None else top - shallowest * small - outside + wall
    outlet = body["outlet"]
    return Job(
        usual=usual,
        length=length,
        at=at,
        ground=levels,
        stations=_stations(body, at, length, ft),
        outside=outside,
        wall=wall,
        bedding=bedding,
        least_grade=grade.get("min_percent", least) / 100,
        greatest_grade=grade["max_percent"] / 100 if "max_percent" in grade else None,
        start_invert=invert,
        min_cover=_times(limits.get("min_cover"), small),
        max_depth=_times(limits.get("max_depth"), small),
        run_out=_times(limits.get("outlet_taper"), ft),
        shape=grade.get("shape"),
        max_breaks=grade.get("max_breaks"),
        kind=outlet["kind"],
        depth=_limit(outlet.get("depth", {}), small),
        invert=_limit(outlet.get("invert", {}), ft),
        fills=fills,
        crossings=tuple(
            Crossing(
                at=c["at"] * ft,
                top=float(np.interp(c["at"] * ft, at, levels)) - c["top_depth"] * small,
                size=c["size"] * small,
                clearance=c["clearance"] * small,
                ways=("over", "under") if c.get("pass", "either") == "either" else (c["pass"],),
            )
            for c in body.get("crossings", ())
        ),
        covers=tuple(
            Stretch(c["from"] * ft, c["to"] * ft, c["cover"] * small)
            for c in body.get("covers", ())
        ),
        start_highest=None if rises is None else max(invert, rises),
    )


def _fill(stated: dict[str, float], ft: float, small: float) -> Fill:
    """Its corners; soil that is full right at an end has a wall there."""
    corners = [(stated["full_from"], 1.0), (stated["full_to"], 1.0)]
    if stated["from"] < stated["full_from"]:
        corners.insert(0, (stated["from"], 0.0))
    if stated["to"] > stated["full_to"]:
        corners.append((stated["to"], 0.0))
    at, share = zip(*corners, strict=True)
    return Fill(tuple(x * ft for x in at), tuple(y * stated["depth"] * small for y in share))


def _times(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


def _limit(stated: dict[str, float], unit: float) -> Limit:
    return Limit(_times(stated.get("min"), unit), _times(stated.get("max"), unit))


def _pipe(pipe: dict[str, Any], pipes: Catalogue, small: float) -> tuple[float, float, float]:
    """Outside and wall in metres, least grade in percent."""
    known = pipes.get(pipe.get("code", ""), {})
    inch = 0.0254
    outside = pipe["outside"] * small if "outside" in pipe else known["outside"] * inch
    inside = pipe["inside"] * small if "inside" in pipe else known["inside"] * inch
    if "wall" in pipe:
        wall = pipe["wall"] * small
    elif "outside" in pipe or "inside" in pipe:
        wall = (outside - inside) / 2
    else:
        wall = known["wall"] * inch
    return outside, wall, pipe.get("min_percent", known.get("min_percent"))


def _stations(body: dict[str, Any], at: np.ndarray, length: float, ft: float) -> np.ndarray:
    """Inner stations: readings (of spots the bends alone), crossings, the ends of stretches with a
    cover of their own, and those asked for."""
    asked = body.get("stations", {})
    read_ = grounds.bends(body) if body["ground"]["kind"] == "spots" else list(at)
    places = [*read_, *grounds.bends(body), *(x * ft for x in asked.get("at", ()))]
    places += [c["at"] * ft for c in body.get("crossings", ())]
    places += [c[end] * ft for c in body.get("covers", ()) for end in ("from", "to")]
    step = asked["every"] * ft if "every" in asked else None
    if not asked and body["ground"]["kind"] in ("slopes", "spots", "raster"):
        step = FIGURES[body["units"]].spacing  # ground that no readings stake out
    if step is not None:
        places += [i * step for i in range(1, int(np.floor(length / step)) + 1)]
    inner = sorted({round(x, 9) for x in places if 1e-6 < x < length - 1e-6})
    return np.array(inner)
