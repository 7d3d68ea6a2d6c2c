"""What is in the way, changes of grade, and how well the ground is known, on the page."""

from __future__ import annotations

import pytest
from planner_page import (
    Opener,
    cell,
    expect_answer,
    expect_other_answer,
    see,
    sentence,
    tab_to,
    type_readings,
)
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def add_gas_line(page: Page, at: str, depth: str) -> None:
    """One thing to pass, by its station and depth."""
    page.get_by_role("button", name="Add something to pass").click()
    page.keyboard.type(at)
    cell(page, "crossings.rows.0.top_depth").fill(depth)


def test_a_crossing_shows_in_profile_and_map_and_its_fix_applies(page: Page) -> None:
    expect_answer(page)
    add_gas_line(page, "50", "24")
    expect(page.locator("#profile .crossing-label")).to_have_text("gas line: pass over")
    expect(page.locator(".label-crossing")).to_have_text("gas line (pass over)")
    page.locator("#f-crossings-rows-0-pass").select_option("under")
    expect(sentence(page)).to_contain_text("under the gas line")
    page.get_by_role("button", name="Ways to fix it").click()
    tab_to(page, page.locator("#fixes li", has_text="Pass over").get_by_role("button"))
    page.keyboard.press("Enter")
    expect(sentence(page)).to_have_text(
        "Yes, if the gas line at 0+50, exposed by hand first, lies as deep as given: 5 in of fall "
        "to spare."
    )
    tick = page.get_by_label("Exposed by hand already")
    tick.check()
    expect(sentence(page)).to_have_text("Yes: 5 in of fall to spare.")
    page.locator("#undo").click()
    expect(tick).not_to_be_checked()
    page.locator("#undo").click()
    expect(sentence(page)).to_contain_text("under the gas line")


def test_a_crossing_without_its_depth_is_told_as_not_counted(page: Page) -> None:
    """A gas line that the plan does not know of yet must not look as if it were passed."""
    before = expect_answer(page)
    add_gas_line(page, "50", "")
    missing = "ot counted yet. Still needed: how far its top lies below ground."
    expect(page.locator("#notices")).to_contain_text(f"The gas line is n{missing}")
    expect(page.locator("#crossing-list")).to_contain_text(f"N{missing}")
    assert sentence(page).inner_text() == before
    page.get_by_role("button", name="See 1 thing to check").click()
    expect(page.locator("#notices")).to_be_focused()
    cell(page, "crossings.rows.0.top_depth").fill("24")
    expect(page.get_by_role("button", name="to check")).to_have_count(0)
    expect(page.locator("#notices")).not_to_contain_text("not counted")


def test_an_error_about_a_crossing_lands_at_its_field(page: Page) -> None:
    expect_answer(page)
    add_gas_line(page, "500", "24")
    expect(cell(page, "crossings.rows.0.at")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#f-crossings-rows-0-at-error")).to_contain_text("beyond the end")
    page.get_by_role("button", name="Remove crossing 1").click()
    expect(page.locator("#crossing-list .crossing")).to_have_count(0)
    expect_answer(page)


def test_changes_of_grade_side_by_side(page: Page) -> None:
    expect_answer(page)
    page.locator("#limits summary").first.click()
    page.locator("#grade-shape").select_option("least_dig")
    see(page, "Why")
    expect(page.locator("#changes")).to_be_visible()
    expect(page.locator("#changes tr").first.locator("td")).to_have_text(["0", "1", "2", "3"])
    expect(page.locator("#changes")).to_contain_text("cu yd")


def test_a_raster_that_is_known_badly_cannot_settle_it(page: Page) -> None:
    """Cells good to 10 in; 8.7 in to spare stand on any lidar, which smooths what cells differ."""
    before = expect_answer(page)
    assert before.startswith("Yes")
    page.locator("#accuracy summary").click()
    page.locator("#accuracy-sigma").fill("10")
    after = expect_other_answer(page, before)
    assert after.startswith("Too close to call")
    expect(page.locator("#chance")).to_contain_text("that the cells around it share in part")
    expect(page.locator("#retake")).to_contain_text("Take these again first")
    expect(page.locator("#profile .doubt")).to_have_count(1)


def test_readings_are_judged_anew(open_page: Opener) -> None:
    page = open_page(empty=True)
    type_readings(page)
    expect_answer(page)
    expect(page.locator("#accuracy-instrument")).to_have_value("")
    expect(page.locator("#chance")).to_contain_text("string and line level")
