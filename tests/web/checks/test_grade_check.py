"""The trench held against its plan, over the wire."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from level import level

MARKS_IN = {0: 21.6, 13: 23.6, 26: 25.6, 39: 27.6, 52: 29.6}
"""From the string to the bottom of the yard's example: 2 in more every 13 ft."""


@pytest.fixture
def check(client, conforms, yard_request):
    """Check readings against the yard's plan; the answer must be 200 and keep to the contract."""

    def call(as_dug: list[dict], plan: dict | None = None, **more: Any) -> dict[str, Any]:
        body = {"plan": plan or yard_request, "as_dug": as_dug, **more}
        answer = client.post("/api/v1/grade-check", json=body)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        conforms("POST /grade-check", answer)
        return answer.json

    return call


def strung(**off_in: float) -> list[dict]:
    """Readings from the string, `at_26=0.6` that much high."""
    off = {int(name[3:]): value for name, value in off_in.items()}
    return [{"at": at, "line_to_bottom": down - off.get(at, 0.0)} for at, down in MARKS_IN.items()]


def test_a_trench_dug_by_its_plan_passes(check, plan, yard_request) -> None:
    planned = plan(yard_request)["stations"]
    for by in ("line_to_bottom", "dig_depth"):
        name = "depth" if by == "dig_depth" else by
        found = check([{"at": s["at"], name: s[by]} for s in planned])
        assert found["verdict"] == "pass"
        assert found["sentence"] == (
            "Pass: 5 readings lie within 1/4 in of the plan, and everything falls from 0+00 to "
            "0+52."
        )
        assert [s["off"] for s in found["stations"]] == pytest.approx([0] * 5, abs=1e-5)
        assert [s["cover"] for s in found["stations"]] == pytest.approx(
            [s["cover"] for s in planned], abs=1e-5
        )
        assert found["next"] is None
        assert all(found["checks"].values())


def test_the_plans_own_tape_marks_pass(check, plan, yard_request) -> None:
    """Marks of 21 1/2, 23 1/2 … are an eighth off at most."""
    marks = {"21 1/2": 21.5, "23 1/2": 23.5, "25 1/2": 25.5, "27 1/2": 27.5, "29 1/2": 29.5}
    planned = plan(yard_request)["stations"]
    dug = [{"at": s["at"], "line_to_bottom": marks[s["marks"]["line_to_bottom"]]} for s in planned]
    assert check(dug)["verdict"] == "pass"


def test_high_says_how_much_to_shave_in_plain_words(check) -> None:
    found = check(strung(at_26=0.6))
    # 25.55 in is the least that leaves 1.95 in above it; the sheet's 25 1/2 would leave 1.9
    assert (found["verdict"], found["sentence"]) == ("fail", "Not yet: shave 5/8 in at 0+26.")
    station = found["stations"][2]
    assert station["sentence"] == "0+26 is 0.6 in high: shave 5/8 in."
    assert (station["state"], station["do"], station["mark"]) == ("high", "shave", "5/8 in")
    assert station["change"] == pytest.approx(-0.55)
    assert station["to_the_line"] == pytest.approx(-0.6)
    assert (station["reads"], station["should_read"]) == (25.0, pytest.approx(25.6))
    assert found["checks"]["within_tolerance"] is False
    # 1.95 in are needed every 13 ft, less 0.25: 1.4 in before 0+26 must grow by 0.3
    (change,) = found["as_it_lies"]["changes"]
    assert (change["label"], change["change"]) == ("0+26", pytest.approx(-0.3))
    assert found["as_it_lies"]["keeps_limits"] is False
    assert check(strung(at_52=-0.6))["as_it_lies"]["keeps_limits"] is True


def test_low_says_fill_and_how_the_water_stands(check) -> None:
    found = check([one | {"again": True} for one in strung(at_26=-3)])
    assert found["stations"][2]["do"] == "fill"
    (pond,) = found["standing_water"]
    assert pond["depth"] == pytest.approx(1.0)
    assert pond["length"] == pytest.approx(13 + 13 / 5, abs=1e-4)
    assert "1 in deep at 0+26" in pond["sentence"]
    assert [run["falls_back"] for run in found["runs"]] == [False, False, True, False]
    assert found["checks"]["nothing_falls_back"] is False


def test_a_pipe_is_lowered_not_shaved(check) -> None:
    found = check([{"at": 26, "line_to_bottom": 20.4, "on": "pipe_top"}])
    assert found["stations"][0]["sentence"] == "0+26 is 0.6 in high: lower the pipe 5/8 in."
    assert "the top of the pipe" in found["next"]["sentence"]


