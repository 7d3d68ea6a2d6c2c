"""What `POST /reach` takes and answers."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma

from yardfall.geo.search_grid import MAX_LOT_CELLS
from yardfall.use_cases.reach.chance import MOST_DRAWN_CELLS
from yardfall.use_cases.reach.reach import MOST_PLACE_CELLS
from yardfall.web.openapi.answer_fields import number, part, parts, words
from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Strict,
    Whole,
    among,
    count,
    units_field,
)
from yardfall.web.openapi.shapes import Shapes
from yardfall.web.schemas.accuracy_schemas import GROUND_ACCURACY
from yardfall.web.schemas.answer_schemas import (
    AssumptionAnswer,
    CautionAnswer,
    OutletAnswer,
)
from yardfall.web.schemas.plan_schemas import (
    CataloguePipe,
    GradeBody,
    LimitsBody,
    OutletBody,
    OwnPipe,
    StartByCover,
    StartByDepth,
    StartByInvert,
)
from yardfall.web.schemas.survey_answer_schemas import GroundSource, WarningAnswer
from yardfall.web.schemas.survey_schemas import (
    Point,
    RasterBody,
    SourceBody,
    SpotsBody,
    StationsBody,
)
from yardfall.web.schemas.verdict_schemas import VerdictAnswer

MOST_DRAWS: Final = 200
MOST_ASKED: Final = 100
MOST_BANDS: Final = 12


def _start(form: type[ma.Schema]) -> type[ma.Schema]:
    point = Point(required=True, metadata={"description": "Where the pipe begins, in `crs`."})
    return type(f"ReachStart{form.__name__}", (form,), {"point": point, "__doc__": form.__doc__})


class ReachGrade(GradeBody):
    """As for a plan. Without `shape` a route changes grade where one straight grade fails."""

    shape = ma.fields.String(validate=among("straight", "least_dig"))


def _told(text: str, **kwargs: Any) -> dict[str, Any]:
    return {"metadata": {"description": text}, **kwargs}


class ReachBody(Strict):
    """A start in a yard, a pipe and its limits: where can it come out?"""

    units = units_field()
    crs = ma.fields.String(
        load_default="OGC:CRS84",
        metadata={"description": "Of every point and shape here and in the answer."},
    )
    ground = OneForm(
        {"raster": RasterBody, "source": SourceBody, "spots": SpotsBody}, tell="kind", required=True
    )
    start = OneForm(
        {
            "cover": _start(StartByCover),
            "depth": _start(StartByDepth),
            "invert": _start(StartByInvert),
        },
        required=True,
    )
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe}, required=True)
    grade = ma.fields.Nested(ReachGrade)
    limits = ma.fields.Nested(LimitsBody)
    outlet = ma.fields.Nested(OutletBody, required=True)
    accuracy = OneForm(GROUND_ACCURACY)
    stations = ma.fields.Nested(StationsBody)
    within = Shapes(
        "area",
        **_told(
            "The lot line: areas the pipe stays in. The box about them may hold "
            f"{MAX_LOT_CELLS:,} cells of a raster."
        ),
    )
    avoid = Shapes(
        "point",
        "line",
        "area",
        **_told("What the pipe may not cross. A Feature's properties may give its `clearance`."),
    )
    clearance = Number(
        0, MOST_LENGTH, load_default=0.0, **_told("Kept from all that is avoided; ft or m.")
    )
    targets = Shapes(
        "point", "line", "area", **_told("Where an outlet is wanted, such as a ditch or a curb.")
    )
    ask = ma.fields.List(
        Point(),
        validate=count(0, MOST_ASKED),
        **_told(
            "Points to tell about. They and the targets are fewer on a large lot: as many as "
            f"{MOST_PLACE_CELLS:,} divided by the cells searched."
        ),
    )
    to = Point(**_told("A point to which a route is asked for."))
    radius = Number(
        1, MOST_LENGTH, **_told("How far from the start to look, without a lot line; ft or m.")
    )
    least_run = Number(
        0, MOST_LENGTH, **_told("No outlet is looked for nearer to the start; ft or m.")
    )
    bands = ma.fields.List(
        Number(0),
        validate=count(1, MOST_BANDS),
        **_told("Edges between bands of spare fall, growing; in or mm."),
    )
    routes = Whole(0, 3, load_default=3, **_told("How many of the best routes; 0: the map only."))
    draws = Whole(
        0,
        MOST_DRAWS,
        load_default=40,
        **_told(
            "Draws of the ground's errors; 0: no chances. Fewer are made where they and the cells "
            f"searched come to more than {MOST_DRAWN_CELLS:,}, one multiplied by the other."
        ),
    )


class MultiPolygon(ma.Schema):
    """Areas as RFC 7946 has them."""

    type = ma.fields.String(required=True, validate=among("MultiPolygon"))
    coordinates = ma.fields.List(
        ma.fields.List(ma.fields.List(ma.fields.List(ma.fields.Float()))), required=True
    )


class LineAnswer(ma.Schema):
    """A line as RFC 7946 has it."""

    type = ma.fields.String(required=True, validate=among("LineString"))
    coordinates = ma.fields.List(ma.fields.List(ma.fields.Float()), required=True)


class AreaProperties(ma.Schema):
    """`from` and `to` bound the spare fall (depth units) or the chance; null: no bound."""

    kind = words()
    from_ = number(nullable=True, data_key="from")
    to = number(nullable=True)
    area = number()
    text = words()


class AreaFeature(ma.Schema):
    """One kind of area."""

    type = ma.fields.String(required=True, validate=among("Feature"))
    geometry = part(MultiPolygon)
    properties = part(AreaProperties)


class Areas(ma.Schema):
    """A GeoJSON FeatureCollection; no two of its areas overlap."""

    type = ma.fields.String(required=True, validate=among("FeatureCollection"))
    features = parts(AreaFeature)


def _place() -> ma.fields.List[Any]:
    return ma.fields.List(ma.fields.Float(), required=True, allow_none=True)


class ReachSummary(ma.Schema):
    """`spare` is the most anywhere an outlet is looked for, at `point`; negative is missing.

    It is that of the plan of the best line there. `overall` is `conditional` where a pipe comes out
    only if usual values give way: everywhere on the map, or on every route that was planned.
    """

    verdict = words()
    overall = words()
    sentence = words()
    spare = number(nullable=True)
    point = _place()
    outlet_area = number()
    searched_area = number()
    cell = number()
    start_ground = number()
    start_invert = number()


class RouteGrade(ma.Schema):
    """One grade of a route, between two stations."""

    from_ = number(data_key="from")
    to = number()
    percent = number()


class ReachRoute(ma.Schema):
    """A route with the verdict of its own plan. `plan_request` is a body for POST /plan."""

    kinds = ma.fields.List(ma.fields.String(), required=True)
    title = words()
    line = part(LineAnswer)
    length = number()
    bends = ma.fields.Integer(required=True)
    map_spare = number(nullable=True)
    deepest = number()
    trench_volume = number()
    dug_volume = number(nullable=True)
    grades = parts(RouteGrade)
    outlet = part(OutletAnswer)
    answer = part(VerdictAnswer)
    plan_request = ma.fields.Dict(required=True)


class ReachTarget(ma.Schema):
    """`kind`: outlet, conditional (if usual values give way), any_changes (only with more changes
    of grade than asked for, or no line was laid: `text` tells), short of fall, or why it is not
    met: near_start, too_deep, past_unknown (elevations are missing on the way), closed_off,
    avoided, unknown, outside. Kind and `spare` are of the plan of the best line to `point`.
    """

    index = ma.fields.Integer(required=True)
    name = words(nullable=True)
    kind = words()
    spare = number(nullable=True)
    point = _place()
    text = words()


class ReachAsked(ma.Schema):
    """`highest_invert` for a pipe that ends there, `passing_invert` for one that runs on, both with
    any number of changes of grade. `kind` and `spare` are those of the plan of the best line to
    `point` itself, as a route asked for by `to` has them.
    """

    point = _place()
    kind = words()
    ground = number(nullable=True)
    highest_invert = number(nullable=True)
    passing_invert = number(nullable=True)
    depth = number(nullable=True)
    spare = number(nullable=True)
    chance = number(nullable=True)
    text = words()


class LoosenAnswer(ma.Schema):
    """One change that alone makes an outlet, as proven by searching anew with it."""

    change = words()
    pointer = words()
    from_ = ma.fields.Raw(required=True, data_key="from")
    to = ma.fields.Raw(required=True)
    spare_after = number()
    text = words()
    patch = ma.fields.Dict(
        keys=ma.fields.String(),
        allow_none=True,
        required=True,
        metadata={
            "description": "The whole change as a JSON merge patch (RFC 7396) of the request."
        },
    )


class ReachAnswer(ma.Schema):
    """Where the pipe can come out."""

    units = words()
    crs = words()
    summary = part(ReachSummary)
    areas = part(Areas)
    chance = ma.fields.Nested(Areas, required=True, allow_none=True)
    routes = parts(ReachRoute)
    targets = parts(ReachTarget)
    asked = parts(ReachAsked)
    loosen = parts(LoosenAnswer)
    ground_source = part(GroundSource, allow_none=True)
    assumptions = parts(AssumptionAnswer)
    warnings = parts(WarningAnswer)
    cautions = parts(CautionAnswer)
