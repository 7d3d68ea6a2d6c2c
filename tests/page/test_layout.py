"""Where things stand: the yard fills the window, nothing moves under the hand; phone screens."""

from __future__ import annotations

import pytest
from planner_page import Opener, expect_answer, map_place, screen, see
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

WATCH_SHIFTS = """
window.shifts = 0;
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) window.shifts += entry.value;
}).observe({ type: "layout-shift", buffered: false });
"""
"""Sums the browser's own layout-shift entries from now on (Layout Instability API, W3C draft)."""
SHEETS = [
    *("Why", "Dig table", "Water", "To buy", "Papers", "Trench check", "Compare", "Old pipe"),
    *("Cautions", "Defaults used"),
]


def size_of(page: Page, selector: str) -> dict[str, float]:
    box = page.locator(selector).first.bounding_box()
    assert box is not None, selector
    return box


def test_the_lot_is_600_px_high_at_1280_by_900(open_page: Opener) -> None:
    page = open_page(size=(1280, 900))
    expect_answer(page)
    lot = size_of(page, ".yard-lot")
    assert lot["height"] >= 600
    frame = size_of(page, "#map")
    assert lot["x"] >= frame["x"]
    assert lot["x"] + lot["width"] <= frame["x"] + frame["width"]
    # Some 110 ft from back to front: over 5 px to the foot, so a click lands within one.
    assert lot["height"] / 112 > 5


def test_nothing_is_blank_at_1920_by_1080(open_page: Opener) -> None:
    page = open_page(size=(1920, 1080))
    expect_answer(page)
    parts = [size_of(page, part) for part in ("#yard", "#map-place", "#dock", "#rail", "#result")]
    area = sum(part["width"] * part["height"] for part in parts)
    head = size_of(page, ".top")["height"] + size_of(page, ".strip")["height"]
    assert area == pytest.approx(1920 * (1080 - head), rel=0.01)
    expect(page.locator("#why")).to_be_visible()


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_nothing_moves_while_a_line_is_drawn(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone)
    expect_answer(page)
    before = size_of(page, "#map")
    page.evaluate(WATCH_SHIFTS)
    page.locator("#draw").click()
    for right, down in ((0.7, 0.7), (0.5, 0.6), (0.45, 0.45)):
        page.mouse.click(*map_place(page, right, down))
        assert size_of(page, "#map") == before
        page.wait_for_timeout(700)
    page.locator("#draw-finish").click()
    expect_answer(page)
    assert size_of(page, "#map") == before
    assert page.evaluate("window.shifts") == 0


def test_a_sheet_opens_by_name_and_closes_to_where_the_hand_was(open_page: Opener) -> None:
    page = open_page()
    expect_answer(page)
    expect(page.locator("#result")).to_be_hidden()
    for name in SHEETS:
        see(page, name)
        shown = page.locator("#result > .card:visible, #result > .notices:visible")
        assert shown.count() >= 1, name
    page.locator("#result").press("Escape")
    expect(page.locator("#result")).to_be_hidden()
    assert page.evaluate("document.activeElement.textContent") == SHEETS[-1]


def test_the_entries_can_be_put_away(open_page: Opener) -> None:
    page = open_page()
    expect_answer(page)
    wide = size_of(page, "#map")["width"]
    page.locator("#entries-toggle").click()
    expect(page.locator("#yard")).to_be_hidden()
    assert size_of(page, "#map")["width"] > wide + 300
    page.reload()
    expect_answer(page)
    expect(page.locator("#yard")).to_be_hidden()
    page.locator(".next").get_by_role("button", name="Type your own readings").click()
    expect(page.locator("#ground-kind")).to_be_visible()


def test_on_a_phone_all_is_within_two_presses_and_keeps_its_place(open_page: Opener) -> None:
    page = open_page(phone=True)
    expect_answer(page)
    screens = page.locator("#screens")
    for name in SHEETS:
        screens.get_by_role("button", name="Yard").click()
        expect(page.locator("#map")).to_be_visible()
        see(page, name)
        assert page.locator("#result > .card:visible, #result > .notices:visible").count() >= 1
    screens.get_by_role("button", name="Entries").click()
    page.locator("#yard").evaluate("place => { place.scrollTop = 700; }")
    screens.get_by_role("button", name="Trench").click()
    expect(page.locator("#profile svg")).to_be_visible()
    screens.get_by_role("button", name="Entries").click()
    assert page.locator("#yard").evaluate("place => place.scrollTop") == 700


def test_on_a_phone_the_map_fills_its_screen_and_the_tools_leave_the_line_free(
    open_page: Opener,
) -> None:
    page = open_page(phone=True)
    expect_answer(page)
    assert size_of(page, "#map")["height"] == size_of(page, "#map-place")["height"]
    tools = size_of(page, "#map-tools")
    assert size_of(page, ".point-end")["y"] > size_of(page, "#snap")["y"]
    assert tools["x"] + tools["width"] <= 390
    page.locator("#add-menu summary").click()
    menu = size_of(page, "#add-menu .menu-list")
    assert menu["x"] >= 0
    assert menu["x"] + menu["width"] <= 390
    page.locator("#add-menu summary").click()
    page.locator("#reach-open").click()
    expect(page.locator("#reach-routes li").first).to_be_attached()
    assert page.get_by_role("button", name="Back to your line").count() == 1
    page.locator("#reach-lead").click()
    expect(page.locator("#reach-title")).to_be_focused()
    expect(page.locator(".reach-key li").first).to_be_visible()


def test_a_taped_run_says_that_it_has_no_map_and_leads_to_one(open_page: Opener) -> None:
    page = open_page(phone=True)
    page.locator(".next").get_by_role("button", name="Type your own readings").click()
    screen(page, "Yard")
    expect(page.locator("#no-map")).to_contain_text("there is no map of it")
    page.locator("#to-map").click()
    expect(page.locator("#draw-words")).to_be_visible()
    expect(page.locator("#no-map")).to_be_hidden()


def test_a_skip_link_takes_the_focus_along(open_page: Opener) -> None:
    page = open_page()
    expect_answer(page)
    for link, place in (("Skip to your readings", "#ground"), ("Skip to the answer", "#result")):
        page.get_by_role("link", name=link).press("Enter")
        expect(page.locator(place)).to_be_focused()
