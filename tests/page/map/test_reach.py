"""Before a line is drawn: where the pipe can come out, how, and why not."""

from __future__ import annotations

import re
import statistics

import pytest
from accessible import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import (
    Opener,
    cell,
    drag,
    expect_answer,
    hold_first,
    map_place,
    middle_of,
    screen,
    see,
    sentence,
    tab_to,
)
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

MOVES = 25
AIM_MS = 100
BOUND_MS = 400
"""What fails the test: machines that run many things at once are slower than the aim."""

WATCH = """() => {
    let since = null;
    window.redrawn = [];
    document.addEventListener('pointermove', () => { since ??= performance.now(); }, true);
    const pane = document.querySelector('.leaflet-reach-pane');
    new MutationObserver(() => requestAnimationFrame(() => {
        if (since !== null) window.redrawn.push(performance.now() - since);
        since = null;
    })).observe(pane, { childList: true, subtree: true, attributeFilter: ['d'] });
}"""
"""From the move of the hand to the first frame after the bands are new."""
NEXT = """count => new Promise((done, fail) => {
    const until = performance.now() + 5000;
    const look = () => window.redrawn.length > count ? done()
        : performance.now() > until ? fail(new Error("nothing was redrawn"))
        : requestAnimationFrame(look);
    look();
})"""
FILLS = "paths => paths.map(p => p.getAttribute('fill'))"
SPOTS = """localStorage["yardfall.plan.1"] ??= JSON.stringify({past: [], future: [], present: {
    version: 1, units: "us", ground: "spots", route: {kind: "drawn", length: "", tape_length: ""},
    spots: {rows: [["0", "0", "10"], ["150", "0", "10"], ["0", "120", "6"], ["150", "120", "6"]]
        .map(([x, y, z]) => ({x, y, z}))}}})"""
"""A plane that falls 4 ft over 120 ft (3.3 %), on a blank sheet of 197 by 148 ft."""


def search(page: Page) -> Page:
    """Open the search and wait for its routes."""
    page.locator("#reach-open").click()
    see(page, "Outlets")
    expect(page.locator("#reach-routes .reach-pick").first).to_be_visible()
    rested(page)
    return page


def rested(page: Page) -> str:
    """The search's sentence when nothing is still to come."""
    expect(page.locator(".reach-found:not(.waiting)")).to_be_visible()
    return page.locator("#reach-words").inner_text()


def routes(page: Page) -> list[str]:
    return page.locator("#reach-routes li").all_inner_texts()


def test_the_yard_lights_up_follows_the_start_and_gives_its_route(page: Page) -> None:
    before = expect_answer(page)
    first = rested(search(page))
    assert re.search(r"It can come out on about \d+ % of the ground where a pipe may lie", first)
    key = page.locator(".reach-key li")
    fills = page.locator(".reach-area").evaluate_all(FILLS)
    swatches = page.locator(".reach-key rect").evaluate_all(FILLS)
    assert sorted(fills) == sorted(swatches), "the legend tells of every area, and of no other"
    assert len(set(fills)) == len(fills) > 5
    assert all(re.search(r"[a-z]{4}.*sq ft", words) for words in key.all_inner_texts())
    page.get_by_role("radio", name="How sure").check()
    expect(key.first).to_contain_text("Sure:")
    page.get_by_role("radio", name="Fall to spare").check()
    expect(key.first).to_contain_text("Can come out")

    found = routes(page)
    drag(page, page.locator(".reach-start"), -40, -12)
    expect(page.locator("#reach-words")).not_to_have_text(first)
    rested(page)
    assert routes(page) != found, "the routes start where the hand let go"
    page.locator("#undo").click()
    expect(page.locator("#reach-words")).to_have_text(first)
    rested(page)
    assert routes(page) == found

    told = page.locator("#reach-routes li").last.locator("b").inner_text()
    page.get_by_role("button", name="Use route").last.click()
    expect(page.locator("#reach")).to_be_hidden()
    expect(sentence(page)).to_have_text(told)
    expect(page.locator("#verdict")).to_be_focused()
    expect(page.locator(".point-start")).to_be_visible()
    page.locator("#undo").click()
    expect(sentence(page)).to_have_text(before)


