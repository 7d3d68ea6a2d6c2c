"""The trench checked from a phone: what to read, a tick or what to shave, nothing lost."""

from __future__ import annotations

import pytest
from planner_page import Opener, expect_answer, screen, see, type_readings
from playwright.sync_api import Page, expect
from test_access import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean

pytestmark = pytest.mark.browser


def in_the_trench(open_page: Opener, **look: bool) -> Page:
    """A yes by five readings from a string; its check open."""
    page = open_page(empty=True, **look)
    screen(page, "Entries")
    type_readings(page)
    expect_answer(page)
    see(page, "Trench check")
    page.locator("#trench-open").click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    return page


def read(page: Page, keys: str) -> None:
    """Type a reading on the number pad and go on."""
    for key in [
        *(key for word in keys.split() for key in ([word] if "/" in word else word)),
        "Next",
    ]:
        page.locator(".trench-pad").get_by_role("button", name=key, exact=True).click()


def result(page: Page):
    return page.locator("#trench-result b")


def test_from_the_outlet_up_by_thumb_to_a_pass(open_page: Opener) -> None:
    page = in_the_trench(open_page, phone=True)
    should = page.locator("#trench-should b")
    expect(page.locator("#trench-should")).to_contain_text("from the string to the trench bottom")
    for label in ("0+52", "0+39", "0+26"):
        expect(page.locator("#trench-label")).to_have_text(label)
        read(page, should.inner_text().removesuffix(" in"))
        expect(result(page)).to_have_text(f"{label}: Good")
    expect(page.locator("#trench-label")).to_have_text("0+13")
    read(page, "2 3")
    expect(result(page)).to_have_text("0+13: Shave 3/8 in")
    assert page.locator("#trench-result svg.sign-down").is_visible()
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    expect_clean(page)
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)
    page.locator("#trench-again").click()
    expect(page.locator("#trench-reading")).to_have_value("23")
    read(page, "2 3 1/2")
    expect(result(page)).to_have_text("0+13: Good")
    read(page, "2 1 1/2")
    expect(page.locator("#trench-verdict")).to_contain_text("Pass: 5 readings lie within 1/4 in")
    expect(page.locator("#trench-label")).to_have_text("All read")
    page.go_back()
    expect(page.locator("#trench-summary")).to_contain_text("Pass: 5 readings")
    page.locator("#trench-open").click()
    onward = page.get_by_role("button", name="The pipe is in: check it too")
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    onward.click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    expect(onward).to_be_hidden()
    expect(page.locator("#trench-should")).to_contain_text("to the top of the pipe")
    for label in ("0+52", "0+39"):
        expect(page.locator("#trench-label")).to_have_text(label)
        read(page, should.inner_text().removesuffix(" in"))
        expect(result(page)).to_have_text(f"{label}: Good")
    expect(page.locator("#trench-verdict")).to_contain_text("3 stations are still to be read on")


def test_without_the_planner_readings_wait_and_a_reload_keeps_them(open_page: Opener) -> None:
    page = in_the_trench(open_page)
    field = page.locator("#trench-reading")
    page.context.set_offline(True)
    field.fill("2x")
    field.press("Enter")
    expect(page.locator("#trench-error")).to_contain_text("is not a number")
    for label, typed in (("0+52", "29 1/2"), ("0+39", "2' 3 1/2\"")):
        expect(page.locator("#trench-label")).to_have_text(label)
        field.fill(typed)
        field.press("Enter")
        expect(result(page)).to_have_text(f"{label}: Kept, not checked yet")
    expect(page.locator("#trench-verdict")).to_contain_text("cannot be reached")
    expect_clean(page)
    page.context.set_offline(False)
    expect(result(page)).to_have_text("0+39: Good")
    page.reload()
    expect(page.locator("#trench-verdict")).to_contain_text("Good so far: 2 readings")
    expect(page.locator("#trench-label")).to_have_text("0+26")
    page.locator("#trench-clear").click()
    page.locator("#trench-clear-not").click()
    expect(page.locator(".trench-list .is-tick")).to_have_count(2)
    page.locator("#trench-clear").click()
    page.locator("#trench-clear-sure").click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    page.locator("#trench-on").select_option("pipe_top")
    expect(page.locator("#trench-should b")).to_have_text("24 3/4 in")
    field.fill("25 3/4")
    field.press("Enter")
    expect(result(page)).to_have_text("0+52: Raise the pipe 3/4 in")


def test_a_plan_that_is_a_no_is_told_loudly_and_metres_by_depth(open_page: Opener) -> None:
    page = open_page(phone=True)
    page.locator("#examples > summary").click()
    page.locator("#example-list").get_by_role("button", name="Demo line").nth(1).click()
    screen(page, "Entries")
    page.locator("#start-value").fill("48")
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "no")
    page.locator("input[name=units][value=si]").dispatch_event("click")
    see(page, "Trench check")
    page.locator("#trench-open").click()
    expect(page.locator("#trench-alarm")).to_contain_text("do not dig from it")
    expect(page.locator("#trench-should")).to_contain_text("mm from the ground")
    expect(page.locator("#trench-by option")).to_have_count(1)
    read(page, "1 9 0 0")
    expect(page.locator("#trench-result svg.sign-up")).to_be_visible()
    expect_clean(page)
