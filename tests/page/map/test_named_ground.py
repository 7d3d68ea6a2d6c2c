"""The ground, the lot and the house at a click or a place: the demo street's, with no network."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pyproj
import pytest
from planner_page import Opener, expect_answer, map_place, screen, start_from
from playwright.sync_api import Page, Route, expect

pytestmark = pytest.mark.browser

YARD = "41.75080, -83.10317"
"""In the back yard of the street's third lot, the demo yard."""


def take(page: Page, place: str = YARD) -> None:
    """Take what is at a place."""
    page.get_by_label("Ground, lot and house around").fill(place)
    page.get_by_role("button", name="Take them").click()


def click_lot(page: Page, right: float, down: float) -> None:
    """Press "Click the lot" and click a place on the map."""
    screen(page, "Entries")
    page.get_by_role("button", name="Click the lot").click()
    expect(page.locator("#draw-words")).to_contain_text("Click or tap in the lot")
    page.mouse.click(*map_place(page, right, down))


def lot_taken(page: Page) -> str:
    """Wait for a click to be answered by a lot, and give the base it lies on."""
    expect(page.locator("#draw-words")).to_be_hidden()
    base = page.locator("#base").input_value()
    expect(page.locator("#outline-list li")).to_have_count(2)
    return base


def kept_plan(page: Page) -> dict:
    """The plan as the browser keeps it, after a pause."""
    page.wait_for_timeout(500)
    return json.loads(page.evaluate("localStorage['yardfall.plan.1']"))["present"]


def test_a_place_gives_its_ground_its_lot_and_its_house(sheet: Page) -> None:
    page = sheet
    page.get_by_text("On a map", exact=True).click()
    take(page)
    told = page.locator("#ground-place-told")
    expect(told).to_contain_text("The elevations are those of demo-ground.")
    expect(told).to_contain_text("CC0")
    expect(told).to_contain_text("The lot line and what stands on it are drawn.")
    expect(page.locator("#outline-list")).to_contain_text("Lot line")
    expect(page.get_by_label("Name of area 1")).to_have_value("House")
    plan = kept_plan(page)
    outlines = plan["outlines"][plan["base"]]
    assert len(outlines["lot"]) == 4
    assert len(outlines["avoid"][0]["ring"]) == 8
    assert plan["ground"] == "raster"
    page.keyboard.press("Escape")
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(page.locator("#outline-list")).not_to_contain_text("Lot line")
    expect(page.locator("#base")).to_have_value("blank")  # one step takes all of it back


def test_what_stands_on_it_says_so(sheet: Page) -> None:
    page = sheet
    page.get_by_text("On a map", exact=True).click()
    take(page)
    expect(page.locator("#outline-list")).to_contain_text("Lot line")
    page.locator("#draw").click()
    for right, down in ((0.49, 0.48), (0.42, 0.27)):
        page.mouse.click(*map_place(page, right, down))
    page.locator("#draw-finish").click()
    expect_answer(page)
    expect(page.locator("#assumed-list")).to_contain_text(
        "The elevations are those of demo-ground. They are of 2026-01-01."
    )


@pytest.mark.parametrize(
    ("place", "told"),
    [("41.7508", "Give latitude and longitude"), ("10, 10", "No source of this planner has")],
)
def test_a_place_without_ground_is_told(sheet: Page, place: str, told: str) -> None:
    sheet.get_by_text("On a map", exact=True).click()
    take(sheet, place)
    expect(sheet.locator("#ground-place-error")).to_contain_text(told)
    assert kept_plan(sheet)["base"] == "blank"


def test_a_source_that_does_not_answer_is_said_to(sheet: Page) -> None:
    sheet.get_by_text("On a map", exact=True).click()
    problem = {"title": "Service Unavailable", "detail": "The source demo-ground is asleep."}

    def refuse(route: Route) -> None:
        route.fulfill(status=503, json=problem, content_type="application/problem+json")

    sheet.route(re.compile(r"/sources/.*/windows"), refuse)
    take(sheet)
    expect(sheet.locator("#ground-place-error")).to_have_text("The source demo-ground is asleep.")
    expect(sheet.get_by_role("button", name="Take them")).to_be_enabled()


def test_without_a_source_nothing_is_offered(open_page: Callable[..., Page]) -> None:
    page = open_page(empty=True)
    page.route(
        "**/api/v1/sources", lambda route: route.fulfill(json={"units": "us", "sources": []})
    )
    page.reload()
    page.get_by_text("On a map", exact=True).click()
    expect(page.locator("#own-blank")).to_be_visible()
    for offered in ("#own-place", "#named-ground"):
        expect(page.locator(offered)).to_be_hidden()
    page.locator("#examples > summary").click()
    expect(page.locator("#example-list")).not_to_contain_text("latitude")


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_a_click_in_a_lot_takes_it(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone)
    demo = page.locator("#base").input_value()
    click_lot(page, 0.5, 0.5)
    taken = lot_taken(page)
    assert taken != demo
    plan = kept_plan(page)
    outlines = plan["outlines"][taken]
    assert (len(outlines["lot"]), len(outlines["avoid"])) == (4, 1)
    assert plan["lines"][taken] == plan["lines"][demo], "it begins on this lot, so it goes along"
    told = page.locator("#ground-place-told")
    expect(told).to_be_visible()
    expect(told).to_contain_text("Left behind on “")
    expect(told).to_contain_text("”: Patio, Drive, Septic field, Gas line. ")
    expect(told).to_contain_text("Undo brings all back.")
    expect_answer(page)
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(page.locator("#base")).to_have_value(demo)  # one step takes all of it back
    expect(page.locator("#outline-list")).not_to_contain_text("Lot line")


