"""The bodies that callers send, in the caller's units. The contract is generated from these."""

from __future__ import annotations

from contextvars import ContextVar
from typing import Any, Final

import marshmallow as ma
from marshmallow import validate

from yardfall.core.accuracy import INSTRUMENTS
from yardfall.core.pipes import CATALOGUE
from yardfall.core.route import MAX_STATIONS
from yardfall.core.trench import DIGGERS_M
from yardfall.web.fields import (
    COORDINATE,
    LEAST_LENGTH,
    MOST_LENGTH,
    MOST_POINTS,
    Number,
    OneForm,
    Strict,
    Text,
    TrueOrFalse,
    Whole,
    among,
    count,
    units_field,
)
from yardfall.web.inflow_schemas import DryWellBody, PumpLegBody, inflows_field

MOST_BRANCHES: Final = 12
MOST_LEVELS: Final = 6
_level: ContextVar[int] = ContextVar("level", default=0)


class Branches(ma.fields.List):
    """Branches, which may have branches of their own, MOST_LEVELS deep at the most."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> list[Any]:
        level = _level.get()
        if level >= MOST_LEVELS:
            raise ma.ValidationError(f"Branches go {MOST_LEVELS} levels deep at the most.")
        token = _level.set(level + 1)
        try:
            return super()._deserialize(value, attr, data, **kwargs)
        finally:
            _level.reset(token)


class Point(ma.fields.List):
    """Two coordinates, x then y."""

    def __init__(self, size: int = 2, **kwargs: Any) -> None:
        exact = validate.Length(equal=size, error=f"A point has {size} numbers.")
        super().__init__(Number(-COORDINATE, COORDINATE), validate=exact, **kwargs)


class LineString(Strict):
    """A GeoJSON LineString (RFC 7946)."""

    type = ma.fields.String(required=True, validate=among("LineString"))
    coordinates = ma.fields.List(Point(), required=True, validate=count(2, 500))


class TapedRoute(Strict):
    """A taped run without a map."""

    length = Number(LEAST_LENGTH, MOST_LENGTH, required=True)


class DrawnRoute(Strict):
    """A line from the inlet to the outlet."""

    line = ma.fields.Nested(LineString, required=True)
    crs = ma.fields.String(
        load_default="OGC:CRS84",
        validate=validate.Regexp(
            r"^(OGC:CRS84|local|EPSG:[0-9]{4,6})$",
            error="Give OGC:CRS84, EPSG:<number> of a projected system, or local.",
        ),
    )
    tape_length = Number(LEAST_LENGTH, MOST_LENGTH)


class LineReadingBody(Strict):
    at = Number(0, MOST_LENGTH, required=True)
    down = Number(required=True)
    line = Text()


class LevelLineBody(Strict):
    """Readings from a level line down to the ground."""

    kind = ma.fields.String(required=True, validate=among("level_line"))
    readings = ma.fields.List(
        ma.fields.Nested(LineReadingBody), required=True, validate=count(2, MAX_STATIONS)
    )


class KnownPoint(Strict):
    name = Text(required=True)
    elevation = Number(required=True)


class ShotBody(Strict):
    sight = ma.fields.String(required=True, validate=among("BS", "IS", "FS"))
    rod = Number(required=True)
    on = Text()
    at = Number(0, MOST_LENGTH)


class LevelBookBody(Strict):
    """Levelling notes in book order. `known` are further points to close on."""

    kind = ma.fields.String(required=True, validate=among("rod"))
    rod_unit = ma.fields.String(validate=among("ft", "in", "m", "mm"))
    benchmark = ma.fields.Nested(KnownPoint, required=True)
    known = ma.fields.List(ma.fields.Nested(KnownPoint), validate=count(1, 50))
    distance = Number(
        0,
        MOST_LENGTH,
        above=True,
        metadata={"description": "Length of the levelled run, for the limit on its misclosure."},
    )
    shots = ma.fields.List(
        ma.fields.Nested(ShotBody), required=True, validate=count(2, MAX_STATIONS)
    )


class ElevationPoint(Strict):
    at = Number(0, MOST_LENGTH, required=True)
    elevation = Number(required=True)


class ElevationsBody(Strict):
    """Elevations at stations."""

    kind = ma.fields.String(required=True, validate=among("elevations"))
    points = ma.fields.List(
        ma.fields.Nested(ElevationPoint), required=True, validate=count(2, MOST_POINTS)
    )


class SlopeRunBody(Strict):
    from_ = Number(0, MOST_LENGTH, required=True, data_key="from")
    to = Number(0, MOST_LENGTH, required=True)
    percent = Number(-1000, 1000, required=True)


class SlopesBody(Strict):
    """Slopes end to end, percent positive uphill along the route."""

    kind = ma.fields.String(required=True, validate=among("slopes"))
    runs = ma.fields.List(
        ma.fields.Nested(SlopeRunBody), required=True, validate=count(1, MAX_STATIONS)
    )


class SpotsBody(Strict):
    """Spot heights [x, y, z], x and y in the route's coordinates."""

    kind = ma.fields.String(required=True, validate=among("spots"))
    points = ma.fields.List(Point(3), required=True, validate=count(3, MOST_POINTS))


class RasterBody(Strict):
    """An uploaded elevation raster."""

    kind = ma.fields.String(required=True, validate=among("raster"))
    raster = ma.fields.String(required=True, validate=validate.Regexp(r"^[0-9a-f]{32}$"))
    vertical_unit = ma.fields.String(validate=among("m", "ft", "us-ft"))


GROUND_FORMS: Final = {
    "level_line": LevelLineBody,
    "rod": LevelBookBody,
    "elevations": ElevationsBody,
    "slopes": SlopesBody,
    "spots": SpotsBody,
    "raster": RasterBody,
}


