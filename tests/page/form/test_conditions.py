"""A yes on conditions: insisting on a usual value, taking what was taken, another way; and covers
under what bears on the ground."""

from __future__ import annotations

import pytest
from planner_page import (
    Opener,
    cell,
    drag,
    expect_answer,
    expect_other_answer,
    has_focus,
    map_place,
    screen,
    sentence,
    tab_to,
)
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

EVEN = (("0", "100"), ("60", "97.6"))
"""60 ft of lawn that fall 4 % evenly."""
HOLLOW = (("0", "100"), ("30", "99"), ("60", "98.4"))
"""Steeper first: one straight grade below the middle comes out deep, a change of grade does not."""


def a_lawn(page: Page, ground: tuple[tuple[str, str], ...], outlet: str) -> None:
    """A 4 in corrugated pipe with 6 in of cover at the start, by elevations."""
    page.locator("#ground-kind").select_option("elevations")
    for i, (at, elevation) in enumerate(ground):
        cell(page, f"elevations.rows.{i}.at").fill(at)
        cell(page, f"elevations.rows.{i}.elevation").fill(elevation)
    page.locator("#pipe-code").select_option("corrugated-single-4")
    cell(page, "start.value").fill("6")
    page.locator("#outlet-kind").select_option(outlet)


def overall(page: Page) -> str | None:
    """What the sign shows."""
    return page.locator("#verdict").get_attribute("data-verdict")


def sign_colour(page: Page) -> str:
    """The colour that the sign is filled with."""
    return str(page.locator("#sign").evaluate("sign => getComputedStyle(sign).fill"))


def test_the_same_lawn_with_a_pop_up_is_a_plain_yes_and_with_daylight_a_conditional_one(
    sheet: Page,
) -> None:
    a_lawn(sheet, EVEN, "pop_up")
    expect(sentence(sheet)).to_have_text("Yes: 10.2 in of fall to spare.")
    plain = expect_answer(sheet)
    assert overall(sheet) == "yes"
    expect(sheet.locator("#conditions")).to_be_hidden()
    green, drawn = sign_colour(sheet), sheet.locator("#sign").inner_html()

    sheet.locator("#outlet-kind").select_option("daylight")
    assert expect_other_answer(sheet, plain).startswith("Yes, if ")
    assert overall(sheet) == "conditional"
    assert sign_colour(sheet) != green
    assert sheet.locator("#sign").inner_html() != drawn, "told by colour alone"
    expect(sheet.locator("#conditions-toggle")).to_have_text("1 condition")
    sheet.locator("#conditions-toggle").click()
    expect(sheet.get_by_role("group", name="Verdict: yes, on conditions")).to_be_visible()
    expect(sheet.locator("#conditions li").first).to_contain_text("The trench is 9.4 in deep")
    expect(sheet.locator("#profile .ditch")).to_have_count(1)
    expect(cell(sheet, "outlet.max")).to_have_attribute("placeholder", "9.6")
    expect(sheet.locator("#next button", has_text="Stations")).to_be_visible()


def test_insisting_and_taking_state_the_value_and_undo_brings_it_back(sheet: Page) -> None:
    a_lawn(sheet, EVEN, "daylight")
    expect(sentence(sheet)).to_contain_text("if a 20 ft ditch")
    before = expect_answer(sheet)
    insist = sheet.get_by_role("button", name="Insist on the usual depth of 4.8 in")
    sheet.locator("#conditions-toggle").focus()
    sheet.keyboard.press("Enter")
    tab_to(sheet, insist)
    sheet.keyboard.press("Enter")
    assert expect_other_answer(sheet, before).startswith("No: ")
    expect(cell(sheet, "outlet.max")).to_have_value("4.8")
    expect(sheet.locator("#conditions")).to_be_hidden()
    assert has_focus(sheet.locator("#verdict"))

    sheet.locator("#undo").click()
    expect(sentence(sheet)).to_have_text(before)
    sheet.locator("#conditions-toggle").click()
    sheet.get_by_role("button", name="Take it as it is").click()
    assert expect_other_answer(sheet, before).startswith("Yes: ")
    assert overall(sheet) == "yes"
    expect(cell(sheet, "outlet.max")).to_have_value("9.6")
    sheet.locator("#undo").click()
    expect(sentence(sheet)).to_have_text(before)


