"""What the contract says of numbers: in which unit each is, and what its name stands for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import marshmallow as ma
from apispec.ext.marshmallow import MarshmallowPlugin

from yardfall.web.openapi.words.descriptions import ANYWHERE, FIELDS
from yardfall.web.openapi.words.words_anywhere import WORDS_ANYWHERE


@dataclass(frozen=True)
class Quantity:
    """A quantity, its unit in each system, and the names that plainly stand for it."""

    name: str
    us: str
    si: str
    plain: str = ""

    @property
    def names(self) -> list[str]:
        """The names that plainly stand for it."""
        return self.plain.split()

    @property
    def unit(self) -> str:
        """The unit in words: `"ft or m"`."""
        return self.us if self.us == self.si else f"{self.us} or {self.si}"


DISTANCE: Final = Quantity(
    "distances along or across, ground and invert elevations",
    "ft",
    "m",
    "at distance downstream elevation from ground invert joins_at length piece_length "
    "planned_invert to upstream",
)
DEPTH: Final = Quantity(
    "depths, covers, readings from a level line, pipe sizes, falls, tolerances",
    "in",
    "mm",
    "clearance depth dig_depth drop fall fall_available fall_needed greatest_depth inside outside "
    "size tolerance top_depth trench_width wall width",
)
AREA: Final = Quantity("areas", "sq ft", "m²", "area bottom_area")
FLOW: Final = Quantity("flow", "gpm", "L/s", "flow rate")
RAIN: Final = Quantity("rain rate", "in/h", "mm/h", "rain_rate")
VOLUME: Final = Quantity("volume", "cu yd", "m³", "volume")
VELOCITY: Final = Quantity("velocity", "ft/s", "m/s", "velocity")
GRADE: Final = Quantity("grade", "percent", "percent", "max_percent min_percent percent")
QUANTITIES: Final = (DISTANCE, DEPTH, AREA, FLOW, RAIN, VOLUME, VELOCITY, GRADE)
_COUNTS: Final = (
    "bends breaks count grade_checks jobs max_breaks number page page_size pages pieces rasters "
    "revision revisions set_ups site_plans size size_bytes stations status total"
)
COUNTS: Final = frozenset(_COUNTS.split())
"""Whole numbers whose name says what they count or number."""

_ROWS: Final = "\n".join(f"| {q.name} | {q.us} | {q.si} |" for q in QUANTITIES)
ABOUT: Final = f"""\
Plans a buried drain that carries water away by gravity.

`units` is `us` or `si`, has no default in a body, and is echoed. It sets the unit of every number,
both ways:

| quantity | `us` | `si` |
|---|---|---|
{_ROWS}
| rod readings | `rod_unit`, else ft | `rod_unit`, else m |

Stations (`at`) count from 0 at the inlet along the ground plan, towards the outlet. Elevations go
up from the ground's own `datum`. A grade that falls towards the outlet is positive; so is ground
that rises. Depths are from the ground down: `depth` and `dig_depth` to the trench bottom (the
outside bottom of the pipe, and the bedding below it), `cover` to the outside top of the pipe,
negative where the pipe stands out of the ground; `invert` is the elevation of the inside bottom of
the pipe. Points [x, y] are in their `crs`. A `chance` or a `share` is 0 to 1. gpm is US gallons a
minute.

A "no" is an answer, with status 200. Errors are `application/problem+json` (RFC 9457): `detail` is
for a user to read, `errors` point into what was sent (RFC 6901).
"""


UNITS: Final = {
    "distance": DISTANCE.unit,
    "depth": DEPTH.unit,
    "area": AREA.unit,
    "flow": FLOW.unit,
    "rain": RAIN.unit,
    "volume": VOLUME.unit,
    "velocity": VELOCITY.unit,
}


def document_measures(plugin: MarshmallowPlugin) -> None:
    """Teach the generated contract what each field means, and each number in which unit."""

    def meaning(_self: Any, field: ma.fields.Field[Any], **_: Any) -> dict[str, str]:
        told = told_of(field)
        return {} if told is None else {"description": told}

    assert plugin.converter is not None
    plugin.converter.add_attribute_function(meaning)


def told_of(field: ma.fields.Field[Any]) -> str | None:
    """What is said of a field: in its schema's words, in its own, by its name alone; None where
    nothing is."""
    name = str(field.data_key or field.name)
    for schema in type(field.parent).__mro__:
        words = FIELDS.get(schema.__name__, {}).get(name)
        if words is not None:
            return _worded(words)
    if "description" in field.metadata:
        return str(field.metadata["description"])
    if not is_number(field):
        one = isinstance(field, ma.fields.Nested) and not field.many  # its schema says what it is
        return None if one else WORDS_ANYWHERE.get(name)
    if name in ANYWHERE:
        return _worded(ANYWHERE[name])
    return next((f"{q.unit}." for q in QUANTITIES if name in q.names), None)


def _worded(words: str) -> str:
    told = words.format(**UNITS)
    return told[:1].upper() + told[1:] if words[0] != "{" else told


def is_whole(field: ma.fields.Field[Any]) -> bool:
    """Whether it holds a count, a number in a row, or bytes."""
    return isinstance(field, ma.fields.Integer) or field.metadata.get("type") == "integer"


def is_number(field: ma.fields.Field[Any]) -> bool:
    """Whether it holds a measure, or a list of them."""
    if isinstance(field, ma.fields.List):
        return is_number(field.inner)
    return isinstance(field, ma.fields.Float) or field.metadata.get("type") == "number"
