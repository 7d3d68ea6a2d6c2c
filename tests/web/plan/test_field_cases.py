"""Questions people asked in public about their own yard, and what practice answers.

The numbers of each question are the asker's ("given"); what was left open is ours ("taken").
Where the answer is a practitioner's or an asker's word and not arithmetic, it is marked "common
practice". Sources are public pages, told by kind, as they were read; the sums are done here.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

approx = pytest.approx
EIGHTH = 100 / 96
"""1/8 in per ft, in percent."""
ROOF = {"kind": "roof", "area": 500, "rain_rate": 4}


def ask(length: float, ground: dict, pipe: str, start: dict, outlet: dict, **more: Any) -> dict:
    route = {"length": length}
    body = {"units": "us", "route": route, "ground": ground, "pipe": {"code": pipe}}
    return {**body, "start": start, "outlet": outlet, **more}


def falls(*points: tuple[float, float]) -> dict:
    """Ground by (station, fall from the start) in ft and in; elevations from 100 down."""
    return {
        "kind": "elevations",
        "points": [{"at": at, "elevation": 100 - drop / 12} for at, drop in points],
    }


def level(elevation: float) -> dict:
    return {"kind": "tie_in", "invert": {"min": elevation, "max": elevation}}


def codes(answer: dict) -> list[str]:
    return [condition["code"] for condition in answer["conditions"]]


def test_86_ft_with_12_in_of_drop_at_an_eighth_per_ft(plan) -> None:
    """Row 1, a home repair forum. Given: 86 ft, 12 in at the pipe, 1/8 in per ft. Taken: both
    ends fixed. 86 / 8 = 10.75 in are needed."""
    outlet = level(97)
    body = ask(86, falls((0, 0), (86, 12)), "pvc-sdr35-4", {"invert": 98}, outlet)
    answer = plan({**body, "grade": {"min_percent": EIGHTH}})["answer"]
    assert answer["overall"] == "yes"
    assert answer["fall_needed"] == approx(10.75)
    assert answer["fall_available"] == approx(12)
    assert answer["sentence"] == "Yes: 1.3 in of fall to spare."


def test_163_ft_with_16_and_a_half_in_is_3_9_in_short(plan) -> None:
    """Row 2, a plumbing forum. Given: 163 ft, 16.5 in by laser, 1/8 in per ft. Taken: both ends
    fixed. 163 / 8 = 20.375 in are needed; the asker's own 8 in short is wrong."""
    outlet = level(98 - 16.5 / 12)
    body = ask(163, falls((0, 0), (163, 16.5)), "pvc-sdr35-4", {"invert": 98}, outlet)
    answer = plan({**body, "grade": {"min_percent": EIGHTH}})["answer"]
    assert answer["overall"] == "no"
    assert answer["fall_needed"] == approx(20.375)
    assert answer["spare"] == approx(16.5 - 20.375)
    assert "3.9 in too deep" in answer["sentence"]
    assert "20.4 in" in answer["sentence"]


def test_a_sump_line_of_100_ft_with_14_in_of_fall(plan) -> None:
    """Row 3, a home improvement forum. Taken: even ground, 6 in of cover, SDR 35, a pop-up.
    Common practice: it falls all the way, yes."""
    ground = falls((0, 0), (100, 14))
    body = ask(100, ground, "pvc-sdr35-4", {"cover": 6}, {"kind": "pop_up"})
    answer = plan(body)
    assert answer["answer"]["overall"] == "yes"
    assert answer["grade_runs"][0]["percent"] == approx(14 / 12)


def test_50_ft_with_10_in_of_drop_is_a_yes_and_shallow(plan) -> None:
    """Row 4, a tractor forum. Given: 6 in corrugated to a pop-up. Taken: even ground, 3 in of
    cover. Common practice: yes, shallow; so the conditions are of little soil, and of no more."""
    ground = falls((0, 0), (50, 10))
    body = ask(50, ground, "corrugated-single-6", {"cover": 3}, {"kind": "pop_up"})
    answer = plan(body)["answer"]
    assert answer["overall"] == "conditional"
    assert codes(answer) == ["run_in", "run_out"]
    assert "3 in of soil" in answer["sentence"]
    assert all("no spade" in c["text"] for c in answer["conditions"])


