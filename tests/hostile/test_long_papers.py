"""Papers of thousands of stations and points: one PDF page once took 30 s."""

from __future__ import annotations

import pytest


def test_a_pdf_of_two_thousand_stations(client, readings, cost) -> None:
    with cost() as spent:
        answer = client.post(
            "/api/v1/papers/dig-sheet.pdf", json=readings(500, stations={"every": 0.6})
        )
    assert answer.status_code == 200
    assert spent.cpu_s < 9, "2.5 s on an idle machine, twice that before"


def test_a_pdf_of_too_many_stations_is_refused_before_it_is_laid_out(client, readings, cost):
    body = readings(300, stations={"every": 0.4})
    branch = {k: v for k, v in body.items() if k not in ("units", "outlet")}
    body["branches"] = [branch | {"name": f"b{i}", "joins_at": 100 + i} for i in range(12)]
    with cost() as spent:
        answer = client.post("/api/v1/papers/dig-sheet.pdf", json=body)
    assert answer.status_code == 422
    assert "Space them further apart" in answer.json["detail"]
    assert spent.cpu_s < 12


@pytest.mark.parametrize("name", ["dig-sheet.pdf", "map.html"])
@pytest.mark.parametrize("clearance", [2, 40])
def test_outlines_of_many_points(client, readings, ring, cost, name, clearance) -> None:
    body = readings(150)
    body["route"] = {
        "line": {"type": "LineString", "coordinates": [[0, 0], [290, 20]]},
        "crs": "local",
    }
    body["ground"] = {"kind": "slopes", "runs": [{"from": 0, "to": 400, "percent": -2}]}
    shape = {"type": "Polygon", "coordinates": [ring(2900, (200, 100), 60, 0.9)]}
    body["paper"] = {"avoid": shape, "clearance": clearance}
    with cost() as spent:
        answer = client.post(f"/api/v1/papers/{name}", json=body)
    assert answer.status_code == 200, answer.json
    assert spent.cpu_s < 8
    assert spent.grown_mib < 700
    shape["coordinates"] = [ring(4000, (200, 100), 60, 0.1)]
    refused = client.post(f"/api/v1/papers/{name}", json=body)
    assert refused.status_code == 422
    assert "3,000 points" in refused.json["detail"]
