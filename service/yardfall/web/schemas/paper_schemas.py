"""What a caller may have its papers say and show."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.store.records.jobs import MOST_REVISIONS
from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Strict,
    Text,
    TrueOrFalse,
    among,
    between,
)
from yardfall.web.openapi.shapes import Shapes
from yardfall.web.uploads.site_plan_schemas import ScaleBody, pixel

LONGEST_TITLE: Final = 200


class TitleBody(Strict):
    """The title block and the page. What is left out stays empty, to be written in by hand; the
    page is letter where the units are us, else a4."""

    title = Text(LONGEST_TITLE)
    place = Text(LONGEST_TITLE)
    prepared_for = Text(LONGEST_TITLE)
    prepared_by = Text(LONGEST_TITLE)
    date = Text(40)
    page = ma.fields.String(validate=among("letter", "a4"))


class RasterBeneath(Strict):
    """The shaded relief of a kept raster, under a route in longitudes and latitudes or EPSG."""

    raster = Text(required=True)


class SitePlanBeneath(Strict):
    """A kept site plan, under a route drawn on it (`crs` local), and how it lies there.

    Without `scale` it lies as its own placement says; `turn` and `origin` go with `scale`.
    """

    site_plan = Text(required=True)
    scale = ma.fields.Nested(ScaleBody)
    turn = Number(-360, 360)
    origin = pixel()

    @ma.validates_schema
    def _whole(self, data: dict[str, object], **_: object) -> None:
        stray = [name for name in ("turn", "origin") if name in data and "scale" not in data]
        if stray:
            raise ma.ValidationError({stray[0]: ["This goes with scale; give both, or neither."]})


class PaperPart(TitleBody):
    """What the papers say and show of a plan; no sum depends on it.

    Shapes are in the route's crs, as for a reach. Where no `beneath` is given, the map shows the
    relief of the ground's raster, if it has one.
    """

    within = Shapes("area", metadata={"description": "The lot line."})
    avoid = Shapes(
        "point",
        "line",
        "area",
        metadata={
            "description": "What the pipe keeps out of. A Feature's properties may give its "
            "`name` and `clearance`."
        },
    )
    clearance = Number(
        0, MOST_LENGTH, metadata={"description": "To keep from all that is avoided; ft or m."}
    )
    fixed = Shapes(
        "point",
        "area",
        metadata={
            "description": "What stands still on the lot, for tape distances to every station: "
            "an area by its corners, as a house's outline, or points. A Feature's properties may "
            "give its `name`."
        },
    )
    tags = TrueOrFalse(
        metadata={"description": "A tag for each station's stake, to cut out, on the dig sheet."}
    )
    beneath = OneForm({"raster": RasterBeneath, "site_plan": SitePlanBeneath})


class KeptPaperQuery(TitleBody):
    """The title block and the page of a kept job's paper, and which revision's it is."""

    revision = ma.fields.Integer(validate=between(1, MOST_REVISIONS))
