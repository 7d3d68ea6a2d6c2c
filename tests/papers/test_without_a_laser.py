"""The dig sheet says how to hold a grade without a laser, and what is still to be measured."""

from __future__ import annotations

import copy
from typing import Any

from read_paper import pdf_pages, squeezed

from yardfall.core.units import US
from yardfall.papers.dig_sheet.sheet_text import write_sheet
from yardfall.papers.model import MAIN, DrainLine, Job, TitleBlock


def sheet_of(answer: dict[str, Any]):
    """The sheet of a taped run's answer."""
    return write_sheet(Job(TitleBlock(), US, answer, (DrainLine(MAIN, answer, "ft"),)))


def test_blocks_and_gap_stand_beside_the_grade(take, yard_request) -> None:
    """8 in over 52 ft: 0.31 in under 2 ft, 0.62 under 4 ft, and 0.31 in of gap under 8 ft, which
    is rounded down (arithmetic)."""
    (text,) = pdf_pages(take("dig-sheet.pdf", yard_request).data)
    told = squeezed(text)
    assert "Level 2 ft, 4 ft Board 8 ft" in told
    assert "1.28 % 5/16 in, 5/8 in 1/4 in" in told
    page = take("dig-sheet.html", yard_request).get_data(as_text=True)
    assert "5/16 in, 5/8 in" in page


def test_a_plan_kept_from_before_has_a_sheet_without_them(planned, yard_request) -> None:
    answer = planned(yard_request)
    assert len(sheet_of(answer).lines[0].grades.columns) == 6
    old = copy.deepcopy(answer)
    for run in old["grade_runs"]:
        del run["level_blocks"], run["board"]
    del old["to_measure"], old["ground_known"]
    grades = sheet_of(old).lines[0].grades
    assert len(grades.columns) == 4
    assert {len(row) for row in grades.rows} == {4}
    assert "block" not in grades.notes[0]


def test_what_is_to_be_measured_is_on_the_sheet(planned) -> None:
    answer = planned(
        {
            "units": "us",
            "route": {"length": 40},
            "ground": {"kind": "length_and_drop", "of": "ground", "drop": 14},
            "pipe": {"code": "pvc-sdr35-4"},
            "start": {"cover": 8},
            "limits": {"min_cover": 3, "max_depth": 20},
            "outlet": {"kind": "pop_up", "depth": {"min": 5, "max": 14}},
        }
    )
    warnings = sheet_of(answer).lines[0].warnings
    assert "Measure the ground at 0+10, 0+20, 0+30." in warnings
    (first,) = [place["text"] for place in answer["to_measure"] if place["first"]]
    assert first in warnings
