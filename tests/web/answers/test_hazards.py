"""What may do harm, told where it bears and nowhere else."""

from __future__ import annotations

import copy

import pytest

STEEP = {
    "units": "us",
    "route": {"length": 40},
    "ground": {
        "kind": "elevations",
        "points": [{"at": 0, "elevation": 120}, {"at": 40, "elevation": 104}],
    },
    "pipe": {"code": "pvc-sch40-4"},
    "start": {"cover": 12},
    "outlet": {"kind": "daylight"},
}


def codes(answer, part: str) -> list[str]:
    return [one["code"] for one in answer[part]]


def text_of(answer, part: str, code: str) -> str:
    (found,) = [one["text"] for one in answer[part] if one["code"] == code]
    return found


def test_a_gentle_line_is_told_of_none_of_it(plan, yard_request) -> None:
    """No pump, no wheels, 14 in of trench at the most: not a word of what does not bear here."""
    yard_request["outlet"] = {"kind": "dry_well"}
    answer = plan(yard_request)
    assert not set(codes(answer, "warnings")) & {
        "anchors",
        "fast",
        "fast_if_full",
        "thin_under_wheels",
    }
    assert not set(codes(answer, "cautions")) & {"pump", "frost", "haunching", "buoyancy"}
    assert answer["outlet"]["left_wet"] is None
    assert answer["quantities"]["protection"] is None


def test_a_steep_pipe_is_anchored_and_its_water_fast(plan) -> None:
    answer = plan(copy.deepcopy(STEEP))
    assert answer["grade_runs"][0]["percent"] > 35
    assert "at least every 24 ft" in text_of(answer, "warnings", "anchors")
    assert "15 ft/s" in text_of(answer, "warnings", "very_fast_if_full")
    assert "fast" not in codes(answer, "warnings")


def test_in_metres_anchors_are_told_as_published(plan) -> None:
    """7.3 m (Ten States Standards, 33.46)."""
    body = copy.deepcopy(STEEP) | {"units": "si", "route": {"length": 12}}
    body["ground"]["points"] = [{"at": 0, "elevation": 36}, {"at": 12, "elevation": 31.2}]
    body["start"] = {"cover": 300}
    answer = plan(body)
    assert "at least every 7.3 m" in text_of(answer, "warnings", "anchors")
    assert "4.6 m/s" in text_of(answer, "warnings", "very_fast_if_full")


def test_known_water_is_judged_by_its_own_speed(plan) -> None:
    answer = plan(copy.deepcopy(STEEP) | {"inflows": [{"kind": "other", "rate": 0.05}]})
    assert not [code for code in codes(answer, "warnings") if "fast" in code]


def test_a_pipe_that_stays_wet_from_end_to_end_is_called_whole(plan) -> None:
    """Level ground, 60 ft at 1 %: the start lies 7.2 in over the end and still below the lid."""
    readings = [{"at": 0, "down": 9}, {"at": 60, "down": 9}]
    answer = plan(
        {
            "units": "us",
            "route": {"length": 60},
            "ground": {"kind": "level_line", "readings": readings},
            "pipe": {"code": "pvc-sdr35-4"},
            "start": {"cover": 4},
            "outlet": {"kind": "pop_up"},
        }
    )
    assert answer["outlet"]["left_wet"]["length"] == pytest.approx(60)
    assert "below the lid, in the whole pipe, until" in answer["outlet"]["left_wet"]["sentence"]
    riser = next(c["text"] for c in answer["answer"]["conditions"] if c["code"] == "riser")
    assert "water stays in the whole pipe." in riser
    assert "the last 60 ft" not in str(answer)


def test_water_that_stays_under_a_pop_up(plan, yard_request) -> None:
    """The yard's pipe, 4 in inside, at its grade: the wet length is what lies under the lid by the
    profile, and the water is what a bore of that length could hold at the most (by hand)."""
    answer = plan(yard_request)
    wet, profile = answer["outlet"]["left_wet"], answer["profile"]
    lid, end, percent = (
        profile["ground"][-1],
        profile["invert"][-1],
        answer["grade_runs"][-1]["percent"],
    )
    below_ft = lid - end
    assert wet["depth"] == pytest.approx(below_ft * 12, abs=1e-4)
    assert wet["length"] == pytest.approx(min(52, below_ft / (percent / 100)), abs=0.01)
    full_gal = 3.14159 / 4 * (answer["pipe"]["inside"] / 12) ** 2 * wet["length"] * 7.48052
    assert 0.5 * full_gal < wet["volume"] < full_gal
    assert "weep hole" in wet["sentence"]
    assert "can freeze" in text_of(answer, "cautions", "outlet_pop_up")