def test_ground_4_in_higher_than_thought_flattens_the_pipe_and_deepens_the_end(plan) -> None:
    """Row 5, a builder's own page. Given: 2 in per 10 ft planned. Taken: 40 ft, so the ground
    falls 4 of 8 in; SDR 35, 6 in of cover. Common practice: 1 % and a deeper end."""
    ground = falls((0, 0), (40, 4))
    answer = plan(ask(40, ground, "pvc-sdr35-4", {"cover": 6}, {"kind": "pop_up"}))
    assert answer["answer"]["overall"] == "conditional"
    assert codes(answer["answer"]) == ["riser"]
    assert answer["grade_runs"][0]["percent"] == approx(1)
    # 6 in of cover, 4.215 in of pipe and 4.8 in of fall, less the ground's 4: what is told is
    # what is dug.
    assert answer["outlet"]["dig_depth"] == approx(11.015)
    assert "11 in deep at the pop-up" in answer["answer"]["sentence"]
    assert "the trench is 11 in deep there" in answer["answer"]["conditions"][0]["text"]


def test_a_tenth_of_an_inch_per_ft_will_do_and_its_risk_is_told(plan) -> None:
    """Row 6, a general questions board. Given: 1/10 in per ft. Taken: 80 ft of ground as flat.
    Common practice: probably good enough, but flat. A joint of 10 ft sticks may settle by
    grade times length, 1 in, before water stands (geometry)."""
    ground = falls((0, 0), (80, 8))
    body = ask(80, ground, "pvc-sdr35-4", {"cover": 6}, {"kind": "pop_up"})
    answer = plan({**body, "grade": {"min_percent": 100 / 120}})
    assert answer["answer"]["overall"] == "yes"
    (flat,) = [w for w in answer["warnings"] if w["code"] == "lies_flat"]
    assert "0.83 %, less than the 1 % usual" in flat["text"]
    assert "settles by 1 in" in flat["text"]


def test_25_ft_under_4_in_of_soil_to_the_woods(plan) -> None:
    """Row 7, a builder's own page. Given: 25 ft, 4 in of soil. Taken: 5 % even, daylight.
    Common practice: done, works. Little soil is told."""
    ground = falls((0, 0), (25, 15))
    body = ask(25, ground, "corrugated-single-4", {"cover": 4}, {"kind": "daylight"})
    answer = plan(body)["answer"]
    assert answer["verdict"] == "yes"
    assert set(codes(answer)) <= {"run_out", "ditch"}
    assert answer["spare"] > 5


def test_an_inch_in_4_ft_is_enough_slope(plan) -> None:
    """Row 8, a home magazine. Given: 1 in per 4 ft, pipe 3 in under. Taken: 60 ft, daylight.
    Common practice: enough slope. On 2.1 % a daylight end needs its ditch: told."""
    ground = falls((0, 0), (60, 15))
    body = ask(60, ground, "corrugated-single-4", {"cover": 3}, {"kind": "daylight"})
    answer = plan(body)
    assert answer["answer"]["verdict"] == "yes"
    assert "ditch" in codes(answer["answer"])
    ditch = answer["answer"]["conditions"][-1]
    assert ditch["to_at"] - 60 >= answer["outlet"]["ditch"]
    assert "was not measured" in ditch["text"]


@pytest.mark.parametrize("deep", [12, 14])
def test_a_flat_lot_has_no_surface_outlet_but_a_deep_end_or_a_dry_well(plan, deep) -> None:
    """Row 9, a newspaper's home column. Given: flat, 12 to 14 in deep at the start, 1/8 in per
    ft. Taken: 60 ft, a pop-up. Common practice: no surface outlet; a deep end or a dry well.
    60 / 8 = 7.5 in more than at the start."""
    ground = falls((0, 0), (60, 0))
    body = ask(60, ground, "pvc-sdr35-4", {"depth": deep}, {"kind": "pop_up"})
    answer = plan({**body, "grade": {"min_percent": EIGHTH}})["answer"]
    assert answer["overall"] == "no"
    found = {(fix["change"], fix["to"]): fix for fix in answer["fixes"]}
    assert "soil soaks the water away" in found["outlet_kind", "dry_well"]["text"]
    assert [to for change, to in found if change == "outlet_depth"] == [approx(deep + 7.5)]


