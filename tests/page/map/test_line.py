"""Drawing and changing the line on the map, by mouse, by touch and by keys alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from planner_page import (
    Opener,
    drag,
    expect_answer,
    expect_other_answer,
    map_place,
    middle_of,
    sentence,
    start_from,
    tab_to,
)
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

YARD = Path(__file__).resolve().parents[3] / "fixtures" / "demo" / "yard.tif"
BENDS = ".point:not(.handle)"
PLACES = ((0.5, 0.45), (0.45, 0.3), (0.4, 0.2))


def begin_drawing(page: Page) -> None:
    page.locator("#draw").click()
    expect(page.locator("#draw-words")).to_contain_text("where the water goes in")


def test_a_line_drawn_by_mouse_is_answered_as_it_grows(page: Page) -> None:
    before = expect_answer(page)
    begin_drawing(page)
    expect(sentence(page)).to_contain_text("Draw your line")
    for i, (right, down) in enumerate(PLACES):
        page.mouse.click(*map_place(page, right, down))
        expect(page.locator(BENDS)).to_have_count(i + 1)
    expect_other_answer(page, before)
    page.locator("#draw-finish").click()
    expect(page.locator("#map")).to_be_focused()  # where the hand was
    expect(page.locator("#line-readout")).to_contain_text("1 bend")
    expect(page.locator("#draw")).to_be_visible()
    expect(page.locator(".handle")).to_have_count(2)
    assert expect_answer(page) != before


def test_drawing_can_be_taken_back_and_cancelled(page: Page) -> None:
    before = expect_answer(page)
    begin_drawing(page)
    page.mouse.click(*map_place(page, 0.5, 0.45))
    page.mouse.click(*map_place(page, 0.45, 0.3))
    expect(page.locator(BENDS)).to_have_count(2)
    page.locator("#draw-back").click()
    expect(page.locator(BENDS)).to_have_count(1)
    page.locator("#draw-cancel").click()
    expect(sentence(page)).to_have_text(before)


def test_a_line_drawn_by_touch(open_page: Opener) -> None:
    page = open_page(phone=True)
    before = expect_answer(page)
    page.locator("#draw").tap()
    for i, (right, down) in enumerate(PLACES):
        page.touchscreen.tap(*map_place(page, right, down))
        expect(page.locator(BENDS)).to_have_count(i + 1)
    page.locator("#draw-finish").tap()
    expect_other_answer(page, before)
    expect(page.locator("#line-readout")).to_contain_text("1 bend")


def test_a_line_drawn_by_keys_alone(page: Page) -> None:
    before = expect_answer(page)
    tab_to(page, page.locator("#draw"))
    page.keyboard.press("Enter")
    expect(page.locator("#map")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator(BENDS)).to_have_count(1)
    for key in ("Shift+ArrowUp", "Shift+ArrowUp", "Shift+ArrowLeft", "ArrowLeft"):
        page.keyboard.press(key)
    expect(page.locator("#draw-words")).to_contain_text("Pen at")
    page.keyboard.press("Enter")
    for _ in range(4):
        page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    expect(page.locator(BENDS)).to_have_count(3)
    # 10 ft up and 5.5 ft left, then 20 ft up: √(10² + 5.5²) + 20 = 31.4
    expect(page.locator("#line-readout")).to_contain_text("31.4 ft from start to outlet, 1 bend")
    expect_other_answer(page, before)


def test_a_dragged_point_changes_the_answer_and_one_undo_puts_it_back(page: Page) -> None:
    before = expect_answer(page)
    drag(page, page.locator(".point-end"), 40, 60)
    expect_other_answer(page, before)
    page.locator("#undo").click()
    expect(sentence(page)).to_have_text(before)
    expect(page.locator("#undo")).to_be_disabled()


def test_a_handle_between_points_makes_a_bend(page: Page) -> None:
    before = expect_answer(page)
    count = page.locator(BENDS).count()
    drag(page, page.locator(".handle").last, 30, 0)
    expect(page.locator(BENDS)).to_have_count(count + 1)
    expect_other_answer(page, before)


def test_points_move_and_go_by_keys_and_the_next_keeps_focus(page: Page) -> None:
    expect_answer(page)
    count = page.locator(BENDS).count()
    readout = page.locator("#line-readout").inner_text()
    bend = page.locator(".point-bend").first
    expect(bend).to_have_attribute("aria-label", re.compile("^Bend 1"))
    tab_to(page, bend)
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator("#line-readout")).not_to_have_text(readout)
    page.keyboard.press("Delete")
    expect(page.locator(BENDS)).to_have_count(count - 1)
    expect(page.locator(".point-bend").first).to_be_focused()
    tab_to(page, page.locator(".handle").first)
    page.keyboard.press("Enter")
    expect(page.locator(BENDS)).to_have_count(count)
    expect(page.locator(".point-bend").first).to_be_focused()


def test_a_right_click_removes_a_bend(page: Page) -> None:
    expect_answer(page)
    count = page.locator(BENDS).count()
    page.mouse.click(*middle_of(page.locator(".point-bend").nth(1)), button="right")
    expect(page.locator(BENDS)).to_have_count(count - 1)


def test_the_table_of_points_is_the_equal_of_the_map(page: Page) -> None:
    expect_answer(page)
    page.get_by_text("Points as a table").click()
    page.locator("#point-1-bearing").fill("0")
    page.keyboard.press("Enter")
    page.locator("#point-1-leg").fill("12' 6\"")
    page.keyboard.press("Enter")
    expect(page.locator("#point-1-leg")).to_have_value("12.5")
    right = float(page.locator("#point-0-right").input_value())
    assert float(page.locator("#point-1-right").input_value()) == pytest.approx(right, abs=0.01)
    count = page.locator(BENDS).count()
    page.get_by_role("button", name="Add a point at the end").click()
    expect(page.locator(BENDS)).to_have_count(count + 1)
    page.get_by_role("button", name="Remove Outlet").click()
    expect(page.locator(BENDS)).to_have_count(count)
    expect_answer(page)


def test_a_blank_sheet_takes_a_line_for_readings_by_string(page: Page) -> None:
    start_from(page, "Example readings from a string")
    expect_answer(page)
    page.get_by_text("On a map", exact=True).click()
    page.locator("#base-details > summary").click()
    page.locator("#base").select_option("blank")
    page.locator("#draw").click()
    page.mouse.click(*map_place(page, 0.2, 0.5))
    page.mouse.click(*map_place(page, 0.66, 0.5))
    page.locator("#draw-finish").click()
    expect_answer(page)
    expect(page.locator(".station-dot").first).to_be_visible()


def test_a_raster_of_ones_own_becomes_the_map(page: Page) -> None:
    expect_answer(page)
    page.locator("#base-details > summary").click()
    page.locator("#raster-file").set_input_files(YARD)
    # A process of its own examines the file: on a busy machine that takes seconds to start.
    expect(page.locator("#base option:checked")).to_have_text("yard.tif", timeout=20_000)
    expect(sentence(page)).to_contain_text("Draw your line", timeout=20_000)
    page.locator("#raster-file").set_input_files(
        {"name": "note.tif", "mimeType": "image/tiff", "buffer": b"not a raster"}
    )
    expect(page.locator("#raster-file-error")).to_be_visible()
    page.locator("#undo").click()
    expect_answer(page)


def test_both_demo_lines_can_be_taken_up(page: Page) -> None:
    works = expect_answer(page)
    page.locator("#examples > summary").click()
    buttons = page.locator("#example-list").get_by_role("button", name="Demo line")
    expect(buttons).to_have_count(2)
    buttons.nth(1).click()
    assert expect_other_answer(page, works).startswith("Yes, if ")


@pytest.mark.parametrize("way", ["rod", "level_line", "steps"])
def test_another_way_to_measure_never_hides_a_drawn_line(page: Page, way: str) -> None:
    expect_answer(page)
    count = page.locator(BENDS).count()
    page.locator("#ground-kind").select_option(way)
    expect(page.locator(f".sheet-{way}")).to_be_visible()
    expect(page.locator("#map")).to_be_visible()
    expect(page.locator(BENDS)).to_have_count(count)
    expect(page.get_by_role("radio", name="On a map")).to_be_checked()


def place_inlet(page: Page, right: float, down: float) -> None:
    """Place an inlet at some pixels from the middle of the line's second leg."""
    page.locator("#add-menu > summary").click()
    page.locator("#place-inflows").click()
    x, y = middle_of(page.locator(".handle").nth(1))
    page.mouse.click(x + right, y + down)


