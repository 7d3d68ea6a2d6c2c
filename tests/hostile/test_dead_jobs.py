"""Whole numbers beyond 64 bits: refused, and what older versions kept of them opens again."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

HUGE = 2**64


@pytest.mark.parametrize("huge", [HUGE, -HUGE, 10**400])
@pytest.mark.parametrize("where", ["form", "request"])
def test_they_are_refused_with_a_sentence(client, yard_request, huge, where) -> None:
    body = {"name": "x", "request": yard_request, "form": {}, "draft": True}
    body[where] = {**body[where], "n": {"deep": [huge]}}
    answer = client.post("/api/v1/jobs", json=body)
    assert answer.status_code == 422
    assert "64 bits" in answer.json["detail"]
    assert client.get("/api/v1/jobs").json["page"]["total"] == 0


@pytest.mark.parametrize("whole", [2**63 - 1, -(2**63)])
def test_64_bits_are_kept(client, yard_request, whole) -> None:
    body = {"name": "x", "request": yard_request, "form": {"n": whole}}
    made = client.post("/api/v1/jobs", json=body)
    assert made.status_code == 201
    assert client.get(f"/api/v1/jobs/{made.json['id']}").json["form"] == {"n": whole}


def test_a_job_that_holds_one_already_opens(app, client, yard_request) -> None:
    body = {"name": "x", "request": yard_request, "form": {"n": 1}}
    made = client.post("/api/v1/jobs", json=body).json
    with app.extensions["engine"].begin() as connection:
        connection.execute(text("UPDATE revisions SET form = :f"), {"f": json.dumps({"n": HUGE})})
    opened = client.get(f"/api/v1/jobs/{made['id']}")
    assert opened.status_code == 200
    assert opened.json["form"] == {"n": HUGE}
    assert client.get(f"/api/v1/jobs/{made['id']}/revisions/1").status_code == 200