def test_1_in_40_at_the_steepest_leaves_falling_ground_behind(plan) -> None:
    """Row 10, a UK home forum. Given: 33 m of ground at 4.5°, 1:40 wanted. Taken: 1:40 as the
    steepest, 300 mm of cover, daylight. 1:40 is 25 mm a metre, 825 mm; the ground falls
    33 m × tan 4.5° = 2597 mm. Common practice: steps, or a steeper run: no as it is asked."""
    drop_m = 33 * math.tan(math.radians(4.5))
    body = {
        "units": "si",
        "route": {"length": 33},
        "ground": falls((0, 0), (33, 12 * drop_m)),
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 300},
        "outlet": {"kind": "daylight"},
    }
    answer = plan({**body, "grade": {"max_percent": 2.5}})["answer"]
    assert answer["overall"] == "no"
    assert answer["fall_available"] == approx(825)
    assert answer["sentence"].startswith("No: even at the maximum grade")
    assert "it can fall only 825 mm" in answer["sentence"]
    (steeper,) = [fix for fix in answer["fixes"] if fix["change"] == "max_grade"]
    # Never steeper than the ground, tan 4.5° = 7.87 %.
    assert 2.5 < steeper["to"] < 7.88
    assert answer["advice"] == [], "a pump is no help where the ground falls too much"
    assert plan(body)["answer"]["verdict"] == "yes"


def test_24_m_with_300_mm_is_1_in_80(plan) -> None:
    """Row 11, a general questions site. Given: 24 m, 0.30 m. Taken: even ground, both ends
    fixed. 1:80 is 1.25 %: it just fits."""
    body = {
        "units": "si",
        "route": {"length": 24},
        "ground": falls((0, 0), (24, 12 * 0.3)),
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"invert": 99},
        "grade": {"min_percent": 1.25},
        "outlet": level(98.7),
    }
    answer = plan(body)
    assert answer["grade_runs"][0]["percent"] == approx(1.25)
    assert answer["answer"]["overall"] == "yes"
    assert answer["answer"]["sentence"] == "Yes, but only just: no fall to spare."


def test_150_ft_with_2_ft_of_difference(plan) -> None:
    """Row 12, a garden page. Taken: even ground, 6 in of cover, corrugated, a pop-up. Common
    practice: built, works."""
    ground = falls((0, 0), (150, 24))
    body = ask(150, ground, "corrugated-single-4", {"cover": 6}, {"kind": "pop_up"})
    answer = plan(body)
    assert answer["answer"]["overall"] == "yes"
    assert answer["grade_runs"][0]["percent"] == approx(100 * 2 / 150)


def test_120_ft_flat_and_then_a_slope_with_two_downspouts(plan) -> None:
    """Row 13, a maker's page. Taken: 60 ft flat and 60 ft at 4 %, SDR 35, 6 in of cover, a
    pop-up, 500 sq ft a downspout at 4 in/h. Common practice: built, works."""
    ground = falls((0, 0), (60, 0), (120, 28.8))
    body = ask(120, ground, "pvc-sdr35-4", {"cover": 6}, {"kind": "pop_up"})
    answer = plan({**body, "inflows": [ROOF, {**ROOF, "at": 30}]})
    assert answer["answer"]["overall"] == "yes"
    assert answer["water"]["carries"]
    assert all(inlet["spare"] > 0 for inlet in answer["inlets"])


def test_one_4_in_pipe_is_too_small_for_four_downspouts(client) -> None:
    """Row 14, a landscaper's page; the roof from a builder's column. Given: 2,380 sq ft at
    6 in/h. Taken: a quarter to each, 1 %. 2,380 × 6 × 0.01039 = 148 gpm. Common practice: too
    small; here by either roughness."""
    inflow = {"kind": "roof", "area": 2380 / 4, "rain_rate": 6}
    body = {"units": "us", "pipe": {"code": "pvc-sdr35-4"}, "grade": {"percent": 1}}
    flow = client.post("/api/v1/flow", json={**body, "inflows": [inflow] * 4}).json
    assert flow["flow"] == approx(2380 * 6 * 0.01039, rel=1e-3)
    assert flow["carries"] is False
    assert all(basis["share_of_capacity"] > 1 for basis in flow["bases"])
    assert flow["sentence"].startswith("The pipe is too small")
    assert "148 gpm" in flow["sentence"]


def test_40_ft_to_a_storm_drain_has_slope_enough(plan) -> None:
    """Row 15, a do-it-yourself questions page. Given: 40 ft, schedule 40, from 6 to 20 in deep.
    Taken: the ground falls 8 in. 8 + 20 - 6 = 22 in of fall, 4.6 %. Common practice: enough;
    what 1.5 in of soil at the start asks for is told."""
    outlet = {"kind": "tie_in", "depth": {"min": 20, "max": 20}}
    answer = plan(ask(40, falls((0, 0), (40, 8)), "pvc-sch40-4", {"depth": 6}, outlet))
    assert answer["answer"]["verdict"] == "yes"
    assert answer["grade_runs"][0]["fall"] == approx(22)
    assert codes(answer["answer"]) == ["run_in"]
    assert "1.5 in of soil" in answer["answer"]["sentence"]


