"""Staking out: each station found again from its two tape distances, by trilateration alone."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pypdfium2
import pytest
from read_paper import Rows, pdf_pages, squeezed

FOOT, INCH = 0.3048, 0.0254
HALF_MARK = {"us": 0.125 * INCH, "si": 0.0025}
"""Half of what the trench's own tape is marked to: 1/4 in or 5 mm."""


def area(ring: list[list[float]], name: str) -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {"name": name},
        "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]},
    }


def local(units: str, line: list[list[float]], fixed: dict[str, Any], **paper: Any) -> dict:
    """A line on a site plan over even ground; lengths in the units given."""
    legs = np.hypot(*np.diff(line, axis=0).T)
    length = float(legs.sum())
    us = units == "us"
    return {
        "units": units,
        "route": {"line": {"type": "LineString", "coordinates": line}, "crs": "local"},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 100}, {"at": length, "elevation": 100 - length / 40}],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 10 if us else 250},
        "outlet": {"kind": "daylight"},
        "stations": {"every": 10 if us else 3},
        "paper": {"fixed": fixed, **paper},
    }


def metres(text: str) -> float:
    """A tape distance: `23' 4 1/16"` or `7.123 m`."""
    if text.endswith(" m"):
        return float(text.removesuffix(" m"))
    found = re.fullmatch(r"(\d+)' (\d+)(?: (\d+)/(\d+))?\"", text)
    assert found, text
    feet, inches, over, under = (int(part or 0) for part in found.groups())
    return feet * FOOT + (inches + over / (under or 1)) * INCH


def ties(page: str) -> dict[str, list[tuple[str, float]]]:
    """By station: each corner's letter and the distance from it, m."""
    found: dict[str, list[tuple[str, float]]] = {}
    for row in Rows(page).rows:
        for label, *tapes in (row[:3], row[3:]) if len(row) == 6 else ():
            if re.match(r"\d\+\d", label) and ":" in tapes[0]:
                found[label] = [(t.split(": ")[0], metres(t.split(": ")[1])) for t in tapes]
    return found


def meet(a: np.ndarray, ra: float, b: np.ndarray, rb: float, near: np.ndarray) -> np.ndarray:
    """Where two circles meet, the one of the two points that lies nearer to a place."""
    d = np.hypot(*(b - a))
    along = (ra**2 - rb**2 + d**2) / (2 * d)
    off = np.sqrt(ra**2 - along**2)
    u = (b - a) / d
    both = [a + along * u + s * off * np.array([-u[1], u[0]]) for s in (1, -1)]
    return min(both, key=lambda p: float(np.hypot(*(p - near))))


HOUSES = {
    "us": ([[0, 0], [40, 0], [40, 28], [0, 28]], [[42, 20], [60, 34], [62, 75]]),
    "si": ([[0, 0], [12, 0], [12, 8], [0, 8]], [[12.4, 6], [18, 10], [18.5, 23]]),
}


@pytest.mark.parametrize("units", ["us", "si"])
def test_two_tapes_give_back_every_station(take, planned, units) -> None:
    house, line = HOUSES[units]
    request = local(units, line, area(house, "House"))
    stations = planned(request)["stations"]
    unit_m = FOOT if units == "us" else 1.0
    true = {s["label"]: np.array([s["x"], s["y"]]) * unit_m for s in stations}
    found = ties(take("dig-sheet.html", request).get_data(as_text=True))
    assert list(found) == sorted(found) or set(found) == set(true)
    assert set(found) == set(true), "every station is tied"
    stands = [np.array(corner) * unit_m for corner in house]
    letters = {
        letter: min(stands, key=lambda p, r=r, label=label: abs(np.hypot(*(true[label] - p)) - r))
        for label, tapes in found.items()
        for letter, r in tapes
        if letter.isalpha()
    }
    assert len({tuple(p) for p in letters.values()}) == len(letters)
    places = {**letters, **true}
    for label, ((one, ra), (other, rb)) in found.items():
        a, b = places[one], places[other]
        got = meet(a, ra, b, rb, true[label])
        assert np.hypot(*(got - true[label])) <= HALF_MARK[units], label
        to_a, to_b = true[label] - a, true[label] - b
        cut = np.degrees(np.arccos(to_a @ to_b / np.hypot(*to_a) / np.hypot(*to_b)))
        assert 30 - 1e-6 <= cut <= 150 + 1e-6, label
        for corner in (a, b):
            assert not through(corner, true[label], np.array(house) * unit_m), label


