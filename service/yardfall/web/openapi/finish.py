"""The contract made whole: what no single field or call can say of itself is said here, once, over
the whole document.

Requests stay strict and answers open: a schema that only answers hold takes further fields.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import marshmallow as ma

from yardfall.web.openapi.geojson import ANYTHING, geometries, ref, told_by_type
from yardfall.web.openapi.words.names_of_values import ANY_OTHER, CLOSED, OPEN, STANDS_IN

Schema = dict[str, Any]
SCHEMAS: Final = "#/components/schemas/"
MOMENTS: Final = (
    *("changed_at", "checked_at", "created_at", "made_at", "read_at"),
    *("saved_at", "uploaded_at", "used_at"),
)
NULL: Final = {"type": "null"}
PATCH: Final = "MergePatch"
DRAFT: Final = "DraftRequest"
MADE_HERE: Final[dict[str, Schema]] = {
    PATCH: {
        "type": "object",
        "description": "A JSON merge patch (RFC 7396) of the request that was answered.",
        "additionalProperties": True,
    },
    DRAFT: {
        "type": "object",
        "description": "A request that is kept as a draft and may not be computable yet.",
        "additionalProperties": True,
    },
}
REQUEST: Final = {"anyOf": [ref("PlanBody"), ref(DRAFT)]}
PATCH_OR_NULL: Final = {"anyOf": [ref(PATCH), NULL]}
NUMBER_OR_NAME: Final = {"type": ["number", "string"]}
NUMBER_NAME_OR_NULL: Final = {"type": ["number", "string", "null"]}


def _file(media_type: str) -> Schema:
    return {"type": "string", "format": "binary", "contentMediaType": media_type}


STANDS_FOR: Final[dict[str, Schema]] = {
    "RasterFile.file": _file("image/tiff"),
    "SitePlanFile.file": _file("application/octet-stream"),
    "ExportFile.file": _file("application/zip"),
    "JobBody.request": REQUEST,
    "Revision.request": REQUEST,
    "Revision.answer": {"anyOf": [ref("TreeAnswer"), NULL]},
    "KeptCheck.request": ref("TrenchBody"),
    "KeptCheck.answer": ref("GradeCheckAnswer"),
    "ReachRoute.plan_request": ref("PlanBody"),
    "FixAnswer.patch": PATCH_OR_NULL,
    "LoosenAnswer.patch": PATCH_OR_NULL,
    "ConditionAnswer.accepts": PATCH_OR_NULL,
    "ConditionAnswer.insists": PATCH_OR_NULL,
    "ConditionAnswer.usual": NUMBER_NAME_OR_NULL,
    "ConditionAnswer.taken": NUMBER_NAME_OR_NULL,
    "FixAnswer.from": NUMBER_OR_NAME,
    "FixAnswer.to": NUMBER_OR_NAME,
    "LoosenAnswer.from": NUMBER_OR_NAME,
    "LoosenAnswer.to": NUMBER_OR_NAME,
    "OutlineFeature.geometry": told_by_type(geometries("area")),
    "OutlineFeature.type": {"type": "string", "const": "Feature"},
    "LotAnswer.type": {"type": "string", "const": "FeatureCollection"},
}
"""By schema and field: the schema that a field holds, where the code itself keeps it as it came."""
NAMED: Final = {frozenset(words): name for name, words in {**CLOSED, **OPEN}.items()}


def finished(document: Schema, made_of: Mapping[str, type[ma.Schema]]) -> Schema:
    """The contract, finished in place. `made_of` gives the class that a schema was made of."""
    parts = document["components"]
    schemas = parts["schemas"]
    for name, schema in schemas.items():
        if name in made_of:
            _describe(schema, made_of[name])
    _everywhere({"paths": document["paths"], **parts}, _plain)
    schemas |= MADE_HERE
    schemas |= {name: _enumeration(name, words) for name, words in {**CLOSED, **OPEN}.items()}
    _open_answers(document)
    _drop_unused(document)
    document["tags"].sort(key=lambda tag: tag["name"])
    for kind in parts:
        parts[kind] = dict(sorted(parts[kind].items()))
    return document


def _enumeration(name: str, words: tuple[str, ...]) -> Schema:
    grows = ANY_OTHER.get(name, "more may come within v1") if name in OPEN else ""
    said = "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in name).strip()
    told = f"Every {said} there is{grows and f'; {grows}'}."
    return {"type": "string", "enum": list(words), "description": told}


def _describe(schema: Schema, made_of: type[ma.Schema]) -> None:
    """What the class says of itself, and the schemas that its fields hold."""
    schema["description"] = " ".join(inspect.cleandoc(made_of.__doc__ or "").split())
    for name, field in schema.get("properties", {}).items():
        held = _told_of(made_of, name)
        if held is not None:
            said = {key: field[key] for key in ("description",) if key in field}
            field.clear()
            field.update(held | said)
            continue
        word = _word_of(made_of, name, field)
        if word is not None:
            _name(field, word)
        if name in MOMENTS:
            field["format"] = "date-time"
    _without_default(schema)


def _told_of(made_of: type[ma.Schema], field: str) -> Schema | None:
    found = (STANDS_FOR.get(f"{kind.__name__}.{field}") for kind in made_of.__mro__)
    return next((one for one in found if one is not None), None)


def _word_of(made_of: type[ma.Schema], field: str, schema: Schema) -> str | None:
    """The name of the words that a text of an answer is one of."""
    for kind in made_of.__mro__:
        for name in (f"{kind.__name__}.{field}", f"{kind.__name__}.*"):
            if name in STANDS_IN:
                return STANDS_IN[name]
    plain = field == "units" and schema.get("type") == "string" and "enum" not in schema
    return "Units" if plain else None


def _name(field: Schema, word: str) -> None:
    """Have a text, or each text of a list, refer to the words it is one of."""
    if field["type"] == "array":
        _name(field["items"], word)
        return
    field.pop("enum", None)
    kinds = field.pop("type")
    named = [ref(word)]
    if word in OPEN:
        named.append({"type": "string"})
    if "null" in kinds:
        named.append(NULL)
    field.update(named[0] if len(named) == 1 else {"anyOf": named})


def _without_default(schema: Schema) -> None:
    """Say what a field is where it is left out: generated clients take a default for a must."""
    for field in schema.get("properties", {}).values():
        default = field.pop("default", None)
        said = field.get("description", "")
        if default is not None and "Left out:" not in said:
            value = str(default).lower() if isinstance(default, bool) else default
            field["description"] = f"{said} Left out: {value}.".strip()


def _everywhere(part: Any, mend: Callable[[Schema], None]) -> None:
    """Mend each object, the inner ones first; examples are left as they are."""
    if isinstance(part, list):
        for one in part:
            _everywhere(one, mend)
    elif isinstance(part, dict):
        for key in part.keys() - {"example", "examples"}:
            _everywhere(part[key], mend)
        mend(part)


def _plain(schema: Schema) -> None:
    """One word is a constant, several are words of a name."""
    words = schema.get("enum")
    if isinstance(words, list):
        known = NAMED.get(frozenset(words) - {None})
        if len(words) == 1:
            schema["const"] = schema.pop("enum")[0]
        elif known is not None:
            del schema["enum"]
            schema.pop("type", None)
            schema.update({"anyOf": [ref(known), NULL]} if None in words else ref(known))
    if "default" in schema and schema["default"] is None:
        del schema["default"]
    if schema.get("additionalProperties") == {}:
        schema["additionalProperties"] = True


def references(part: Any) -> Iterator[str]:
    """Every schema, response, header and example that a part refers to."""
    if isinstance(part, list):
        for one in part:
            yield from references(one)
    elif isinstance(part, dict):
        if isinstance(part.get("$ref"), str):
            yield part["$ref"]
        for key in part.keys() - {"value"}:
            yield from references(part[key])


def _below(document: Schema, part: Any) -> set[str]:
    """Everything that a part refers to, and what that refers to."""
    found: set[str] = set()
    waiting = [*references(part)]
    while waiting:
        address = waiting.pop()
        if address not in found:
            found.add(address)
            waiting += references(at(document, address))
    return found


def at(document: Schema, address: str) -> Any:
    """What stands at the address of a reference."""
    for step in address.removeprefix("#/").split("/"):
        document = document[step]
    return document


def _open_answers(document: Schema) -> None:
    """Let what is only answered take further fields."""
    calls = [call for path in document["paths"].values() for call in path.values()]
    sent = _below(document, [call.get("requestBody") for call in calls if isinstance(call, dict)])
    for name, schema in document["components"]["schemas"].items():
        if f"{SCHEMAS}{name}" not in sent and schema.get("additionalProperties") is False:
            del schema["additionalProperties"]


def _drop_unused(document: Schema) -> None:
    used = _below(document, document["paths"])
    for kind, parts in document["components"].items():
        for name in [*parts] if kind != "securitySchemes" else ():
            if f"#/components/{kind}/{name}" not in used:
                del parts[name]


ANY_COLLECTION: Final = ref(f"{ANYTHING}Collection")
"""A file of GeoJSON."""
