"""An old pipe without a plan, told as a contractor who reads it along a string."""

from __future__ import annotations

import pytest
from accessible import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, cell, expect_answer, see
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

READ = (("0", "20"), ("15", "22 1/2"), ("30", "26.5"), ("45", "25"), ("60", "29 1/2"))
"""The pipe worked by hand in tests/core/asbuilt/test_old_pipe.py: a belly of 1.5 in over
20.625 ft."""


def read_along(page: Page) -> None:
    """Open the fold and type the points by keys alone, from the first field on."""
    see(page, "Old pipe")
    page.locator("#old-pipe-fold > summary").click()
    cell(page, "old_points.rows.0.at").click()
    for i, reading in enumerate(READ):
        for k, text in enumerate(reading):
            if i or k:
                page.keyboard.press("Enter")
            page.keyboard.type(text)


@pytest.mark.parametrize("phone", [False, pytest.param(True, marks=pytest.mark.long)])
def test_where_water_stands_and_what_to_move(phone: bool, open_page: Opener) -> None:
    page = open_page(phone=phone)
    plan = expect_answer(page)
    read_along(page)
    said = page.locator("#old-pipe-sentence")
    page.get_by_label("Accuracy of the readings").last.select_option("water level")
    page.locator("#f-old_pipe-pipe").select_option("corrugated-single-4")
    expect(said).to_have_text(
        "Water stands 1.5 in deep at 0+30, over 20.63 ft of pipe, held up at 0+45."
    )
    expect(said).to_have_attribute("data-verdict", "no")
    expect(page.locator("#f-old_pipe-min_percent")).to_have_attribute("placeholder", "1.25")
    cells = page.locator(".old-pipe-points tbody tr").nth(2).locator("td")
    expect(cells).to_have_text(["-2.21", "-0.83 %falls back", "1.5 in", "lift 1 1/2 in"])
    water = page.locator("#old-pipe-drawing .old-pipe-water").bounding_box()
    pipe = page.locator("#old-pipe-drawing .old-pipe-bottom").bounding_box()
    assert water is not None
    assert pipe is not None
    assert water["width"] / pipe["width"] == pytest.approx(20.625 / 60, abs=0.02)
    assert page.locator("#old-pipe-drawing .old-pipe-back").count() == 1
    assert expect_answer(page) == plan  # the plan on the page is untouched
    expect_clean(page)
    if phone:
        assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)


def test_it_is_part_of_what_is_kept_undone_and_switched(sheet: Page) -> None:
    read_along(sheet)
    said = sheet.locator("#old-pipe-sentence")
    expect(said).to_contain_text("1.5 in deep at 0+30")
    sheet.locator("#undo").click()
    expect(cell(sheet, "old_points.rows.4.down")).to_have_value("")
    sheet.locator("#redo").click()
    expect(cell(sheet, "old_points.rows.4.down")).to_have_value("29 1/2")
    sheet.locator("input[name=units][value=si]").check()
    expect(said).to_contain_text("38 mm deep at 0+009.14")
    expect(cell(sheet, "old_points.rows.1.down")).to_have_value("572")
    sheet.reload()
    see(sheet, "Old pipe")
    expect(cell(sheet, "old_points.rows.1.down")).to_be_visible()
    expect(said).to_contain_text("38 mm deep at 0+009.14")


def test_what_is_typed_without_the_planner_is_kept_and_asked_again(sheet: Page) -> None:
    sheet.context.set_offline(True)
    read_along(sheet)
    expect(sheet.locator("#old-pipe-said")).to_contain_text("kept here and asked again by itself")
    expect(sheet.locator("#old-pipe-sentence")).to_be_hidden()
    sheet.context.set_offline(False)
    expect(sheet.locator("#old-pipe-sentence")).to_contain_text("1.5 in deep at 0+30")
    expect(sheet.locator("#old-pipe-said")).to_be_empty()


def test_what_is_wrong_is_told_where_it_stands(sheet: Page) -> None:
    read_along(sheet)
    expect(sheet.locator("#old-pipe-sentence")).to_contain_text("1.5 in deep")
    second = cell(sheet, "old_points.rows.1.at")
    second.fill("30")
    sheet.keyboard.press("Tab")
    error = sheet.locator("#f-old_points-rows-2-at-error")
    expect(error).to_have_text(
        "Point 3 stands at the same station as point 2; give each station once."
    )
    expect(sheet.locator("#old-pipe-said")).to_contain_text("from before your last change")
    sheet.locator("#min-percent").fill("1")  # an answer to the plan leaves it standing
    sheet.wait_for_load_state("networkidle")
    expect(error).to_be_visible()
    second.fill("fifteen")
    sheet.keyboard.press("Tab")
    expect(sheet.locator("#f-old_points-rows-1-at-error")).to_be_visible()
    expect(error).to_be_hidden()
    second.fill("15")
    expect(sheet.locator("#old-pipe .error:visible")).to_have_count(0)
    sheet.locator("#f-old_points-rows-0-on").select_option("top")
    expect(sheet.locator("#f-old_pipe-pipe-error")).to_contain_text("top of the pipe")
    sheet.locator("#f-old_pipe-pipe").select_option("pvc-drain-4")
    expect(sheet.locator("#f-old_pipe-pipe-error")).to_be_hidden()


def test_another_way_to_read_has_its_own_columns(sheet: Page) -> None:
    see(sheet, "Old pipe")
    sheet.locator("#old-pipe-fold > summary").click()
    sheet.locator("#f-old_pipe-by").select_option("depth from ground of known height")
    for i, (at, ground, depth) in enumerate((("0", "100", "24"), ("20", "99.5", "30"))):
        for name, text in (("at", at), ("ground", ground), ("depth", depth)):
            cell(sheet, f"old_points.rows.{i}.{name}").fill(text)
    # 100 - 2 and 99.5 - 2.5 ft: 12 in over 20 ft
    expect(sheet.locator("#old-pipe-figures")).to_contain_text("It falls 12 in over 20 ft: 5 %")
    expect(sheet.locator("#old-pipe")).to_contain_text("It is not said how well")
