"""Ground along a route, from each kind of survey, worked by hand. Metres."""

from __future__ import annotations

from typing import Any

import numpy as np

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
    }[ground["kind"]](body, ground)
    at = np.array(sorted(levels))
    return at, np.array([levels[x] for x in at])


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
