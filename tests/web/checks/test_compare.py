"""Plans side by side."""

from __future__ import annotations

import pytest

from yardfall.core.quantities.parts import PARTS

PRICES = {"currency": "USD", "pipe_piece": 60, "haul": 30}


@pytest.fixture
def compare(client, conforms):
    def call(**plans: dict) -> dict:
        body = {"plans": [{"name": name, "plan": plan} for name, plan in plans.items()]}
        answer = client.post("/api/v1/compare", json=body)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        conforms("POST /compare", answer)
        return answer.json

    return call


def test_each_is_what_its_own_plan_says(compare, plan, yard_request, changed) -> None:
    plans = {
        "coil": yard_request,
        "smooth": changed("/pipe", {"code": "pvc-sdr35-4"}, changed("/grade", {"min_percent": 1})),
        "short": changed("/outlet/depth", {"max": 4}),
    }
    found = compare(**plans)
    assert [one["name"] for one in found["alternatives"]] == list(plans)
    for one, body in zip(found["alternatives"], plans.values(), strict=True):
        own = plan(body)
        assert one["verdict"] == own["answer"]["verdict"]
        assert one["spare"] == own["answer"]["spare"]
        assert one["chance"] == own["answer"]["chance"]
        assert one["dig_volume"] == own["quantities"]["trench"]["bank"]
        assert one["greatest_depth"] == own["quantities"]["trench"]["greatest_depth"]
        assert one["pieces"] == own["quantities"]["pipe"]["pieces"]
        assert one["pipe"] == own["pipe"]["name"]


def test_the_best_are_named_among_those_that_fit(compare, yard_request, changed) -> None:
    deeper = changed("/start", {"cover": 9})
    short = changed("/outlet/depth", {"max": 4})
    found = compare(usual=yard_request, deeper=deeper, short=short)
    verdicts = {one["name"]: one["verdict"] for one in found["alternatives"]}
    assert (verdicts["usual"], verdicts["short"]) == ("yes", "no")
    assert found["best"]["least_dig"] == "usual"
    assert found["best"]["most_spare"] == "usual"
    assert found["best"]["least_cost"] is None
    assert "usual digs least" in found["sentence"]
    assert compare(a=short, b=short)["best"]["least_dig"] is None


def test_cost_is_compared_only_where_everything_has_a_price(compare, yard_request, changed) -> None:
    one = yard_request | {"prices": PRICES}
    found = compare(one=one, other=changed("/start", {"cover": 8.5}, one))
    unpriced = found["alternatives"][0]["cost_left_out"]
    assert unpriced
    assert found["best"]["least_cost"] is None
    whole = PRICES | {
        **{"sod": 1, "bedding": 20, "hour_by_hand": 25},
        "parts": dict.fromkeys(PARTS, 5),
    }
    one, other = (yard_request | {"prices": whole | {"pipe_piece": p}} for p in (60, 50))
    found = compare(one=one, other=other)
    assert found["alternatives"][0]["cost_left_out"] == []
    assert found["best"]["least_cost"] == "other"
    assert "other costs least" in found["sentence"]
    assert compare(one=one, other=yard_request)["best"]["least_cost"] is None


def test_nothing_is_best_on_a_tie(compare, yard_request, changed) -> None:
    found = compare(one=yard_request, other=changed("/stations", {"every": 6.5}))
    assert found["best"] == {"most_spare": None, "least_dig": None, "least_cost": None}
    assert found["sentence"] == "2 of 2 fit."


def test_branches_are_counted_in(compare, plan, yard_request) -> None:
    side = {k: v for k, v in yard_request.items() if k not in ("units", "outlet")}
    side |= {"name": "side yard", "joins_at": 52, "start": {"cover": 4}}
    tree = yard_request | {"branches": [side]}
    _, two = compare(one=yard_request, two=tree)["alternatives"]
    own = plan(tree)
    lines = [own, own["branches"][0]]
    assert two["length"] == 104
    assert two["dig_volume"] == pytest.approx(
        sum(line["quantities"]["trench"]["bank"] for line in lines), abs=1e-5
    )
    assert two["verdict"] == own["whole"]["verdict"]


def test_faults_point_into_their_plan(refused, yard_request, changed) -> None:
    def fault(second: dict, name: str = "b") -> str:
        plans = [{"name": "a", "plan": yard_request}, {"name": name, "plan": second}]
        (error,) = refused("/compare", json={"plans": plans})["errors"]
        return error["pointer"]

    assert fault(changed("/route/length", 60)) == "/plans/1/plan/ground"
    assert fault(changed("/outlet/depth", {})) == "/plans/1/plan/outlet/depth"
    assert fault(changed("/units", "si")) == "/plans/1/plan/units"
    assert fault(changed("/pipe/code", "clay")) == "/plans/1/plan/pipe/code"
    assert fault(yard_request, "a") == "/plans/1/name"
