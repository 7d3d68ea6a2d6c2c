"""POST /plan: the contract's worked example, every start, outlet and level to measure from."""

from __future__ import annotations

import itertools

import pytest

FOOT_IN = 12


def station(answer: dict, at: float) -> dict:
    """The station at a distance."""
    return next(s for s in answer["stations"] if s["at"] == at)


def test_the_worked_example_of_the_contract(yard_request, plan) -> None:
    """The project's own contract works this example by hand.

    It prints the invert at 0+13 as -1.967 ft, which is the ground less the 13.1 in dug: that
    is the trench bottom, and leaves out the wall of the pipe. A 4.6 in pipe that is 4.0 in inside
    has a wall of (4.6 - 4.0) / 2 = 0.3 in, so the invert is 0.3 in higher, -1.942 ft.
    """
    answer = plan(yard_request)
    here = station(answer, 13)
    assert here["ground"] == -0.875
    assert here["dig_depth"] == pytest.approx(13.1, abs=1e-6)
    assert here["cover"] == pytest.approx(8.5, abs=1e-6)
    assert here["line_to_bottom"] == pytest.approx(23.6, abs=1e-6)
    assert here["grade_percent"] == pytest.approx(1.28, abs=0.005)
    marks = {"dig_depth": "13", "line_to_bottom": "23 1/2", "rod_at_bottom": None}
    assert here["marks"] == marks
    assert here["rod_at_bottom"] is None
    assert here["invert"] == pytest.approx(-1.967 + 0.3 / FOOT_IN, abs=5e-4)
    (run,) = answer["grade_runs"]
    assert run["fall"] == pytest.approx(8, abs=1e-6)
    assert run["percent"] == pytest.approx(8 / (52 * FOOT_IN) * 100, abs=1e-6)
    assert answer["outlet"]["dig_depth"] == pytest.approx(7.6, abs=1e-6)
    assert answer["outlet"]["cover"] == pytest.approx(3.0, abs=1e-6)
    verdict = answer["answer"]
    assert verdict["verdict"] == "yes"
    assert verdict["fall_available"] == pytest.approx(10.4, abs=1e-6)
    assert verdict["fall_needed"] == pytest.approx(7.8, abs=1e-6)
    assert verdict["spare"] == pytest.approx(2.6, abs=1e-6)
    assert verdict["pinch"]["upstream"] == 0
    assert verdict["pinch"]["downstream"] == 52
    assert verdict["pinch"]["limits"] == ["start cover", "outlet depth"]
    assert verdict["sentence"] == "Yes: 2.6 in of fall to spare."


def test_from_the_string_the_bottom_falls_evenly(yard_request, plan) -> None:
    """8 in of fall over four equal spaces is 2 in each, whatever the ground does."""
    down = [s["line_to_bottom"] for s in plan(yard_request)["stations"]]
    steps = [after - before for before, after in itertools.pairwise(down)]
    assert steps == pytest.approx([2, 2, 2, 2], abs=1e-6)


@pytest.mark.parametrize(
    "start",
    [
        {"cover": 8},
        {"depth": 8 + 4.6},  # cover and the pipe's outside
        {"invert": (-9 - 8 - 4.6 + 0.3) / 12},  # ground, cover, outside, up by the wall
    ],
)
def test_a_start_told_three_ways(start: dict, yard_request, plan) -> None:
    answer = plan(yard_request | {"start": start})
    first = answer["stations"][0]
    assert (first["cover"], first["dig_depth"]) == pytest.approx((8, 12.6), abs=1e-5)
    assert first["invert"] == pytest.approx(-1.775, abs=1e-5)
    assert answer["answer"]["spare"] == pytest.approx(2.6, abs=1e-5)


