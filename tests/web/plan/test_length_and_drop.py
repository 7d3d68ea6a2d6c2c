"""Ground by its drop alone, the pipe's own drop, and slopes stepped down: through POST /plan.

Row numbers are of questions that people asked in public forums; what was left open is taken here.
"""

from __future__ import annotations

from typing import Any

import pytest

EIGHTH = 100 / 96
"""1/8 in per ft in percent (International Plumbing Code 2021, Table 704.1, for 3 to 6 in pipe)."""


def of_ground(length: float, drop: float, **more: Any) -> dict[str, Any]:
    return {
        "units": "us",
        "route": {"length": length},
        "ground": {"kind": "length_and_drop", "of": "ground", "drop": drop},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 6},
        "limits": {"min_cover": 3},
        "outlet": {"kind": "pop_up", "depth": {"min": 6, "max": 16}},
    } | more


def of_pipe(length: float, drop: float, percent: float, units: str = "us") -> dict[str, Any]:
    return {
        "units": units,
        "route": {"length": length},
        "ground": {"kind": "length_and_drop", "of": "pipe", "drop": drop},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"invert": 100},
        "grade": {"min_percent": percent},
        "outlet": {"kind": "tie_in"},
    }


def test_a_pipe_to_the_street(plan) -> None:
    """86 ft, 12 in of drop at the pipe, 1/8 in per ft: it falls, and needs 10 3/4 in (asked in a
    home repair forum, thread 4250; arithmetic)."""
    answer = plan(of_pipe(86, 12, EIGHTH))
    assert answer["answer"]["verdict"] == "yes"
    assert answer["answer"]["fall_available"] == pytest.approx(12)
    assert answer["answer"]["fall_needed"] == pytest.approx(10.75)
    (run,) = answer["grade_runs"]
    assert run["fall"] == pytest.approx(12), "from the one invert to the other"
    assert answer["stations"][-1]["invert"] == pytest.approx(99)


def test_a_drop_that_is_short(plan) -> None:
    """163 ft, 16.5 in by laser, 1/8 in per ft: 163/8 = 20.4 in, so 3.9 in short (asked in a
    plumbing forum, thread 5081, whose own "8 in short" is wrong; arithmetic)."""
    answer = plan(of_pipe(163, 16.5, EIGHTH))["answer"]
    assert answer["verdict"] == "no"
    assert answer["spare"] == pytest.approx(16.5 - 163 / 8)
    assert answer["sentence"].startswith("No: the pipe would come out 3.9 in too deep at 1+63.")


def test_one_in_eighty(plan) -> None:
    """24 m with 0.30 m of fall is 1:80 (asked on a general question board): 1.25 % fits exactly."""
    answer = plan(of_pipe(24, 300, 1.25, "si"))
    assert answer["answer"]["verdict"] == "yes"
    assert answer["answer"]["spare"] == pytest.approx(0, abs=1e-5)
    blocks = {one["tool"]: one["mark"] for one in answer["grade_runs"][0]["level_blocks"]}
    assert blocks == {"600 mm": "7.5 mm", "1200 mm": "15 mm"}


def numbers_from_the_ground(answer: dict[str, Any]) -> list[Any]:
    stations = answer["stations"]
    found = [s[name] for s in stations for name in ("ground", "dig_depth", "cover")]
    found += [s["marks"]["dig_depth"] for s in stations]
    found += [answer[end][name] for end in ("start", "outlet") for name in ("dig_depth", "cover")]
    found += [fix["trench_area"] for fix in answer["answer"]["fixes"]]
    return [*found, answer["trench"]["volume"], answer["quantities"], answer["answer"]["fix_pair"]]


@pytest.mark.parametrize("drop", [12, 8])
def test_no_depth_is_told_where_the_ground_is_not_known(drop: float, plan) -> None:
    body = of_pipe(86, drop, EIGHTH) | {"limits": {"min_cover": 500, "max_depth": 1}}
    answer = plan(body)
    assert answer["ground_known"] is False
    assert set(map(str, numbers_from_the_ground(answer))) == {"None"}
    assert answer["profile"]["ground"] == []
    assert answer["answer"]["chance"] is None
    assert [one["code"] for one in answer["warnings"]] == ["ground_not_known"]
    assert "not held" in answer["warnings"][0]["text"]
    pointers = {one["pointer"] for one in answer["assumptions"]}
    assert not any(p.startswith(("/limits", "/outlet")) for p in pointers)
    assert {one["rise"] for one in answer["to_measure"]} == {None}
    assert all("depth and cover" in one["text"] for one in answer["to_measure"])


