"""Site plans: what is sent and what is answered."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
from marshmallow import validate

from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words
from yardfall.web.openapi.fields import (
    LEAST_LENGTH,
    MOST_LENGTH,
    Number,
    Strict,
    between,
    units_field,
)
from yardfall.web.uploads.raster_schemas import PageOfList

FAR_PX = 1e5
"""A plan's origin may lie off its picture, but not further than this."""


class SitePlanFile(ma.Schema):
    """One file, in a part named `file`: a PNG, a JPEG or a PDF."""

    file = ma.fields.Raw(required=True)


class SheetQuery(ma.Schema):
    """Which page of a PDF; the first where not given."""

    page = ma.fields.Integer(load_default=None, validate=between(1, 10_000))


def pixel() -> ma.fields.List[Any]:
    """A picture point [u, v]: pixels to the right and down from the upper left corner."""
    return ma.fields.List(
        Number(-FAR_PX, FAR_PX),
        validate=validate.Length(equal=2, error="Give [u, v], in pixels."),
        metadata={"description": "[u, v] in pixels, v down from the upper left corner"},
    )


class ScaleBody(Strict):
    """Two points of the picture, and how far apart they are on the ground."""

    points = ma.fields.List(
        pixel(),
        required=True,
        validate=validate.Length(equal=2, error="Give two points of the picture."),
    )
    distance = Number(LEAST_LENGTH, MOST_LENGTH, required=True)


class MapTieBody(Strict):
    """Where the plan's 0, 0 lies in a coordinate system; needs `north`."""

    crs = ma.fields.String(
        required=True,
        validate=validate.Regexp(
            r"^(OGC:CRS84|EPSG:[0-9]{4,6})$",
            error="Give OGC:CRS84 or EPSG:<number> of a projected system.",
        ),
    )
    origin = ma.fields.List(
        Number(-1e8, 1e8),
        required=True,
        validate=validate.Length(equal=2, error="Give [x, y]."),
    )


class PlacementBody(Strict):
    """How a site plan lies on its own plane, x to the right and y up."""

    units = units_field()
    scale = ma.fields.Nested(ScaleBody, required=True)
    turn = Number(-360, 360, load_default=0.0)
    origin = pixel()
    north = Number(-360, 360, load_default=None, allow_none=True)
    on_map = ma.fields.Nested(MapTieBody, load_default=None, allow_none=True)


class ScaleAnswer(ma.Schema):
    """Two points of the picture, and how far apart they are on the ground."""

    points = ma.fields.List(ma.fields.List(ma.fields.Float()), required=True)
    distance = number()


class MapTieAnswer(ma.Schema):
    """Where the plan's 0, 0 lies in a coordinate system."""

    crs = words()
    origin = numbers()


class PlacementAnswer(ma.Schema):
    """The placement, and what follows from it; `transform` takes [u, v] to [x, y].

    x = a u + b v + c and y = d u + e v + f, lengths in `units`.
    """

    units = words()
    scale = part(ScaleAnswer)
    turn = number()
    origin = numbers()
    north = number(nullable=True)
    on_map = part(MapTieAnswer, allow_none=True)
    metres_per_pixel = number()
    click_error_percent = number()
    north_on_plan = number(nullable=True)
    width = number()
    height = number()
    corners = ma.fields.List(ma.fields.List(ma.fields.Float()), required=True)
    bounds = numbers()
    transform = numbers()


class SitePlan(ma.Schema):
    """A site plan; `width` and `height` of its picture in pixels, `page` of how many of a PDF."""

    id = words()
    name = words()
    uploaded_at = words()
    size_bytes = ma.fields.Integer(required=True)
    width = ma.fields.Integer(required=True)
    height = ma.fields.Integer(required=True)
    media_type = words()
    page = ma.fields.Integer(required=True, allow_none=True)
    pages = ma.fields.Integer(required=True, allow_none=True)
    picture = words()
    placement = part(PlacementAnswer, allow_none=True)


class SitePlanPage(ma.Schema):
    """A page of the site plans kept."""

    site_plans = parts(SitePlan)
    page = part(PageOfList)
