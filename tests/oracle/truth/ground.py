"""Ground along a route, from each kind of survey, worked by hand. Metres."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

from .figures import FIGURES, INCH, MM

Profile = tuple[np.ndarray, np.ndarray]
ROD = {"ft": 0.3048, "in": INCH, "m": 1.0, "mm": MM}


def profile(body: dict[str, Any]) -> Profile:
    """Stations (n,) and ground (n,) of the points that were measured, in metres."""
    ground = body["ground"]
    levels = {
        "elevations": _elevations,
        "level_line": _level_line,
        "slopes": _slopes,
        "rod": _rod,
        "spots": _spots,
    }[ground["kind"]](body, ground)
    at = np.array(sorted(levels))
    return at, np.array([levels[x] for x in at])


def length(body: dict[str, Any]) -> float:
    """Length of a taped route, or of one drawn in a plane (`crs` local), in metres."""
    unit, route = FIGURES[body["units"]].length, body["route"]
    if "length" in route:
        return route["length"] * unit
    if "tape_length" in route:
        return route["tape_length"] * unit
    return float(_bends(route)[-1]) * unit


def _bends(route: dict[str, Any]) -> np.ndarray:
    """Distance along a drawn route at each of its points, as drawn."""
    points = np.array(route["line"]["coordinates"], float)
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def bends(body: dict[str, Any]) -> list[float]:
    """Stations of the inner points of a drawn route, in metres."""
    if "line" not in body["route"]:
        return []
    along = _bends(body["route"])
    return list(along[1:-1] * (length(body) / along[-1]))


def _spots(body: dict[str, Any], ground: dict[str, Any]) -> dict[float, float]:
    """Flat triangles between the points (Delaunay): the ground bends where the route meets an
    edge, found by going along each leg of the route against each edge."""
    unit, route = FIGURES[body["units"]].length, body["route"]
    points = np.array(ground["points"], float)
    middle = points[:, :2].mean(axis=0)
    mesh = Delaunay(points[:, :2] - middle)
    surface = LinearNDInterpolator(mesh, points[:, 2])
    line = np.array(route["line"]["coordinates"], float) - middle
    along = _bends(route)
    edges = {tuple(sorted(e)) for t in mesh.simplices for e in itertools.combinations(t, 2)}
    places = set(along)
    for (a, b), (from_, to) in zip(
        itertools.pairwise(line), itertools.pairwise(along), strict=True
    ):
        for i, j in edges:
            p, q = mesh.points[i], mesh.points[j]
            across = np.array([b - a, p - q]).T
            if abs(np.linalg.det(across)) > 1e-12:
                u, v = np.linalg.solve(across, p - a)
                if 0 <= u <= 1 and -1e-12 <= v <= 1 + 1e-12:
                    places.add(from_ + u * (to - from_))
    stretch = length(body) / (along[-1] * unit)
    at = np.array(sorted(places))
    xy = np.column_stack([np.interp(at, along, line[:, k]) for k in (0, 1)])
    levels = surface(xy)
    if np.isnan(levels).any():
        raise ValueError("a route beyond its ground")
    return {float(x * unit * stretch): float(z * unit) for x, z in zip(at, levels, strict=True)}


def _elevations(body: dict[str, Any], ground: dict[str, Any]) -> dict[float, float]:
    unit = FIGURES[body["units"]].length
    return {p["at"] * unit: p["elevation"] * unit for p in ground["points"]}


def _level_line(body: dict[str, Any], ground: dict[str, Any]) -> dict[float, float]:
    """The first line is the datum; a line re-strung is tied where a reading of it is shared."""
    unit, small = FIGURES[body["units"]].length, FIGURES[body["units"]].small
    lines: dict[str | None, dict[float, float]] = {}
    for r in ground["readings"]:
        lines.setdefault(r.get("line"), {})[r["at"] * unit] = r["down"] * small
    order = list(lines)
    levels = {at: -down for at, down in lines[order[0]].items()}
    waiting = order[1:]
    while waiting:
        for name in waiting:
            shared = [at for at in lines[name] if at in levels]
            if shared:
                level = float(np.mean([levels[at] + lines[name][at] for at in shared]))
                for at, down in lines[name].items():
                    levels.setdefault(at, level - down)
                waiting.remove(name)
                break
        else:
            raise ValueError("a line that ties to no other")
    return levels


def _slopes(body: dict[str, Any], ground: dict[str, Any]) -> dict[float, float]:
    unit = FIGURES[body["units"]].length
    levels = {0.0: 0.0}
    level = 0.0
    for run in sorted(ground["runs"], key=lambda r: r["from"]):
        level += (run["to"] - run["from"]) * unit * run["percent"] / 100
        levels[run["to"] * unit] = level
    return levels


def _rod(body: dict[str, Any], ground: dict[str, Any]) -> dict[float, float]:
    """Notes in book order that do not close on a known point; rise = backsight − foresight."""
    unit = FIGURES[body["units"]].length
    rod = ROD[ground.get("rod_unit", "ft" if body["units"] == "us" else "m")]
    level = ground["benchmark"]["elevation"] * unit
    levels: dict[float, float] = {}
    instrument = 0.0
    for shot in ground["shots"]:
        if shot["sight"] == "BS":
            instrument = level + shot["rod"] * rod
        else:
            level_here = instrument - shot["rod"] * rod
            if shot["sight"] == "FS":
                level = level_here
            if "at" in shot:
                levels[shot["at"] * unit] = level_here
    return levels