def tree(**more) -> dict:
    """60 ft falling 2 % to a pop-up, and a branch of 20 ft that joins 10 ft before its end."""

    def even(length: float, high: float, low: float) -> dict:
        points = [{"at": 0, "elevation": high}, {"at": length, "elevation": low}]
        return {
            "route": {"length": length},
            "ground": {"kind": "elevations", "points": points},
            "pipe": {"code": "corrugated-single-4"},
            "start": {"cover": 3},
            "limits": {"min_cover": 2},
        }

    side = even(20, 99.4, 99.0) | {"name": "side yard", "joins_at": 50} | more
    outlet = {"kind": "pop_up", "depth": {"min": 6, "max": 20}}
    return even(60, 100, 98.8) | {"units": "us", "outlet": outlet, "branches": [side]}


def test_a_branch_stays_wet_below_the_mains_lid(plan) -> None:
    """The lid is at 98.8 ft; the branch's own end lies below it by the invert there."""
    answer = plan(tree())
    (branch,) = answer["branches"]
    wet = branch["outlet"]["left_wet"]
    assert wet["depth"] == pytest.approx((98.8 - branch["profile"]["invert"][-1]) * 12, abs=1e-4)
    assert 0 < wet["length"] <= 20
    assert "of the line it joins" in wet["sentence"]


def test_wheels_over_a_thin_cover(plan, yard_request) -> None:
    stretch = {"from": 13, "to": 26, "cover": 5, "what": "drive"}
    silent = plan(yard_request | {"covers": [stretch]})
    assert "thin_under_wheels" not in codes(silent, "warnings")
    assert "haunching" not in codes(silent, "cautions")
    answer = plan(yard_request | {"covers": [stretch | {"wheels": True}]})
    told = text_of(answer, "warnings", "thin_under_wheels")
    assert "the drive" in told
    assert "12 in" in told
    assert "haunching" in codes(answer, "cautions")
    assert answer["profile"] == silent["profile"], "it is told, and limits nothing"


def test_the_bed_on_rock_in_mud_and_in_water(plan, yard_request) -> None:
    """International Plumbing Code 306.2.2: rock goes 3 in (75 mm) below the pipe, tamped sand takes
    its place; 306.2.3: soft ground goes two pipe diameters below it, for fine gravel or crushed
    stone. That no pipe is laid in water: ASTM D2321 (from memory)."""
    told = text_of(plan(yard_request), "cautions", "trench_bottom")
    for part in ("rock", "3 in (75 mm)", "tamped sand", "in place of mud"):
        assert part in told
    assert "crushed stone" in told
    assert "standing water" in told


def test_the_pump_is_spoken_of_where_there_is_one(plan, yard_request, client) -> None:
    flow = {
        "units": "us",
        "pipe": {"code": "pvc-sdr35-4"},
        "grade": {"percent": 1},
        "inflows": [{"kind": "roof", "area": 800, "rain_rate": 5}],
    }
    assert "pump" not in codes(client.post("/api/v1/flow", json=flow).json, "cautions")
    flow["inflows"].append({"kind": "pump", "rate": 30})
    assert "pump" in codes(client.post("/api/v1/flow", json=flow).json, "cautions")
    leg = {"rate": 30, "pump_head": 20, "lift": 8, "length": 20, "inside": 1.61}
    assert "pump" not in codes(plan(yard_request), "cautions")
    assert "pump" in codes(plan(yard_request | {"pump_leg": leg}), "cautions")


def test_frost_and_buoyancy_where_the_outlet_can_drown(plan, yard_request) -> None:
    yard_request["outlet"] = yard_request["outlet"] | {"water_level": {"depth": -2}}
    assert {"buoyancy", "frost"} <= set(codes(plan(yard_request), "cautions"))
    yard_request["outlet"]["water_level"] = {"depth": 60}
    assert not {"buoyancy", "frost"} & set(codes(plan(yard_request), "cautions"))


