"""The ground, the lot and the house at a place: the demo street's, with no file and no network."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest
from planner_page import expect_answer, map_place
from playwright.sync_api import Page, Route, expect

pytestmark = pytest.mark.browser

YARD = "41.75080, -83.10317"
"""In the back yard of the street's third lot, the demo yard."""


def take(page: Page, place: str = YARD) -> None:
    """Open the list of bases and take what is at a place."""
    page.locator("#base-details > summary").click()
    page.get_by_label("Ground, lot and house around").fill(place)
    page.get_by_role("button", name="Take them").click()


def kept_plan(page: Page) -> dict:
    """The plan as the browser keeps it."""
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
    page.wait_for_timeout(500)  # the browser keeps it after a pause
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
    page.locator("#base-details > summary").click()
    expect(page.locator("#raster-file")).to_be_visible()
    expect(page.locator("#named-ground")).to_be_hidden()