def test_a_flatter_pipe_mends_a_drop_that_is_short(plan) -> None:
    """11 in in 86 ft is 1.07 %, too little for 1.25 %; no fix that needs the ground is told."""
    body = of_pipe(86, 11, 1.25) | {"pipe": {"code": "corrugated-single-4"}}
    fixes = plan(body)["answer"]["fixes"]
    assert fixes
    assert {fix["change"] for fix in fixes} == {"pipe", "min_grade"}  # start and end are told


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"start": {"cover": 6}}, "/start/cover"),
        ({"start": {"invert": 1, "shallowest_cover": 6}}, "/start/shallowest_cover"),
        ({"outlet": {"kind": "pop_up"}}, "/outlet/kind"),
        ({"outlet": {"kind": "tie_in", "depth": {"max": 9}}}, "/outlet/depth"),
        ({"outlet": {"kind": "tie_in", "invert": {"min": 9}}}, "/outlet/invert"),
        ({"grade": {"shape": "least_dig"}}, "/grade/shape"),
        ({"accuracy": {"sigma": 0.1}}, "/accuracy"),
        ({"branches": [{}]}, "/branches/0/name"),
        (
            {
                "ground": {
                    "kind": "length_and_drop",
                    "of": "pipe",
                    "drop": 1,
                    "hump": {"at": 3, "height": 1},
                }
            },
            "/ground/hump",
        ),
    ],
)
def test_what_needs_the_ground_is_refused(change: dict, pointer: str, refused) -> None:
    told = refused("/plan", json=of_pipe(86, 12, 1) | change)
    assert pointer in [error["pointer"] for error in told["errors"]]


def test_other_calls_refuse_a_pipe_alone(refused) -> None:
    body = of_pipe(86, 12, 1)
    ground_only = {k: body[k] for k in ("units", "route", "ground")}
    assert refused("/profile", json=ground_only)["errors"][0]["pointer"] == "/ground/of"
    check = {"plan": body, "as_dug": [{"at": 0, "depth": 10}]}
    assert refused("/grade-check", json=check)["errors"][0]["pointer"] == "/plan/ground/of"
    named = [{"name": "a", "plan": body}, {"name": "b", "plan": body}]
    told = refused("/compare", json={"plans": named})
    assert told["errors"][0]["pointer"] == "/plans/0/plan/ground/of"


@pytest.mark.parametrize("paper", ["dig-sheet.pdf", "stations.csv", "profile.svg"])
def test_no_paper_of_a_pipe_alone(paper: str, client) -> None:
    answer = client.post(f"/api/v1/papers/{paper}", json=of_pipe(86, 12, 1))
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/ground/of"


def test_a_sump_line_on_even_ground(plan) -> None:
    """Sump line, 100 ft with 14 in of fall: falls continuously (asked in a home improvement forum);
    cover down to 3 in and a pop-up of 16 in are taken."""
    answer = plan(of_ground(100, 14))
    assert answer["answer"]["verdict"] == "yes"
    assert answer["answer"]["chance"] is None
    grounds = [s["ground"] for s in answer["stations"]]
    assert grounds[0] - grounds[-1] == pytest.approx(14 / 12)
    assert [one["code"] for one in answer["warnings"]] == ["even_slope_taken"]


def test_a_long_corrugated_line(plan) -> None:
    """150 ft with 2 ft of difference: built, and works (a garden page); even ground, cover 6 in
    thinning to 3 in, corrugated and a pop-up are taken."""
    answer = plan(of_ground(150, 24, pipe={"code": "corrugated-single-4"}))
    assert answer["answer"]["verdict"] == "yes"


@pytest.mark.parametrize("steep", [12, 14, 20])
def test_what_is_told_to_measure_spoils_it_when_it_is_there(steep: float, plan) -> None:
    """Each rise and dip put in as the hump of a request of its own: it fits as told; half an inch
    beyond, it does not. A hump is straight to both ends, so only the middle's own place is alike:
    one place on a run of 20 ft."""
    limits = {"min_cover": 4, "max_depth": 14, "outlet_taper": 10}  # all stated: none gives way
    body = of_ground(20, steep * 20 / 100, limits=limits, grade={"shape": "straight"})
    (place,) = plan(body)["to_measure"]
    assert place["at"] == 10
    assert place["first"]
    for sign, height in ((1, place["rise"]), (-1, place["dip"])):
        for extra, verdict in ((0, "yes"), (0.25, "no")):
            hump = {"at": 10, "height": sign * (height + extra)}
            it = body | {"ground": body["ground"] | {"hump": hump}}
            assert plan(it)["answer"]["verdict"] == verdict, (sign, height, extra)


def test_the_places_in_words(plan) -> None:
    body = of_ground(80, 26, limits={"min_cover": 4, "max_depth": 24})
    places = plan(body)["to_measure"]
    assert [one["label"] for one in places] == [f"0+{k}0" for k in range(1, 8)]
    (first,) = [one for one in places if one["first"]]
    assert min(first["rise"], first["dip"]) == min(min(p["rise"], p["dip"]) for p in places)
    assert all(one["text"].endswith("would spoil it.") for one in places)
    assert plan(body | {"explain": False})["to_measure"] == []


def test_under_a_no_places_are_listed_alone(plan) -> None:
    answer = plan(of_ground(80, -30))
    assert answer["answer"]["verdict"] == "no"
    assert len(answer["to_measure"]) == 7
    assert not any(one["first"] or one["rise"] or one["dip"] for one in answer["to_measure"])


