"""Plans of thousands of readings: 5,000 once took 7.6 s and 4 GB."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.chance.draws import draw
from yardfall.core.ground.profile import from_elevations
from yardfall.core.uncertainty import accuracy
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors
from yardfall.core.uncertainty.lawns import LAWNS


def test_five_thousand_elevations(client, readings, cost) -> None:
    body = readings(5000)
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200
    assert spent.cpu_s < 3, "0.8 s on an idle machine"
    assert spent.grown_mib < 300


def test_three_hundred_thousand_wrong_readings(client, readings, cost) -> None:
    """Too many are refused before any is read: their faults once cost 6.2 s and 273 MiB."""
    body = readings(9)
    body["ground"]["points"] = [{"at": "x"}] * 300_000
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/ground/points"
    assert spent.cpu_s < 3, "1 s, most of it this test's own writing and the reading of JSON"
    assert spent.grown_mib < 250


BY_LEVEL, BY_SIGMA = {"instrument": "builders_level"}, {"sigma": 0.1}


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (400, BY_LEVEL),
        (2000, BY_SIGMA),
        (3000, BY_LEVEL),  # 5,000 take 8 s: over their 20 where others share the cores
        pytest.param(5000, BY_LEVEL, marks=pytest.mark.long),
        pytest.param(5000, BY_SIGMA, marks=pytest.mark.long),
    ],
)
def test_readings_whose_errors_are_drawn(client, readings, cost, count, said) -> None:
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=readings(count, accuracy=said))
    assert answer.status_code == 200
    assert spent.cpu_s < 16, "minutes for 5,000"
    assert spent.grown_mib < 700


def test_a_line_of_kilometres_has_its_errors_drawn(client, readings) -> None:
    """Level and slope are then so large that their covariance rounds off: once a 500."""
    body = readings(300, accuracy={"sigma": 0.1})
    for point in body["ground"]["points"]:
        point["at"] *= 100
    body["route"]["length"] = body["ground"]["points"][-1]["at"]
    assert client.post("/api/v1/plan", json=body).status_code == 200


def test_readings_left_out_make_no_answer_surer(monkeypatch) -> None:
    at = np.linspace(0, 40, 81)
    ground = from_elevations(at, -0.02 * at)
    known = Accuracy(sigma_m=0.004, lawns=(LAWNS["ordinary"],))
    whole = draw(point_errors(known, ground, ["r"] * 81))
    monkeypatch.setattr(accuracy, "MOST_READ", 20)
    few = draw(point_errors(known, ground, ["r"] * 81))
    assert len(few.errors_m) == 20
    for station in (5.0, 20.0, 33.0):
        spread = [float(np.std(drawn.onto(np.array([station])).change_m)) for drawn in (whole, few)]
        assert spread[1] > 0.95 * spread[0]
