"""Sources of ground, lots and buildings: what is asked of them, and what is told."""

from __future__ import annotations

import re
from typing import Any, Final

import marshmallow as ma
from marshmallow import validate

from yardfall.geo.crs import CRS84
from yardfall.sentences import say
from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words
from yardfall.web.openapi.fields import COORDINATE, Number, Strict, among, count
from yardfall.web.schemas.survey_answer_schemas import GroundSource
from yardfall.web.uploads.raster_schemas import StatedSource

NUMBER: Final = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,400})?([eE][+-]?[0-9]{1,3})?")
SYSTEM: Final = validate.Regexp(
    r"^(OGC:CRS84|EPSG:[0-9]{4,6})$",
    error="Give OGC:CRS84 or EPSG:<number> of a projected system.",
)


class Told(Number):
    """A number as it stands in an address, written as JSON writes one."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if not isinstance(value, str) or NUMBER.fullmatch(value) is None:
            raise self.make_error("number")
        return super()._deserialize(float(value), attr, data, **kwargs)


class PlaceQuery(ma.Schema):
    """A place: longitude and latitude, or x and y in a projected system, `crs`."""

    lon = Told(-180, 180)
    lat = Told(-90, 90)
    x = Told(-COORDINATE, COORDINATE)
    y = Told(-COORDINATE, COORDINATE)
    crs = ma.fields.String(load_default=CRS84, validate=SYSTEM)

    @ma.validates_schema
    def _is_one_place(self, query: dict[str, Any], **_: Any) -> None:
        known = {"lon", "lat"} if not query.keys() & {"x", "y"} else {"x", "y"}
        if wanting := known - query.keys():
            raise ma.ValidationError({name: [say("sources.place")] for name in sorted(wanting)})
        if known == {"x", "y"} and query.keys() & {"lon", "lat"}:
            raise ma.ValidationError({"x": [say("sources.place")]})
        if known == {"x", "y"} and query["crs"] == CRS84:
            raise ma.ValidationError({"crs": [say("sources.place_crs")]})


class GroundQuery(PlaceQuery):
    """A place, and the units to answer in."""

    units = ma.fields.String(load_default="us", validate=among("us", "si"))


class WindowBody(Strict):
    """West, south, east and north of what is to be kept, in `crs`."""

    bounds = ma.fields.List(Number(-COORDINATE, COORDINATE), required=True, validate=count(4, 4))
    crs = ma.fields.String(load_default=CRS84, validate=SYSTEM)


class ReliefPartQuery(ma.Schema):
    """West, south, east and north of what is to be drawn, in `crs`; contours in feet (us) or metres
    (si)."""

    west = Told(-COORDINATE, COORDINATE, required=True)
    south = Told(-COORDINATE, COORDINATE, required=True)
    east = Told(-COORDINATE, COORDINATE, required=True)
    north = Told(-COORDINATE, COORDINATE, required=True)
    crs = ma.fields.String(load_default=CRS84, validate=SYSTEM)
    units = ma.fields.String(load_default="us", validate=among("us", "si"))


class LotQuery(PlaceQuery):
    """A place. The answer is in `crs` too, whichever way the place is given."""


class SourceAnswer(ma.Schema):
    """A source: `kind` is elevation, lots or buildings. What nobody stated is "" or null."""

    name = words()
    kind = words()
    count = ma.fields.Integer(required=True)
    bounds = numbers()
    date = words()
    vertical_rmse = number(nullable=True)
    vertical_datum = words()
    lidar = words()
    licence = words()
    read_at = words()


class SourceList(ma.Schema):
    """The sources of ground, lots and buildings."""

    units = words()
    sources = parts(SourceAnswer)


class GroundHereAnswer(ma.Schema):
    """The ground at the place by one source. `elevation` is null in a hole, and where the source
    does not answer; then `problem` says so."""

    source = part(GroundSource)
    elevation = number(nullable=True)
    cell = ma.fields.List(ma.fields.Float(), required=True, allow_none=True)
    problem = words(nullable=True)


class GroundAnswer(ma.Schema):
    """What ground there is at a place, the finest cells first, of equally fine ones the newest;
    none where no source has any."""

    units = words()
    lon = number()
    lat = number()
    ground = parts(GroundHereAnswer)


class OutlineProperties(ma.Schema):
    """`kind` is lot or building; `source` the name of where it came from."""

    kind = words()
    source = words()


class OutlineFeature(ma.Schema):
    """An area in longitude and latitude (RFC 7946)."""

    type = words()
    id = words()
    geometry = ma.fields.Dict(required=True)
    properties = part(OutlineProperties)


class LotAnswer(ma.Schema):
    """A GeoJSON FeatureCollection: the lot first, then the buildings that share ground with it.

    Empty where no source has a lot there. In a `crs` other than OGC:CRS84 it is that of RFC 7946 in
    all but its coordinates. `bounds` are the lot's, in degrees whatever the `crs`.
    """

    type = words()
    crs = words()
    bounds = ma.fields.List(ma.fields.Float(), required=True, allow_none=True)
    features = parts(OutlineFeature)
    sources = parts(StatedSource)
