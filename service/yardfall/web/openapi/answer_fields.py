"""Short forms for what an answer always carries."""

from __future__ import annotations

from typing import Any

import marshmallow as ma


def number(*, nullable: bool = False, **kwargs: Any) -> ma.fields.Float:
    """A number that is always there, or null where `nullable`."""
    return ma.fields.Float(required=True, allow_none=nullable, **kwargs)


def words(*, nullable: bool = False, **kwargs: Any) -> ma.fields.String:
    """A string that is always there, or null where `nullable`."""
    return ma.fields.String(required=True, allow_none=nullable, **kwargs)


def numbers() -> ma.fields.List[Any]:
    """A list of numbers."""
    return ma.fields.List(ma.fields.Float(), required=True)


def part(schema: type[ma.Schema], **kwargs: Any) -> ma.fields.Nested:
    """An object that is always there."""
    return ma.fields.Nested(schema, required=True, **kwargs)


def parts(schema: type[ma.Schema]) -> ma.fields.List[Any]:
    """A list of objects."""
    return ma.fields.List(ma.fields.Nested(schema), required=True)
