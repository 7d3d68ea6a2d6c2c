"""What a caller asks for, in SI: a route, a ground, and the design to plan on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from yardfall.core.arrays import Floats
from yardfall.core.design import Design
from yardfall.core.ground.even_slope import DropOf, Hump
from yardfall.core.ground.level_book import Shot
from yardfall.core.ground.level_line import LineReading
from yardfall.core.ground.profile import SlopeRun
from yardfall.core.ground.steps import Step
from yardfall.core.hydraulics.backwater import Tailwater
from yardfall.core.hydraulics.capacity import Inflow
from yardfall.core.hydraulics.dry_well import Storm
from yardfall.core.hydraulics.head import MARGIN_M, Opening
from yardfall.core.hydraulics.pump_leg import PumpLeg
from yardfall.core.quantities.bill import USUAL_SUPPLY, Supply
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.pinned import HandReadings
from yardfall.core.units import Divisions

LOCAL = "local"
"""Name of the coordinates of a site plan."""


@dataclass(frozen=True, eq=False)
class RouteSpec:
    """A taped length, or a line (k, 2) in `crs`; local coordinates are `local_unit_m` long."""

    length_m: float | None = None
    line: Floats | None = None
    crs: str = LOCAL
    local_unit_m: float = 1.0
    tape_length_m: float | None = None


@dataclass(frozen=True)
class LevelLineGround:
    """Readings down from a level line."""

    readings: tuple[LineReading, ...]


@dataclass(frozen=True)
class LevelBookGround:
    """Levelling notes in book order; `rod_step_m` is the last digit that the rod is read to."""

    benchmark: str
    benchmark_m: float
    shots: tuple[Shot, ...]
    known_m: Mapping[str, float]
    distance_m: float | None = None
    rod_step_m: float = 0.0


@dataclass(frozen=True, eq=False)
class ElevationGround:
    """Elevations (n,) at stations (n,)."""

    at_m: Floats
    elevation_m: Floats


@dataclass(frozen=True)
class SlopeGround:
    """Slopes end to end."""

    runs: tuple[SlopeRun, ...]


@dataclass(frozen=True)
class StepGround:
    """Steps end to end. `turned`: the level was turned end for end at every step."""

    steps: tuple[Step, ...]
    turned: bool = False


@dataclass(frozen=True)
class LengthAndDropGround:
    """The drop over the route alone: of the ground, or of the pipe from `start_m`, its invert.

    `every_m` is how far apart the ground is then to be measured.
    """

    drop_m: float
    of: DropOf
    hump: Hump | None
    every_m: float
    start_m: float = 0.0


@dataclass(frozen=True, eq=False)
class SpotGround:
    """Spot heights: `xy` (n, 2) in the route's coordinates, `z_m` (n,)."""

    xy: Floats
    z_m: Floats


@dataclass(frozen=True)
class RasterGround:
    """An uploaded elevation raster, and what was read by hand over it."""

    raster: str
    vertical_unit: str | None = None
    hand: HandReadings | None = None


@dataclass(frozen=True)
class SourceGround:
    """Elevations of a source that whoever runs the planner named, and what was read by hand over
    them."""

    name: str
    hand: HandReadings | None = None


CellGround = RasterGround | SourceGround
"""Ground on the cells of a raster, which lies on the map."""

GroundSpec = (
    LevelLineGround
    | LevelBookGround
    | ElevationGround
    | SlopeGround
    | StepGround
    | LengthAndDropGround
    | SpotGround
    | CellGround
)


@dataclass(frozen=True, eq=False)
class SurveyRequest:
    """Route and ground, and the stations to show: every so far, and at given places."""

    route: RouteSpec
    ground: GroundSpec
    every_m: float | None = None
    at_m: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class PlanRequest:
    """A survey, the design to plan on it, and what the crew reads it by.

    `explain` is false where only the line and its verdict are wanted, not what would change it.
    `tailwater` is the highest water where the main line ends; None: not told.
    """

    survey: SurveyRequest
    design: Design
    crew: Divisions
    accuracy: Accuracy | None = None
    openings: tuple[Opening, ...] = ()
    head_flow_m3s: float | None = None
    head_margin_m: float = MARGIN_M
    inflows: tuple[Inflow, ...] = ()
    branches: tuple[BranchRequest, ...] = ()
    pump: PumpDuty | None = None
    storm: Storm | None = None
    supply: Supply = USUAL_SUPPLY
    explain: bool = True
    tailwater: Tailwater | None = None


@dataclass(frozen=True)
class PumpDuty:
    """A pump: its leg, the flow it is to bring, and the head it gives at that flow."""

    leg: PumpLeg
    flow_m3s: float
    head_m: float


@dataclass(frozen=True, eq=False)
class BranchRequest:
    """A branch: its own request, and where it joins the line it belongs to.

    `drop_m` is how much higher it comes in than the main's invert; None: crown to crown.
    `own_datum` says that its ground is measured from a level of its own, so that the two are tied
    by the ground at the join.
    """

    name: str
    joins_at_m: float
    drop_m: float | None
    request: PlanRequest
    own_datum: bool
