"""Stations as CSV: every number of the plan, and no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yardfall.papers.station_file import FORMULA_STARTS, decimal, safe


def read(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def test_every_number_comes_back(take, planned, yard_request) -> None:
    answer = planned(yard_request)
    rows = read(take("stations.csv", yard_request).data)
    assert len(rows) == len(answer["stations"])
    for row, s, sent in zip(
        rows, answer["stations"], yard_request["ground"]["readings"], strict=True
    ):
        assert row["station"] == s["label"]
        for name, key in (
            ("at_ft", "at"),
            ("ground_ft", "ground"),
            ("invert_ft", "invert"),
            ("dig_depth_in", "dig_depth"),
            ("cover_in", "cover"),
            ("line_to_bottom_in", "line_to_bottom"),
            ("grade_percent", "grade_percent"),
        ):
            assert float(row[name]) == s[key]
        assert float(row["line_to_ground_in"]) == pytest.approx(sent["down"], abs=1e-3)
        # A tape mark lies within a step, 1/4 in, of the depth it stands for.
        assert abs(float(row["dig_mark_in"]) - s["dig_depth"]) <= 0.25
        assert float(row["line_mark_in"]) == decimal(s["marks"]["line_to_bottom"])
        assert row["x"] == row["rod_on_bottom_ft"] == ""


def test_rows_are_those_of_rfc_4180(take, yard_request) -> None:
    content = take("stations.csv", yard_request).data
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.count(b"\r\n") == content.count(b"\n") == 6


@pytest.mark.parametrize("name", ["=cmd()", "+1", "-1+1", "@SUM(A1)", " =1+1", "＝1", "|calc"])
def test_a_branch_named_like_a_formula_is_text(take, drawn_request, name) -> None:
    drawn_request["branches"][0]["name"] = name
    rows = read(take("stations.csv", drawn_request).data)
    named = {row["line"] for row in rows} - {"Main line"}
    assert named == {"'" + name.strip()}


@given(st.text())
def test_no_text_starts_a_formula(text: str) -> None:
    assert (safe(text).lstrip()[:1] or "x") not in FORMULA_STARTS


@pytest.mark.parametrize(
    ("mark", "value"), [("23 1/2", 23.5), ("13", 13), ("3/4", 0.75), ("-1/4", -0.25), ("595", 595)]
)
def test_marks_as_decimals(mark: str, value: float) -> None:
    assert decimal(mark) == value
