"""Parts of bodies are kept as they were read: nothing of one request shows in another."""

from __future__ import annotations

import math
from typing import Any

import marshmallow as ma
import pytest

from yardfall.web.openapi.fields import KEPT_PARTS, LONGEST_KEPT, _kept_part, load_part
from yardfall.web.schemas.plan_schemas import LimitsBody
from yardfall.web.schemas.survey_schemas import StationsBody


@pytest.fixture
def schema() -> ma.Schema:
    return LimitsBody()


def test_what_was_read_may_be_changed(schema: ma.Schema) -> None:
    stations, body = StationsBody(), {"every": 10, "at": [1, 2]}
    first = load_part(stations, body)
    first["at"].append(3.0)
    first["every"] = 5.0
    body["at"].append(4)
    assert load_part(stations, {"every": 10, "at": [1, 2]}) == {"every": 10.0, "at": [1.0, 2.0]}


@pytest.mark.parametrize("odd", [True, "6", None, math.inf, math.nan, 10**400, 1e9])
def test_what_looks_like_a_kept_one_is_refused_as_ever(schema: ma.Schema, odd: Any) -> None:
    for good in (1, 6, 1.0):
        load_part(schema, {"min_cover": good})
    with pytest.raises(ma.ValidationError) as kept:
        load_part(schema, {"min_cover": odd})
    with pytest.raises(ma.ValidationError) as ever:
        schema.load({"min_cover": odd})
    assert kept.value.messages == ever.value.messages


def test_one_schemas_parts_are_no_others(schema: ma.Schema) -> None:
    load_part(schema, {"min_cover": 6})
    with pytest.raises(ma.ValidationError):
        load_part(StationsBody(), {"min_cover": 6})


def test_what_is_kept_has_a_bound(schema: ma.Schema) -> None:
    before = _kept_part.cache_info().misses
    many = {"every": 10, "at": [float(i) for i in range(LONGEST_KEPT)]}
    load_part(StationsBody(), many | {"at": many["at"][:500]})
    assert _kept_part.cache_info().misses == before + 1
    with pytest.raises(ma.ValidationError):
        load_part(StationsBody(), many | {"other": 1})
    assert _kept_part.cache_info().misses == before + 1, "too long to be kept"
    assert _kept_part.cache_info().maxsize == KEPT_PARTS