def test_before_the_first_reading_it_says_where_to_begin(check) -> None:
    found = check([])
    assert found["sentence"] == "No readings yet; next read 0+52."
    assert found["next"] == found["to_read"][0]
    assert found["next"]["line_to_bottom"] == pytest.approx(29.6)
    assert found["next"]["sentence"] == "0+52: 29 1/2 in from the string to the trench bottom."


def test_what_it_should_read_is_what_the_dig_sheet_says(check, plan, yard_request) -> None:
    marks = {s["at"]: s["marks"] for s in plan(yard_request)["stations"]}
    for one in check([])["to_read"]:
        own = marks[one["at"]]
        assert one["marks"]["depth"] == f"{own['dig_depth']} in"
        assert one["marks"]["line_to_bottom"] == f"{own['line_to_bottom']} in"


def test_reading_by_reading_to_the_end(check) -> None:
    """As an app calls it: what is next should be read, is read, and the end is a pass."""
    dug: list[dict] = []
    for left in range(5, 0, -1):
        found = check(dug)
        assert found["verdict"] == "more_readings"
        assert len(found["to_read"]) == left
        dug.append({"at": found["next"]["at"], "line_to_bottom": found["next"]["line_to_bottom"]})
    assert check(dug)["verdict"] == "pass"


def test_the_same_call_gets_the_same_answer_in_any_order(client, yard_request) -> None:
    body = {"plan": yard_request, "as_dug": strung(at_13=0.5, at_39=-2)}
    one, two = (client.post("/api/v1/grade-check", json=body).json for _ in range(2))
    assert one == two
    turned = client.post("/api/v1/grade-check", json=body | {"as_dug": body["as_dug"][::-1]}).json
    for found in (one, turned):
        for station in found["stations"]:
            del station["reading"]
    assert turned == one


def test_a_default_tolerance_is_told_and_a_stated_one_is_not(check) -> None:
    (told,) = check([])["assumptions"]
    assert (told["pointer"], told["value"], told["unit"]) == ("/tolerance", 0.25, "in")
    assert "common practice, no source" in told["source"]
    found = check(strung(at_52=-0.6), tolerance=0.75)
    assert (found["assumptions"], found["verdict"]) == ([], "pass")
    assert check(strung(), tolerance=0)["verdict"] == "pass"


def test_a_rod_is_read_from_the_plans_set_up_or_a_new_one(check, examples, plan) -> None:
    body = examples["rod"]
    planned = plan(body)["stations"]
    for lift in (0, 1.5):
        heights = {} if not lift else {"height": 98.5}
        dug = []
        for s in planned:
            bottom = s["ground"] - s["dig_depth"] / 12
            rod = 98.5 - bottom if lift else s["rod_at_bottom"]
            dug.append({"at": s["at"], "rod": rod, **heights})
        found = check(dug[1:], body)
        assert [s["off"] for s in found["stations"]] == pytest.approx([0] * 4, abs=1e-4)
        first = planned[0]["ground"] - planned[0]["dig_depth"] / 12
        if lift:
            assert found["next"]["rod"] == pytest.approx(98.5 - first, abs=1e-4)
        else:
            assert found["next"]["rod"] == pytest.approx(planned[0]["rod_at_bottom"], abs=1e-4)
        assert "the rod on the trench bottom should read" in found["next"]["sentence"]


def test_a_branch_is_checked_by_its_name(check, yard_request, plan, refused) -> None:
    branch = copy.deepcopy(yard_request) | {"name": "side yard", "joins_at": 52}
    for key in ("units", "outlet"):
        del branch[key]
    branch["start"] = {"cover": 4}
    branch["limits"] = {"min_cover": 0}
    body = copy.deepcopy(yard_request) | {"branches": [branch]}
    planned = plan(body)["branches"][0]["stations"]
    dug = [{"at": s["at"], "depth": s["dig_depth"]} for s in planned]
    assert [s["off"] for s in check(dug, body, branch="side yard")["stations"]] == pytest.approx(
        [0] * len(dug), abs=1e-4
    )
    (error,) = refused("/grade-check", json={"plan": body, "as_dug": dug, "branch": "west"})[
        "errors"
    ]
    assert error["pointer"] == "/branch"