def test_a_place_by_a_click_and_by_keys_is_the_same_and_a_target_can_be_chosen(page: Page) -> None:
    expect_answer(page)
    search(page)
    page.mouse.click(*map_place(page, 0.36, 0.22))
    asked = page.locator(".reach-asked")
    expect(asked).to_contain_text("That place:")
    expect(page.locator("#reach-routes li").first).to_contain_text("To the place you asked for")
    by_click = asked.inner_text(), routes(page)[0]
    right, up = page.locator("#reach-to-right"), page.locator("#reach-to-up")
    there = right.input_value(), up.input_value()
    right.fill("115")
    up.fill("70")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(asked).not_to_have_text(by_click[0])
    expect(asked).to_contain_text("Outside the lot line.")
    right.fill(there[0])
    up.fill(there[1])
    page.locator("#reach-go").press("Enter")
    expect(asked).to_have_text(by_click[0])
    expect(page.locator("#reach-routes li").first).to_contain_text("To the place you asked for")
    # The same to a tenth of a foot, as typed; its route may differ by as much.
    first, again = (text.split(" of fall")[0] for text in (by_click[1], routes(page)[0]))
    assert re.sub(r"[\d.]+ (in|ft)", "", again) == re.sub(r"[\d.]+ (in|ft)", "", first)

    page.locator("#reach-goal").select_option(label="Swale")
    expect(page.locator("#reach-targets b")).to_have_text("Swale")
    rested(page)
    page.locator("#reach-targets").get_by_role(
        "button", name=re.compile("Reached.*by route")
    ).click()
    expect(page.locator("#reach-routes .picked")).to_contain_text("to Swale")
    page.locator("#reach-heeded > summary").click()
    page.get_by_label("Gas line").uncheck()
    rested(page)
    page.locator("#reach-clearance").fill("x")
    expect(page.locator("#reach-clearance")).to_have_attribute("aria-invalid", "true")
    expect(page.locator(".leaflet-reach-pane.old")).to_have_count(1)
    page.locator("#reach-clearance").fill("3")
    expect(page.locator(".leaflet-reach-pane.old")).to_have_count(0)


def test_where_there_is_no_outlet_it_says_what_is_missing_and_what_to_loosen(page: Page) -> None:
    expect_answer(page)
    cell(page, "start.value").fill("30")
    search(page)
    expect(page.locator("#reach-words")).to_contain_text("Nowhere in the yard")
    expect(page.locator("#reach-routes li").first).to_contain_text("Comes nearest")
    expect(page.locator(".reach-key")).not_to_contain_text("Can come out")
    page.locator("#reach-loosen li", has_text="Start with").get_by_role("button").click()
    expect(page.locator("#reach-words")).to_contain_text("It can come out")
    expect(page.locator("#reach-open")).to_be_focused()
    assert float(cell(page, "start.value").input_value()) < 30


def test_from_spot_heights_by_keys_alone(open_page: Opener) -> None:
    page = open_page()
    page.add_init_script(f"localStorage.clear(); {SPOTS}")
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    tab_to(page, page.locator("#reach-open"))
    page.keyboard.press("Enter")
    before = rested(page)
    tab_to(page, page.locator(".reach-start"), back=True)
    y = float(page.locator("#reach-start-up").input_value())
    for _ in range(4):
        page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("#reach-start-up")).to_have_value(f"{y - 20:.1f}".removesuffix(".0"))
    expect(page.locator("#reach-words")).not_to_have_text(before)
    rested(page)
    told = page.locator("#reach-routes li b").first.inner_text()
    tab_to(page, page.get_by_role("button", name="Use route 1"))
    page.keyboard.press("Enter")
    expect(sentence(page)).to_have_text(told)
    page.locator("#ground-kind").select_option("level_line")
    page.locator('input[name="route.kind"][value=drawn]').check()
    page.locator("#reach-open").click()
    expect(page.locator("#reach-words")).to_contain_text("spot heights")


