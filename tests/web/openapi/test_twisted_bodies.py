"""Sound requests with values put where others stood: computed, or refused with a place to look.

Level books, lines and rings of GeoJSON, and where a site plan lies: what is read by code of ours
rather than by a schema alone.
"""

from __future__ import annotations

import copy
import io
import json
from pathlib import Path

import paper
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from yardfall.app import Settings, create_app

EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
PLACEMENT = {
    "units": "us",
    "scale": {"points": [[10, 10], [500, 300]], "distance": 60},
    "origin": [0, 0],
    "turn": 15,
    "north": 350,
}
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.sampled_from(
        [0, -1, 1e-300, 1e300, -1e9, 2**70, 90, 180.0000001, "", "BS", "TP1", "EPSG:0"]
    ),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=5),
    st.just([]),
    st.just({}),
    st.lists(st.floats(-200, 200), min_size=2, max_size=3),
)
SOME = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def example(name: str) -> dict:
    return json.loads((EXAMPLES / name).read_text("utf-8"))


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return create_app(Settings(tmp_path_factory.mktemp("twisted")))


@pytest.fixture(scope="module")
def sheet(app) -> str:
    """The id of a site plan."""
    sent = {"file": (io.BytesIO(paper.picture()), "lot.png")}
    return app.test_client().post("/api/v1/site-plans", data=sent).json["id"]


def places(part, path=()):
    """Every place in a JSON value."""
    yield path
    if isinstance(part, dict | list):
        for key, value in part.items() if isinstance(part, dict) else enumerate(part):
            yield from places(value, (*path, key))


def twisted(draw, body: dict, below: tuple[str, ...]) -> dict:
    """The body with 1 to 3 values changed, taken out or said twice, in the part `below`."""
    body = copy.deepcopy(body)
    for _ in range(draw(st.integers(1, 3))):
        at = [path for path in places(body) if path and path[: len(below)] == below]
        *path, last = draw(st.sampled_from(at or [below]))
        part = body
        for step in path:
            part = part[step]
        if isinstance(part, list):
            how = draw(st.sampled_from(["change", "take out", "again"]))
            if how == "again":
                part.insert(last, copy.deepcopy(part[last]))
                continue
            if how == "take out":
                del part[last]
                continue
        part[last] = draw(ODD)
    return body


@pytest.mark.parametrize(
    ("call", "name", "below"),
    [
        ("plan", "rod.json", ("ground", "shots")),
        ("plan", "spots.json", ("route",)),
        ("plan", "spots.json", ("ground",)),
        ("reach", "reach/spots.json", ()),
    ],
)
def test_a_request_twisted(app, call: str, name: str, below: tuple[str, ...]) -> None:
    client, body = app.test_client(), example(name)
    answered = set()

    @SOME
    @given(st.data())
    def hold(data) -> None:
        answer = client.post(f"/api/v1/{call}", json=twisted(data.draw, body, below))
        answered.add(answer.status_code)
        assert answer.status_code in (200, 413, 422), answer.get_data(as_text=True)
        if answer.status_code == 422:
            assert answer.json["errors"], answer.json
            assert all(error["detail"] for error in answer.json["errors"])

    hold()
    assert 422 in answered


def test_a_placement_twisted(app, sheet: str) -> None:
    client, path = app.test_client(), f"/api/v1/site-plans/{sheet}/placement"
    assert client.put(path, json=PLACEMENT).status_code == 200

    @SOME
    @given(st.data())
    def hold(data) -> None:
        answer = client.put(path, json=twisted(data.draw, PLACEMENT, ()))
        assert answer.status_code in (200, 422), answer.get_data(as_text=True)
        kept = client.get(f"/api/v1/site-plans/{sheet}")
        assert kept.status_code == 200
        if answer.status_code == 200:
            assert kept.json == answer.json, "what was answered is what is kept"

    hold()