def test_bedding_deepens_the_trench_and_leaves_the_pipe(changed, yard_request, plan) -> None:
    bare, bedded = plan(yard_request), plan(changed("/limits/bedding", 2))
    for a, b in zip(bare["stations"], bedded["stations"], strict=True):
        assert b["cover"] == pytest.approx(a["cover"], abs=1e-6)
        assert b["dig_depth"] == pytest.approx(a["dig_depth"] + 2, abs=1e-6)


def test_a_start_is_raised_no_more_than_it_must(changed, plan) -> None:
    """The trench may be 5 in deep at the end. The highest end from 8 in of cover is the start's
    21.6 in below the string and 7.8 in of fall, 29.4 in: 7.4 in deep, so 2.4 in are missing."""
    body = changed("/outlet/depth", {"min": 3, "max": 5})
    no = plan(body)["answer"]
    assert no["verdict"] == "no"
    assert no["spare"] == pytest.approx(-2.4, abs=1e-6)
    body["start"]["shallowest_cover"] = 5
    del body["grade"]["fall_step"]
    body["limits"]["min_cover"] = 5
    body["accuracy"] = {"sigma": 0}
    yes = plan(body)
    assert yes["answer"]["verdict"] == "yes"
    assert yes["start"]["raised_by"] == pytest.approx(2.4, abs=1e-6)
    assert yes["start"]["cover"] == pytest.approx(5.6, abs=1e-6)
    assert yes["outlet"]["dig_depth"] == pytest.approx(5, abs=1e-6)
    assert "raised by 2.4 in" in yes["answer"]["sentence"]
    body["start"]["shallowest_cover"] = 5.7
    assert plan(body)["answer"]["spare"] == pytest.approx(-0.1, abs=1e-6)


# The trench at the end: as deep as the line above brings it when nothing holds it there (7.4 in,
# rounded up to 8 in of fall: 7.6), unless the outlet asks for more. Depths that an outlet takes
# on its own are common practice, no source, and are told as assumptions: a pop-up's leaves room for
# 6 in of cover over 4.6 in of pipe. The lawn falls 8 in on its last 13 ft: a level ditch of 10 ft
# runs out of 6.2 in, of 13 ft out of 8, which is then a condition.
OUTLETS = [
    ({"kind": "daylight"}, "yes", {"/outlet/depth/min": 0}),
    ({"kind": "daylight", "depth": {"max": 8}}, "yes", {}),
    ({"kind": "pop_up"}, "yes", {"/outlet/depth/min": 7, "/outlet/depth/max": 10.6}),
    ({"kind": "pop_up", "depth": {"min": 8}}, "yes", {}),
    ({"kind": "curb", "depth": {"max": 7}}, "no", {}),
    ({"kind": "curb", "invert": {"min": -2.45}}, "yes", {}),
    ({"kind": "dry_well"}, "yes", {}),
    ({"kind": "dry_well", "depth": {"min": 20, "max": 40}}, "yes", {}),
    ({"kind": "tie_in", "invert": {"min": -2.6, "max": -2.5}}, "yes", {}),
    ({"kind": "tie_in", "invert": {"min": -2.3, "max": -2.2}}, "no", {}),
]


@pytest.mark.parametrize(("outlet", "verdict", "assumed"), OUTLETS)
def test_every_outlet(outlet: dict, verdict: str, assumed: dict, yard_request, plan) -> None:
    body = yard_request | {"outlet": outlet, "accuracy": {"sigma": 0}}
    body["limits"] = {"min_cover": 3, "outlet_taper": 13}
    answer = plan(body)
    assert answer["answer"]["verdict"] == verdict
    assert answer["outlet"]["kind"] == outlet["kind"]
    told = {a["pointer"]: a["value"] for a in answer["assumptions"]}
    assert {p: v for p, v in told.items() if p.startswith("/outlet")} == pytest.approx(assumed)
    if verdict == "yes":
        end, depth, invert = answer["outlet"], outlet.get("depth", {}), outlet.get("invert", {})
        assert end["dig_depth"] >= depth.get("min", 0) - 1e-6
        assert end["dig_depth"] <= depth.get("max", 1e9) + 1e-6
        assert invert.get("min", -1e9) - 1e-6 <= end["invert"] <= invert.get("max", 1e9) + 1e-6