def test_the_same_lot_twice_is_kept_once(page: Page) -> None:
    click_lot(page, 0.5, 0.5)
    taken = lot_taken(page)
    bases = page.locator("#base option").count()
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    click_lot(page, 0.52, 0.3)
    assert lot_taken(page) == taken
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    take(page)  # by its latitude and longitude
    expect(page.locator("#ground-place-told")).to_contain_text("The lot line and")
    assert lot_taken(page) == taken
    assert page.locator("#base option").count() == bases


def test_a_lot_taken_before_is_taken_at_once_and_made_sure_of(page: Page) -> None:
    """Before the planner answers; what it tells by then to be there takes its place."""
    click_lot(page, 0.52, 0.3)
    taken = lot_taken(page)
    asked: list[Route] = []
    told: list[dict] = []

    def later(route: Route) -> None:
        if told:
            route.fulfill(json=told[0])
        else:
            asked.append(route)

    page.route("**/api/v1/lots?**", later)
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(page.locator("#outline-list")).not_to_contain_text("Lot line")
    click_lot(page, 0.52, 0.32)
    assert lot_taken(page) == taken
    (late,) = asked
    answer = late.fetch().json()
    ring = answer["features"][0]["geometry"]["coordinates"][0]
    ring[0] = ring[-1] = [ring[0][0] + 2, ring[0][1]]
    told.append(answer)
    late.fulfill(json=answer)
    plan = kept_plan(page)
    assert plan["outlines"][taken]["lot"] == ring[:-1]


def test_a_neighbour_s_lot_is_taken_without_the_line(page: Page) -> None:
    click_lot(page, 0.5, 0.5)
    first = lot_taken(page)
    click_lot(page, 0.8, 0.5)
    expect(page.locator("#base")).not_to_have_value(first)
    plan = kept_plan(page)
    assert plan["outlines"][plan["base"]]["lot"] != plan["outlines"][first]["lot"]
    assert not plan["lines"].get(plan["base"]), "it runs on another's lot"


def test_a_click_outside_any_lot_says_so(page: Page) -> None:
    base = page.locator("#base").input_value()
    click_lot(page, 0.5, 0.02)
    expect(page.locator("#draw-words")).to_contain_text("No lot is known there.")
    expect(page.locator("#base")).to_have_value(base)
    page.mouse.click(*map_place(page, 0.5, 0.5))  # the next click may meet one
    assert lot_taken(page) != base
    page.get_by_role("button", name="Click the lot").click()
    page.keyboard.press("Escape")
    expect(page.locator("#draw-words")).to_be_hidden()
    page.get_by_role("button", name="Click the lot").click()
    page.get_by_role("button", name="Draw a new line").wait_for(state="hidden")
    page.locator("#draw-cancel").click()
    expect(page.locator("#draw-words")).to_be_hidden()


def test_the_ground_under_what_is_drawn_is_a_source_s(page: Page) -> None:
    demo = page.locator("#base").input_value()
    page.get_by_role("button", name="Use the finest ground there").click()
    expect(page.locator("#ground-place-told")).to_contain_text("those of demo-ground.")
    plan = kept_plan(page)
    assert plan["base"] != demo
    assert plan["lines"][plan["base"]] == plan["lines"][demo]
    expect_answer(page)
    expect(page.locator("#assumed-list")).to_contain_text("The elevations are those of demo-ground")
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(page.locator("#base")).to_have_value(demo)
    expect(page.locator("#ground-place-told")).to_have_text("")


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_who_only_knows_the_place_begins_there(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone)
    start_from(page, "A place by latitude and longitude")
    expect(page.get_by_label("Ground, lot and house around")).to_be_focused()
    page.keyboard.type(YARD)
    page.keyboard.press("Enter")
    expect(page.locator("#outline-list")).to_contain_text("Lot line")


def test_the_blank_sheet_offers_a_place(sheet: Page) -> None:
    sheet.get_by_text("On a map", exact=True).click()
    sheet.get_by_role("button", name="Give its latitude and longitude").click()
    expect(sheet.get_by_label("Ground, lot and house around")).to_be_focused()
    expect(sheet.get_by_role("button", name="Click the lot")).to_be_hidden()  # it lies nowhere