def test_an_inlet_far_from_the_line_begins_a_branch_from_there(page: Page) -> None:
    before = expect_answer(page)
    bends = page.locator(BENDS).count()
    place_inlet(page, 20, -110)
    words = page.locator("#draw-words")
    expect(words).to_contain_text(re.compile(r"^That is \d+\.\d ft from the line, so a branch"))
    expect(page.locator(BENDS)).to_have_count(1)
    page.locator("#draw-cancel").click()
    expect(sentence(page)).to_have_text(before)
    expect(page.locator(BENDS)).to_have_count(bends)
    expect(page.locator("#branch-list, #inflow-list").locator("input")).to_have_count(0)

    place_inlet(page, 20, -110)
    x, y = middle_of(page.locator(BENDS))
    joins = page.locator("#map").bounding_box()
    assert joins is not None
    page.mouse.click(x - 10, y + 115)
    expect(page.locator(BENDS)).to_have_count(2)
    page.locator("#draw-finish").click()
    inlet = page.locator(".thing-inflows")
    expect(inlet).to_have_count(1)
    assert middle_of(inlet) == pytest.approx((x, y), abs=2), "it stands where the click was"
    expect(page.locator("#branch-list input").first).to_be_attached()


def test_an_inlet_on_the_line_stays_on_it(page: Page) -> None:
    expect_answer(page)
    place_inlet(page, 3, 3)
    expect(page.locator(".thing-inflows")).to_have_count(1)
    expect(page.locator("#draw-finish")).to_be_hidden()
    expect(page.locator("#branch-list input")).to_have_count(0)


def test_the_wheel_zooms_the_yard_before_it_is_pressed(page: Page) -> None:
    expect_answer(page)
    relief = page.locator(".relief")
    before = relief.bounding_box()
    page.mouse.move(*map_place(page, 0.5, 0.5))
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(400)
    after = relief.bounding_box()
    assert before is not None
    assert after is not None
    assert after["width"] > 1.2 * before["width"]
    assert not page.evaluate("document.activeElement.id === 'map'")


def test_shift_moves_a_point_ten_times_as_far_and_says_so(page: Page) -> None:
    expect_answer(page)
    end = page.locator(".point-end")
    expect(end).to_have_attribute("aria-label", re.compile("ten times as far with Shift"))
    expect(page.locator("#drag-words")).to_contain_text("Shift ten times as far")
    end.focus()
    _, start = middle_of(end)
    for _ in range(10):
        page.keyboard.press("ArrowDown")
    _, down = middle_of(page.locator(".point-end"))
    page.keyboard.press("Shift+ArrowUp")
    _, back = middle_of(page.locator(".point-end"))
    assert down - start > 10
    assert back == pytest.approx(start, abs=1)