def through(a: np.ndarray, b: np.ndarray, ring: np.ndarray) -> bool:
    """Whether a straight line passes inside a rectangle, tried at a thousand places."""
    way = a + np.linspace(0.001, 0.999, 999)[:, None] * (b - a)
    low, high = ring.min(axis=0) + 0.03, ring.max(axis=0) - 0.03
    return bool(((way > low) & (way < high)).all(axis=1).any())


def test_two_points_that_cut_square_are_the_pair_of_the_whole_line(take) -> None:
    """Stakes at 0, 0 and 30, 0; a line from 15, 15 on: the arcs cross at a right angle at its
    start, 21.213 ft or 21 ft 2 9/16 in from either."""
    marks = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": {"name": name},
             "geometry": {"type": "Point", "coordinates": [x, 0]}}
            for name, x in (("Oak", 0), ("Pole", 30), ("Post", 200))
        ],
    }  # fmt: skip
    request = local("us", [[15, 15], [15, 45]], marks)
    page = take("dig-sheet.html", request).get_data(as_text=True)
    found = ties(page)
    assert [letter for letter, _ in found["0+00"]] == ["A", "B"]
    assert found["0+00"][0][1] == pytest.approx((21 + 2.5625 / 12) * FOOT)
    assert "Corners to tape from: Oak A; Pole B" in page
    assert "Post C" not in page, "what nobody tapes from gets no letter"


def test_without_corners_the_plan_says_what_is_missing(take, plot_request) -> None:
    pages = pdf_pages(take("dig-sheet.pdf", plot_request).data)
    assert "No corners to tape from were given" in squeezed(pages[-1])
    assert re.search(r"Plan, 1 in = \d+ ft", pages[-1])
    assert "Keep out: Oak" in pages[-1]


def test_a_taped_run_takes_nothing_that_stands_on_a_map(client, yard_request) -> None:
    fixed = area([[0, 0], [9, 0], [9, 9]], "House")
    body = yard_request | {"paper": {"fixed": fixed}}
    answer = client.post("/api/v1/papers/dig-sheet.pdf", json=body)
    assert [e["pointer"] for e in answer.json["errors"]] == ["/paper/fixed"]


def test_tags_are_made_where_they_are_asked_for(take, planned, yard_request) -> None:
    stations = planned(yard_request)["stations"]
    for name in ("dig-sheet.pdf", "dig-sheet.html"):
        plain, tagged = (take(name, yard_request, tags=asked).data for asked in (False, True))
        if name.endswith("pdf"):
            assert len(pdf_pages(tagged)) == len(pdf_pages(plain)) + 1
            text = squeezed(pdf_pages(tagged)[-1])
        else:
            assert b'class="tag"' not in plain
            text = squeezed(re.sub(r"<[^>]+>", " ", tagged.decode().split('class="tags"')[1]))
        for s in stations:
            marks = s["marks"]
            told = (
                f"{s['label']} Dig {marks['dig_depth']} in "
                f"String to bottom {marks['line_to_bottom']} in"
            )
            assert told in text


def test_page_one_tells_how_good_the_raster_is(take, drawn_request) -> None:
    """A standard error of 0.1 in was stated; 1.4 in is what lidar is taken for (see accuracy)."""
    first = squeezed(pdf_pages(take("dig-sheet.pdf", drawn_request).data)[0])
    assert "elevation raster whose heights are good to about 0.1 in" in first
    del drawn_request["accuracy"]
    first = squeezed(pdf_pages(take("dig-sheet.pdf", drawn_request).data)[0])
    assert re.search(r"whose heights are good to about \d\.\d in against one another", first)
    assert "usual of aerial lidar, since the plan gives no accuracy" in first


def test_no_page_is_half_empty(take, drawn_request) -> None:
    """Black on white, the lowest mark of each page but the foot lies in its lowest third."""
    drawn_request["paper"] = {"fixed": area(
        [[512000, 4705032], [512008, 4705032], [512008, 4705038], [512000, 4705038]], "House"
    )}  # fmt: skip
    document = pypdfium2.PdfDocument(take("dig-sheet.pdf", drawn_request).data)
    for page in document:
        dark = np.array(page.render(scale=1).to_pil().convert("L")) < 128
        body = dark[: -int(0.05 * len(dark))]
        assert np.flatnonzero(body.any(axis=1)).max() > 2 / 3 * len(dark)
    document.close()