def test_a_slip_of_the_tape_and_a_rough_ground_are_named(check, examples, changed) -> None:
    codes = [w["code"] for w in check(strung(at_26=-24))["warnings"]]
    assert codes == ["far_off_the_plan"]
    found = check([{"at": 20, "depth": 14}])
    assert [w["code"] for w in found["warnings"]] == ["depth_from_unread_ground"]
    found = check([], changed("/outlet/depth", {"max": 4}))
    assert [w["code"] for w in found["warnings"]] == ["plan_does_not_fit"]
    assert found["plan_fits"] is False
    assert found["sentence"].startswith("This plan does not fit its ground")


@pytest.mark.parametrize(
    ("reading", "pointer"),
    [
        ({"at": 53, "depth": 9}, "/as_dug/0/at"),
        ({"at": 13, "rod": 4}, "/as_dug/0/rod"),
        ({"at": 13, "line_to_bottom": 4, "line": "b"}, "/as_dug/0/line"),
        ({"at": 13, "depth": "9"}, "/as_dug/0/depth"),
        ({"at": 13, "depth": 9, "rod": 4}, "/as_dug/0"),
        ({"at": 13, "depth": 9, "on": "lid"}, "/as_dug/0/on"),
        ({"at": 13, "depth": 9, "height": 2}, "/as_dug/0/height"),
        ({"at": 13, "depth": -20}, "/as_dug/0/depth"),
    ],
)
def test_what_cannot_be_checked_is_refused_at_its_place(
    reading, pointer, refused, yard_request
) -> None:
    found = refused("/grade-check", json={"plan": yard_request, "as_dug": [reading]})["errors"]
    assert [error["pointer"] for error in found] == [pointer]


def test_faults_of_the_plan_point_into_it(refused, changed) -> None:
    for pointer, value, fault in (
        ("/route/length", 60, "/plan/ground"),
        ("/outlet/depth", {}, "/plan/outlet/depth"),
        ("/stations/at", [99], "/plan/stations/at/0"),
    ):
        found = refused("/grade-check", json={"plan": changed(pointer, value), "as_dug": []})
        assert [error["pointer"] for error in found["errors"]] == [fault]


def test_si_says_the_same_in_millimetres(check) -> None:
    plan = {
        "units": "si",
        "route": {"length": 10},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": 0, "down": 200}, {"at": 10, "down": 300}],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"depth": 400},
        "outlet": {"kind": "dry_well"},
        "grade": {"min_percent": 1},
    }
    found = check([{"at": 0, "line_to_bottom": 585}, {"at": 10, "line_to_bottom": 700}], plan)
    assert found["stations"][0]["sentence"] == "0+000 is 15 mm high: shave 15 mm."
    assert found["sentence"] == "Not yet: shave 15 mm at 0+000."


def test_the_pipe_can_be_asked_for_before_it_is_read(check) -> None:
    """The top lies the pipe's outside diameter, 4.6 in, over the trench bottom of the table."""
    found = check([], next_on="pipe_top")
    assert found["next"]["on"] == "pipe_top"
    assert found["next"]["line_to_bottom"] == pytest.approx(MARKS_IN[52] - 4.6)


def test_after_the_trench_the_pipe_is_asked_for_station_by_station(check) -> None:
    """The top lies 4.6 in over the trench bottom of the table; the trench's pass is not its own."""
    found = check(strung())
    assert (found["verdict"], found["next"]) == ("pass", None)
    dug = strung()
    for at in (52, 39, 26, 13, 0):
        found = check(dug, next_on="pipe_top")
        assert (found["verdict"], found["checks"]["all_read"]) == ("more_readings", False)
        assert (found["next"]["at"], found["next"]["on"]) == (at, "pipe_top")
        assert found["next"]["line_to_bottom"] == pytest.approx(MARKS_IN[at] - 4.6)
        dug.append({"at": at, "on": "pipe_top", "line_to_bottom": MARKS_IN[at] - 4.6})
    for more in ({}, {"next_on": "pipe_top"}, {"next_on": "invert"}, {"next_on": "trench_bottom"}):
        assert (check(dug, **more)["verdict"], check(dug, **more)["to_read"]) == ("pass", [])


def test_a_pipe_that_was_begun_is_not_passed_half_read(check) -> None:
    pipe = {"at": 52, "on": "pipe_top", "line_to_bottom": MARKS_IN[52] - 4.6}
    for dug in ([*strung(), pipe], [pipe, *strung()]):
        found = check(dug)
        assert found["verdict"] == "more_readings"
        assert [one["at"] for one in found["to_read"]] == [39, 26, 13, 0]
        assert found["sentence"] == (
            "Good so far: 5 readings lie within 1/4 in of the plan; 4 stations are still to be "
            "read on the pipe; next read 0+39."
        )
        assert check(dug, next_on="trench_bottom")["verdict"] == "pass"