def test_aimed_at_the_depth_the_outlet_prefers(changed, plan) -> None:
    body = changed("/outlet/depth", {"min": 7, "max": 10, "prefer": 9})
    assert plan(body)["outlet"]["dig_depth"] == pytest.approx(7.6, abs=1e-6)
    body["grade"]["aim"] = "outlet_depth"
    assert plan(body)["outlet"]["dig_depth"] == pytest.approx(9, abs=1e-6)


def test_the_rod_at_the_bottom_is_the_instrument_less_the_bottom(examples, plan) -> None:
    """Worked by hand from the example's notes.

    The porch step is 100.00 ft; the run closes on it 0.01 ft low in two set-ups, so the first
    instrument stands at 104.32 + 0.005 and the second at 98.11 + 3.05 + 0.01 = 101.17.
    """
    answer = plan(examples["rod"])
    assert answer["closure"]["misclosure"] == pytest.approx(-0.01, abs=1e-6)
    assert answer["closure"]["within"] is True
    assert answer["datum"] == "benchmark 'porch step' has the elevation given"
    instruments = [104.325, 104.325, 104.325, 101.17, 101.17]
    rods = [5.10, 5.42, 5.81, 3.40, 4.64]
    for here, height, rod in zip(answer["stations"], instruments, rods, strict=True):
        bottom = here["ground"] - here["dig_depth"] / FOOT_IN
        assert here["ground"] == pytest.approx(height - rod, abs=1e-6)
        assert here["rod_at_bottom"] == pytest.approx(height - bottom, abs=2e-6)
        assert here["line_to_bottom"] is None
        assert here["marks"]["line_to_bottom"] is None


@pytest.mark.parametrize(("rod_unit", "per_foot"), [("in", 12), ("m", 0.3048), ("mm", 304.8)])
def test_rods_in_any_unit(rod_unit: str, per_foot: float, examples, plan) -> None:
    """1 ft is 12 in and 0.3048 m by definition (NIST Handbook 44, Appendix C)."""
    feet = plan(examples["rod"])
    body = examples["rod"]
    body["ground"]["rod_unit"] = rod_unit
    for shot in body["ground"]["shots"]:
        shot["rod"] *= per_foot
    other = plan(body)
    for a, b in zip(feet["stations"], other["stations"], strict=True):
        assert b["ground"] == pytest.approx(a["ground"], abs=2e-6)
        assert b["rod_at_bottom"] == pytest.approx(a["rod_at_bottom"] * per_foot, abs=1e-3)


def test_a_string_strung_anew_further_down(yard_request, plan) -> None:
    """Readings at 26 ft from both lines, 9.5 and 19.5 in: the second line is 10 in higher."""
    body = yard_request
    body["ground"]["readings"] = [
        {"at": 0, "down": 9, "line": "first"},
        {"at": 13, "down": 10.5, "line": "first"},
        {"at": 26, "down": 9.5, "line": "first"},
        {"at": 26, "down": 19.5, "line": "second"},
        {"at": 39, "down": 24, "line": "second"},
        {"at": 52, "down": 32, "line": "second"},
    ]
    answer = plan(body)
    assert answer["datum"] == "the level line 'first' is 0"
    levels = {r["name"]: r["elevation"] for r in answer["references"]}
    assert levels == pytest.approx({"first": 0, "second": 10 / FOOT_IN}, abs=1e-6)
    assert [s["line"] for s in answer["stations"]][::4] == ["first", "second"]
    assert station(answer, 39)["line_to_bottom"] == pytest.approx(37.6, abs=1e-6)
    assert answer["outlet"]["dig_depth"] == pytest.approx(7.6, abs=1e-6)
    assert answer["answer"]["spare"] == pytest.approx(2.6, abs=1e-6)
    assert answer["warnings"] == []


