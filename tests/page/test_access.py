"""The page for everyone: axe finds nothing, targets are large enough, nothing runs off the side."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from accessible import CONTRAST, LEAST_TARGET_PX, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, cell, expect_answer, screen, see, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

FIRST_LOAD_BYTES = 450_000


def demo(open_page: Opener, **look: bool) -> Page:
    page = open_page(**look)
    expect_answer(page)
    return page


def demo_with_all_open(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    return with_all_open(page)


def with_all_open(page: Page) -> Page:
    """Every fold and every sheet of the answer open at once."""
    see(page, "Why")
    page.evaluate("document.querySelectorAll('.more').forEach(d => d.open = true)")
    page.wait_for_timeout(100)  # the layout looks once more at what has changed
    page.evaluate("document.querySelectorAll('.elsewhere').forEach(c => c.className = 'card')")
    return page


def demo_no(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.locator("#examples > summary").click()
    page.locator("#example-list").get_by_role("button", name="Demo line").nth(1).click()
    cell(page, "start.value").fill("48")
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "no")
    return page


def conditional(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.locator("#examples > summary").click()
    page.locator("#example-list").get_by_role("button", name="Demo line").nth(1).click()
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "conditional")
    screen(page, "Entries")
    page.get_by_role("button", name="Add a stretch that needs cover").click()
    page.get_by_role("button", name="A walk").click()
    page.locator("#conditions-toggle").click()
    expect(page.locator("#conditions li").first).to_be_visible()
    return page


def drawing(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.locator("#draw").click()
    expect(page.locator("#draw-words")).to_be_visible()
    return page


def empty(open_page: Opener, **look: bool) -> Page:
    page = open_page(empty=True, **look)
    expect(page.locator("#sentence")).to_contain_text("Type two readings")
    return page


def yes_with_all_open(open_page: Opener, **look: bool) -> Page:
    page = empty(open_page, **look)
    type_readings(page)
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "yes")
    return with_all_open(page)


def wrong(open_page: Opener, **look: bool) -> Page:
    page = empty(open_page, **look)
    type_readings(page)
    expect_answer(page)
    cell(page, "level_line.rows.1.down").fill("x")
    expect(cell(page, "level_line.rows.1.down")).to_have_attribute("aria-invalid", "true")
    return page


def too_close(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.locator("#accuracy summary").click()
    page.locator("#accuracy-sigma").fill("10")
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "too_close")
    return page


def away(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.context.set_offline(True)
    cell(page, "start.value").fill("9")
    expect(page.locator("#standing")).to_contain_text("cannot be reached")
    return page


def own_pipe_wanting(open_page: Opener, **look: bool) -> Page:
    page = demo(open_page, **look)
    page.locator("#pipe-code").select_option("own")
    expect(page.locator("#pipe-outside")).to_have_attribute("aria-invalid", "true")
    return page


State = Callable[..., Page]


@pytest.mark.parametrize(
    "state",
    [
        demo_with_all_open,
        conditional,
        wrong,
        yes_with_all_open,
        *(
            pytest.param(state, marks=pytest.mark.long)
            for state in (demo_no, drawing, empty, too_close, away, own_pipe_wanting)
        ),
    ],
)
def test_axe_is_clean_by_daylight_and_in_the_dark(open_page: Opener, state: State) -> None:
    page = state(open_page)
    expect_clean(page)
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)


@pytest.mark.parametrize("state", [demo_with_all_open, yes_with_all_open, conditional])
def test_on_a_phone_axe_is_clean_and_nothing_is_small_or_off_the_side(
    open_page: Opener, state: State
) -> None:
    page = state(open_page, phone=True)
    expect_clean(page)
    for name in ("Entries", "Yard", "Trench", "Answer"):
        if page.locator("#conditions").is_visible():
            page.locator("#conditions-toggle").click()
        screen(page, name)
        assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == [], name
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_at_200_percent_nothing_is_off_the_side(page: Page) -> None:
    expect_answer(page)
    page.set_viewport_size({"width": 640, "height": 450})  # 1280 × 900 at 200 %
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    assert page.evaluate(SMALL_TARGETS, LEAST_TARGET_PX) == []


def test_the_first_load_is_light(open_page: Opener, planner: str) -> None:
    page = open_page()
    expect_answer(page)
    sizes = page.evaluate(
        "performance.getEntriesByType('resource').map(e => [e.name, e.transferSize])"
    )
    own = page.evaluate("performance.getEntriesByType('navigation')[0].transferSize")
    total = own + sum(size for _, size in sizes)
    assert total > own
    assert total <= FIRST_LOAD_BYTES, sizes


def test_nothing_is_styled_or_scripted_inline(page: Page, planner: str) -> None:
    answer = page.request.get("/")
    policy = answer.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "script-src 'self'" in policy
    assert "style=" not in answer.text()
