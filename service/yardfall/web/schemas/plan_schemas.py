"""The bodies that callers send, in the caller's units. The contract is generated from these."""

from __future__ import annotations

from contextvars import ContextVar
from typing import Any, Final

import marshmallow as ma
from marshmallow import validate

from yardfall.core.pipes import CATALOGUE
from yardfall.core.quantities.earthwork import DIGGERS_M
from yardfall.sentences import say
from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Part,
    Strict,
    Text,
    TrueOrFalse,
    Whole,
    among,
    count,
    rows,
    units_field,
)
from yardfall.web.schemas.accuracy_schemas import GROUND_ACCURACY
from yardfall.web.schemas.inflow_schemas import DryWellBody, PumpLegBody, inflows_field
from yardfall.web.schemas.paper_schemas import PaperPart
from yardfall.web.schemas.quantities_schemas import PricesBody, SupplyBody
from yardfall.web.schemas.survey_schemas import (
    BRANCH_GROUND_FORMS,
    DrawnRoute,
    ProfileBody,
    StationsBody,
    TapedRoute,
)

MOST_BRANCHES: Final = 12
MOST_LEVELS: Final = 6
MOST_LINES: Final = 50
"""Branches of a plan, those of branches counted too."""
_level: ContextVar[int] = ContextVar("level", default=0)


class Branches(ma.fields.List[Any]):
    """Branches, which may have branches of their own: MOST_LEVELS deep, MOST_LINES in all."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        level = _level.get()
        if level == 0 and _has_too_many(value):
            raise ma.ValidationError(say("bounds.branches", most=str(MOST_LINES)))
        if level >= MOST_LEVELS:
            raise ma.ValidationError(f"Branches go {MOST_LEVELS} levels deep at the most.")
        token = _level.set(level + 1)
        try:
            return super()._deserialize(value, attr, data, **kwargs)
        finally:
            _level.reset(token)


def _has_too_many(branches: Any) -> bool:
    """Whether there are more than MOST_LINES, counted before anything in them is read."""
    waiting, found = [branches], 0
    while waiting and found <= MOST_LINES:
        row = waiting.pop()
        if isinstance(row, list):
            found += len(row)
            waiting += [one.get("branches") for one in row[:MOST_LINES] if isinstance(one, dict)]
    return found > MOST_LINES


IN_PERCENT: Final = {
    "most": "This must be at most {most:,.10g}: a grade is given in percent, where 1 : 80 is 1.25."
}


class PipeSizes(Strict):
    min_percent = Number(0, 50, error_messages=IN_PERCENT)


class CataloguePipe(PipeSizes):
    """A pipe of the catalogue; any value can be overridden beside the code."""

    code = ma.fields.String(
        required=True,
        validate=validate.OneOf(sorted(CATALOGUE), error="There is no such pipe in GET /pipes."),
    )
    outside = Number(0.1, 10_000)
    inside = Number(0.1, 10_000)
    wall = Number(0, 1000)
    n = Number(0.005, 0.1)


class OwnPipe(PipeSizes):
    """A pipe by its measures."""

    outside = Number(0.1, 10_000, required=True)
    inside = Number(0.1, 10_000, required=True)
    wall = Number(0, 1000)
    n = Number(0.005, 0.1, required=True)


class StartBody(Strict):
    shallowest_cover = Number()


class StartByCover(StartBody):
    """Soil over the pipe at station 0."""

    cover = Number(required=True)


class StartByDepth(StartBody):
    """Ground to trench bottom at station 0."""

    depth = Number(required=True)


class StartByInvert(StartBody):
    """Elevation of the invert at station 0."""

    invert = Number(required=True)


class GradeBody(Strict):
    """How the grade is chosen; percent."""

    min_percent = Number(0, 50, error_messages=IN_PERCENT)
    max_percent = Number(0, 1000, above=True, error_messages=IN_PERCENT)
    shape = ma.fields.String(validate=among("straight", "least_dig"))
    max_breaks = Whole(0, 5)
    fall_step = Number(0.001, 10_000)
    aim = ma.fields.String(load_default="least_fall", validate=among("least_fall", "outlet_depth"))


class LimitsBody(Strict):
    """Minimum cover, maximum depth, the last length without the cover limit, bedding, width.

    `dig_by` gives the maximum depth of a way of digging, where max_depth is left out.
    """

    min_cover = Number()
    max_depth = Number(0, above=True)
    dig_by = ma.fields.String(validate=among(*DIGGERS_M))
    trench_width = Number(0.1, 10_000)
    outlet_taper = Number(0, MOST_LENGTH)
    run_out_cover = Number(0, 10_000)
    run_in = Number(0, MOST_LENGTH)
    run_in_cover = Number()
    bedding = Number(0, 10_000)


class CoverBody(Strict):
    """A stretch that something bears on, with the soil it asks for over the pipe.

    `wheels`: cars pass over it.
    """

    from_ = Number(0, MOST_LENGTH, required=True, data_key="from")
    to = Number(0, MOST_LENGTH, required=True)
    cover = Number(0, 10_000, required=True)
    what = Text(required=True)
    wheels = TrueOrFalse()


class FillBody(Strict):
    """Soil that will be laid on the ground over a stretch, `depth` deep where it is full.

    From `full_from` to `full_to` it is full and thins out straight to `from` and to `to`; left out,
    it thins out over 3 ft (1 m) at each end, but not at the start of the line. Cover counts to the
    finished ground, the trench's depth from the ground as it lies: leave its readings as they are.
    """

    from_ = Number(0, MOST_LENGTH, required=True, data_key="from")
    to = Number(0, MOST_LENGTH, required=True)
    depth = Number(0, 10_000, above=True, required=True)
    full_from = Number(0, MOST_LENGTH)
    full_to = Number(0, MOST_LENGTH)
    width = Number(0, 10_000, above=True)


class Range(Strict):
    """From least to most; `prefer` is what `grade.aim: outlet_depth` steers for."""

    min = Number()
    max = Number()
    prefer = Number()


class OutletBody(Strict):
    """How the pipe ends. Depth is from the ground to the trench bottom at the end."""

    kind = ma.fields.String(
        required=True, validate=among("daylight", "pop_up", "curb", "dry_well", "tie_in")
    )
    depth = ma.fields.Nested(Range)
    invert = ma.fields.Nested(Range)


class WaterByElevation(Strict):
    """The highest water where the pipe ends, as an elevation on the ground's datum."""

    elevation = Number(required=True)


