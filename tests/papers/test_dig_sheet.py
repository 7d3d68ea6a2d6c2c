"""The dig sheet, on paper and as a page, says what the plan says, number by number."""

from __future__ import annotations

import re

import pypdfium2
import pytest
from read_paper import HOSTILE, Rows, pdf_pages, squeezed

from yardfall.core.units import US
from yardfall.papers.quantities import bill_items


def plain(value: float, digits: int) -> str:
    """A figure as a person writes it; half away from zero."""
    text = f"{value + 1e-9:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def is_station(row: list[str]) -> bool:
    """Whether a row is one of a station table, which has the most columns."""
    return len(row) == 8 and bool(re.match(r"\d\+\d\d", row[0]))


def string_rows(request: dict, answer: dict) -> list[list[str]]:
    """What each row of a string's table must hold, from the readings sent and the answer."""
    down = {r["at"]: r["down"] for r in request["ground"]["readings"]}
    return [
        [
            s["label"],
            plain(down[s["at"]], 2),
            s["marks"]["dig_depth"],
            plain(s["dig_depth"], 1),
            s["marks"]["line_to_bottom"],
            plain(s["line_to_bottom"], 1),
        ]
        for s in answer["stations"]
    ]


def test_the_page_holds_every_number_of_a_strings_table(take, planned, yard_request) -> None:
    answer = planned(yard_request)
    rows = Rows(take("dig-sheet.html", yard_request).get_data(as_text=True)).rows
    found = [row for row in rows if is_station(row)]
    cells = [[row[0].split()[0], *row[1:6]] for row in found]
    assert cells == string_rows(yard_request, answer)
    assert all(row[6:] == ["", ""] for row in found), "no room to write in"


def test_the_pdf_holds_every_number_of_a_strings_table(take, planned, yard_request) -> None:
    answer = planned(yard_request)
    (text,) = pdf_pages(take("dig-sheet.pdf", yard_request).data)
    table = squeezed(text.split("Stations, from the inlet")[1])
    table = table.replace(" start 9 ", " 9 ").replace(
        " outlet 22 ", " 22 "
    )  # why a station is there
    for row in string_rows(yard_request, answer):
        assert " ".join(row) in table


def test_both_say_the_answer_the_grade_the_outlet_and_the_cautions(
    take, planned, yard_request
) -> None:
    answer = planned(yard_request)
    (pdf,) = pdf_pages(take("dig-sheet.pdf", yard_request).data)
    page = take("dig-sheet.html", yard_request).get_data(as_text=True)
    read = re.sub(r"<[^>]+>", " ", page).replace("&#39;", "'")
    wanted = [
        answer["answer"]["sentence"],
        # 8 in of fall over 52 ft: 8 / 624 is 1.28 %, and 8 / 52 = 0.154 in for each foot.
        "1.28 % = 0.154 in per ft",
        "falls 8 in",
        "0+00 to 0+52",
        "Set the laser's grade to",
        "Trench bottom 7.6 in deep, 3 in of cover over the pipe, invert 29.3 in below the string",
        *(c["text"] for c in answer["cautions"]),
        *(w["text"] for w in answer["warnings"]),
        "Notes",
    ]
    for text in wanted:
        assert squeezed(text) in squeezed(read)
        # Two columns of cautions interleave in a PDF's text: their words are looked for in order.
        assert re.search(r"\W+(?:.*?\W)?".join(map(re.escape, text.split())), pdf, re.DOTALL), text


@pytest.mark.parametrize(
    ("page", "points"), [("letter", (612, 792)), ("a4", (595.3, 841.9))]
)  # US letter 8.5 x 11 in; ISO 216 A4 210 x 297 mm
def test_a_typical_line_takes_one_page(take, yard_request, page, points) -> None:
    content = take("dig-sheet.pdf", yard_request, page=page, title="A line").data
    document = pypdfium2.PdfDocument(content)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx(points, abs=0.2)
    document.close()


def test_the_same_plan_makes_the_same_bytes(take, yard_request) -> None:
    assert take("dig-sheet.pdf", yard_request).data == take("dig-sheet.pdf", yard_request).data
    assert take("dig-sheet.html", yard_request).data == take("dig-sheet.html", yard_request).data


