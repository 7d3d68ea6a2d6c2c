"""A raster on the page, pinned by a few readings typed under it."""

from __future__ import annotations

import pytest
from planner_page import Opener, cell, expect_answer, expect_other_answer, screen, sentence
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser
ROWS = "over_raster.rows"


def type_row(page: Page, i: int, at: str, down: str) -> None:
    cell(page, f"{ROWS}.{i}.at").fill(at)
    cell(page, f"{ROWS}.{i}.down").fill(down)


@pytest.mark.parametrize(
    "phone",
    [pytest.param(False, id="desk"), pytest.param(True, marks=pytest.mark.long, id="phone")],
)
def test_a_few_readings_pin_the_raster(open_page: Opener, phone: bool) -> None:
    """The raster of the demo yard falls 2.9 in from 0+05 to 0+40."""
    page = open_page(phone=phone)
    before = expect_answer(page)
    screen(page, "Entries")
    type_row(page, 0, "5", "20")
    note = page.locator("#sheets .unfinished")
    cell(page, f"{ROWS}.2.at").focus()
    waits = "Row 1 is left out until its string is read at another station too."
    expect(note).to_have_text(waits)
    expect(sentence(page)).to_have_text("So far: " + before[0].lower() + before[1:])

    type_row(page, 1, "40", "30")
    expect(note).to_have_text("")
    expect_other_answer(page, before)
    expect(page.locator("#chance")).to_contain_text("By this raster and the readings over it")
    notices = page.locator("#notices")
    expect(notices).to_contain_text("Between 0+05 and 0+40 the drop by hand and that of the raster")
    cell(page, f"{ROWS}.1.down").fill("23")
    expect(notices).not_to_contain_text("the drop by hand")
    assumed = page.locator("#assumed-list")
    expect(assumed).to_contain_text("Accuracy of the readings over the raster")
    page.locator("#f-raster-read_with").select_option("rotary_laser")
    expect(assumed).not_to_contain_text("readings over the raster")

    page.get_by_role("button", name="Add a row").click()
    type_row(page, 2, "5", "21")
    page.keyboard.press("Tab")
    expect(page.locator("#f-over_raster-rows-2-at-error")).to_contain_text("the same station")
    page.get_by_role("button", name="Remove row 3").click()
    expect_answer(page)
    page.reload()
    expect(cell(page, f"{ROWS}.1.down")).to_have_value("23")
    expect(page.locator("#f-raster-read_with")).to_have_value("rotary_laser")


def test_readings_along_one_line_are_no_part_of_a_search(open_page: Opener) -> None:
    page = open_page()
    expect_answer(page)
    type_row(page, 0, "5", "20")
    type_row(page, 1, "40", "23")
    expect(page.locator("#chance")).to_contain_text("the readings over it")
    with page.expect_request("**/api/v1/reach") as asked:
        page.locator("#reach-open").click()
    ground = asked.value.post_data_json["ground"]
    assert (ground["kind"], "readings" in ground) == ("raster", False)
    notices = page.locator(".reach-more .notices")
    expect(notices).to_contain_text("This search goes by the raster alone")
    page.get_by_role("button", name="Use route 1").click()
    expect(cell(page, f"{ROWS}.0.at")).to_have_value("")
    expect(page.locator("#chance")).not_to_contain_text("the readings over it")