def test_a_deep_trench_is_wider_slower_and_sloped(plan, yard_request) -> None:
    """6 ft 3 in deep: 0.9 m wide by EN 1610; laid back 3/2 on each side it is 3 times as much wider
    as it is deep."""
    deep = yard_request | {"start": {"depth": 75}, "outlet": {"kind": "dry_well"}}
    found = plan(deep)["quantities"]
    assert max(part["width"] for part in found["trench"]["by_depth"]) == pytest.approx(900 / 25.4)
    over = found["protection"]
    across = 900 / 304.8 + 3 * found["trench"]["greatest_depth"] / 12
    assert over["top_width"] == pytest.approx(across, abs=1e-4)
    assert over["sloped_bank"] > found["trench"]["bank"]
    assert "1-1/2 to 1" in over["text"]
    stated = plan(deep | {"limits": {"trench_width": 24}})["quantities"]
    assert {part["width"] for part in stated["trench"]["by_depth"]} == {24}
    assert found["hours"]["by_hand"] > 52 / 4 * 75 / 24


def test_an_opening_on_a_branch_counts_without_any_inflow(plan) -> None:
    """Lower than the main's lid, it lets water out first; no water need be told for that."""
    silent = plan(tree())
    assert silent["whole"]["overall"] in ("yes", "conditional")

    def with_opening(elevation: float) -> dict:
        opening = {"what": "floor drain", "elevation": elevation}
        return plan(tree(head={"openings": [opening]}))

    low = with_opening(98.7)
    (branch,) = low["branches"]
    assert branch["inlets"][0]["drowned"]
    assert branch["answer"]["overall"] == low["whole"]["overall"] == "conditional"
    assert "opening_too_low" in codes(branch["answer"], "conditions")
    assert "opening_too_low" in codes(branch, "warnings")
    (high,) = with_opening(98.9)["branches"]
    assert not high["inlets"][0]["drowned"]
    assert "opening_too_low" not in codes(high["answer"], "conditions")


WELL = {
    "area": 1000,
    "rain_depth": 0.8,
    "duration": 15,
    "soak_rate": 1.0,
    "stone_depth": 36,
}


def test_the_worst_of_several_storms_sizes_the_dry_well(plan, yard_request) -> None:
    """A = V/(voids·d + f·t) by hand, f half the measured rate; the largest governs."""
    storms = [{"rain_depth": 2.0, "duration": 60}, {"rain_depth": 4.0, "duration": 1440}]
    body = yard_request | {"outlet": {"kind": "dry_well"}, "dry_well": WELL | {"storms": storms}}
    well = plan(body)["dry_well"]
    by_hand = [
        1000 * rain / 12 / (0.4 * 3 + 0.5 / 12 * minutes / 60)
        for rain, minutes in ((0.8, 15), (2.0, 60), (4.0, 1440))
    ]
    assert [one["bottom_area"] for one in well["storms"]] == pytest.approx(by_hand, rel=1e-5)
    assert [one["governs"] for one in well["storms"]] == [x == max(by_hand) for x in by_hand]
    assert well["bottom_area"] == pytest.approx(max(by_hand), rel=1e-5)
    assert well["hours_to_half"] == pytest.approx(0.4 * 36 / 0.5 / 2)
    assert "each of the 3 storms" in well["sentence"]


def test_one_storm_alone_is_told_to_be_too_few(plan, yard_request) -> None:
    body = yard_request | {"outlet": {"kind": "dry_well"}, "dry_well": WELL}
    answer = plan(body)
    assert "one_storm_tried" in codes(answer, "warnings")
    assert answer["dry_well"]["safety_factor"] == 2
    (told,) = [a for a in answer["assumptions"] if a["pointer"] == "/dry_well/safety_factor"]
    assert told["value"] == 2
    two = WELL | {"storms": [{"rain_depth": 2, "duration": 60}]}
    assert "one_storm_tried" not in codes(plan(body | {"dry_well": two}), "warnings")


def test_a_pit_that_is_half_full_after_a_day_is_told(plan, yard_request) -> None:
    slow = WELL | {"soak_rate": 0.27, "stone_depth": 48}
    answer = plan(yard_request | {"outlet": {"kind": "dry_well"}, "dry_well": slow})
    assert answer["dry_well"]["hours_to_half"] == pytest.approx(0.4 * 48 / 0.135 / 2, rel=0.03)
    assert "more than the 24 allowed" in answer["dry_well"]["sentence"]
