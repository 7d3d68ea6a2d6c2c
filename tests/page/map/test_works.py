"""Inlets, branches, areas to keep out of: on the map and beside it, by mouse, touch and keys."""

from __future__ import annotations

import re

import pytest
from accessible import SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import (
    Opener,
    cell,
    drag,
    expect_answer,
    expect_other_answer,
    map_place,
    middle_of,
    screen,
    see,
    sentence,
    tab_to,
    type_readings,
)
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.browser


def add_to_map(page: Page, what: str) -> None:
    """Choose one of the things to add to the map."""
    page.locator("#add-menu > summary").click()
    page.locator("#add-menu").get_by_role("button", name=what).click()


def draw(page: Page, what: str, places: tuple[tuple[float, float], ...]) -> None:
    """Draw a shape by clicks, in shares of the map's width and height."""
    add_to_map(page, what)
    for right, down in places:
        page.mouse.click(*map_place(page, right, down))
    page.locator("#draw-finish").click()


def roof(page: Page, i: int, area: str, rain: str) -> None:
    """Fill in a roof's inlet."""
    cell(page, f"inflows.rows.{i}.area").fill(area)
    cell(page, f"inflows.rows.{i}.rain_rate").fill(rain)


def station(marker: Locator) -> str:
    """The station that an inlet's form holds."""
    return cell(marker.page, "inflows.rows.0.at").input_value()


def test_an_inlet_placed_on_the_map_shows_how_full_the_pipe_runs(page: Page) -> None:
    expect_answer(page)
    add_to_map(page, "An inlet")
    page.mouse.click(*middle_of(page.locator(".station-dot").nth(3)))
    expect(cell(page, "inflows.rows.0.area")).to_be_focused()
    expect(page.locator("#inflow-list .unfinished")).to_contain_text("Still needed")
    roof(page, 0, "800", "5")
    # 800 sq ft at 5 in/h is 41.6 gpm (1 in/h on 1 sq ft = 0.01039 gpm)
    expect(page.locator("#water-answer")).to_contain_text("41.6 gpm")
    expect(page.locator("#water-answer .bases tbody tr")).to_have_count(2)
    expect(page.locator("#water-answer")).to_contain_text("When everything runs at once")
    number = page.locator(".run-label")
    expect(number).to_have_text(re.compile(r"^\d+ %$"))
    expect(page.locator("#water-answer .share")).to_have_text(number.inner_text())
    placed = station(page.locator(".thing-inflows"))
    drag(page, page.locator(".thing-inflows"), -30, 30)
    expect(cell(page, "inflows.rows.0.at")).not_to_have_value(placed)
    page.locator("#undo").click()
    expect(cell(page, "inflows.rows.0.at")).to_have_value(placed)


def test_inlets_by_keys_alone(page: Page) -> None:
    expect_answer(page)
    tab_to(page, page.locator("#add-inflow"))
    page.keyboard.press("Enter")
    tab_to(page, page.locator("#f-inflows-rows-0-kind"), back=True)
    page.keyboard.type("Sump")
    tab_to(page, cell(page, "inflows.rows.0.at"))
    page.keyboard.type("20")
    tab_to(page, cell(page, "inflows.rows.0.rate"))
    page.keyboard.type("45")
    expect(page.locator("#water-answer")).to_contain_text("No water yet from 0+00 to 0+20")
    marker = page.locator(".thing-inflows")
    expect(marker).to_have_attribute("aria-label", re.compile("^Pump inlet"))
    tab_to(page, marker, back=True)
    page.keyboard.press("Shift+ArrowRight")
    expect(cell(page, "inflows.rows.0.at")).to_have_value("25")
    expect(marker).to_be_focused()
    page.keyboard.press("Delete")
    expect(marker).to_have_count(0)
    expect(page.locator("#water .stretch-answer")).to_have_count(0)


