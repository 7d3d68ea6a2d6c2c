"""A refusal never grows with the body: 3.5 MB of unknown names once made an answer of 42 MB."""

from __future__ import annotations

import pytest

MOST_BYTES = 40_000


def names(count: int) -> dict:
    return {f"n{i:07}": 0 for i in range(count)}


def test_many_unknown_names(client, yard_request, cost) -> None:
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=yard_request | names(250_000))
    assert answer.status_code == 422
    assert len(answer.data) < MOST_BYTES
    assert len(answer.json["errors"]) == 21
    assert answer.json["errors"][-1]["detail"].startswith("249,980 more errors")
    assert spent.cpu_s < 8
    assert spent.grown_mib < 600


def test_one_name_of_three_megabytes(client, yard_request) -> None:
    answer = client.post("/api/v1/plan", json=yard_request | {"x" * 3_000_000: 0})
    assert answer.status_code == 422
    assert len(answer.data) < MOST_BYTES
    assert answer.json["errors"][0]["pointer"] == ""


def test_a_text_of_three_megabytes_is_not_sent_back(client, yard) -> None:
    answer = client.post("/api/v1/reach", json=yard(crs="x" * 3_000_000))
    assert answer.status_code == 422
    assert len(answer.data) < MOST_BYTES


def test_twenty_and_twenty_one_errors(client, yard_request) -> None:
    for count, told in ((20, 20), (21, 21), (22, 21)):
        errors = client.post("/api/v1/plan", json=yard_request | names(count)).json["errors"]
        assert len(errors) == told
    assert errors[-1]["detail"].startswith("2 more errors")


@pytest.mark.parametrize("draft", [False, True])
def test_a_job_keeps_no_more_of_them(client, yard_request, draft) -> None:
    body = {"name": "x", "request": yard_request | names(50_000), "draft": draft}
    answer = client.post("/api/v1/jobs", json=body)
    assert answer.status_code == (201 if draft else 422)
    if draft:
        assert len(answer.json["problems"]) == 21
