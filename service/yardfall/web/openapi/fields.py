"""Strict fields for bodies: a number is a JSON number, and a choice of forms is documented so."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property, lru_cache
from typing import Any, Final

import marshmallow as ma
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import validate

BIG = 1e6
"""No distance, depth or elevation in a yard is larger, in any unit taken."""
COORDINATE = 1e8
NUMBERS: Final = (int, float)
NOTHING: Final = 1e-12
"""What is nearer to 0 is 0 in any unit taken: left over from a sum, or sent to break one."""


class Number(ma.fields.Field[Any]):
    """A finite JSON number between `least` and `most`; strings, booleans and NaN are refused."""

    default_error_messages = {  # noqa: RUF012 - marshmallow's own form
        "number": "This must be a number.",
        "above": "This must be greater than {least:,.10g}.",
        "least": "This must be at least {least:,.10g}.",
        "most": "This must be at most {most:,.10g}.",
    }

    def __init__(
        self, least: float = -BIG, most: float = BIG, *, above: bool = False, **kwargs: Any
    ) -> None:
        bounds = {"exclusiveMinimum" if above else "minimum": least, "maximum": most}
        kwargs["metadata"] = {"type": "number", **bounds, **kwargs.get("metadata", {})}
        super().__init__(**kwargs)
        self.least, self.most, self.above = least, most, above

    def deserialize(self, value: Any, *where: Any, **kwargs: Any) -> Any:
        """As every field; the usual case, a number well inside its bounds, on a shorter way."""
        if type(value) in NUMBERS and self.least < value <= self.most and not self.validators:
            return float(value)
        return super().deserialize(value, *where, **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.make_error("number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if math.isnan(number):
            raise self.make_error("number")
        if abs(number) < NOTHING:
            number = 0.0
        if self.above and number <= self.least:
            raise self.make_error("above", least=self.least)
        if number < self.least:
            raise self.make_error("least", least=self.least)
        if number > self.most:
            raise self.make_error("most", most=self.most)
        return number


class Whole(Number):
    """A JSON number without a fraction."""

    default_error_messages = {"whole": "This must be a whole number."}  # noqa: RUF012

    def __init__(self, least: int, most: int, **kwargs: Any) -> None:
        kwargs["metadata"] = {"type": "integer", **kwargs.get("metadata", {})}
        super().__init__(least, most, **kwargs)

    deserialize = ma.fields.Field.deserialize

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> int:
        number = super()._deserialize(value, attr, data, **kwargs)
        if number != int(number):
            raise self.make_error("whole")
        return int(number)


class TrueOrFalse(ma.fields.Boolean):
    """A JSON boolean; 1 and "yes" are refused."""

    default_error_messages = {"boolean": "This must be true or false."}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("boolean")
        return value


class Text(ma.fields.String):
    """A JSON string of 1 to `most` characters."""

    def __init__(self, most: int = 80, **kwargs: Any) -> None:
        sized = validate.Length(1, most, error=f"This takes 1 to {most} characters.")
        super().__init__(validate=sized, **kwargs)


KEPT_PARTS: Final = 128
LONGEST_KEPT: Final = 8_000
"""Parts of bodies, up to so many characters, kept as they were read: whoever moves the pipe sends
all others as before."""


class _Given:
    """A part of a body for a schema: equal to another that is written the same."""

    def __init__(self, schema: ma.Schema, value: dict[str, Any], text: str) -> None:
        self.schema, self.value, self.text = schema, value, text

    def __hash__(self) -> int:
        return hash(self.text)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Given) and self.schema is other.schema and self.text == other.text


def load_part(schema: ma.Schema, value: dict[str, Any]) -> Any:
    """An object as its schema reads it, from what was kept where the same was read before."""
    text = repr(value)
    if len(text) > LONGEST_KEPT:
        return schema.load(value)
    return _copied(_kept_part(_Given(schema, value, text)))


@lru_cache(maxsize=KEPT_PARTS)
def _kept_part(given: _Given) -> Any:
    return given.schema.load(given.value)


def _copied(part: Any) -> Any:
    """A copy that may be changed."""
    if isinstance(part, dict):
        return {name: _copied(inner) for name, inner in part.items()}
    return [_copied(inner) for inner in part] if isinstance(part, list) else part


class Part(ma.fields.Nested):
    """An object within a body."""

    def _load(self, value: Any, partial: Any = None) -> Any:
        return load_part(self.schema, value) if isinstance(value, dict) else super()._load(value)


class OneForm(ma.fields.Field[Any]):
    """One of several object forms.

    `forms` maps a name to a schema. The form is told by the value of `tell` where that is
    given, else by which form's name stands as a key in the object; where several do, by the one
    form that has them all as fields.
    """

    def __init__(
        self, forms: Mapping[str, type[ma.Schema]], tell: str | None = None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.forms = {name: schema() for name, schema in forms.items()}
        self.tell = tell

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise ma.ValidationError("This must be an object.")
        if self.tell:
            name = value.get(self.tell)
            if not isinstance(name, str) or name not in self.forms:
                raise ma.ValidationError({self.tell: [f"This must be one of {self._listed()}."]})
            return load_part(self.forms[name], value)
        told = self.forms.keys() & value.keys()
        fitting = [name for name in told if told <= self.forms[name].fields.keys()]
        if len(fitting) != 1:
            raise ma.ValidationError(f"Give exactly one of {self._listed()}.")
        return load_part(self.forms[fitting[0]], value)

    def _listed(self) -> str:
        *before, last = self.forms
        return ", ".join(before) + " or " + last


def document_forms(plugin: MarshmallowPlugin) -> None:
    """Teach the generated contract that a OneForm is a `oneOf`, and by which field it is told."""

    def one_of(self: Any, field: Any, **_: Any) -> dict[str, Any]:
        if not isinstance(field, OneForm):
            return {}
        forms = {name: self.resolve_nested_schema(form) for name, form in field.forms.items()}
        told: dict[str, Any] = {"oneOf": [*forms.values()]}
        if field.tell:
            mapping = {name: form["$ref"] for name, form in forms.items()}
            told["discriminator"] = {"propertyName": field.tell, "mapping": mapping}
        return told

    assert plugin.converter is not None
    plugin.converter.add_attribute_function(one_of)


LEAST_LENGTH: Final = 0.1
MOST_LENGTH: Final = 100_000
MOST_POINTS: Final = 5000


class Strict(ma.Schema):
    """Unknown fields are refused by name; read in half the time of a schema's own way."""

    class Meta:
        unknown = ma.RAISE

    @cached_property
    def _to_read(self) -> dict[str, tuple[str, ma.fields.Field[Any], bool]]:
        """By the key in a body: a field's name, the field, and whether it counts when left out."""
        return {
            field.data_key or name: (
                name,
                field,
                field.required or field.load_default is not ma.missing,
            )
            for name, field in self.load_fields.items()
        }

    def read(self, given: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
        """An object's fields, and by their keys what is wrong with them and what is unknown."""
        found: dict[str, Any] = {}
        faults: dict[str, Any] = {}
        for key, (name, field, counts) in self._to_read.items():
            if not counts and key not in given:
                continue
            try:
                one = field.deserialize(given.get(key, ma.missing), key, given)
            except ma.ValidationError as error:
                faults[key] = error.messages
            else:
                found[name] = one
        unknown = {key: ["Unknown field."] for key in given if key not in self._to_read}
        return found, faults, unknown

    def _deserialize(self, data: Any, *, error_store: Any, many: bool = False, **how: Any) -> Any:
        if many or not isinstance(data, dict) or how["unknown"] != ma.RAISE or how["partial"]:
            return super()._deserialize(data, error_store=error_store, many=many, **how)
        found, faults, unknown = self.read(data)
        for key, messages in (faults | unknown).items():
            error_store.store_error(messages, key, how.get("index"))
        return found


def among(*names: str) -> validate.OneOf:
    """One of these words."""
    return validate.OneOf(names, error="This must be one of {choices}.")


def count(least: int, most: int) -> validate.Length:
    """How many entries a list takes."""
    return validate.Length(least, most, error=f"This takes {least} to {most} entries.")


def between(least: int, most: int) -> validate.Range:
    """A whole number of a query."""
    return validate.Range(least, most, error=f"This must be {least} to {most:,}.")


class Rows(ma.fields.Nested):
    """A list of flat objects, each read as `Strict` reads one."""

    default_error_messages = {"type": "This must be a list of objects."}  # noqa: RUF012

    def __init__(self, entry: type[Strict], most: int, **kwargs: Any) -> None:
        super().__init__(entry, **kwargs)
        self.entry, self.most = entry(), most

    def _load(self, value: Any, partial: Any = None) -> list[dict[str, Any]]:
        if len(value) > self.most:  # before any is read: their faults would be told instead
            self._validate(value)
        found, wrong = [], {}
        for i, row in enumerate(value):
            if not isinstance(row, dict):
                wrong[i] = {"_schema": ["This must be an object."]}
                continue
            read, faults, unknown = self.entry.read(row)
            if faults or unknown:
                wrong[i] = unknown | faults
            found.append(read)
        if wrong:
            raise ma.ValidationError(wrong)
        return found


def rows(entry: type[Strict], least: int, most: int, **kwargs: Any) -> Rows:
    """A list of objects of flat fields."""
    return Rows(entry, many=True, most=most, validate=count(least, most), **kwargs)


def units_field() -> ma.fields.String:
    """The unit system; always required."""
    return ma.fields.String(required=True, validate=among("us", "si"))


def rod_unit_field(otherwise: str) -> ma.fields.String:
    """The unit of rod readings, and what it is where it is left out."""
    told = f"Of every rod reading, sent and answered. Left out: {otherwise}."
    return ma.fields.String(validate=among("ft", "in", "m", "mm"), metadata={"description": told})
