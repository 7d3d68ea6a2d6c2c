"""The contract with nothing left open: answers may grow for callers, but not unseen by us."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from yardfall.web.openapi.words.names_of_values import ANY_OTHER

CONTRACT = Path(__file__).resolve().parents[2] / "openapi" / "openapi.json"
OF_CALLERS = ("GeoJson", "Shape", "Polygon", "PointOrPolygon")
"""Objects of RFC 7946, which callers may send with members of their own."""


def committed() -> dict[str, Any]:
    """The committed contract."""
    return json.loads(CONTRACT.read_text("utf-8"))


def closed() -> dict[str, Any]:
    """The committed contract, where an answer has no field and no word that it does not name."""
    document = committed()
    for name, schema in document["components"]["schemas"].items():
        if "properties" in schema and not name.startswith(OF_CALLERS):
            schema.setdefault("additionalProperties", False)
        close_words(schema)
    return document


def close_words(part: Any) -> None:
    """Take the words that an answer's text is one of for all there are."""
    if isinstance(part, list):
        for one in part:
            close_words(one)
    elif isinstance(part, dict):
        several = part.get("anyOf")
        names = isinstance(several, list) and several[0].get("$ref", "").rpartition("/")[2]
        if names and names not in ANY_OTHER:
            part["anyOf"] = [one for one in several if one != {"type": "string"}]
        for one in part.values():
            close_words(one)
