"""The bodies that tell a route and its ground."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma
from marshmallow import validate

from yardfall.core.ground.route import MAX_STATIONS
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.lidar import LIDAR_OF
from yardfall.web.openapi.fields import (
    COORDINATE,
    LEAST_LENGTH,
    MOST_LENGTH,
    MOST_POINTS,
    Number,
    OneForm,
    Strict,
    Text,
    TrueOrFalse,
    among,
    count,
    rod_unit_field,
    rows,
    units_field,
)


class Point(ma.fields.List[Any]):
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
    """One reading from a level line."""

    at = Number(0, MOST_LENGTH, required=True)
    down = Number(required=True)
    line = Text()


class LevelLineBody(Strict):
    """Readings from a level line down to the ground."""

    kind = ma.fields.String(required=True, validate=among("level_line"))
    readings = rows(LineReadingBody, 2, MAX_STATIONS, required=True)


class KnownPoint(Strict):
    """A point whose elevation is known."""

    name = Text(required=True)
    elevation = Number(required=True)


class ShotBody(Strict):
    """One reading of the rod."""

    sight = ma.fields.String(required=True, validate=among("BS", "IS", "FS"))
    rod = Number(required=True)
    on = Text()
    at = Number(0, MOST_LENGTH)


class LevelBookBody(Strict):
    """Levelling notes in book order. `known` are further points to close on."""

    kind = ma.fields.String(required=True, validate=among("rod"))
    rod_unit = rod_unit_field("ft where units are us, m where si")
    benchmark = ma.fields.Nested(KnownPoint, required=True)
    known = rows(KnownPoint, 1, 50)
    distance = Number(
        0,
        MOST_LENGTH,
        above=True,
        metadata={"description": "Length of the levelled run, for the limit on its misclosure."},
    )
    shots = rows(ShotBody, 2, MAX_STATIONS, required=True)


class ElevationPoint(Strict):
    """The elevation at a station."""

    at = Number(0, MOST_LENGTH, required=True)
    elevation = Number(required=True)


class ElevationsBody(Strict):
    """Elevations at stations."""

    kind = ma.fields.String(required=True, validate=among("elevations"))
    points = rows(ElevationPoint, 2, MOST_POINTS, required=True)


class SlopeRunBody(Strict):
    """One slope between two stations."""

    from_ = Number(0, MOST_LENGTH, required=True, data_key="from")
    to = Number(0, MOST_LENGTH, required=True)
    percent = Number(-1000, 1000, required=True)


class SlopesBody(Strict):
    """Slopes end to end, percent positive uphill along the route."""

    kind = ma.fields.String(required=True, validate=among("slopes"))
    runs = rows(SlopeRunBody, 1, MAX_STATIONS, required=True)


LEAST_STEP: Final = 0.01


class StepBody(Strict):
    """One step down the slope."""

    length = Number(LEAST_STEP, MOST_LENGTH, required=True)
    drop = Number(required=True)


class StepsBody(Strict):
    """Steps end to end down a slope: by a board and a level, an A-frame, a string moved along.

    `reversed`: the level was turned end for end at every step, so that its own error cancels.
    """

    kind = ma.fields.String(required=True, validate=among("steps"))
    steps = rows(StepBody, 1, MAX_STATIONS, required=True)
    reversed = TrueOrFalse()


class HumpBody(Strict):
    """A place above the even slope between the two ends; below it where `height` is negative."""

    at = Number(0, MOST_LENGTH, required=True)
    height = Number(required=True)


class BranchLengthAndDropBody(Strict):
    """The drop of the ground from the start of a branch to its join, and nothing between."""

    kind = ma.fields.String(required=True, validate=among("length_and_drop"))
    of = ma.fields.String(required=True, validate=among("ground"))
    drop = Number(required=True)
    hump = ma.fields.Nested(HumpBody)


class LengthAndDropBody(BranchLengthAndDropBody):
    """The drop from start to end, and nothing between: of the ground, or of the pipe.

    The pipe's own drop goes from its inside bottom at the start to that of the drain it ties into.
    The ground over it is then not known, so no depth, cover or volume is told.
    """

    of = ma.fields.String(required=True, validate=among("ground", "pipe"))


class SpotsBody(Strict):
    """Spot heights [x, y, z], x and y in the route's coordinates."""

    kind = ma.fields.String(required=True, validate=among("spots"))
    points = ma.fields.List(Point(3), required=True, validate=count(3, MOST_POINTS))


MOST_READ_OVER: Final = 100
READ_WITH: Final = tuple(name for name in INSTRUMENTS if name not in LIDAR_OF)


class RasterBody(Strict):
    """An uploaded elevation raster."""

    kind = ma.fields.String(required=True, validate=among("raster"))
    raster = ma.fields.String(
        required=True,
        validate=validate.Regexp(
            r"^[0-9a-f]{32}$", error="This is no id of a raster: give the id that its upload told."
        ),
    )
    vertical_unit = ma.fields.String(validate=among("m", "ft", "us-ft"))


class SourceBody(Strict):
    """Elevations of a source that whoever runs the planner named; GET /sources lists them."""

    kind = ma.fields.String(required=True, validate=among("source"))
    name = ma.fields.String(
        required=True,
        validate=validate.Regexp(
            r"^[a-z0-9][a-z0-9_-]{0,39}$",
            error="This is no name of a source: give one that GET /sources lists.",
        ),
    )


class ReadOver(Strict):
    """A few readings by hand along the route, over elevations that they pin."""

    readings = rows(LineReadingBody, 2, MOST_READ_OVER)
    read_with = ma.fields.String(
        validate=among(*READ_WITH),
        metadata={"description": "What the readings were taken with; line_level where left out."},
    )


class ReadRasterBody(RasterBody, ReadOver):
    """An uploaded elevation raster, and a few readings by hand along the route that pin it.

    A level line may hang at any height over the raster, so one takes two readings or more. The
    ground of branches over the same raster is pinned along with it; a reach goes by a raster alone.
    """


class ReadSourceBody(SourceBody, ReadOver):
    """Elevations of a named source, and a few readings by hand that pin them as they do a raster.

    With readings a plan needs `accuracy`, since none is usual of a source; a profile weighs them as
    over public lidar.
    """


GROUND_FORMS: Final = {
    "level_line": LevelLineBody,
    "rod": LevelBookBody,
    "elevations": ElevationsBody,
    "slopes": SlopesBody,
    "steps": StepsBody,
    "length_and_drop": LengthAndDropBody,
    "spots": SpotsBody,
    "raster": ReadRasterBody,
    "source": ReadSourceBody,
}
BRANCH_GROUND_FORMS: Final = GROUND_FORMS | {
    "length_and_drop": BranchLengthAndDropBody,
    "raster": RasterBody,
    "source": SourceBody,
}


class StationsBody(Strict):
    """Where to show the plan, besides every reading and bend."""

    every = Number(LEAST_LENGTH, MOST_LENGTH)
    at = ma.fields.List(Number(0, MOST_LENGTH), validate=count(0, MAX_STATIONS))


class ProfileBody(Strict):
    """A route and its ground."""

    units = units_field()
    route = OneForm({"length": TapedRoute, "line": DrawnRoute}, required=True)
    ground = OneForm(GROUND_FORMS, tell="kind", required=True)
    stations = ma.fields.Nested(StationsBody)
