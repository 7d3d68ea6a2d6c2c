"""The schemas of GeoJSON (RFC 7946): of shapes in a request, and of areas in an answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin

from yardfall.web.openapi.shapes import KINDS, Shapes

Schema = dict[str, Any]
POSITION: Final = "Position"
DEPTH: Final = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}
"""How deep lists of positions are nested."""
SAID: Final = {
    "Point": "One position.",
    "MultiPoint": "Positions.",
    "LineString": "Positions of a line, two or more.",
    "MultiLineString": "Lines.",
    "Polygon": "Rings, the outer one first. Each ends where it starts.",
    "MultiPolygon": "Polygons, each a list of rings.",
}
GROUPS: Final[dict[tuple[str, ...], str]] = {
    ("area",): "Polygon",
    ("point", "area"): "PointOrPolygon",
    ("point", "line", "area"): "Shape",
}
"""The kinds of shape that fields take together, and the name of their Feature."""
ANYTHING: Final = "GeoJson"


def ref(name: str) -> Schema:
    """A reference to a schema."""
    return {"$ref": f"#/components/schemas/{name}"}


def told_by_type(names: dict[str, str]) -> Schema:
    """One of several objects of GeoJSON: their types, and the schema of each."""
    mapping = {kind: ref(name)["$ref"] for kind, name in names.items()}
    return {
        "oneOf": [ref(name) for name in names.values()],
        "discriminator": {"propertyName": "type", "mapping": mapping},
    }


def geometry(name: str) -> str:
    """The schema's name of a geometry."""
    return f"{ANYTHING}{name}"


def geometries(*kinds: str) -> dict[str, str]:
    """By type, the schemas of the geometries of these kinds of shape."""
    return {name: geometry(name) for name, kind in KINDS.items() if kind in kinds}


def document_geojson(spec: APISpec, plugin: MarshmallowPlugin) -> None:
    """Add the schemas, and teach the generated contract that a field of shapes refers to them."""
    spec.components.schema(
        POSITION,
        {
            "type": "array",
            "description": "x then y in the `crs` (RFC 7946, 3.1.1); more numbers are not read.",
            "items": {"type": "number"},
            "minItems": 2,
            "maxItems": 4,
        },
    )
    for name, depth in DEPTH.items():
        coordinates: Schema = ref(POSITION)
        for level in range(depth):
            coordinates = {"type": "array", "items": coordinates}
            if level == 0 and name != "MultiPoint":
                coordinates["minItems"] = 2 if "Line" in name else 4
        about = {**coordinates, "description": SAID[name]}
        said = f"A {name} (RFC 7946)."
        spec.components.schema(geometry(name), _object(said, name, {"coordinates": about}))
    spec.components.schema(
        "ShapeProperties",
        {
            "type": "object",
            "description": "What is read of a Feature's properties; others may stand there too.",
            "properties": {
                "name": {"type": "string", "description": "What to call it."},
                "clearance": {
                    "type": "number",
                    "minimum": 0,
                    "description": "What to keep from it, where it is to be avoided; ft or m.",
                },
            },
        },
    )
    for kinds, name in GROUPS.items():
        _add_features(spec, name, geometries(*kinds), ref("ShapeProperties"))
    own = {"type": "object", "additionalProperties": True}
    _add_features(spec, ANYTHING, {name: geometry(name) for name in DEPTH}, own)

    def shapes(_self: Any, field: Any, **_: Any) -> Schema:
        if not isinstance(field, Shapes):
            return {}
        group = GROUPS[field.kinds]
        wrapped = {"Feature": f"{group}Feature", "FeatureCollection": f"{group}Collection"}
        return told_by_type(geometries(*field.kinds) | wrapped)

    assert plugin.converter is not None
    plugin.converter.add_attribute_function(shapes)


def _add_features(spec: APISpec, name: str, shapes: dict[str, str], properties: Schema) -> None:
    feature = {
        "geometry": {**told_by_type(shapes), "description": "Its shape."},
        "properties": {
            "anyOf": [properties, {"type": "null"}],
            "description": "What is said of it.",
        },
    }
    said = "A Feature (RFC 7946)."
    needed = ("geometry",)
    spec.components.schema(f"{name}Feature", _object(said, "Feature", feature, needed))
    features = {
        "features": {
            "type": "array",
            "items": ref(f"{name}Feature"),
            "description": "The Features.",
        }
    }
    said = "A FeatureCollection (RFC 7946)."
    spec.components.schema(f"{name}Collection", _object(said, "FeatureCollection", features))


def _object(said: str, kind: str, fields: Schema, needed: Sequence[str] | None = None) -> Schema:
    return {
        "type": "object",
        "description": said,
        "properties": {
            "type": {"type": "string", "const": kind, "description": "The type of the object."},
            **fields,
        },
        "required": ["type", *(fields if needed is None else needed)],
    }
