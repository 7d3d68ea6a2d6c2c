"""A grade is typed as its user says it, and asked about where it could be several.

1/8 in per ft is 1/96, 1.04 %; 1/4 is 1/48, 2.08 %; 1 : 80 is 1.25 %, 1 in 40 2.5 %, 10 mm in a
metre 1 %, and the tangent of 0.5 degrees 0.87 %: arithmetic.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import partial

import pytest
from planner_page import cell, expect_answer, see, type_readings
from playwright.sync_api import Page, Request, expect

pytestmark = pytest.mark.browser

WAYS = [
    ("1/8 in/ft", "= 1.04 %", "1/8 in per ft (1.04 %)", "in per ft"),
    ('1/4"/ft', "= 2.08 %", "1/4 in per ft (2.08 %)", "in per ft"),
    ("1:80", "= 1.25 %", "1 : 80 (1.25 %)", "1 : 80"),
    ("1 in 40", "= 2.5 %", "1 : 40 (2.5 %)", "1 : 40"),
    ("10 mm per m", "= 1 %", "10 mm per m (1 %)", "mm per m"),
    ("0.5°", "= 0.87 %", "0.5° (0.87 %)", "°"),
    ("1,25 %", "", "1.25 %", "1.25 %"),
]


def expect_asked(page: Page, percent: float, act: Callable[[], None], near: float = 1e-9) -> None:
    """An act leads to a plan with this least grade; one sent before it may still be under way."""

    def is_asked(request: Request) -> bool:
        if not request.url.endswith("/api/v1/plan"):
            return False
        grade = json.loads(request.post_data or "").get("grade", {})
        return abs(grade.get("min_percent", -1) - percent) <= near

    with page.expect_request(is_asked):
        act()


def test_every_way_to_say_a_grade_is_taken_and_shown(sheet: Page) -> None:
    type_readings(sheet)
    expect_answer(sheet)
    field = cell(sheet, "grade.min_percent")
    for typed, beside, shown, unit in WAYS:
        percent = float(shown.rstrip(" %)").split("(")[-1])
        expect_asked(sheet, percent, partial(field.fill, typed), near=0.006)
        expect(sheet.locator("#min-percent-unit")).to_have_text(beside)
        grip = sheet.get_by_role("slider", name="Minimum grade")
        expect(grip).to_have_attribute("aria-valuetext", shown.split(" (")[0])
        grade = sheet.locator("#facts > div").filter(has_text=re.compile("^Grade"))  # as laid
        expect(grade).to_contain_text(unit)
    field.fill("1/8 in per ft")
    expect(sheet.locator("#facts")).to_contain_text("1/8 in per ft")
    expect(sheet.locator("#station-table tbody tr").first).to_contain_text(
        re.compile(r"0\.142\s*1\.19 %")
    )
    expect(sheet.locator("#station-table thead")).to_contain_text("Grade in per ft")


def test_a_bare_eighth_is_a_question_with_answers_to_press(sheet: Page) -> None:
    type_readings(sheet)
    expect_answer(sheet)
    field = cell(sheet, "grade.min_percent")
    bodies: list[str] = []
    sheet.on("request", lambda request: bodies.append(request.post_data or ""))
    for typed, eighth, percent in (
        ("1/8", "1/8 in per ft = 1.04 %", "0.125 %"),
        ("0.125", "1/8 in per ft = 1.04 %", "0.125 %"),
    ):
        field.fill(typed)
        field.blur()
        error = sheet.locator("#min-percent-error")
        expect(error).to_contain_text(f"“{typed}” could be meant in more than one way.")
        expect(error.get_by_role("button")).to_have_text([eighth, percent])
        expect(field).to_have_attribute("aria-invalid", "true")
        assert not [body for body in bodies if '"min_percent":0.125' in body]
        expect_asked(sheet, 100 / 96, error.get_by_role("button", name=eighth).click)
        expect(field).to_have_value("1/8 in per ft")
        expect(error).to_be_hidden()
    field.fill("0.125")
    field.blur()
    expect_asked(sheet, 0.125, sheet.get_by_role("button", name="0.125 %", exact=True).click)
    expect(sheet.locator("#notices")).to_contain_text("If 1/8 in per ft was meant, give 1.0417 %.")


def test_the_way_is_remembered_after_a_reload_and_can_be_chosen(sheet: Page) -> None:
    type_readings(sheet)
    cell(sheet, "grade.min_percent").fill("1/8 in/ft")
    expect(sheet.locator("#facts")).to_contain_text("1/8 in per ft")
    cell(sheet, "grade.min_percent").fill("")
    sheet.wait_for_timeout(300)  # kept after a moment
    sheet.reload()
    sheet.wait_for_selector("html[data-ready]", state="attached")
    expect_answer(sheet)
    expect(sheet.locator("#facts")).to_contain_text("0.15 in per ft1.25 %")
    expect(cell(sheet, "grade.min_percent")).to_have_attribute("placeholder", "0.15 in per ft")
    sheet.locator("#grade-finer > summary").click()
    sheet.locator("#grade-way").select_option("ratio")
    expect(sheet.locator("#facts")).to_contain_text("1 : 801.25 %")
    expect(cell(sheet, "grade.min_percent")).to_have_attribute("placeholder", "1 : 80")
    expect(sheet.locator("#assumed-list")).to_contain_text(
        "Minimum grade of this pipe: 1 : 80 (1.25 %)"
    )


def test_slopes_of_the_ground_take_every_way_too(sheet: Page) -> None:
    sheet.locator("#ground-kind").select_option("slopes")
    cell(sheet, "slopes.rows.0.from").fill("0")
    cell(sheet, "slopes.rows.0.to").fill("60")
    slope = cell(sheet, "slopes.rows.0.percent")
    slope.fill("-1/4")
    slope.blur()
    error = sheet.locator("#f-slopes-rows-0-percent-error")
    expect(error.get_by_role("button")).to_have_text(["-1/4 in per ft = -2.08 %", "-0.25 %"])
    error.get_by_role("button").first.click()
    expect(slope).to_have_value("-1/4 in per ft")
    expect(sheet.locator("#f-slopes-rows-0-percent-is")).to_have_text("= -2.08 %")
    expect_answer(sheet)
    expect(sheet.locator("#facts dd").filter(has_text="in per ft; ")).to_contain_text("%")


def test_what_lies_under_a_string_or_above_the_ground_is_said_without_a_sign(sheet: Page) -> None:
    type_readings(sheet)
    expect_answer(sheet)
    see(sheet, "Dig table")
    sheet.locator("#station-table .station").first.click()
    expect(sheet.locator("#station-readout")).to_contain_text("ground 9 in below the string")
    labels = sheet.locator("#profile .height-label").all_text_contents()
    assert "ft below the string" in labels
    assert not [text for text in labels if text.startswith(("-", "−"))]
    cell(sheet, "level_line.rows.4.down").fill("60")
    sheet.locator("#grade-finer > summary").click()
    cell(sheet, "grade.max_percent").fill("1.5")
    expect(sheet.locator("#notices")).to_contain_text("out of the ground at 0+52")
    last = sheet.locator("#station-table tbody tr").last
    expect(last).to_contain_text("none")
    expect(last).to_contain_text("above ground")
    expect(last).to_contain_text("out")
    assert "-" not in last.inner_text().replace("–", "")
    last.locator("button").click()
    expect(sheet.locator("#station-readout")).to_contain_text("the pipe stands")
    assert "-" not in sheet.locator("#facts").inner_text()
