"""The drawings: to scale, north told truly, every station where it belongs."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from yardfall.core.units import SI, US
from yardfall.papers.drawing.drawing import Drawing, Label, Stroke, apart, overlap, text_box
from yardfall.papers.drawing.lettering import Lettering
from yardfall.papers.drawing.plan_sketch import draw_plan
from yardfall.papers.model import DrainLine, Job, TitleBlock

SVG = "{http://www.w3.org/2000/svg}"


def job(xy_m: list[list[float]], units, up: str = "north") -> Job:
    stations = [
        {"at": float(i), "label": f"{i}", "why": [], "marks": {"dig_depth": "9"}}
        for i in range(len(xy_m))
    ]
    answer = {"stations": stations, "crossings": []}
    line = DrainLine("Main line", answer, "ft", plane_m=np.array(xy_m))
    return Job(TitleBlock(), units, answer, (line,), up)


@pytest.mark.parametrize(("units", "per_inch_m"), [(US, 0.3048), (SI, 0.0254)])
@pytest.mark.parametrize("size_m", [3.0, 47.0, 400.0])
def test_a_sketch_is_to_its_stated_scale(units, per_inch_m, size_m) -> None:
    ends = [[0.0, 0.0], [size_m * 0.6, size_m]]
    drawing = draw_plan(job(ends, units), 196, 124)
    assert drawing is not None
    (x0, y0), (x1, y1) = drawing.marks[0].points
    drawn_in = np.hypot(x1 - x0, y1 - y0) / 72
    stated = float(re.search(r"(?:1 in =|1 :) ([\d.]+)", drawing.about).group(1))
    assert drawn_in * stated * per_inch_m == pytest.approx(np.hypot(*ends[1]), rel=1e-6)
    assert x1 > x0
    assert y1 < y0, "north is up"
    for mark in drawing.marks:
        points = getattr(mark, "points", ())
        assert all(0 <= x <= 196 and 0 <= y <= 124 for x, y in points)


def test_a_site_plan_claims_no_north() -> None:
    drawing = draw_plan(job([[0, 0], [9, 4]], SI, "y of the site plan"), 196, 124)
    texts = [m.text for m in drawing.marks if hasattr(m, "text")]
    assert "y" in texts
    assert "N" not in texts


def test_a_profile_is_drawing_of_its_own(take, planned, yard_request) -> None:
    answer = planned(yard_request)
    response = take("profile.svg", yard_request, title="A <b> & c")
    assert response.mimetype == "image/svg+xml"
    root = ET.fromstring(response.data)
    texts = [e.text for e in root.iter(f"{SVG}text")]
    assert texts[0].startswith("A <b> & c")
    for s in answer["stations"]:
        assert s["label"] in texts
        assert f"dig {s['marks']['dig_depth']}" in texts
    lines = [e for e in root.iter() if e.get("stroke-width") == "2.2"]
    (ground,) = lines
    points = np.array([[float(v) for v in p.split(",")] for p in ground.get("points").split()])
    z = np.array(answer["profile"]["ground"])
    # Higher ground is drawn higher, in proportion.
    ratio = (points[:, 1] - points[0, 1]) / np.where(z == z[0], np.nan, z[0] - z)
    assert np.nanstd(ratio) < 0.05 * np.nanmean(ratio)


def test_labels_keep_apart() -> None:
    assert apart([0, 5, 10, 11, 20], 10, [0, 4]) == [0, 2, 4]
    assert overlap((0, 0, 10, 10), (9, 9, 20, 20))
    assert not overlap((0, 0, 10, 10), (10, 0, 20, 10))


def test_names_that_would_overlap_stand_aside_with_leaders() -> None:
    drawing = Drawing(300, 300, "")
    names = Lettering(drawing, below=295, size=8.5)
    points = [(150.0 + 3 * i, 150.0 + 2 * i) for i in range(12)]
    for i, point in enumerate(points):
        assert names.name(point, f"Station {i}")
    labels = [m for m in drawing.marks if isinstance(m, Label)]
    leaders = [m for m in drawing.marks if isinstance(m, Stroke)]
    assert [m.text for m in labels] == [f"Station {i}" for i in range(12)]
    boxes = [text_box(m.x, m.y, m.text, m.size, m.anchor) for m in labels]
    for i, one in enumerate(boxes):
        assert not any(overlap(one, other) for other in boxes[:i])
    assert len(leaders) >= 6
    assert all(leader.points[0] in points for leader in leaders)
