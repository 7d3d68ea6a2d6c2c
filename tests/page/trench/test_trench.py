"""The trench checked from a phone: what to read, a tick or what to shave, nothing lost."""

from __future__ import annotations

import pytest
from accessible import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, screen, see, sentence, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def in_the_trench(open_page: Opener, **look: bool) -> Page:
    """A yes by five readings from a string; its check open."""
    page = open_page(empty=True, **look)
    screen(page, "Entries")
    type_readings(page)
    expect_known(page)
    see(page, "Trench check")
    page.locator("#trench-open").click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    return page


def expect_known(page: Page) -> None:
    """Wait until the browser keeps the full answer to all five readings."""
    expect(sentence(page)).to_have_text("Yes: 8.6 in of fall to spare.")
    page.wait_for_function(
        "() => JSON.parse(localStorage['yardfall.answer.1']).body.ground.readings.length === 5"
    )


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
        expect(page.locator("#trench-result small")).to_have_count(0)  # said once
    expect(page.locator("#trench-label")).to_have_text("0+13")
    read(page, "2 3")
    expect(result(page)).to_have_text("0+13: Shave 1/2 in")  # to the sheet's 23 1/2
    assert page.locator("#trench-result svg.sign-down").is_visible()
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    expect_clean(page)
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)
    expect(page.locator("#trench-label")).to_have_text("0+13")  # it stays in hand
    expect(page.locator("#trench-reading")).to_have_value("")
    expect(page.locator(".trench-next")).to_have_text("Read 0+13 again, or go on")
    page.locator("#trench-reading").press("Enter")  # nothing typed: what was read stays
    expect(page.locator(".trench-list [data-at='13']")).to_contain_text("reads 23 in")
    page.get_by_role("button", name="Go on to 0+00").click()
    expect(page.locator("#trench-label")).to_have_text("0+00")
    page.get_by_role("button", name="Read 0+13 again").click()
    expect(page.locator("#trench-reading")).to_have_value("")
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


def test_without_the_planner_the_phone_checks_and_a_reload_keeps_them(open_page: Opener) -> None:
    page = in_the_trench(open_page)
    field, verdict = page.locator("#trench-reading"), page.locator("#trench-verdict")
    page.context.set_offline(True)
    field.fill("2x")
    field.press("Enter")
    expect(page.locator("#trench-error")).to_contain_text("is not a number")
    for label, typed in (("0+52", "29 1/2"), ("0+39", "2' 3 1/2\"")):
        expect(page.locator("#trench-label")).to_have_text(label)
        field.fill(typed)
        field.press("Enter")
        expect(result(page)).to_have_text(f"{label}: Good")
    expect(verdict).to_contain_text("Checked on this phone; the planner checks it again when it is")
    expect_clean(page)
    page.context.set_offline(False)
    expect(verdict).not_to_contain_text("on this phone")
    expect(result(page)).to_have_text("0+39: Good")
    page.reload()
    expect(verdict).to_contain_text("Good so far: 2 readings")
    expect(page.locator("#trench-label")).to_have_text("0+26")
    page.locator("#trench-clear").click()
    page.locator("#trench-clear-not").click()
    expect(page.locator(".trench-list .is-tick")).to_have_count(2)
    page.locator("#trench-clear").click()
    page.locator("#trench-clear-sure").click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    page.locator("#trench-on").select_option("pipe_top")
    expect(page.locator("#trench-should b")).to_have_text("24 7/8 in")
    field.fill("25 3/4")
    field.press("Enter")
    expect(result(page)).to_have_text("0+52: Raise the pipe 7/8 in")


def test_a_plan_that_was_never_answered_waits_for_the_planner(open_page: Opener) -> None:
    """Its readings are kept: no phone compares them with a plan that it does not know."""
    page = in_the_trench(open_page)
    page.go_back()
    page.context.set_offline(True)
    page.locator("#start-value").fill("15")
    see(page, "Trench check")
    page.locator("#trench-open").click()
    field = page.locator("#trench-reading")
    field.fill("29 1/2")
    field.press("Enter")
    expect(result(page)).to_have_text("0+52: Kept, not checked yet")
    expect(page.locator("#trench-verdict")).to_contain_text("cannot be reached")
    page.context.set_offline(False)
    expect(result(page)).not_to_contain_text("Kept, not checked yet")