def test_a_long_line_repeats_its_head_on_every_page(take, planned, changed) -> None:
    points = [{"at": 10.0 * i, "elevation": 100 - 0.2 * i} for i in range(101)]
    request = changed("/ground", {"kind": "elevations", "points": points})
    request |= {"route": {"length": 1000}, "stations": {"every": 10}}
    answer = planned(request)
    pages = pdf_pages(take("dig-sheet.pdf", request, title="Long line").data)
    assert len(pages) >= 3
    text = squeezed(" ".join(pages))
    for s in answer["stations"]:
        row = f"{s['ground']:.2f} {s['marks']['dig_depth']} {plain(s['dig_depth'], 1)}"
        assert re.search(rf"{re.escape(s['label'])}( \w+)? {re.escape(row)}", text), s["label"]
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in page
        if re.search(r"^\d\+\d\d", page, re.MULTILINE):
            assert "As dug" in page
            assert "Long line" in page


def test_a_no_is_not_dug_from(take, changed) -> None:
    request = changed("/start/cover", 20)
    for name in ("dig-sheet.pdf", "dig-sheet.html"):
        content = take(name, request).data
        text = content.decode() if name.endswith("html") else pdf_pages(content)[0]
        assert "DO NOT DIG FROM THIS SHEET" in text


LAWN = {
    "units": "us",
    "route": {"length": 60},
    "ground": {
        "kind": "elevations",
        "points": [{"at": 0, "elevation": 100}, {"at": 60, "elevation": 97.6}],
    },
    "pipe": {"code": "corrugated-single-4"},
    "start": {"cover": 6},
    "outlet": {"kind": "daylight"},
}
"""An even lawn that falls 4 %: a daylight end asks for thin cover and a ditch."""


def test_a_conditional_yes_is_dug_from_and_says_every_condition(take, planned) -> None:
    answer = planned(LAWN)
    said = [c["text"] for c in answer["answer"]["conditions"]]
    assert answer["whole"]["overall"] == "conditional"
    assert [c["code"] for c in answer["answer"]["conditions"]] == ["ditch"]
    for name in ("dig-sheet.pdf", "dig-sheet.html"):
        content = take(name, LAWN).data
        text = content.decode() if name.endswith("html") else pdf_pages(content)[0]
        assert "YES, ON CONDITIONS" in text
        assert "DO NOT DIG" not in text
        for words in said:
            assert squeezed(words) in squeezed(text), name
    # level from the trench bottom, on ground that falls 4 % or 0.48 in a foot
    deep = answer["outlet"]["dig_depth"]
    assert answer["outlet"]["ditch"] == pytest.approx(deep / 0.48, rel=1e-4)
    assert ">ditch</text>" in take("dig-sheet.html", LAWN).get_data(as_text=True)


def test_thin_cover_is_slanted_on_the_profile(take, planned) -> None:
    request = LAWN | {"outlet": {"kind": "daylight", "depth": {"min": 0, "max": 6}}}
    (thin,) = planned(request)["answer"]["conditions"]
    assert (thin["code"], thin["to_at"]) == ("run_out", 60)
    page = take("dig-sheet.html", request).get_data(as_text=True)
    assert "Slants over the pipe: thin cover." in page
    assert squeezed(thin["text"]) in squeezed(page)
    assert "Slants" not in take("dig-sheet.html", LAWN).get_data(as_text=True)


def test_a_plain_yes_has_no_conditions(take, yard_request) -> None:
    page = take("dig-sheet.html", yard_request).get_data(as_text=True)
    assert "ON CONDITIONS" not in page


def test_what_bears_on_the_ground_is_named_with_the_cover_there_is(take, planned) -> None:
    """A walk of 4 ft: 5 in of soil asked for, and at least so much there by the profile."""
    request = LAWN | {
        "outlet": {"kind": "pop_up"},
        "covers": [{"from": 20, "to": 24, "cover": 5, "what": "front walk"}],
    }
    answer = planned(request)
    (cover,) = answer["covers"]
    profile = answer["profile"]
    there = [
        (ground - top) * 12
        for at, ground, top in zip(profile["at"], profile["ground"], profile["top"], strict=True)
        if 20 <= at <= 24
    ]
    assert len(there) >= 2
    assert cover["least"] == pytest.approx(min(there), abs=1e-4)
    assert cover["least"] >= 5 - 1e-6
    rows = Rows(take("dig-sheet.html", request).get_data(as_text=True)).rows
    assert ["front walk", "0+20 to 0+24", "5 in", f"{plain(cover['least'], 1)} in"] in rows
    assert "front walk" in pdf_pages(take("dig-sheet.pdf", request).data)[0]


