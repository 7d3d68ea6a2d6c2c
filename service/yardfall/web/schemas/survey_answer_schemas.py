"""What is told of the ground along a route."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words


class WarningAnswer(ma.Schema):
    """Something that looks wrong about the request, or may do harm."""

    code = words()
    pointer = words()
    text = words()


class Closure(ma.Schema):
    """Misclosure of levelling notes = computed − known."""

    on = words()
    misclosure = number()
    limit = number()
    set_ups = ma.fields.Integer(required=True)
    distance = number()
    distance_known = ma.fields.Boolean(required=True)
    within = ma.fields.Boolean(required=True)
    source = words()


class GroundPoint(ma.Schema):
    """The ground at a station."""

    at = number()
    label = words()
    ground = number()


class ProfileStation(GroundPoint):
    """A station, its place and its ground."""

    x = number(nullable=True)
    y = number(nullable=True)
    source = words()


class GroundLine(ma.Schema):
    """The ground along the route, straight between its points."""

    at = numbers()
    ground = numbers()


class GroundSource(ma.Schema):
    """The named source that elevations came from, as whoever named it states it. `date` is a day or
    two with a / between (ISO 8601). `lidar` is how it was flown, to be given as a plan's
    `accuracy.lidar`. "" stands for what nobody stated."""

    name = words()
    date = words()
    vertical_rmse = number(nullable=True)
    vertical_datum = words()
    lidar = words()
    licence = words()
    text = words()


class ProfileAnswer(ma.Schema):
    """The ground along a route."""

    units = words()
    length = number()
    datum = words()
    stations = parts(ProfileStation)
    low_point = part(GroundPoint)
    high_point = part(GroundPoint)
    overall_fall = number(metadata={"description": "Ground at the start less ground at the end."})
    profile = part(GroundLine)
    closure = part(Closure, allow_none=True)
    ground_source = part(GroundSource, allow_none=True)
    warnings = parts(WarningAnswer)