@pytest.mark.parametrize("size", [(390, 844), (844, 390)])
def test_in_a_dead_spot_the_trench_opens_and_checks(
    open_page: Opener, size: tuple[int, int]
) -> None:
    """Loaded at home, read with no network: high, good, low; at home again the planner agrees."""
    page = open_page(empty=True, phone=True, pocket=True, size=size)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    screen(page, "Entries")
    type_readings(page)
    expect_known(page)
    page.wait_for_timeout(400)  # longer than the plan waits before it is kept
    page.wait_for_function(
        "() => caches.open('yardfall-page-1').then(c => c.keys()).then(k => k.length >= 130)"
    )
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    see(page, "Trench check")
    page.locator("#trench-open").click()
    expect(page.locator("#trench-label")).to_have_text("0+52")
    expect(page.locator("#trench-should b")).to_have_text("29 1/2 in")
    read(page, "2 9")
    expect(result(page)).to_have_text("0+52: Shave 1/2 in")
    for place in ("#trench-result .act", "#trench-reading", ".trench-pad [aria-label=Next]"):
        expect(page.locator(place)).to_be_in_viewport(ratio=1)
    expect(page.locator(".trench-list [aria-current]")).to_contain_text("0.4 in high")
    verdict = page.locator("#trench-verdict")
    expect(verdict).to_have_text(
        "Not yet: shave 1/2 in at 0+52. Checked on this phone; the planner checks it again when it "
        "is back."
    )
    assert page.locator("#trench-view").evaluate("e => e.scrollWidth") <= size[0]
    expect_clean(page)
    read(page, "2 9 1/2")
    expect(result(page)).to_have_text("0+52: Good")
    read(page, "2 7 3/4")
    expect(result(page)).to_have_text("0+39: Fill 1/4 in")
    expect(page.locator(".trench-wrong")).to_contain_text("less than the minimum grade")
    page.context.set_offline(False)
    expect(verdict).not_to_contain_text("on this phone")
    expect(verdict).to_contain_text("Not yet: fill 1/8 in at 0+39")
    read(page, "2 7 1/2")
    expect(result(page)).to_have_text("0+39: Good")


def test_what_the_planner_sees_otherwise_is_told(open_page: Opener) -> None:
    """Here the planner's answer is changed on its way; no plan was found where they differ."""
    page = in_the_trench(open_page)
    page.context.set_offline(True)
    for typed in ("29 1/2", "27 3/4"):
        page.locator("#trench-reading").fill(typed)
        page.locator("#trench-reading").press("Enter")
    expect(result(page)).to_have_text("0+39: Fill 1/4 in")

    def otherwise(route):
        found = route.fetch().json()
        for one in found["stations"]:
            one["do"], one["mark"] = "nothing", None
        found["verdict"] = "more_readings"
        route.fulfill(json=found)

    page.route("**/grade-check", otherwise)
    page.context.set_offline(False)
    expect(page.locator("#trench-verdict")).to_contain_text(
        "The planner is back and sees 0+39 otherwise than this phone did: go by the planner."
    )


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


NUMBER = """selector => {
    const number = document.querySelector(selector);
    const all = [...document.querySelectorAll('#trench-view *')].filter(e => e.offsetParent);
    const sizeOf = e => parseFloat(getComputedStyle(e).fontSize);
    const lit = css => {
        const [r, g, b] = css.match(/[\\d.]+/g).map(v => v / 255)
            .map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    let behind = number;
    const paint = e => getComputedStyle(e).backgroundColor;
    while (paint(behind) === 'rgba(0, 0, 0, 0)') behind = behind.parentElement;
    const [a, b] = [lit(getComputedStyle(number).color), lit(paint(behind))];
    const others = all.filter(e => e !== number && !e.contains(number));
    const larger = others.filter(e => sizeOf(e) >= sizeOf(number));
    return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), larger.length];
}"""
"""The contrast of a number by WCAG 2.2's formula, and how much else is as large."""