def test_a_crossing_has_its_hand_dig_zone(take, drawn_request) -> None:
    pages = squeezed(" ".join(pdf_pages(take("dig-sheet.pdf", drawn_request).data)))
    # 24 in and half of the line's own inch either side of 30 ft: 27.958 to 32.042, outward to
    # half feet. 18 to 24 in is what state one-call laws ask for.
    assert "gas line 0+30 0+27.5 to 0+32.5 60 in" in pages
    assert "Scale 1 in =" in pages


def test_a_rods_sheet_reads_the_rod(take, planned, examples) -> None:
    request = examples["rod"]
    answer = planned(request)
    text = squeezed(" ".join(pdf_pages(take("dig-sheet.pdf", request).data)))
    shots = {s["at"]: s["rod"] for s in request["ground"]["shots"] if "at" in s}
    checked = 0
    for s in answer["stations"]:
        bottom = s["rod_at_bottom"]
        on_ground = bottom - s["dig_depth"] / 12
        assert f"{on_ground:.2f} {s['marks']['dig_depth']}" in text
        assert f"{bottom:.2f}" in text
        checked += s["at"] in shots
    assert checked
    # Two set-ups: a reading is worth nothing without the instrument it was taken from.
    assert "0+32 [set-up 1]" in text
    assert "0+48 [set-up 2]" in text
    for level in answer["references"]:
        assert f"{level['name']} is at {level['elevation']:.2f} ft" in text


def test_every_branch_has_its_part(take, planned, drawn_request) -> None:
    answer = planned(drawn_request)
    (branch,) = answer["branches"]
    page = take("dig-sheet.html", drawn_request).get_data(as_text=True)
    assert "East wing" in page
    assert f"Joins at {branch['joins_label']}" in page
    digs = [row[2] for row in Rows(page).rows if is_station(row)]
    lines = (answer, branch)
    assert digs == [s["marks"]["dig_depth"] for line in lines for s in line["stations"]]


def test_quantities_are_shown_where_the_answer_has_them() -> None:
    bill = {
        "trench": {"bank": 2.78, "loose": 3.47},
        "sod": {"area": 50},
        "bedding": {"volume": 0},
        "spoil": {"haul": 0.36},
        "pipe": {"form": "stick", "pieces": 11, "piece_length": 10},
        "fittings": [{"count": 2, "name": "wye"}, {"count": 3, "name": "wye"}],
        "outlet_parts": [],
        "hours": {
            "by_hand": 25,
            "machine": "trencher_24",
            "machine_name": "trencher to 24 in (610 mm)",
            "by_machine": 2.5,
        },
        "cost": {
            "total": 210.5,
            "currency": "USD",
            "left_out": ["hour_by_hand", "elbow_90"],
            "left_out_names": ["digging by hand", "90 degree elbow with a weep hole"],
        },
    }
    assert dict(bill_items(bill, US)) == {
        "Trench": "2.78 cu yd in place, 3.47 loose",
        "Sod": "50 sq ft",
        "Haul off": "0.36 cu yd loose",
        "Pipe": "11 sticks of 10 ft",
        "Fittings": "5 × wye",
        "Hours of digging, by rule of thumb": "25 by hand or 2.5 with a trencher to 24 in (610 mm)",
        "Cost at your prices": "210.50 USD, without digging by hand, "
        "90 degree elbow with a weep hole",
    }


def test_the_bill_names_things_in_words(take, changed) -> None:
    page = take("dig-sheet.html", changed("/prices", {"pipe_piece": 68})).get_data(as_text=True)
    bill = page.split("<h3>Quantities</h3>")[1].split("</section>")[0]
    assert "with a trencher to 18 in (460 mm)" in bill
    assert "without hauling off, sod, digging by hand" in bill
    assert "_" not in bill


