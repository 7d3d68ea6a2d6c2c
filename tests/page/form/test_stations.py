"""A station marked anywhere is marked on the map, on the profile and in the table."""

from __future__ import annotations

import pytest
from planner_page import Opener, expect_answer, middle_of, screen, see, tab_to
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def expect_marked(page: Page, label: str) -> None:
    """The station is marked in all three, and read out in words."""
    expect(page.locator("#station-table tr.marked .station")).to_have_text(label)
    expect(page.locator("#profile .cursor-label")).to_have_text(label)
    expect(page.locator("#station-readout")).to_contain_text(f"{label}: dig ")
    expect(page.locator(".mark-label")).to_have_text(label)
    expect(page.locator(".station-ring")).to_have_count(1)


def test_by_pointing_at_the_table_the_profile_or_the_map(page: Page) -> None:
    expect_answer(page)
    see(page, "Dig table")
    row = page.locator("#station-table tbody tr").nth(2)
    row.hover()
    expect_marked(page, row.locator(".station").inner_text())
    last = page.locator("#station-table .station").last.inner_text()
    box = page.locator("#profile svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] - 10, box["y"] + box["height"] / 2)
    expect_marked(page, last)
    page.mouse.move(5, 5)
    expect(page.locator("#station-table tr.marked")).to_have_count(0)
    page.mouse.move(*middle_of(page.locator(".point-end")))
    expect_marked(page, last)


def test_by_keys(page: Page) -> None:
    expect_answer(page)
    labels = page.locator("#station-table .station").all_text_contents()
    slider = page.get_by_role("slider", name="Stations on the profile")
    tab_to(page, slider)  # past the points on the map, the last of which stays marked
    expect_marked(page, labels[-1])
    page.keyboard.press("Home")
    expect_marked(page, labels[0])
    page.keyboard.press("ArrowRight")
    expect_marked(page, labels[1])
    page.keyboard.press("End")
    expect_marked(page, labels[-1])
    expect(slider).to_have_attribute(
        "aria-valuetext", page.locator("#station-readout").inner_text()
    )
    page.keyboard.press("Escape")
    expect(page.locator("#station-table tr.marked")).to_have_count(0)
    tab_to(page, page.locator("#rail").get_by_role("button", name="Dig table"))
    page.keyboard.press("Enter")
    tab_to(page, page.locator("#station-table .station").nth(1))
    expect_marked(page, labels[1])
    tab_to(page, page.locator(".point-start"), back=True)
    expect_marked(page, labels[0])


def test_by_touch(open_page: Opener) -> None:
    page = open_page(phone=True)
    expect_answer(page)
    see(page, "Dig table")
    third = page.locator("#station-table .station").nth(2)
    third.tap()
    label = third.inner_text()
    screen(page, "Trench")
    expect_marked(page, label)