def test_one_number_to_act_on_that_reads_in_sunlight(open_page: Opener) -> None:
    page = in_the_trench(open_page, phone=True)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        contrast, others = page.evaluate(NUMBER, "#trench-should b")
        assert contrast >= 7, scheme
        assert others == 0
    expect(page.locator("#trench-should b")).to_have_text("29 1/2 in")
    read(page, "2 9")
    expect(result(page)).to_have_text("0+52: Shave 1/2 in")
    contrast, others = page.evaluate(NUMBER, "#trench-result .act")
    assert contrast >= 7
    assert others == 0
    expect(page.locator("#trench-should")).to_contain_text("until it reads 29 1/2 in")
    row = page.locator(".trench-list [aria-current]")
    expect(row).to_contain_text("0+52")
    expect(row).to_be_in_viewport()
    read(page, "2 9 1/2")
    expect(result(page)).to_have_text("0+52: Good")
    widths = page.locator(".trench-read, .trench-state").evaluate_all(
        "es => es.map(e => e.getBoundingClientRect().width)"
    )
    assert min(widths) > 120, "room for some words a line"


def test_a_reading_that_its_neighbor_contradicts_is_asked_for_again(open_page: Opener) -> None:
    page = in_the_trench(open_page, phone=True)
    read(page, "2 9 1/2")
    expect(result(page)).to_have_text("0+52: Good")
    read(page, "2 0")
    expect(result(page)).to_have_text("0+39: Read it again first")
    expect(page.locator("#trench-verdict")).to_contain_text("Was 0+39 read right?")
    expect(page.locator("#trench-result small")).to_contain_text("0+52 next to it lies within")
    expect(page.locator("#trench-reading")).to_have_value("")
    expect(page.locator("#trench-should b")).to_have_text("27 1/2 in")
    expect_clean(page)
    read(page, "2 5")
    expect(result(page)).to_have_text("0+39: Shave 2 1/2 in")


def test_the_last_reading_is_a_press_that_is_smaller_than_the_mark(open_page: Opener) -> None:
    page = in_the_trench(open_page, phone=True)
    same = page.locator("#trench-same")
    expect(same).to_be_hidden()
    page.locator("#trench-by").select_option("depth")
    read(page, "7 1/2")
    expect(result(page)).to_have_text("0+52: Good")
    expect(same).to_have_text("Last reading: 7 1/2 in")
    size = "e => parseFloat(getComputedStyle(e).fontSize)"
    assert same.evaluate(size) * 2 <= page.locator("#trench-should b").evaluate(size)
    same.click()
    expect(page.locator("#trench-reading")).to_have_value("7 1/2")
    expect(page.locator(".trench-list [data-at='39']")).to_contain_text("not read yet")
    page.keyboard.press("Enter")
    expect(page.locator(".trench-list [data-at='39']")).to_contain_text("reads 7 1/2 in")


@pytest.mark.parametrize(("wide", "high"), [(740, 360), (568, 320)])
def test_a_phone_held_across_shows_number_field_and_keys(
    open_page: Opener, wide: int, high: int
) -> None:
    page = in_the_trench(open_page, phone=True)
    page.set_viewport_size({"width": wide, "height": high})
    for keys in ("", "2 9"):
        if keys:
            read(page, keys)
            expect(result(page)).to_have_text("0+52: Shave 1/2 in")
        number = ".mending .act" if keys else "#trench-should b"
        for place in (number, "#trench-reading", ".trench-pad [aria-label=Next]"):
            expect(page.locator(place)).to_be_in_viewport(ratio=1)
        assert page.evaluate("document.documentElement.scrollWidth") <= wide
        assert page.locator("#trench-view").evaluate("e => e.scrollWidth") <= wide
        assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []


def test_when_all_is_read_the_focus_stays_in_the_trench(open_page: Opener) -> None:
    page = in_the_trench(open_page)
    for reading in ("29 1/2", "27 1/2", "25 1/2", "23 1/2", "21 1/2"):
        page.locator("#trench-reading").fill(reading)
        page.keyboard.press("Enter")
    expect(page.locator("#trench-verdict")).to_contain_text("Pass")
    expect(page.locator("#trench-onward")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#trench-reading")).to_be_focused()
