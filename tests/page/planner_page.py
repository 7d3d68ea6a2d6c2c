"""What a user does on the planner page, for the tests to tell as stories."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Page, Route, expect

FIVE_READINGS = ((0, "9"), (13, "10 1/2"), (26, "9.5"), (39, "14"), (52, "22"))
"""The level-line readings of the contract's example; its answer is 8.6 in to spare."""
MOST_TABS = 150
"""From one end of the page to the other, all folded parts closed."""
Opener = Callable[..., Page]
"""Opens the planner page; takes `phone`, `dark` and `empty` (an empty sheet, not the demo)."""
ANSWERED = re.compile(r"^((Main line|Branch [^:]+): )*(Yes|No|Too close|It falls)")


def sentence(page: Page) -> Locator:
    """The verdict's sentence."""
    return page.locator("#sentence")


def expect_answer(page: Page) -> str:
    """Wait for an answer to what stands in the fields, and give its sentence."""
    expect(sentence(page)).to_have_text(ANSWERED)
    expect(page.locator("#standing")).to_be_hidden()
    return sentence(page).inner_text()


def expect_other_answer(page: Page, before: str) -> str:
    """Wait for an answer that differs from the one before."""
    expect(sentence(page)).not_to_have_text(before)
    return expect_answer(page)


def cell(page: Page, path: str) -> Locator:
    """The field of a value of the plan."""
    return page.locator(f'[data-path="{path}"]')


def has_focus(place: Locator) -> bool:
    """Whether an element has the focus."""
    return bool(place.evaluate("element => element === document.activeElement"))


def tab_to(page: Page, place: Locator, *, back: bool = False) -> None:
    """Press Tab, or Shift+Tab, until an element has the focus, which must show there."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        if has_focus(place):
            shows = "getComputedStyle(document.activeElement).outlineStyle"
            assert page.evaluate(shows) == "solid", f"the focus does not show on {place}"
            return
    raise AssertionError(f"{MOST_TABS} times Tab do not come to {place}")


def type_readings(page: Page) -> None:
    """Type the five readings by keys alone, once the first reading's field is clicked."""
    cell(page, "level_line.rows.0.down").click()
    for i, (at, down) in enumerate(FIVE_READINGS):
        if i:
            page.keyboard.press("Enter")
        if i == 1:  # the first station is 0 by itself; the second sets the spacing of the rest
            page.keyboard.type(str(at))
            page.keyboard.press("Enter")
        page.keyboard.type(down)


def start_from(page: Page, name: str) -> None:
    """Choose one of the plans to start from."""
    page.locator("#examples > summary").click()
    page.locator("#example-list").get_by_role("button", name=name).click()


def see(page: Page, name: str) -> None:
    """Open a sheet of the answer by its name."""
    answer = page.locator("#screens").get_by_role("button", name="Answer")
    if answer.is_visible():
        answer.click()
    button = page.locator("#rail").get_by_role("button", name=name, exact=True)
    if button.get_attribute("aria-expanded") != "true":
        button.click()


def screen(page: Page, name: str) -> None:
    """Go to a screen of a phone: Entries, Yard, Trench or Answer. On a desk all are there."""
    button = page.locator("#screens").get_by_role("button", name=name)
    if button.is_visible():
        button.click()


def map_place(page: Page, right: float, down: float) -> tuple[float, float]:
    """A place on the map, in shares of its width and height, as page coordinates."""
    page.locator("#map").scroll_into_view_if_needed()
    box = page.locator("#map").bounding_box()
    assert box is not None
    return box["x"] + right * box["width"], box["y"] + down * box["height"]


def middle_of(place: Locator) -> tuple[float, float]:
    """The middle of an element in page coordinates."""
    place.scroll_into_view_if_needed()
    box = place.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, place: Locator, right: float, down: float) -> None:
    """Drag an element by some pixels, slowly enough to be a drag."""
    x, y = middle_of(place)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right / 2, y + down / 2, steps=4)
    page.mouse.move(x + right, y + down, steps=4)
    page.mouse.up()


def hold_first(page: Page, pattern: str) -> list[Route]:
    """Hold the first request from now on to such an address, for the test to end; let others by."""
    held: list[Route] = []

    def take(route: Route) -> None:
        if held:
            route.continue_()
        else:
            held.append(route)

    page.route(pattern, take)
    return held
