"""GeoJSON shapes (RFC 7946) in a body: a geometry, a Feature or a FeatureCollection."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import marshmallow as ma
import numpy as np

from yardfall.core.reach.request import Shape, ShapeKind
from yardfall.web.openapi.fields import COORDINATE, MOST_LENGTH, Number, Text

MOST_SHAPES: Final = 500
MOST_POSITIONS: Final = 20_000
KINDS: Final[dict[str, ShapeKind]] = {
    "Point": "point",
    "MultiPoint": "point",
    "LineString": "line",
    "MultiLineString": "line",
    "Polygon": "area",
    "MultiPolygon": "area",
}
LEAST: Final = {"point": 1, "line": 2, "area": 4}
_coordinate = Number(-COORDINATE, COORDINATE)
_clearance = Number(0, MOST_LENGTH)
_name = Text()


class Shapes(ma.fields.Field[Any]):
    """Shapes of the kinds taken, as a tuple of `Shape`; `clearance_m` still in the caller's units.

    A Feature's `properties` may carry `name` and `clearance`; others are not read.
    """

    def __init__(self, *kinds: ShapeKind, **kwargs: Any) -> None:
        self.kinds = kinds
        self.types = [name for name, kind in KINDS.items() if kind in kinds]
        super().__init__(**kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> tuple[Shape, ...]:
        del attr, data, kwargs
        shapes: list[Shape] = []
        positions = 0
        for index, (geometry, properties) in enumerate(self._features(value)):
            for shape in self._shapes(geometry, properties, index):
                positions += sum(len(ring) for ring in shape.rings)
                shapes.append(shape)
                if len(shapes) > MOST_SHAPES or positions > MOST_POSITIONS:
                    raise ma.ValidationError(
                        f"At most {MOST_SHAPES} shapes of {MOST_POSITIONS:,} positions in all."
                    )
        return tuple(shapes)

    def _features(self, value: Any) -> Iterator[tuple[Any, dict[str, Any]]]:
        kind = value.get("type") if isinstance(value, dict) else None
        if kind == "FeatureCollection":
            features = value.get("features")
            if not isinstance(features, list):
                raise ma.ValidationError({"features": ["This must be a list of Features."]})
            for feature in features[: MOST_SHAPES + 1]:
                if not isinstance(feature, dict) or feature.get("type") != "Feature":
                    raise ma.ValidationError({"features": ["This must be a list of Features."]})
                yield feature.get("geometry"), feature.get("properties") or {}
        elif kind == "Feature":
            yield value.get("geometry"), value.get("properties") or {}
        else:
            yield value, {}

    def _shapes(self, geometry: Any, properties: Any, index: int) -> Iterator[Shape]:
        name = geometry.get("type") if isinstance(geometry, dict) else None
        if not isinstance(name, str) or name not in self.types:
            raise ma.ValidationError({"type": [f"This must be one of {', '.join(self.types)}."]})
        if not isinstance(properties, dict):
            raise ma.ValidationError({"properties": ["This must be an object."]})
        kind = KINDS[name]
        label, clearance = properties.get("name"), properties.get("clearance")
        label = label[:80] if isinstance(label, str) and label else None
        keep: Any = None if clearance is None else _clearance.deserialize(clearance)
        parts = geometry.get("coordinates")
        if not isinstance(parts, list):
            raise ma.ValidationError({"coordinates": ["This must be a list."]})
        for part in parts if name.startswith("Multi") else [parts]:
            rings = part if kind == "area" else [[part] if kind == "point" else part]
            if not isinstance(rings, list) or not rings:
                raise ma.ValidationError({"coordinates": ["An area has at least one ring."]})
            arrays = tuple(_ring(ring, kind) for ring in rings)
            yield Shape(kind, arrays, index, label, keep)


def _ring(ring: Any, kind: ShapeKind) -> Any:
    if not isinstance(ring, list) or not LEAST[kind] <= len(ring) <= MOST_POSITIONS:
        raise ma.ValidationError(
            {"coordinates": [f"This takes {LEAST[kind]} to {MOST_POSITIONS:,} positions."]}
        )
    positions = []
    for position in ring:
        if not isinstance(position, list) or not 2 <= len(position) <= 4:
            raise ma.ValidationError({"coordinates": ["A position is x, y."]})
        positions.append([_coordinate.deserialize(v) for v in position[:2]])
    if kind == "area" and positions[0] != positions[-1]:
        raise ma.ValidationError({"coordinates": ["A ring ends where it starts."]})
    return np.array(positions, dtype=np.float64)