def test_bands_keep_up_with_the_hand_and_a_late_answer_never_stands_over_a_newer(
    page: Page,
) -> None:
    expect_answer(page)
    page.locator("#snap").click()  # a start held by a corner would not move
    search(page)
    page.evaluate(WATCH)
    x, y = middle_of(page.locator(".reach-start"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 16, y - 20)
    page.wait_for_timeout(300)
    for i in range(MOVES):
        count = page.evaluate("window.redrawn.length")
        page.mouse.move(x - 16 - 3 * (i % 12), y - 22 - i)
        page.evaluate(NEXT, count)
    page.mouse.up()
    took = page.evaluate("window.redrawn")[-MOVES:]
    median = statistics.median(took)
    print(f"\nbands: {median:.0f} ms median of {len(took)} moves (aim {AIM_MS} ms)")
    assert median <= BOUND_MS
    rested(page)
    held = hold_first(page, "**/api/v1/reach")
    start = page.locator("#reach-source")
    before = page.locator("#reach-words").inner_text()
    with page.expect_request("**/api/v1/reach"):
        start.select_option(label="Sump outlet")
    start.select_option(label="Downspout, front left")
    expect(page.locator("#reach-words")).not_to_have_text(before)
    newest = rested(page)
    assert len(held) == 1
    held[0].abort()
    page.wait_for_timeout(200)
    assert rested(page) == newest


def test_places_to_reach_are_drawn_told_of_and_one_routes_taken_over(page: Page) -> None:
    """A ditch by mouse is reached; a curb by keys is not, and what would bring it there."""
    expect_answer(page)
    page.locator("#add-menu > summary").click()
    page.locator("#draw-target").click()
    page.mouse.click(*map_place(page, 0.36, 0.30))
    page.mouse.click(*map_place(page, 0.30, 0.22))
    page.locator("#draw-finish").click()
    page.get_by_label("Name of place 1").fill("The ditch")
    search(page)
    places = page.locator("#reach-targets > li")
    expect(places).to_have_count(1)
    expect(places).to_contain_text(re.compile("Reached.*The ditch.*by route", re.DOTALL))

    page.get_by_role("button", name="Draw a place to reach").press("Enter")
    for key in ("Shift+ArrowLeft",) * 6 + ("Shift+ArrowDown",) * 3 + ("Enter",):
        page.keyboard.press(key)
    for key in ("Shift+ArrowDown",) * 2 + ("Enter", "Escape"):
        page.keyboard.press(key)
    page.get_by_label("Name of place 2").fill("The curb")
    page.locator("#entries-toggle").click()
    page.locator("#outlet-max").fill("10")  # stated: a pop-up as it is sold, no longer riser
    expect(places).to_have_count(2)
    rested(page)
    curb = places.nth(1)
    expect(curb).to_contain_text(re.compile("Not reached.*The curb", re.DOTALL))
    expect(curb).to_contain_text(
        re.compile(r"\d in of fall is missing.*bring it to The curb", re.DOTALL)
    )
    expect(page.locator("#reach-words")).to_contain_text("1 of the 2 places")
    expect(page.locator(".label-target")).to_have_text(["The ditch", "The curb"])
    expect_clean(page)

    curb.locator(".fixes li", has_text="Let the trench be").get_by_role("button").press("Enter")
    expect(page.locator("#reach-words")).to_contain_text("2 of the 2 places")
    expect(curb).to_contain_text(re.compile("Reached.*The curb.*by route", re.DOTALL))
    page.locator("#undo").click()

    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    search(page)
    expect(places).to_have_count(2)
    places.first.get_by_role("button", name="The ditch").press("Enter")
    expect(page.locator("#reach-routes li.picked")).to_contain_text("to The ditch")
    expect(curb).to_contain_text("bring it to The curb")
    page.mouse.click(*middle_of(page.locator(".target-sign").last))
    expect(page.locator(".reach-asked")).to_contain_text("The curb: ")
    expect(page.locator("#reach-routes li.picked")).to_contain_text("to The curb")
    page.locator("#reach-routes li").first.get_by_role("button", name="Use route").press("Enter")
    expect(sentence(page)).to_have_text(re.compile("^Yes"))
    expect(page.locator("#reach")).to_be_hidden()
    expect(page.locator(".point-start")).to_be_visible()
    page.get_by_role("button", name="Remove place 2").click()
    expect(page.locator(".label-target")).to_have_count(1)
    page.locator("#undo").click()
    expect(page.locator(".label-target")).to_have_count(2)


def test_axe_is_clean_in_the_search_by_daylight_in_the_dark_and_on_a_phone(
    open_page: Opener,
) -> None:
    page = open_page(phone=True)
    expect_answer(page)
    page.locator("#add-menu > summary").tap()
    page.locator("#draw-target").tap()
    page.locator("#map").tap(position={"x": 120, "y": 200})
    page.locator("#draw-finish").tap()
    search(page)
    expect(page.locator("#reach-targets > li")).to_contain_text("Place 1")
    page.evaluate("document.querySelectorAll('#reach .more').forEach(d => d.open = true)")
    expect_clean(page)
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)
    assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    screen(page, "Yard")
    page.locator("#map").tap(position={"x": 120, "y": 190})
    expect(page.locator(".reach-asked")).to_contain_text("That place:")


