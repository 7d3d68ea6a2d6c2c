"""The contract says in which unit each number is, and how a key is sent."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import marshmallow as ma
import pytest

from yardfall.core.units import FOOT_M, INCH_M, SYSTEMS
from yardfall.web.openapi.units import ABOUT, COUNTS, QUANTITIES
from yardfall.web.openapi.words.descriptions import ANYWHERE, FIELDS
from yardfall.web.openapi.words.words_anywhere import WORDS_ANYWHERE

CONTRACT = json.loads(
    (Path(__file__).resolve().parents[3] / "openapi" / "openapi.json").read_text("utf-8")
)
SCHEMAS = CONTRACT["components"]["schemas"]


def kinds(schema: dict[str, Any]) -> set[str]:
    """The JSON types of a property; of an array, of what stands in it."""
    told = schema.get("type", [])
    told = {told} if isinstance(told, str) else set(told)
    return kinds(schema.get("items", {})) if "array" in told else told


def properties(schema: Any, path: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every property with its name, at any depth of a schema."""
    if isinstance(schema, list):
        for part in schema:
            yield from properties(part, path)
    elif isinstance(schema, dict):
        for name, part in schema.get("properties", {}).items():
            yield path, name, part
            yield from properties(part, f"{path}/{name}")
        for key in schema.keys() - {"properties", "example", "examples"}:
            yield from properties(schema[key], path)


def unsaid(document: dict[str, Any]) -> list[str]:
    """Numbers of a document that nothing is said of."""
    found = properties([document["paths"]], "calls")
    every = [*found]
    for name, schema in document["components"]["schemas"].items():
        every += properties(schema, name)
    return [
        f"{path}/{name}"
        for path, name, part in every
        if kinds(part) & {"number", "integer"}
        and not part.get("description")
        and not ("integer" in kinds(part) and name in COUNTS)
    ]


def test_every_number_says_what_it_is() -> None:
    assert unsaid(CONTRACT) == []


def test_a_number_that_says_nothing_is_caught() -> None:
    bare = {"type": "object", "properties": {"lid": {"type": ["number", "null"]}}}
    rows = {"properties": {"rows": {"type": "array", "items": {"type": "number"}}}}
    document = {"paths": {}, "components": {"schemas": {"A": bare, "B": rows}}}
    assert unsaid(document) == ["A/lid", "B/rows"]


def schemas_below(schema: type[ma.Schema]) -> Iterator[type[ma.Schema]]:
    for below in schema.__subclasses__():
        yield below
        yield from schemas_below(below)


def test_nothing_is_said_of_what_is_not_there() -> None:
    fields: dict[str, set[str]] = {}
    for schema in schemas_below(ma.Schema):
        names = {f.data_key or name for name, f in schema._declared_fields.items()}
        fields.setdefault(schema.__name__, set()).update(names)
    gone = [f"{s}.{f}" for s, said in FIELDS.items() for f in said if f not in fields.get(s, ())]
    assert gone == []
    every = set().union(*fields.values())
    assert [n for q in QUANTITIES for n in q.names if n not in every] == []
    assert [name for name in [*ANYWHERE, *WORDS_ANYWHERE, *COUNTS] if name not in every] == []


SIZES = {"ft": FOOT_M, "in": INCH_M, "m": 1.0, "mm": 0.001, "sq ft": FOOT_M**2, "m²": 1.0}
SIZES |= {"gpm": 231 * INCH_M**3 / 60, "L/s": 0.001, "in/h": INCH_M / 3600, "mm/h": 0.001 / 3600}
SIZES |= {"cu yd": 27 * FOOT_M**3, "m³": 1.0, "ft/s": FOOT_M, "m/s": 1.0}
"""NIST Handbook 44, Appendix C: a gallon is 231 cubic inches, a yard 3 ft."""


def test_the_units_told_are_those_of_the_sums() -> None:
    sizes = ("length_m", "depth_m", "area_m2", "flow_m3s", "rain_m_s", "volume_m3", "velocity_m_s")
    for quantity, size in zip(QUANTITIES, sizes, strict=False):
        for system in ("us", "si"):
            told = getattr(quantity, system)
            assert f"| {told} " in ABOUT
            assert getattr(SYSTEMS[system], size) == pytest.approx(SIZES[told], rel=1e-12)
    assert len(QUANTITIES) == len(sizes) + 1, "grades are in percent always"


@pytest.mark.parametrize(
    ("schema", "name", "words"),
    [
        ("SpoilQuantity", "haul", "loose"),
        ("TrenchQuantity", "bank", "in the ground; cu yd or m³"),
        ("CarriedAnswer", "cautious_capacity", "of the sentence"),
        ("SupplyBody", "by_hand", "Pace"),
        ("HoursQuantity", "by_hand", "hours"),
        ("PricesBody", "haul", "For one cu yd or m³ of loose"),
        ("StationAnswer", "cover", "negative"),
        ("RainBody", "duration", "Minutes"),
        ("RoofBody", "wall_area", "half"),
        ("DugAnswer", "off", "too high"),
        ("FixAnswer", "trench_area", "from the side"),
        ("PumpLegBody", "pump_head", "ft or m"),
        ("ShotBody", "rod", "rod_unit"),
        ("LevelBookBody", "rod_unit", "ft where units are us, m where si"),
        ("OutletAnswer", "dig_depth", "in or mm"),
    ],
)
def test_what_cannot_be_guessed_is_said(schema: str, name: str, words: str) -> None:
    found = SCHEMAS.get(schema) or SCHEMAS["StretchAnswer"]  # a base of others stands in them
    if name not in found["properties"]:
        found = SCHEMAS["RoofBody"]
    assert words in found["properties"][name]["description"]


OPEN = {"/api/v1/health"}


def test_every_call_says_how_it_takes_a_key_and_what_it_answers_without() -> None:
    schemes = CONTRACT["components"]["securitySchemes"]
    assert {(s["type"], s["scheme"]) for s in schemes.values()} == {
        ("http", "bearer"),
        ("http", "basic"),
    }
    assert CONTRACT["security"] == [{}, {"bearer": []}, {"basic": []}]
    for path, calls in CONTRACT["paths"].items():
        for method in calls.keys() - {"parameters"}:
            call = calls[method]
            needed = set() if path in OPEN else {"401", "403", "429"}
            if method in ("post", "put"):
                needed |= {"413"}
            assert needed <= call["responses"].keys(), f"{method} {path}"
            assert (call.get("security") == []) == (path in OPEN)


def test_an_answer_without_a_key_keeps_to_the_contract(app, client, conforms) -> None:
    app.extensions["keys"].make("Ann")
    for call in ("GET /pipes", "POST /plan", "GET /jobs"):
        method, path = call.split()
        answer = client.open(f"/api/v1{path}", method=method, json={} if method == "POST" else None)
        assert answer.status_code == 401
        conforms(call, answer)