def test_of_several_sources_one_is_chosen(open_page: Opener) -> None:
    page = open_page()

    def two(route: Route) -> None:
        told = route.fetch().json()
        (first,) = [one for one in told["sources"] if one["kind"] == "elevation"]
        told["sources"].append(first | {"name": "other"})
        route.fulfill(json=told)

    page.route("**/api/v1/sources", two)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(page.locator("#ground-use")).to_have_text("Use the finest ground there")
    page.get_by_label("Take the ground of").select_option("other")
    page.get_by_role("button", name="Use the ground of other").click()
    expect(page.locator("#ground-place-error")).to_contain_text("other has no ground there.")
    page.get_by_label("Take the ground of").select_option("demo-ground")
    page.get_by_role("button", name="Use the ground of demo-ground").click()
    expect(page.locator("#ground-place-told")).to_contain_text("those of demo-ground.")


@pytest.fixture
def on_tiles(page: Page, planner: str) -> Page:
    """On the online map about the demo yard, a line drawn on it."""
    source = {"url": f"{planner}/static/mark.svg?{{z}}/{{x}}/{{y}}", "attribution": "A survey"}
    page.route("**/page-settings", lambda r: r.fulfill(json={"tiles": source | {"max_zoom": 19}}))
    page.reload()
    expect_answer(page)
    page.locator("#base-details > summary").click()
    page.locator("#place").fill(YARD)
    page.locator("#place-go").click()
    expect(page.locator("#base")).to_have_value("tiles")
    page.locator("#draw").click()
    for right, down in ((0.49, 0.48), (0.47, 0.4)):
        page.mouse.click(*map_place(page, right, down))
    page.locator("#draw-finish").click()
    return page


def held_against_pyproj(plan: dict, base: str) -> None:
    """What was drawn in degrees lies within a millimetre of where pyproj puts it."""
    to_utm = pyproj.Transformer.from_crs("OGC:CRS84", "EPSG:32617", always_xy=True)
    drawn, carried = plan["lines"]["tiles"], plan["lines"][base]
    assert len(drawn) == len(carried) == 2
    for (lon, lat), point in zip(drawn, carried, strict=True):
        assert point == pytest.approx(to_utm.transform(lon, lat), abs=1e-3)


def test_on_the_online_map_a_click_takes_the_lot_and_the_line(on_tiles: Page) -> None:
    page = on_tiles
    click_lot(page, 0.5, 0.45)
    base = lot_taken(page)
    assert base != "tiles"
    held_against_pyproj(kept_plan(page), base)
    expect_answer(page)
    page.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(page.locator("#base")).to_have_value("tiles")


def test_what_is_drawn_on_the_online_map_goes_onto_the_ground(on_tiles: Page) -> None:
    page = on_tiles
    page.get_by_role("button", name="Use the finest ground there").click()
    expect(page.locator("#ground-place-told")).to_contain_text("those of demo-ground.")
    expect(page.locator("#base")).not_to_have_value("tiles")
    held_against_pyproj(kept_plan(page), page.locator("#base").input_value())
    expect_answer(page)


def drag(page: Page, right: float) -> None:
    """Move the map by a share of its width."""
    page.mouse.move(*map_place(page, 0.5, 0.75))
    page.mouse.down()
    page.mouse.move(*map_place(page, 0.5 + right, 0.75), steps=3)
    page.wait_for_timeout(200)  # let go of at rest, it does not glide on
    page.mouse.up()


def test_on_the_online_map_the_ground_in_view_is_drawn_and_follows(on_tiles: Page) -> None:
    """Asked for once the map rests, not again where it was drawn, and not from far out."""
    page, asked = on_tiles, []
    credit, picture = page.locator("#ground-credit"), page.locator(".ground-view")
    expect(credit).to_have_text(
        re.compile(r"^Ground: demo-ground, 2026-01-01, .*every 1 ft\. .*CC0")
    )
    expect(picture).to_be_visible()
    page.on("request", lambda one: asked.append(one.url) if "/relief.png?west" in one.url else None)
    first = picture.locator("image").get_attribute("href")
    drag(page, 0.05)
    page.wait_for_timeout(400)
    assert not asked, "a small move stays on what is drawn"
    drag(page, -0.45)
    expect(picture.locator("image")).not_to_have_attribute("href", first)
    assert len(asked) == 1
    drag(page, 0.4)
    expect(picture.locator("image")).to_have_attribute("href", first)
    page.locator("input[name=units][value=si]").check(force=True)
    expect(credit).to_contain_text(re.compile(r"every [0-9.]+ m\."))
    for _ in range(6):
        page.locator(".leaflet-control-zoom-out").click()
    expect(credit).to_have_text("Zoom in to see the ground.")
    page.wait_for_timeout(400)
    known = len(asked)
    drag(page, 0.1)
    page.wait_for_timeout(400)
    assert len(asked) == known
    problem = {"title": "Service Unavailable", "detail": "The source demo-ground is asleep."}
    page.route("**/relief.png?west**", lambda route: route.fulfill(status=503, json=problem))
    page.locator(".show-all a").click()
    drag(page, -0.4)
    expect(credit).to_have_text("The source demo-ground is asleep.")
    page.get_by_role("button", name="Hide the ground on the map").click()
    expect(picture).to_have_count(0)
    expect(credit).to_be_hidden()