def test_lines_that_tie_badly_are_told(yard_request, plan) -> None:
    body = yard_request
    readings = [(0, 9, "a"), (13, 10.5, "a"), (26, 9.5, "a")]
    readings += [(13, 20.5, "b"), (26, 22, "b"), (52, 34, "b")]
    body["ground"]["readings"] = [{"at": x, "down": d, "line": n} for x, d, n in readings]
    (warning,) = (w for w in plan(body)["warnings"] if w["code"] == "lines_disagree")
    assert warning["pointer"] == "/ground/readings"
    assert "1.3 in" in warning["text"], "ties of 10 and 12.5 in lie 1.25 in off their mean"


def test_a_tape_beats_the_drawn_length(examples, plan) -> None:
    body = examples["spots"]
    drawn = plan(body)["length"]
    body["route"]["tape_length"] = drawn * 1.1
    taped = plan(body)
    assert taped["length"] == pytest.approx(drawn * 1.1, abs=1e-5)
    assert [w["code"] for w in taped["warnings"]] == ["tape_disagrees"]
    assert (taped["stations"][-1]["x"], taped["stations"][-1]["y"]) == (58, 40)
    body["route"]["tape_length"] = drawn * 1.04
    assert plan(body)["warnings"] == []


def test_every_station_says_why_it_stands(examples, plan) -> None:
    """The spots' line has one bend, after a leg of (26, 8)."""
    body = examples["spots"] | {"stations": {"at": [10]}}
    body["crossings"] = [{"at": 40, "what": "gas", "top_depth": 50, "size": 1, "clearance": 6}]
    answer = plan(body)
    assert [(s["at"], s["why"]) for s in answer["stations"]] == [
        (0, ["start"]),
        (10, ["asked"]),
        (pytest.approx((26**2 + 8**2) ** 0.5, abs=1e-6), ["bend"]),
        (40, ["crossing"]),
        (answer["length"], ["outlet"]),
    ]


def test_what_was_left_open_is_told(yard_request, plan) -> None:
    keys = ("units", "route", "ground", "pipe", "start")
    body = {key: yard_request[key] for key in keys} | {"outlet": {"kind": "pop_up"}}
    assumed = plan(body)["assumptions"]
    told = {a["pointer"]: (a["value"], a["unit"]) for a in assumed}
    assert told["/grade/min_percent"] == (1.25, "%")
    assert told["/limits/min_cover"] == (6, "in")
    assert told["/limits/outlet_taper"] == (10, "ft")
    assert told["/outlet/depth/min"] == (7, "in")
    assert told["/outlet/depth/max"] == (10.6, "in")  # 6 in of cover over 4.6 in of pipe
    assert all(a["source"] and a["text"] for a in assumed)


@pytest.mark.parametrize(("units", "inch"), [("us", 1), ("si", 25.4)])
def test_the_catalogue_in_both_units(units: str, inch: float, client, conforms) -> None:
    answer = client.get(f"/api/v1/pipes?units={units}")
    conforms("GET /pipes", answer)
    assert answer.json["units"] == units
    pipes = {pipe["code"]: pipe for pipe in answer.json["pipes"]}
    one = pipes["corrugated-single-4"]
    assert (one["outside"], one["inside"], one["wall"]) == pytest.approx(
        (4.6 * inch, 4.0 * inch, 0.3 * inch)
    )
    assert one["nominal"] == 4
    assert all(pipe["source"] for pipe in pipes.values())


def test_health_names_what_it_depends_on(client, conforms) -> None:
    answer = client.get("/api/v1/health")
    conforms("GET /health", answer)
    assert answer.json["status"] == "ok"
    assert answer.json["depends_on"] == {
        "database": "ok",
        "tables": "ok",
        "files": "ok",
        "disk": "ok",
        "sums": "ok",
    }
