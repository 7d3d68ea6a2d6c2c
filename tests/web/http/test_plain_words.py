"""A refusal's sentences are for a user to read."""

from __future__ import annotations

import re
from pathlib import Path

import marshmallow as ma
import pytest

from yardfall import web
from yardfall.web.http.problems import SAID_PLAINLY

USED = ("Boolean", "Dict", "Field", "Float", "Integer", "List", "Nested", "Raw", "String")
WEB = Path(web.__file__).parent


@pytest.mark.parametrize(
    ("pointer", "value", "detail"),
    [
        ("/route/length", "52", "Route, length: This must be a number."),
        (
            "/grade/max_percent",
            1,
            "The maximum grade cannot be less than the minimum grade, 1.25 %.",
        ),
        (
            "/stations/at",
            [60],
            "Stations, at, entry 1: This station lies beyond the end of the route.",
        ),
        ("/a~b", 1, "A~b: There is no field 'a~b' here; leave it out."),
    ],
)
def test_a_detail_is_for_a_user_to_read(pointer, value, detail, changed, refused) -> None:
    assert refused("/plan", json=changed(pointer, value))["detail"] == detail


def test_several_faults_of_the_sums_name_their_places(changed, refused) -> None:
    told = refused("/plan", json=changed("/stations/at", [60, 70]))["detail"]
    assert told == (
        "Stations, at, entry 1: This station lies beyond the end of the route. "
        "Stations, at, entry 2: This station lies beyond the end of the route."
    )


def test_no_word_of_the_schemas_library_is_shown() -> None:
    """All that its fields in use, and its validators without a text of ours, would say."""
    kinds = [ma.Schema, *(getattr(ma.fields, name) for name in USED)]
    said = {text for kind in kinds for text in messages(kind).values()}
    assert said - set(SAID_PLAINLY) == {
        "Special numeric values (nan or infinity) are not permitted."
    }
    source = "".join(path.read_text("utf-8") for path in WEB.rglob("*.py"))
    assert set(re.findall(r"ma\.fields\.([A-Z]\w+)\(", source)) <= set(USED)
    for call in re.findall(
        r"validate\.(?:Range|Length|Regexp|OneOf)\((?:[^()]|\([^()]*\))*\)", source
    ):
        assert "error=" in call, call


def messages(kind: type) -> dict[str, str]:
    name = "_default_error_messages" if kind is ma.Schema else "default_error_messages"
    return {
        k: text for base in reversed(kind.__mro__) for k, text in getattr(base, name, {}).items()
    }
