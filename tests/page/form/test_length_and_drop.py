"""Ground known by its length and drop alone, and by steps, on the page."""

from __future__ import annotations

import pytest
from planner_page import cell, see
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def by_drop(page: Page, of: str, length: str, drop: str) -> None:
    """Give the length, the drop and whose it is."""
    page.select_option("#ground-kind", "length_and_drop")
    page.select_option("[data-choice='length_and_drop.of']", of)
    cell(page, "length_and_drop.drop").fill(drop)
    page.fill("#route-length", length)


def test_a_yes_on_an_even_slope_says_what_would_spoil_it(sheet: Page) -> None:
    by_drop(sheet, "ground", "80", "26")
    sheet.fill("#min-cover", "3")
    sheet.fill("#max-depth", "24")
    sheet.fill("#outlet-min", "6")
    sheet.fill("#outlet-max", "14")
    expect(sheet.locator("#sentence")).to_contain_text("Yes, if the ground between")
    expect(sheet.locator("#notices")).to_contain_text("Nobody measured the ground")
    expect(sheet.locator("#to-measure li")).to_have_count(7)
    expect(sheet.locator("#to-measure li.first")).to_contain_text("would spoil it")
    sheet.get_by_role("button", name="See where to measure next").click()
    expect(sheet.locator("#to-measure")).to_be_focused()
    see(sheet, "Dig table")
    sheet.locator("#by-level summary").click()
    expect(sheet.locator("#by-level")).to_contain_text("Under the low end of a 4 ft level")


def test_a_pipe_alone_shows_levels_and_no_depth(sheet: Page) -> None:
    """86 ft with 12 in of drop, 1/8 in per ft wanted: 10 3/4 in are needed (arithmetic)."""
    by_drop(sheet, "pipe", "86", "12")
    sheet.fill("#min-percent", "1.0416666667")
    expect(sheet.locator("#sentence")).to_contain_text("leaves it room: 1.3 in of")
    expect(sheet.locator("#stations-title")).to_have_text("Levels along the pipe")
    expect(sheet.locator("#station-table thead")).not_to_contain_text("Cover")
    expect(sheet.locator("#station-table tbody tr").last).to_contain_text("12")
    for gone in ("#profile-card", "#papers", "#trench", "#bill", "#drop-hump"):
        expect(sheet.locator(gone)).to_be_hidden()
    expect(sheet.locator("#facts")).not_to_contain_text("Deepest dig")
    sheet.select_option("#outlet-kind", "pop_up")
    expect(sheet.locator("#pipe")).to_contain_text("Give tie_in, or the drop of the ground")


def test_steps_are_typed_and_counted_down(sheet: Page) -> None:
    sheet.select_option("#ground-kind", "steps")
    for i, (length, drop) in enumerate((("8", "3 1/2"), ("8", "3"), ("4", "2"))):
        cell(sheet, f"steps.rows.{i}.length").fill(length)
        cell(sheet, f"steps.rows.{i}.drop").fill(drop)
    sheet.select_option("[data-choice='steps.reversed']", "yes")
    expect(sheet.locator("td.worked").nth(5)).to_have_text("8 1/2")
    expect(sheet.locator("#chance")).to_contain_text("board and spirit level")
    expect(sheet.locator("#stations")).to_contain_text("0+20")
    sheet.locator("#yard-open").click()
    expect(sheet.locator("#yard-fields")).to_contain_text("Drop along it")


def test_a_branch_by_its_drop_says_what_would_spoil_it(sheet: Page) -> None:
    sheet.select_option("#ground-kind", "steps")
    for i in range(4):
        cell(sheet, f"steps.rows.{i}.length").fill("8")
        cell(sheet, f"steps.rows.{i}.drop").fill("3")
    sheet.locator("#add-branch").click()
    branch = sheet.locator("#branch-list .crossing")
    branch.get_by_label("Its ground measured with").select_option("length_and_drop")
    branch.get_by_label("Joins at station").fill("16")
    cell(sheet, "branches.rows.0.length").fill("30")
    expect(branch).to_contain_text("Still needed: the drop of the ground along it")
    branch.get_by_label("Drop of the ground").fill("10")
    answers = sheet.locator("#branch-answers")
    expect(answers).to_contain_text("Nobody measured the ground between 0+00 and 0+30")
    expect(answers.locator(".to-measure li")).to_have_count(2)