class PipeSizes(Strict):
    min_percent = Number(0, 50)


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

    min_percent = Number(0, 50)
    max_percent = Number(0, 1000, above=True)
    shape = ma.fields.String(load_default="straight", validate=among("straight", "least_dig"))
    max_breaks = Whole(0, 5)
    fall_step = Number(0.001, 10_000)
    aim = ma.fields.String(load_default="least_fall", validate=among("least_fall", "outlet_depth"))


class LimitsBody(Strict):
    """Least cover, greatest depth, the last length without the cover limit, bedding, width.

    `dig_by` gives the greatest depth of a way of digging, where max_depth is left out.
    """

    min_cover = Number()
    max_depth = Number(0, above=True)
    dig_by = ma.fields.String(validate=among(*DIGGERS_M))
    trench_width = Number(0.1, 10_000)
    outlet_taper = Number(0, MOST_LENGTH)
    bedding = Number(0, 10_000)


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


class StationsBody(Strict):
    """Where to show the plan, besides every reading and bend."""

    every = Number(LEAST_LENGTH, MOST_LENGTH)
    at = ma.fields.List(Number(0, MOST_LENGTH), validate=validate.Length(max=MAX_STATIONS))


class ProfileBody(Strict):
    units = units_field()
    route = OneForm({"length": TapedRoute, "line": DrawnRoute}, required=True)
    ground = OneForm(GROUND_FORMS, tell="kind", required=True)
    stations = ma.fields.Nested(StationsBody)


class CrossingBody(Strict):
    """Something buried that the pipe must pass, by its depth at one station."""

    at = Number(0, MOST_LENGTH, required=True)
    what = Text(required=True)
    top_depth = Number(required=True)
    size = Number(0, 10_000, required=True)
    clearance = Number(0, 10_000, required=True)
    pass_ = ma.fields.String(
        data_key="pass", load_default="either", validate=among("over", "under", "either")
    )


class ByInstrument(Strict):
    """How the ground was measured."""

    instrument = ma.fields.String(required=True, validate=among(*INSTRUMENTS))


class BySigma(Strict):
    """Standard error of a value, and the part that shifts all values alike; depth units."""

    sigma = Number(0, 10_000, required=True)
    common = Number(0, 10_000)


class OpeningBody(Strict):
    """Where water could come out at the house: its elevation, on the ground's datum."""

    what = Text(required=True)
    elevation = Number(required=True)


class HeadBody(Strict):
    """Levels of the openings at the house, and the margin to keep.

    `flow` is the design flow; left out, all the inflows together.
    """

    openings = ma.fields.List(ma.fields.Nested(OpeningBody), required=True, validate=count(1, 20))
    flow = Number(0)
    margin = Number(0, 10_000)


class PlanBody(ProfileBody):
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    start = OneForm(
        {"cover": StartByCover, "depth": StartByDepth, "invert": StartByInvert}, required=True
    )
    grade = ma.fields.Nested(GradeBody)
    limits = ma.fields.Nested(LimitsBody)
    outlet = ma.fields.Nested(OutletBody, required=True)
    crossings = ma.fields.List(ma.fields.Nested(CrossingBody), validate=count(0, 50))
    accuracy = OneForm({"instrument": ByInstrument, "sigma": BySigma})
    head = ma.fields.Nested(HeadBody)
    pump_leg = ma.fields.Nested(PumpLegBody)
    dry_well = ma.fields.Nested(DryWellBody)
    inflows = inflows_field()
    branches = Branches(ma.fields.Nested(lambda: BranchBody()), validate=count(0, MOST_BRANCHES))
    explain = TrueOrFalse(
        metadata={
            "description": "False leaves out what takes long: fixes, fix_pair, retake and "
            "grade_changes. Line, verdict and chance are the same. For redrawing while a hand "
            "drags; `answer.explained` tells which was asked. Left out: true."
        }
    )


class BranchBody(Strict):
    """A line that joins another. Its end is the join; limits left out are the main's."""

    name = Text(required=True)
    joins_at = Number(0, MOST_LENGTH, required=True)
    drop = Number(0, 10_000)
    route = OneForm({"length": TapedRoute, "line": DrawnRoute}, required=True)
    ground = OneForm(GROUND_FORMS, tell="kind", required=True)
    stations = ma.fields.Nested(StationsBody)
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    start = OneForm(
        {"cover": StartByCover, "depth": StartByDepth, "invert": StartByInvert}, required=True
    )
    grade = ma.fields.Nested(GradeBody)
    limits = ma.fields.Nested(LimitsBody)
    crossings = ma.fields.List(ma.fields.Nested(CrossingBody), validate=count(0, 50))
    inflows = inflows_field()
    branches = Branches(ma.fields.Nested(lambda: BranchBody()), validate=count(0, MOST_BRANCHES))


class FlowGrade(Strict):
    percent = Number(0, 100, above=True, required=True)


class FlowBody(Strict):
    """Water into one pipe at one grade."""

    units = units_field()
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    grade = ma.fields.Nested(FlowGrade, required=True)
    inflows = inflows_field(required=True)


class PageQuery(ma.Schema):
    """Which page of a list."""

    page = ma.fields.Integer(load_default=1, validate=validate.Range(1, 100_000))
    page_size = ma.fields.Integer(load_default=50, validate=validate.Range(1, 200))


class UnitsQuery(ma.Schema):
    units = ma.fields.String(load_default="us", validate=among("us", "si"))


class RasterFile(ma.Schema):
    """One file, in a part named `file`."""

    file = ma.fields.Raw(
        required=True, metadata={"type": "string", "contentMediaType": "image/tiff"}
    )
