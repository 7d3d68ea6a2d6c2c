"""Elevation rasters: what is sent, and what is told of them."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words
from yardfall.web.openapi.fields import among, between


class PageQuery(ma.Schema):
    """Which page of a list."""

    page = ma.fields.Integer(load_default=1, validate=between(1, 100_000))
    page_size = ma.fields.Integer(load_default=50, validate=between(1, 200))


class ReliefQuery(ma.Schema):
    """In which units the contours are; the raster's own where left out."""

    units = ma.fields.String(load_default=None, validate=among("us", "si"))


class RasterFile(ma.Schema):
    """One file, in a part named `file`."""

    file = ma.fields.Raw(required=True)


class Elevations(ma.Schema):
    """The range of its elevations."""

    min = number()
    max = number()


class StatedSource(ma.Schema):
    """A named source, as whoever named it states it; "" where nobody stated it."""

    name = words()
    date = words()
    licence = words()


class Raster(ma.Schema):
    """An elevation raster; `cell` in metres, `elevation` in its own vertical unit. `source` is what
    it is a window of."""

    id = words()
    name = words()
    uploaded_at = words()
    size_bytes = ma.fields.Integer(required=True)
    crs = words()
    geographic = ma.fields.Boolean(required=True)
    bounds = numbers()
    metres_per_unit = numbers()
    width = ma.fields.Integer(required=True)
    height = ma.fields.Integer(required=True)
    cell = numbers()
    vertical_unit = words(nullable=True)
    elevation = part(Elevations, allow_none=True)
    empty_share = number()
    source = part(StatedSource, allow_none=True)
    relief = words()


class PageOfList(ma.Schema):
    """Which page this is of how many entries."""

    number = ma.fields.Integer(required=True)
    size = ma.fields.Integer(required=True)
    total = ma.fields.Integer(required=True)


class RasterPage(ma.Schema):
    """A page of the rasters kept."""

    rasters = parts(Raster)
    page = part(PageOfList)