def test_a_plan_that_does_not_fit_may_lie_above_the_ground(check, plan, changed) -> None:
    """Started at the string, 9 in above the ground, its line is drawn as asked."""
    body = changed("/start", {"invert": 0})
    first = plan(body)["stations"][0]
    assert first["dig_depth"] < -8
    found = check([{"at": 0, "depth": first["dig_depth"]}], body)
    assert found["plan_fits"] is False
    assert found["stations"][0]["off"] == pytest.approx(0, abs=1e-5)


def test_a_level_trench_is_not_said_to_fall(check) -> None:
    """A dry well 10 ft off on level ground with least grade 0: read level, it falls nowhere."""
    found = check([{"at": at, "depth": 20} for at in (0, 10, 20)], level())
    assert found["sentence"] == (
        "Pass: 3 readings lie within 1/4 in of the plan, and nothing falls back from 0+00 to "
        "0+20; but it lies level from 0+00 to 0+20, and water stands there."
    )
    part = check([{"at": 0, "depth": 20}, *({"at": at, "depth": 20.1} for at in (10, 20))], level())
    assert "; but it lies level from 0+10 to 0+20," in part["sentence"]


def test_one_number_brings_the_figure_of_the_sheet(check, plan, yard_request) -> None:
    """The others are dug to the sheet, 0+26 reads 1/2 in less than its 25 1/2."""
    marks = [21.5, 23.5, 25.0, 27.5, 29.5]
    stations = plan(yard_request)["stations"]
    assert stations[2]["marks"]["line_to_bottom"] == "25 1/2"
    dug = [{"at": s["at"], "line_to_bottom": down} for s, down in zip(stations, marks, strict=True)]
    found = check(dug)
    off = found["stations"][2]
    assert (off["do"], off["mark"], off["should_read_text"]) == ("shave", "1/2 in", "25 1/2 in")
    assert found["sentence"] == "Not yet: shave 1/2 in at 0+26."


def test_a_stretch_flatter_than_the_minimum_does_not_pass(check) -> None:
    """1.95 in are needed every 13 ft; 25.6 to 27.4 falls 1.8, each within a quarter inch."""
    dug = strung(at_39=0.2)
    found = check(dug)
    assert found["checks"]["within_tolerance"] is True
    assert found["checks"]["steep_enough"] is False
    assert found["verdict"] == "fail"
    assert found["stations"][3]["do"] == "shave"
    dug[3]["line_to_bottom"] += 0.15
    assert check(dug)["verdict"] == "pass"


def test_a_reading_that_its_neighbors_contradict_is_asked_for_again(check) -> None:
    """2 in high between two that are right; 1 % of 13 ft, 1.56 in, is what digging may leave."""
    found = check(strung(at_26=2))
    assert found["verdict"] == "more_readings"
    assert found["sentence"] == (
        "Was 0+26 read right? What lies beside it is within the tolerance, and digging seldom "
        "leaves such a step: read it again before you shave or fill."
    )
    station = found["stations"][2]
    assert (station["do"], station["mark"], station["change"]) == ("read_again", None, 0)
    assert station["sentence"] == (
        "0+26 reads 2 in high, and 0+13 and 0+39 on either side lie within the tolerance: was it "
        "read right? Read it again before you shave."
    )
    assert found["checks"]["none_in_doubt"] is False
    assert (found["as_it_lies"], found["standing_water"], found["work"]["stations"]) == (
        None,
        [],
        0,
    )
    dug = strung(at_26=2)
    dug[2]["again"] = True
    again = check(dug)
    assert (again["verdict"], again["stations"][2]["do"]) == ("fail", "shave")
    both = check([*strung(at_26=2)[:4], {"at": 52, "line_to_bottom": 29.1}])
    assert both["verdict"] == "fail"
    assert both["sentence"].endswith("read it again before you shave or fill.")
    assert both["stations"][4]["do"] == "shave"
    below = check(strung(at_26=-2)[2:])  # 2 in too deep from there on is how one digs
    assert below["stations"][0]["do"] == "fill"
    below = check(strung(at_26=-5)[2:])
    assert below["stations"][0]["sentence"] == (
        "0+26 reads 5 in low, and 0+39 next to it lies within the tolerance: was it read right? "
        "Read it again before you fill."
    )
    assert "0+13, 0+39" in check(strung(at_13=2, at_39=-2))["sentence"]