def test_the_other_way_is_shown_where_it_is_a_yes_and_told_where_it_is_none(
    open_page: Opener,
) -> None:
    page = open_page(empty=True, phone=True)
    a_lawn(page, HOLLOW, "pop_up")
    expect(sentence(page)).to_contain_text("over the last 48 ft")
    before = expect_answer(page)
    screen(page, "Trench")
    expect(page.locator("#profile .thin")).to_have_count(1)
    other = page.get_by_role("button", name="See it with one change of grade instead")
    page.locator("#conditions-toggle").tap()
    other.tap()
    expect_other_answer(page, before)
    assert overall(page) in ("yes", "conditional")
    expect(page.locator("#conditions")).not_to_contain_text("less than usual")
    expect(page.locator("#grade-shape")).to_have_value("least_dig")
    page.locator("#undo").tap()
    expect(sentence(page)).to_have_text(before)
    expect(page.locator("#grade-shape")).to_have_value("")

    screen(page, "Entries")
    a_lawn(page, EVEN, "daylight")
    cell(page, "elevations.rows.2.at").fill("")
    cell(page, "elevations.rows.2.elevation").fill("")
    expect(sentence(page)).to_contain_text("if a 20 ft ditch")
    stands = expect_answer(page)
    page.locator("#conditions-toggle").tap()
    other.tap()
    expect(page.locator(".condition-said")).to_contain_text(
        "One change of grade does not do it instead. No: "
    )
    assert expect_answer(page) == stands


def test_a_stretch_with_its_own_cover_is_held_and_its_error_lands_on_its_row(sheet: Page) -> None:
    a_lawn(sheet, EVEN, "pop_up")
    expect(sentence(sheet)).to_have_text("Yes: 10.2 in of fall to spare.")
    before = expect_answer(sheet)
    sheet.get_by_role("button", name="Add a stretch that needs cover").click()
    sheet.get_by_role("button", name="A drive, under car wheels: 12 in").click()
    expect(sheet.locator("#notices")).to_contain_text("cover under the drive is not counted yet")
    cell(sheet, "covers.rows.0.from").fill("40")
    cell(sheet, "covers.rows.0.to").fill("50")
    expect_other_answer(sheet, before)
    expect(sheet.locator("#notices")).not_to_contain_text("not counted yet")
    expect(sheet.locator("#profile .borne-label")).to_have_text("drive")
    cell(sheet, "covers.rows.0.to").fill("30")
    sheet.keyboard.press("Tab")
    expect(cell(sheet, "covers.rows.0.to")).to_have_attribute("aria-invalid", "true")
    sheet.get_by_role("button", name="Remove stretch 1").click()
    expect(sentence(sheet)).to_have_text(before)


def test_an_area_of_the_map_follows_the_line(page: Page) -> None:
    before = expect_answer(page)
    page.locator("#add-menu > summary").click()
    page.locator("#draw-cover").click()
    for right, down in ((0.3, 0.35), (0.6, 0.35), (0.6, 0.45), (0.3, 0.45)):
        page.mouse.click(*map_place(page, right, down))
    page.locator("#draw-finish").click()
    page.get_by_role("button", name="A drive, under car wheels: 12 in").click()
    words = page.locator(".cover-more p").last
    expect(words).to_contain_text("Above the main line from")
    first = words.inner_text()
    expect_other_answer(page, before)
    expect(page.locator("#profile .borne-label")).to_have_text("drive")
    page.locator("#shape").select_option("Main line")
    drag(page, page.locator(".point").first, 30, 40)
    expect(words).not_to_have_text(first)
