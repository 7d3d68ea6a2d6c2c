"""The highest water at the outlet: typed, told, drawn on the profile, and warned of."""

from __future__ import annotations

import pytest
from accessible import expect_clean
from planner_page import cell, expect_answer, see, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def test_water_at_the_outlet_is_typed_told_and_drawn(sheet: Page) -> None:
    page = sheet
    type_readings(page)
    expect_answer(page)
    expect(page.locator(".water-line")).to_have_count(0)
    page.locator("#key-toggle").click()
    expect(page.locator("#key-water")).to_be_hidden()
    water = cell(page, "outlet.water")
    expect(page.locator("#outlet-water-unit")).to_have_text("in")
    water.fill("-2")  # 2 in over the ground there, which is level with the pop-up's lid
    told = page.locator("#water-answer")
    expect(told).to_contain_text("the water stands 2 in above the outlet's lid")
    expect(page.locator(".water-line")).to_have_count(1)
    expect(page.locator("#key-water")).to_be_visible()
    box = "path => { const b = path.getBBox(); return [b.height, b.x + b.width]; }"
    tall, right = page.locator(".water-line").evaluate(box)
    assert tall == 0  # level: nothing runs
    assert right > page.locator("#profile .ground").evaluate(box)[1]  # on beyond the outlet
    expect(page.locator("#notices")).to_contain_text("The outlet lies under water")
    expect(page.locator("#notices .bad")).to_have_count(0)

    page.locator("#outlet-water-by").select_option("elevation")
    expect(page.locator("#outlet-water-unit")).to_have_text("ft")
    water.fill("-0.5")  # 3 in over the ground at the start, 9 in below the string
    worst = page.locator("#notices .bad")
    expect(worst).to_contain_text("Water could come out at the house")
    expect(worst).to_contain_text("3 in above the ground at the start of the line")
    expect(told.locator(".drowned")).to_contain_text("Water could come out at the house")
    see(page, "Why")
    expect_clean(page)
    page.reload()
    expect(water).to_have_value("-0.5")
    see(page, "Why")
    expect(worst).to_be_visible()

    water.fill("2000000")
    page.keyboard.press("Tab")
    expect(page.locator("#outlet-water-error")).to_contain_text("at most")
    water.fill("")
    expect(page.locator("#outlet-water-error")).to_have_text("")
    expect_answer(page)
    expect(page.locator(".water-line")).to_have_count(0)
