"""Points marked on the map to tape from: named, moved, taken away, and on the dig sheet."""

from __future__ import annotations

import re

import pytest
from accessible import expect_clean
from planner_page import drag, expect_answer, map_place, see
from playwright.sync_api import Page, expect
from test_papers import take

pytestmark = pytest.mark.browser


def mark(page: Page, right: float, down: float) -> None:
    """Mark a point at a place on the map, in shares of its size."""
    page.get_by_text("Add to the map").click()
    page.get_by_role("button", name="A fixed point to tape from").click()
    expect(page.locator("#draw-words")).to_contain_text("a point that stands still")
    page.mouse.click(*map_place(page, right, down))
    expect(page.locator("#draw-finish")).to_be_hidden()  # one point is all


def test_points_marked_on_the_map_tie_the_stations(page: Page) -> None:
    expect_answer(page)
    mark(page, 0.3, 0.35)
    assert page.evaluate("document.activeElement.closest('#map') !== null")
    mark(page, 0.7, 0.35)
    names = page.get_by_role("textbox", name=re.compile("Name of fixed point"))
    expect(names).to_have_count(2)
    names.first.fill("Gate post")
    expect(page.locator(".label-fixed").first).to_have_text("Gate post")
    handle = page.locator(".point-fixed")  # the one under the hand
    expect(handle).to_have_count(1)
    before = handle.bounding_box()
    drag(page, handle, 40, 20)
    after = page.locator(".point-fixed").bounding_box()
    assert before is not None
    assert after is not None
    assert abs(after["x"] - before["x"] - 40) < 4
    expect_clean(page)
    see(page, "Papers")
    page.locator("#papers").get_by_text("Stakes", exact=True).click()
    page.locator("#paper-fixed").select_option("")
    sheet = take(page, "dig-sheet.html").decode()
    told = re.search("Corners to tape from: ([^.]*)[.]", sheet)
    assert told is not None
    assert "Gate post" in told[1]
    assert "Fixed point 2" in told[1]
    page.get_by_role("button", name="Remove fixed point 2").click()
    expect(names).to_have_count(1)
    page.locator("#undo").click()
    expect(names).to_have_count(2)
    page.reload()
    expect_answer(page)
    expect(names.first).to_have_value("Gate post")


def test_by_keys_alone(page: Page) -> None:
    expect_answer(page)
    menu = page.locator("#add-menu > summary")
    menu.focus()
    page.keyboard.press("Enter")
    item = page.get_by_role("button", name="A fixed point to tape from")
    item.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("textbox", name="Name of fixed point 1")).to_have_value("Fixed point 1")
    point = page.locator(".point-fixed")
    point.focus()
    before = point.bounding_box()
    page.keyboard.press("Shift+ArrowUp")
    after = page.locator(".point-fixed").bounding_box()
    assert before is not None
    assert after is not None
    assert after["y"] < before["y"]
    page.locator(".point-fixed").press("Delete")
    expect(page.get_by_role("textbox", name="Name of fixed point 1")).to_have_count(0)
