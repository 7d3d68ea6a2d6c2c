"""Readings taken in the yard: a phone in one hand, big keys, nothing lost."""

from __future__ import annotations

import pytest
from accessible import SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, cell, expect_answer, screen
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

SPARE = "Yes: 8.6 in of fall to spare."
KEYS = "9 Next 1 3 Next 1 0 1/2 Next 9 . 5 Next 1 4 Next 2 2"


def tap(page: Page, keys: str) -> None:
    """Tap keys of the number pad, by what stands on them."""
    for key in keys.split():
        page.locator("#yard-pad").get_by_role("button", name=key, exact=True).tap()


def open_big(page: Page) -> None:
    screen(page, "Entries")
    page.get_by_role("button", name="Big fields for the yard").tap()


def test_five_readings_by_thumb_and_a_reload_in_the_middle(open_page: Opener) -> None:
    page = open_page(phone=True, empty=True)
    open_big(page)
    expect(page.locator("#yard-down")).to_be_focused()
    first, rest = KEYS.split(" Next 9 . 5")
    tap(page, first)
    page.wait_for_timeout(300)  # longer than the plan waits before it is kept
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(page.locator("#yard-down")).to_be_focused()
    tap(page, "9 . 5" + rest)
    expect(page.locator("#yard-verdict")).to_have_text(SPARE)
    rows = page.locator(".yard-table tbody tr")
    expect(rows.nth(1).locator("td")).to_have_text(["13", "10 1/2", "1 1/2"])
    expect(rows).to_have_count(5)
    expect_clean(page)
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    page.go_back()
    expect(page.locator("#yard-view")).to_be_hidden()
    assert expect_answer(page) == SPARE
    expect(cell(page, "level_line.rows.1.down")).to_have_value("10 1/2")


def test_a_row_taken_up_again_is_typed_over(open_page: Opener) -> None:
    page = open_page(phone=True, empty=True)
    open_big(page)
    tap(page, KEYS)
    page.get_by_role("button", name="Take up row 5").tap()
    tap(page, "2 2 1/2")
    expect(page.locator("#yard-verdict")).to_have_text("Yes: 9.1 in of fall to spare.")
    page.get_by_role("button", name="Back to the plan").tap()
    expect(page.get_by_role("button", name="Big fields for the yard")).to_be_focused()
    expect(cell(page, "level_line.rows.4.down")).to_have_value("22 1/2")


def test_a_level_book_in_the_dark(open_page: Opener) -> None:
    page = open_page(phone=True, dark=True)
    page.locator("#examples > summary").tap()
    page.get_by_role("button", name="Example level book").tap()
    expect_answer(page)
    open_big(page)
    page.get_by_role("button", name="Take up row 1", exact=True).tap()
    expect(page.get_by_role("radio", name="BS back")).to_be_checked()
    expect(page.locator(".yard-table tr").nth(1).locator("td.worked").last).not_to_be_empty()
    expect_clean(page)
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


BELOW = """least => [...document.querySelectorAll(
    '#yard-fields :is(input:not([type=radio]), .switch label), #yard-pad button')]
    .map(e => [e.getAttribute('aria-label') ?? e.textContent ?? e.id, e])
    .filter(([, e]) => {
        const { top, bottom, left, right } = e.getBoundingClientRect();
        return top < 0 || left < 0 || bottom > innerHeight || right > innerWidth
            || right - left < least - .5 || bottom - top < least - .5
            || e.scrollWidth > e.clientWidth && e.matches('button');
    }).map(([name]) => name)"""
"""Fields and keys that are not wholly in sight, or small, or whose words do not fit."""


@pytest.mark.parametrize(("width", "height"), [(740, 360), (568, 320)])
def test_on_its_side_every_field_and_key_is_in_sight(
    open_page: Opener, width: int, height: int
) -> None:
    page = open_page(phone=True, empty=True)
    page.set_viewport_size({"width": width, "height": height})
    open_big(page)
    expect(page.locator("#yard-down")).to_be_focused()
    assert page.evaluate(BELOW, YARD_TARGET_PX) == []
    tap(page, KEYS)
    expect(page.locator("#yard-verdict")).to_have_text(SPARE)
    assert page.evaluate(BELOW, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    if height == 360:
        expect_clean(page)


def test_a_level_book_on_its_side(open_page: Opener) -> None:
    page = open_page(phone=True)
    page.locator("#examples > summary").tap()
    page.get_by_role("button", name="Example level book").tap()
    expect_answer(page)
    page.set_viewport_size({"width": 740, "height": 360})
    open_big(page)
    page.get_by_role("button", name="Take up row 1", exact=True).tap()
    assert page.evaluate(BELOW, YARD_TARGET_PX) == []