def test_a_branch_drawn_to_the_line_joins_it_and_follows_it(page: Page) -> None:
    before = expect_answer(page)
    draw(page, "A branch", ((0.714, 0.415), (0.675, 0.195), (0.5, 0.22)))
    expect_other_answer(page, before)
    expect(page.locator("#branch-answers")).to_contain_text("It joins at")
    expect(page.locator("#line-readout")).to_contain_text(
        "from its start to where it joins, 1 bend"
    )
    hint = page.locator("#branch-answer-list .water-part .hint")
    expect(hint).to_contain_text("It joins at 0+8")  # the last answer of those asked while drawing
    joined = hint.inner_text()
    page.locator("#shape").select_option("line")
    drag(page, page.locator(".point-end"), 25, 0)
    expect(page.locator("#branch-answer-list .water-part .hint")).not_to_have_text(joined)
    page.locator("#undo").click()
    expect(page.locator("#branch-answer-list .water-part .hint")).to_have_text(joined)
    page.locator("#add-inflow").click()
    roof(page, 0, "4000", "5")
    see(page, "Water")
    expect(page.locator("#water-answer .share-over").first).to_be_visible()  # one a grade
    expect(page.locator("#water-answer .drowned")).to_contain_text("Water backs up and comes out")
    page.evaluate("document.querySelectorAll('.more').forEach(d => d.open = true)")
    expect_clean(page)
    page.get_by_role("button", name="Remove branch 1").click()
    page.get_by_role("button", name="Remove inlet 1").click()
    expect(sentence(page)).to_have_text(before)


def test_a_taped_branch_brings_its_own_readings(sheet: Page) -> None:
    type_readings(sheet)
    before = expect_answer(sheet)
    sheet.locator("#add-branch").click()
    expect(cell(sheet, "branches.rows.0.name")).to_be_focused()
    cell(sheet, "branches.rows.0.joins_at").fill("39")
    for i, (at, down) in enumerate((("0", "9"), ("15", "12"), ("30", "16"))):
        cell(sheet, f"branch_readings.rows.{i}.at").fill(at)
        cell(sheet, f"branch_readings.rows.{i}.down").fill(down)
    expect_other_answer(sheet, before)
    expect(sheet.locator("#branch-answers")).to_contain_text("It joins at 0+39")
    cell(sheet, "branches.rows.0.joins_at").fill("500")
    expect(sheet.locator("#f-branches-rows-0-joins_at-error")).to_contain_text("beyond the end")
    sheet.reload()
    expect(cell(sheet, "branch_readings.rows.2.down")).to_have_value("16")


def test_an_area_by_touch_snaps_to_the_house(open_page: Opener) -> None:
    page = open_page(phone=True)
    expect_answer(page)
    page.locator("#add-menu > summary").tap()
    page.locator("#draw-avoid").tap()
    for right, down in ((0.45, 0.72), (0.6, 0.72), (0.6, 0.82)):
        page.touchscreen.tap(*map_place(page, right, down))
    expect(page.locator("#draw-words")).to_contain_text("3 corners")
    page.locator("#draw-finish").tap()
    expect(page.locator("#outline-list li")).to_contain_text("3 corners")
    screen(page, "Entries")
    page.locator("#area-name-0").fill("Old oak")
    expect(page.locator(".label-avoid")).to_have_text("Old oak")
    expect_clean(page)
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("#undo").tap()
    expect(page.locator(".label-avoid")).to_have_text("Area 1")
    page.get_by_role("button", name="Remove area 1").tap()
    expect(page.locator(".label-avoid")).to_have_count(0)


def test_a_shape_by_keys_snaps_and_shows_in_the_table(page: Page) -> None:
    expect_answer(page)
    page.locator("#draw-lot").evaluate("button => button.click()")
    expect(page.locator("#map")).to_be_focused()
    for keys in ("Shift+ArrowLeft s", "Shift+ArrowUp", "Shift+ArrowRight"):
        for key in keys.split():
            page.keyboard.press(key)
        page.keyboard.press("Enter")
    expect(page.locator("#draw-words")).to_contain_text("3 corners")
    page.keyboard.press("Escape")
    page.get_by_text("Points as a table").click()
    expect(page.locator("#bends tbody th")).to_have_text(["Corner 1", "Corner 2", "Corner 3"])
    expect(page.locator(".point")).to_have_count(6)
    page.locator("#point-1-leg").fill("20")
    page.keyboard.press("Enter")
    expect(page.locator("#point-1-leg")).to_have_value("20")
    for _ in range(2):
        page.locator("#undo").click()
    expect(page.locator("#point-1-leg")).not_to_have_value("20")


def test_length_and_station_stand_beside_a_dragged_point(page: Page) -> None:
    expect_answer(page)
    x, y = middle_of(page.locator(".point-bend").nth(1))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y - 20, steps=5)
    expect(page.locator(".mark-label")).to_have_text(re.compile(r"^\d\+\d\d.*, leg \d+\.\d ft"))
    page.mouse.up()
    expect(page.locator(".mark-label", has_text="leg")).to_have_count(0)
