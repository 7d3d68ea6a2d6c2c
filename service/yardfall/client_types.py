"""What the planner's calls answer, for callers who check types; held to the contract by a test."""

from __future__ import annotations

from typing import Any, TypedDict


class Note(TypedDict):
    """A warning."""

    code: str
    pointer: str
    text: str


class PipeFacts(TypedDict):
    """A pipe of the catalogue; `code` is what a plan asks for."""

    code: str | None
    name: str
    outside: float
    inside: float
    min_percent: float
    source: str


class Catalogue(TypedDict):
    """GET /pipes."""

    units: str
    pipes: list[PipeFacts]


class GroundStation(TypedDict):
    """Ground at a station."""

    at: float
    label: str
    ground: float


class Profile(TypedDict):
    """POST /profile."""

    units: str
    length: float
    stations: list[GroundStation]
    overall_fall: float
    warnings: list[Note]


class Marks(TypedDict):
    """What to read on a tape or a rod."""

    dig_depth: str | None
    line_to_bottom: str | None
    rod_at_bottom: str | None


class Station(TypedDict):
    """A checkpoint to dig by; None for what is measured from ground that is not known.

    `fill` is soil to be laid there, which `cover` counts and `dig_depth` does not.
    """

    at: float
    label: str
    ground: float | None
    invert: float
    dig_depth: float | None
    cover: float | None
    line_to_bottom: float | None
    rod_at_bottom: float | None
    grade_percent: float
    fill: float
    marks: Marks


class Fix(TypedDict):
    """One change that mends a no; `patch` is a JSON merge patch (RFC 7396) of the request."""

    change: str
    text: str
    patch: dict[str, Any] | None


class Advice(TypedDict):
    """What else can be done, without a patch; `at`, `chance`: of a station to read as well."""

    code: str
    text: str
    at: float | None
    chance: float | None


class Condition(TypedDict):
    """Something that a yes rests on; `insists` and `accepts` are merge patches of the request."""

    code: str
    pointer: str
    text: str
    accepts: dict[str, Any] | None
    insists: dict[str, Any] | None


class LevelBlock(TypedDict):
    """What to put under the low end of a level."""

    tool: str
    mark: str
    text: str


class GradeRun(TypedDict):
    """One grade, and how to set it without a laser."""

    percent: float
    fall: float
    level_blocks: list[LevelBlock]


class ToMeasure(TypedDict):
    """Where ground that nobody measured is to be measured, and what would spoil a yes."""

    at: float
    label: str
    rise: float | None
    dip: float | None
    first: bool
    text: str


class Answer(TypedDict):
    """What it comes to: overall is yes, conditional, no or too_close; verdict is the fall's."""

    verdict: str
    overall: str
    sentence: str
    conditions: list[Condition]
    spare: float | None
    chance: float | None
    fixes: list[Fix]
    fix_pair: list[Fix] | None
    advice: list[Advice]


class OutletWater(TypedDict):
    """What the highest water at the outlet does; over_outlet not positive: nothing."""

    level: float
    over_outlet: float
    backs_up_to: float | None
    full_length: float
    floods_house: bool
    sentence: str


class LeftWet(TypedDict):
    """What stays in the line below a pop-up's lid; `volume` in US gallons or litres."""

    length: float
    depth: float
    volume: float
    sentence: str


class PlanOutlet(TypedDict):
    """How the line ends; water is null where none is stated to stand there, left_wet where the
    line runs empty after rain."""

    at: float
    kind: str
    invert: float
    dig_depth: float
    cover: float
    water: OutletWater | None
    left_wet: LeftWet | None


class LeastDig(TypedDict):
    """How sure it is that the line digs least: `gap` is 0 where that is proven."""

    gap: float


class GroundSource(TypedDict):
    """The named source that elevations came from; `text` says all of it."""

    name: str
    date: str
    vertical_rmse: float | None
    vertical_datum: str
    lidar: str
    licence: str
    text: str


class Fill(TypedDict):
    """Soil to be laid on the ground over a stretch; `text` says all of it."""

    depth: float
    full_from: float
    full_to: float
    to: float
    volume: float
    text: str


class Plan(TypedDict):
    """POST /plan."""

    units: str
    length: float
    stations: list[Station]
    fills: list[Fill]
    outlet: PlanOutlet
    grade_runs: list[GradeRun]
    answer: Answer
    least_dig: LeastDig | None
    quantities: dict[str, Any] | None
    cautions: list[dict[str, Any]]
    warnings: list[Note]
    ground_known: bool
    to_measure: list[ToMeasure]
    ground_source: GroundSource | None


class Flow(TypedDict):
    """POST /flow."""

    units: str
    flow: float
    capacity_full: float
    carries: bool
    smallest_pipe: str | None
    sentence: str


class DugStation(TypedDict):
    """A station that was read; `off` positive lies high, `change` negative is to be taken off."""

    at: float
    label: str
    reads: float
    should_read: float
    should_read_text: str
    off: float
    state: str
    change: float
    do: str
    mark: str | None
    sentence: str


class NextStation(TypedDict):
    """A station to read, and what each way of measuring should show there."""

    at: float
    label: str
    depth: float
    line_to_bottom: float | None
    rod: float | None
    fill: float
    sentence: str


class GradeCheck(TypedDict):
    """POST /grade-check: verdict is pass, fail or more_readings."""

    verdict: str
    sentence: str
    plan_fits: bool
    stations: list[DugStation]
    standing_water: list[dict[str, Any]]
    next: NextStation | None
    to_read: list[NextStation]
    warnings: list[Note]


class PipePoint(TypedDict):
    """A point of an old pipe; `move` positive is to be lifted."""

    at: float
    label: str
    invert: float
    grade_percent: float | None
    standing_water: float
    move: float | None


class Belly(TypedDict):
    """Where water stands in an old pipe; `within_error`: it may be an error of the readings."""

    depth: float
    length: float
    deepest_at: float
    within_error: bool | None
    sentence: str


class PipeCheck(TypedDict):
    """POST /pipe-check: verdict, whether it drains, is yes, no or too_close."""

    verdict: str
    sentence: str
    fall: float
    percent: float
    least_told: float | None
    points: list[PipePoint]
    standing_water: list[Belly]
    least_moves: dict[str, Any]
    warnings: list[Note]


class Comparison(TypedDict):
    """POST /compare."""

    units: str
    alternatives: list[dict[str, Any]]
    sentence: str


class Raster(TypedDict):
    """POST /rasters; `id` is what a plan's ground asks for."""

    id: str
    name: str
    crs: str
    width: int
    height: int
    vertical_unit: str | None