def test_a_footing_drain_may_lie_level_but_finds_no_daylight_on_a_gentle_lot(plan) -> None:
    """Row 16, a trade journal's questions. Given: level around the house, 8 ft deep, and the lot
    falls 3 ft in 150 ft. Taken: 120 ft around. Common practice: level is allowed around, and
    daylight cannot be had: 96 in deep and 22.5 in of fall, against 36 in of ground."""
    out = ask(150, falls((0, 0), (150, 36)), "corrugated-single-4", {"depth": 96}, {})
    answer = plan({**out, "outlet": {"kind": "daylight"}})["answer"]
    assert answer["overall"] == "no"
    assert answer["spare"] < -60
    assert "end_at" not in {fix["change"] for fix in answer["fixes"]}
    outlet = {"kind": "tie_in", "depth": {"min": 96, "max": 96}}
    body = ask(120, falls((0, 0), (120, 0)), "corrugated-single-4", {"depth": 96}, outlet)
    around = plan({**body, "grade": {"min_percent": 0}})
    assert around["answer"]["verdict"] == "yes"
    assert "lies_level" in {warning["code"] for warning in around["warnings"]}
    assert "protective system" in around["answer"]["sentence"]


def test_a_cable_across_the_trench_is_passed_with_a_gap_and_dug_by_hand(plan) -> None:
    """Row 17, a home improvement forum. Given: 12 to 18 in deep. Taken: in the middle of 40 ft
    falling 12 in, 1 in of gap. Common practice: by hand 2 ft either side (state one-call laws
    ask 18 to 24 in); over or under with a gap."""
    cable = {"at": 20, "what": "TV cable", "top_depth": 12, "size": 6, "clearance": 1}
    ground = falls((0, 0), (40, 12))
    body = ask(40, ground, "pvc-sdr35-4", {"cover": 6}, {"kind": "pop_up"})
    answer = plan({**body, "crossings": [cable]})
    assert answer["answer"]["verdict"] == "yes"
    assert answer["answer"]["overall"] == "conditional"  # nobody has seen it yet
    words = "the TV cable at 0+20, exposed by hand first, lies as deep as given"
    assert words in answer["answer"]["sentence"]
    seen = plan({**body, "crossings": [cable | {"exposed": True}]})
    assert seen["answer"]["overall"] == "yes"  # dug up and measured
    assert seen["crossings"][0]["exposed"] is True
    both = [cable | {"exposed": True}, cable | {"at": 25, "what": "gas line"}]
    half = plan({**body, "crossings": both})["answer"]
    assert "the gas line at 0+25, exposed by hand first" in half["sentence"]
    two = plan({**body, "crossings": [cable, cable | {"at": 25}]})["answer"]
    (told,) = [one for one in two["conditions"] if one["code"] == "crossing"]
    assert told["pointer"] == "/crossings"
    assert (told["from_at"], told["to_at"]) == (20, 25)
    assert told["text"].startswith("From 0+20 to 0+25 it passes 2 buried things, ")
    (there,) = [station for station in answer["stations"] if station["at"] == 20]
    assert answer["crossings"][0]["pass"] == "over"
    assert 12 - there["dig_depth"] >= 1
    said = {caution["code"]: caution["text"] for caution in answer["cautions"]}
    assert "Dig by hand 18 to 24 in" in said["call_before_you_dig"]
    assert "by hand" in said["crossing"]


def test_an_outlet_stays_above_the_usual_water_of_its_ditch(plan) -> None:
    """Row 18, a state university's bulletin. Given: the outlet 1 ft over the ditch's bottom, and
    water in storms. Taken: 50 ft at 5 % down to a bank. Practice: above the usual water. 8 in of
    water leave the pipe free, 20 in drown it."""
    ground = falls((0, 0), (50, 30))
    depth = {"min": 0, "max": 12}
    for water, drowned in ((8, False), (20, True)):
        outlet = {"kind": "daylight", "depth": depth}
        body = ask(50, ground, "pvc-sdr35-4", {"cover": 6}, outlet)
        invert = plan(body)["outlet"]["invert"]
        outlet["water_level"] = {"elevation": invert - 1 + water / 12}
        answer = plan(body)
        assert answer["answer"]["verdict"] == "yes"
        assert (answer["outlet"]["water"]["over_outlet"] > 0) is drowned
        told = [w["text"] for w in answer["warnings"] if "above the usual water" in w["text"]]
        assert bool(told) is drowned