def test_head_and_search_tell_one_story_and_a_route_near_the_house_comes_last(page: Page) -> None:
    own = expect_answer(page)
    search(page)
    expect(sentence(page)).to_have_text(own)
    prefix = "getComputedStyle(document.getElementById('sentence'), '::before').content"
    assert "Your line: " in page.evaluate(prefix)
    expect(page.locator("#next button")).to_have_text("Back to your line")
    assert rested(page).startswith("The yard: ")
    expect(page.locator("#reach-own")).to_contain_text("verdict over the map is of your line")
    cards = routes(page)
    for card in cards:
        for told in (r"Comes out \d+ ft \S+ of the start", "of fall", "chance", "to dig", r"\d %"):
            assert re.search(told, card), (told, card)
    near = [bool(re.search(r"water out \d+ ft from the house", card)) for card in cards]
    assert any(near)
    assert near == sorted(near), "what lets water out by the house comes last"
    page.locator("#next button").click()
    expect(page.locator("#reach")).to_be_hidden()
    expect(page.locator("#next")).to_contain_text("Draw your own line")


def test_without_a_line_the_head_says_so_while_the_yard_is_searched(page: Page) -> None:
    expect_answer(page)
    page.locator("#draw").click()
    page.keyboard.press("Escape")
    expect(sentence(page)).to_contain_text("Draw your line")
    search(page)
    expect(sentence(page)).to_contain_text("You have no line yet")
    expect(page.locator("#reach-own")).to_be_hidden()


def test_a_place_outside_the_lot_can_be_let_in(page: Page) -> None:
    expect_answer(page)
    search(page)
    page.get_by_role("button", name="Draw a place to reach").click()
    _, y = middle_of(page.locator(".relief"))
    box = page.locator(".relief").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + 0.1 * box["width"], y - 0.1 * box["height"])
    page.locator("#draw-finish").click()
    see(page, "Outlets")
    row = page.locator("#reach-targets li")
    expect(row).to_contain_text("Outside the lot line.")
    let = row.get_by_role("button", name="Let the pipe leave the lot")
    expect(row).to_contain_text("must allow")
    expect_clean(page)
    let.click()
    expect(row).not_to_contain_text("Outside the lot line.")
    page.locator("#reach-heeded > summary").click()
    expect(page.get_by_label("Lot line: stay inside")).not_to_be_checked()


def test_a_line_through_what_it_must_keep_out_of_is_told_as_on_the_papers(page: Page) -> None:
    expect_answer(page)
    page.get_by_text("Points as a table").click()
    box = middle_of(page.locator(".yard-label", has_text="Septic field"))
    page.locator("#draw").click()
    page.mouse.click(*middle_of(page.locator(".yard-label", has_text="Patio")))
    page.mouse.click(*box)
    page.mouse.click(box[0], box[1] - 200)
    page.locator("#draw-finish").click()
    page.locator("#next button", has_text="to check").click()
    notices = page.locator("#notices")
    expect(notices).to_contain_text(re.compile("runs through Septic field, which it must .*: 0"))
    expect(notices).to_contain_text("The main line runs through Patio")