class WaterByDepth(Strict):
    """The highest water where the pipe ends, below the ground there; negative: above it."""

    depth = Number(required=True)


class PlanOutletBody(OutletBody):
    """How the pipe ends, and how high the water comes there: in a ditch, a gutter, a pit."""

    water_level = OneForm({"elevation": WaterByElevation, "depth": WaterByDepth})


class CrossingBody(Strict):
    """Something buried that the pipe must pass, by its depth at one station.

    `exposed`: it was exposed by hand and its depth measured there; else the plan stays conditional.
    """

    at = Number(0, MOST_LENGTH, required=True)
    what = Text(required=True)
    top_depth = Number(required=True)
    size = Number(0, 10_000, required=True)
    clearance = Number(0, 10_000, required=True)
    pass_ = ma.fields.String(
        data_key="pass", load_default="either", validate=among("over", "under", "either")
    )
    exposed = TrueOrFalse()


class OpeningBody(Strict):
    """Where water could come out: its elevation, on the ground's datum, at a station (0)."""

    what = Text(required=True)
    elevation = Number(required=True)
    at = Number(0, MOST_LENGTH)


class HeadBody(Strict):
    """Levels of the openings at the house, and the margin to keep.

    `flow` is the design flow; left out, all the inflows together.
    """

    openings = rows(OpeningBody, 1, 20, required=True)
    flow = Number(0)
    margin = Number(0, 10_000)


class BranchHeadBody(Strict):
    """Levels of the openings on a branch, on the datum of the branch's ground."""

    openings = rows(OpeningBody, 1, 20, required=True)


class PlanBody(ProfileBody):
    """A drain to plan: its route and ground, its pipe and start, its limits and outlet."""

    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    start = OneForm(
        {"cover": StartByCover, "depth": StartByDepth, "invert": StartByInvert}, required=True
    )
    grade = Part(GradeBody)
    limits = Part(LimitsBody)
    outlet = Part(PlanOutletBody, required=True)
    covers = rows(CoverBody, 0, 50)
    fills = rows(FillBody, 0, 20)
    crossings = rows(CrossingBody, 0, 50)
    accuracy = OneForm(GROUND_ACCURACY)
    head = ma.fields.Nested(HeadBody)
    pump_leg = ma.fields.Nested(PumpLegBody)
    dry_well = ma.fields.Nested(DryWellBody)
    inflows = inflows_field()
    supply = ma.fields.Nested(SupplyBody)
    prices = ma.fields.Nested(PricesBody)
    branches = Branches(ma.fields.Nested(lambda: BranchBody()), validate=count(0, MOST_BRANCHES))
    paper = ma.fields.Nested(PaperPart)
    explain = TrueOrFalse(
        metadata={
            "description": "False leaves out what takes long: fixes, fix_pair, advice, retake "
            "and grade_changes. Line, verdict and chance are the same. For redrawing while a hand "
            "drags; `answer.explained` tells which was asked. Left out: true."
        }
    )


class BranchBody(Strict):
    """A line that joins another. Its end is the join; limits left out are the main's."""

    name = Text(required=True)
    joins_at = Number(0, MOST_LENGTH, required=True)
    drop = Number(0, 10_000)
    route = OneForm({"length": TapedRoute, "line": DrawnRoute}, required=True)
    ground = OneForm(BRANCH_GROUND_FORMS, tell="kind", required=True)
    stations = ma.fields.Nested(StationsBody)
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    start = OneForm(
        {"cover": StartByCover, "depth": StartByDepth, "invert": StartByInvert}, required=True
    )
    grade = Part(GradeBody)
    limits = Part(LimitsBody)
    covers = rows(CoverBody, 0, 50)
    fills = rows(FillBody, 0, 20)
    crossings = rows(CrossingBody, 0, 50)
    head = ma.fields.Nested(BranchHeadBody)
    inflows = inflows_field()
    branches = Branches(ma.fields.Nested(lambda: BranchBody()), validate=count(0, MOST_BRANCHES))


class FlowGrade(Strict):
    """The grade of the pipe."""

    percent = Number(0, 100, above=True, required=True, error_messages=IN_PERCENT)


class FlowBody(Strict):
    """Water into one pipe at one grade."""

    units = units_field()
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    grade = ma.fields.Nested(FlowGrade, required=True)
    inflows = inflows_field(required=True)


class UnitsQuery(ma.Schema):
    units = ma.fields.String(load_default="us", validate=among("us", "si"))