def test_a_stated_accuracy_counts_at_both_ends(plan) -> None:
    """Two ends of 1 in each: a fall is good to 1.4 in (root of two times one)."""
    answer = plan(of_ground(100, 14, accuracy={"sigma": 1}))
    assert answer["answer"]["chance"] is not None
    assert "1.4 in (standard error)" in answer["answer"]["chance_sentence"]


@pytest.mark.parametrize("at", [0, 80, 90])
def test_a_hump_lies_between_the_ends(at: float, refused) -> None:
    body = of_ground(80, 26)
    body["ground"]["hump"] = {"at": at, "height": 2}
    assert refused("/plan", json=body)["errors"][0]["pointer"] == "/ground/hump/at"


def test_whose_drop_it_is_must_be_said(refused) -> None:
    body = of_ground(80, 26)
    del body["ground"]["of"]
    assert refused("/plan", json=body)["errors"][0]["pointer"] == "/ground/of"


def stepped(*drops: float, length: float = 8, **more: Any) -> dict[str, Any]:
    steps = [{"length": length, "drop": drop} for drop in drops]
    ground = {"kind": "steps", "steps": steps}
    return of_ground(length * len(drops), 0) | {"ground": ground} | more


def test_steps_are_summed(plan) -> None:
    """8 ft steps of 2, 1 1/2, -1/2 and 3 in: 2, 3 1/2, 3, 6 in below the start (by hand)."""
    answer = plan(stepped(2, 1.5, -0.5, 3))
    below = [-12 * s["ground"] for s in answer["stations"]]
    assert [s["at"] for s in answer["stations"]] == [0, 8, 16, 24, 32]
    assert below == pytest.approx([0, 2, 3.5, 3, 6], abs=1e-5)


def test_a_level_turned_at_every_step_is_surer(plan) -> None:
    """12 steps of 8 ft: 3 mm each add up to 10.4 mm, 0.4 in; a tilt of 0.5 mm/m is 14.6 mm more in
    29 m, 0.7 in together (root of the sum of squares)."""
    turned = stepped(*[1.5] * 12)
    turned["ground"]["reversed"] = True
    sentence = plan(turned)["answer"]["chance_sentence"]
    assert "good to about 0.4 in" in sentence
    kept = plan(stepped(*[1.5] * 12))["answer"]["chance_sentence"]
    assert "good to about 0.7 in" in kept
    assert "board and spirit level" in kept


def test_steps_must_reach_the_end(refused) -> None:
    body = stepped(2, 2) | {"route": {"length": 20}}
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"].startswith("/ground")
    assert "0+16" in error["detail"]


def test_a_slip_in_one_step_is_pointed_at(plan) -> None:
    """15 in typed where the others are 1 1/2: its own pointer, and the step that it ends at."""
    answer = plan(stepped(1.5, 1.5, 15, 1.5, 1.5, 1.5))
    found = [one for one in answer["warnings"] if one["code"].startswith("reading_jumps")]
    assert [one["pointer"] for one in found] == ["/ground/steps/2/drop"]


@pytest.mark.parametrize(
    ("field", "value", "pointer"),
    [
        ("length", 0, "/ground/steps/1/length"),
        ("drop", "2", "/ground/steps/1/drop"),
        ("fall", 2, "/ground/steps/1/fall"),
    ],
)
def test_a_fault_in_a_step_points_at_it(field: str, value: Any, pointer: str, refused) -> None:
    body = stepped(2, 2, 2)
    body["ground"]["steps"][1][field] = value
    assert refused("/plan", json=body)["errors"][0]["pointer"] == pointer


def test_a_branch_on_steps_or_on_its_drop(plan, refused) -> None:
    body = stepped(3, 3, 3)
    branch = {
        "name": "A",
        "joins_at": 16,
        "route": {"length": 16},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 4},
    }
    for ground in (
        {"kind": "steps", "steps": [{"length": 8, "drop": 3}, {"length": 8, "drop": 3}]},
        {"kind": "length_and_drop", "of": "ground", "drop": 6},
    ):
        answer = plan(body | {"branches": [branch | {"ground": ground}]})
        assert answer["whole"]["verdict"] == "yes"
        (own,) = answer["branches"]
        assert bool(own["to_measure"]) == (ground["kind"] == "length_and_drop")
    pipes = {"kind": "length_and_drop", "of": "pipe", "drop": 6}
    told = refused("/plan", json=body | {"branches": [branch | {"ground": pipes}]})
    assert told["errors"][0]["pointer"] == "/branches/0/ground/of"


def test_the_trench_is_told_its_blocks(client, conforms, yard_request) -> None:
    """1.28 % of 48 in is 0.615 in, to a sixteenth 5/8; a quarter of 1.28 % of 96 in is 0.31."""
    body = {"plan": yard_request, "as_dug": []}
    answer = client.post("/api/v1/grade-check", json=body)
    assert answer.status_code == 200, answer.json
    conforms("POST /grade-check", answer)
    (run,) = answer.json["grade_runs"]
    assert [one["mark"] for one in run["level_blocks"]] == ["5/16 in", "5/8 in"]
    assert run["board"]["mark"] == "1/4 in"
    assert run["board"]["gap"] == pytest.approx(8 / 52 * 8 / 4)
