"""What is asked of a reach: a start in a yard, and the shapes that stand in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from yardfall.core.arrays import Floats
from yardfall.core.fixes.fixes import NEAREST_OUTLET_M
from yardfall.core.request import PlanRequest

ShapeKind = Literal["point", "line", "area"]
XY = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Shape:
    """One point, line or area in the request's coordinates, of the caller's feature `index`.

    `rings` are arrays (n, 2): one for a point or line, an area's outer ring and its holes.
    `clearance_m` is what to keep away from it, None where it does not say.
    """

    kind: ShapeKind
    rings: tuple[Floats, ...]
    index: int
    name: str | None = None
    clearance_m: float | None = None


@dataclass(frozen=True, eq=False)
class ReachRequest:
    """Where can this pipe come out?

    `plan` holds the ground, the design and how well the ground is known; its route is left open
    but for the coordinates it is in. `radius_m` is how far to look where no lot line is given.
    `bands_m` are the edges between bands of spare fall. No outlet is looked for nearer to the
    start than `least_run_m`. `to` asks for a route to one point. `may_bend` says that the routes
    may change grade where one straight grade does not do.
    """

    plan: PlanRequest
    start: XY
    within: tuple[Shape, ...] = ()
    avoid: tuple[Shape, ...] = ()
    targets: tuple[Shape, ...] = ()
    ask: tuple[XY, ...] = ()
    to: XY | None = None
    clearance_m: float = 0.0
    radius_m: float = 60.0
    least_run_m: float = NEAREST_OUTLET_M
    bands_m: tuple[float, ...] = ()
    routes: int = 3
    draws: int = 40
    may_bend: bool = True
