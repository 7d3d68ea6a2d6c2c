"""Entries forgive: numbers that fit, readings in the wrong column, commas, the country's units."""

from __future__ import annotations

import re

import pytest
from planner_page import FIVE_READINGS, Opener, cell, expect_answer, screen, type_readings
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser

CLIPPED = """() => [...document.querySelectorAll('#sheets input, #bends input')]
    .filter(input => input.offsetParent && input.scrollWidth > input.clientWidth)
    .map(input => [input.id, input.value, input.scrollWidth, input.clientWidth])"""
"""Cells whose number does not fit."""


@pytest.mark.parametrize("phone", [False, True])
def test_no_cell_clips_its_number(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone)
    expect_answer(page)
    screen(page, "Entries")
    page.get_by_text("Points as a table").click()
    values = {"at": "105.00", "on": "BM1", "line": "upper", "rod": "15.00", "percent": "-1.25"}
    for kind in ("level_line", "rod", "elevations", "slopes", "steps", "spots"):
        page.locator("#ground-kind").select_option(kind)
        cells = page.locator("#sheets tbody tr").first.locator("input")
        for field in cells.all():
            name = (field.get_attribute("data-path") or "").split(".")[-1]
            field.fill(values.get(name, "27 1/2"))
        assert cells.count() > 1, kind
        assert page.evaluate(CLIPPED) == [], kind


def test_readings_typed_as_stations_are_offered_their_place(sheet: Page) -> None:
    for i, (_, down) in enumerate(FIVE_READINGS):
        cell(sheet, f"level_line.rows.{i}.at").fill(down)
    offer = sheet.get_by_role("button", name="Take them as readings")
    offer.click()
    expect(offer).to_be_hidden()
    expect(cell(sheet, "level_line.rows.1.at")).to_be_focused()
    for i, (at, down) in enumerate(FIVE_READINGS):
        expect(cell(sheet, f"level_line.rows.{i}.down")).to_have_value(down)
        cell(sheet, f"level_line.rows.{i}.at").fill(str(at))
    assert expect_answer(sheet) == "Yes: 8.6 in of fall to spare."


def test_a_decimal_comma_stays_as_typed_and_is_read(sheet: Page) -> None:
    type_readings(sheet)
    expect_answer(sheet)
    cell(sheet, "level_line.rows.2.down").fill("9,5")
    sheet.keyboard.press("Tab")
    expect(cell(sheet, "level_line.rows.2.down")).to_have_value("9,5")
    assert expect_answer(sheet) == "Yes: 8.6 in of fall to spare."


@pytest.mark.parametrize(("locale", "units"), [("en-US", "us"), ("en-GB", "si"), ("de-DE", "si")])
def test_the_first_visit_is_in_the_units_of_the_country(
    planner: str, browser: Browser, locale: str, units: str
) -> None:
    context = browser.new_context(base_url=planner, locale=locale)
    page = context.new_page()
    page.goto("/")
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(page.locator(f"input[name=units][value={units}]")).to_be_checked()
    expect(cell(page, "start.value")).to_have_value("8" if units == "us" else "200")
    relief = page.locator(".relief")
    expect(relief).to_have_attribute("src", re.compile(f"units={units}$"))
    page.locator(f"input[name=units][value={'si' if units == 'us' else 'us'}]").check()
    expect(cell(page, "start.value")).to_have_value("200" if units == "us" else "8")
    expect(relief).not_to_have_attribute("src", re.compile(f"units={units}$"))
    context.close()