def test_hostile_names_take_room_and_do_nothing(take, changed) -> None:
    assert len(HOSTILE) == 200
    request = changed("/ground/readings/0/line", HOSTILE[:80])
    for reading in request["ground"]["readings"]:
        reading["line"] = HOSTILE[:80]
    title = dict.fromkeys(("title", "place", "prepared_for", "prepared_by"), HOSTILE)
    page = take("dig-sheet.html", request, **title).get_data(as_text=True)
    assert "<img" not in page
    assert "<script" not in page
    assert "&lt;/script&gt;&lt;img" in page
    assert "\u202e" not in page
    pages = pdf_pages(take("dig-sheet.pdf", request, **title).data)
    assert "{{7*7}}" in " ".join(pages)


def test_the_water_at_the_outlet_is_told_where_the_outlet_is(take, planned, yard_request) -> None:
    """2 in of water over the lid: on the sheet, and drawn on the profile as a thin line."""
    free = take("profile.svg", yard_request).get_data(as_text=True)
    yard_request["outlet"]["water_level"] = {"depth": -2}
    answer = planned(yard_request)
    said = answer["outlet"]["water"]["sentence"]
    assert said.startswith("At its highest, the water stands 2 in above the outlet's lid.")
    pdf = " ".join(pdf_pages(take("dig-sheet.pdf", yard_request).data))
    page = take("dig-sheet.html", yard_request).get_data(as_text=True)
    read = re.sub(r"<[^>]+>", " ", page).replace("&#39;", "'")
    assert squeezed(said) in squeezed(read)
    assert re.search(r"\W+(?:.*?\W)?".join(map(re.escape, said.split())), pdf, re.DOTALL)
    drawn = take("profile.svg", yard_request).get_data(as_text=True)
    assert "highest water from the outlet" in drawn
    assert "highest water" not in free
    assert drawn.count('stroke-width="0.7"') == free.count('stroke-width="0.7"') + 1


STANDS_OUT = {
    "units": "us",
    "route": {"length": 40},
    "ground": {
        "kind": "level_line",
        "readings": [
            {"at": 0, "down": 12, "line": "A"},
            {"at": 20, "down": 20, "line": "A"},
            {"at": 20, "down": 14, "line": "B"},
            {"at": 40, "down": 40, "line": "B"},
        ],
    },
    "pipe": {"code": "pvc-sdr35-4"},
    "start": {"cover": 6},
    "grade": {"max_percent": 1.5},
    "outlet": {"kind": "curb", "invert": {"min": -2.0, "max": -1.5}},
}
"""Read from two strings, the second 6 in lower: 20 in and 14 in down to the same ground."""


def test_nothing_is_read_as_a_negative_tape(take, planned) -> None:
    """Level A is 0; the ground ends 46 in below it, the pipe 1.5 % of 40 ft, 7.2 in, on its way.

    The pipe's top starts 12 + 6 in below A and ends 25.2 in below, so it stands 20.8 in out.
    """
    answer = planned(STANDS_OUT)
    assert answer["stations"][-1]["cover"] == pytest.approx(-20.8)
    page = take("dig-sheet.html", STANDS_OUT).get_data(as_text=True)
    pdf = " ".join(pdf_pages(take("dig-sheet.pdf", STANDS_OUT).data))
    for text in (squeezed(re.sub(r"<[^>]+>", " ", page)), squeezed(pdf)):
        assert "The pipe stands 20.8 in out of the ground at 0+40." in text
        assert "6 in lower than A" in text
        assert "below string A" in text
        assert "16.6 above ground" in text
        assert not re.search(r"(?<![\d\w])[-−]\d", text.split("Before you dig")[0])
    assert "no dig" in page


def test_a_sheet_has_percent_and_fall_per_length_side_by_side(take) -> None:
    """1/8 in per ft is 1/96: 1.04 %; in SI 1 % is 10 mm in a metre."""
    ground = {
        "kind": "elevations",
        "points": [{"at": 0, "elevation": 9}, {"at": 20, "elevation": 9}],
    }
    body = {
        "units": "us",
        "route": {"length": 20},
        "ground": ground,
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"depth": 20},
        "grade": {"min_percent": 100 / 96},
        "outlet": {"kind": "dry_well"},
    }
    assert "1.04 % = 1/8 in per ft" in take("dig-sheet.html", body).get_data(as_text=True)
    metric = body | {"units": "si", "start": {"depth": 500}, "grade": {"min_percent": 1}}
    assert "1.00 % = 10.0 mm per m" in take("dig-sheet.html", metric).get_data(as_text=True)
