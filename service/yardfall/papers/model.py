"""What a paper is made from: the answer in the caller's units, and where its stations lie."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.reach.request import ShapeKind
from yardfall.core.units import UnitSystem

Answer = Mapping[str, Any]
MAIN = "Main line"


@dataclass(frozen=True)
class TitleBlock:
    """What stands at the head of a paper; empty where the crew writes it in."""

    title: str = ""
    place: str = ""
    prepared_for: str = ""
    prepared_by: str = ""
    date: str = ""
    page: str = "letter"


@dataclass(frozen=True)
class Inlet:
    """A place where water enters, by its station in distance units."""

    at: float
    name: str


@dataclass(frozen=True, eq=False)
class DrainLine:
    """The main or a branch.

    `plane_m` (n, 2) are its stations on the job's plane, y up; `lonlat` (n, 2) on WGS 84; each
    None where it is not known. `crs` is the system its own x and y are in; None for a taped run.
    """

    name: str
    answer: Answer
    rod_unit: str
    inlets: tuple[Inlet, ...] = ()
    crs: str | None = None
    plane_m: Floats | None = None
    lonlat: Floats | None = None

    @property
    def stations(self) -> list[dict[str, Any]]:
        """The stations of its answer."""
        found: list[dict[str, Any]] = self.answer["stations"]
        return found

    @property
    def at(self) -> Floats:
        """Stations (n,) in distance units."""
        return np.array([s["at"] for s in self.stations])

    @property
    def xy(self) -> Floats | None:
        """Stations (n, 2) in the line's own coordinates."""
        if self.crs is None:
            return None
        return np.array([[s["x"], s["y"]] for s in self.stations], dtype=np.float64)

    def along(self, places: Floats, at: float) -> tuple[float, float]:
        """The place at a station, from places (n, 2) of the stations."""
        return (
            float(np.interp(at, self.at, places[:, 0])),
            float(np.interp(at, self.at, places[:, 1])),
        )


@dataclass(frozen=True)
class Picture:
    """A relief or site plan, y up, and its bounds xmin, ymin, xmax, ymax on the job's plane, m."""

    content: bytes
    media_type: str
    bounds_m: tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Outline:
    """A point, line or area on the job's plane: `rings_m` as in `core.reach.request.Shape`, y up.

    `clearance_m` is what to keep away from it. `rings` are the same in the route's own
    coordinates, `lonlat` on WGS 84 where that is known.
    """

    kind: ShapeKind
    name: str
    rings_m: tuple[Floats, ...]
    clearance_m: float = 0.0
    rings: tuple[Floats, ...] = ()
    lonlat: tuple[Floats, ...] | None = None


@dataclass(frozen=True)
class Address:
    """Where one revision of a kept job opens in the trench check."""

    url: str
    revision: int


@dataclass(frozen=True, eq=False)
class Job:
    """A planned drain, ready for paper. The main line comes first, each branch after its main.

    `up` says what lies up on the plane: north, grid north, or the y of a site plan. `avoid` is
    what the pipe keeps out of, `lot` the lot line. `beneath` draws the picture under them, and
    `lacking` says why there is none. `fixed` is what tape distances are measured from, `tags`
    whether a tag for each station's stake is asked for. `ground_said` tells how good ground is that
    comes from a raster. `address` is where a kept job opens, if others reach its planner.
    """

    title: TitleBlock
    units: UnitSystem
    answer: Answer
    lines: tuple[DrainLine, ...]
    up: str = ""
    beneath: Callable[[], Picture] | None = None
    avoid: tuple[Outline, ...] = ()
    lot: tuple[Outline, ...] = ()
    lacking: str = ""
    fixed: tuple[Outline, ...] = ()
    tags: bool = False
    ground_said: str = ""
    address: Address | None = None

    @property
    def main(self) -> DrainLine:
        """The line that ends at the outlet."""
        return self.lines[0]

    @property
    def name(self) -> str:
        """Its title, or a plain one."""
        return self.title.title or "Drain plan"

    def placed(self) -> Iterator[tuple[DrainLine, Floats]]:
        """The lines that lie on the plane, with their stations there."""
        for line in self.lines:
            if line.plane_m is not None:
                yield line, line.plane_m


def printable(value: Any) -> Any:
    """A JSON value whose texts hold no control, direction or surrogate characters."""
    if isinstance(value, str):
        return "".join(c if c.isprintable() or c == "\u200d" else " " for c in value).strip()
    if isinstance(value, Mapping):
        return {key: printable(part) for key, part in value.items()}
    if isinstance(value, list):
        return [printable(part) for part in value]
    return value
