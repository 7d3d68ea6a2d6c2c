"""The browser itself: what the page may load when the operator has named a source of tiles."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route

from yardfall.app import Settings, create_app
from yardfall.web.page.tiles import Tiles

pytestmark = pytest.mark.browser

NAMED = "https://tiles.example.org"
OTHER = "https://other.example.org"
PIXEL = "<svg xmlns='http://www.w3.org/2000/svg' width='1' height='1'/>"
LOADS = """url => new Promise((done) => {
    const image = new Image();
    image.onload = () => done(true);
    image.onerror = () => done(false);
    image.src = url;
})"""
FETCHES = "url => fetch(url, { mode: 'no-cors' }).then(() => true, () => false)"


@pytest.mark.parametrize("named", [True, False], ids=["named", "none"])
def test_pictures_come_from_the_named_host_alone(named: bool, browser: Browser, tmp_path: Path):
    """Under the policy of `/`, with both hosts played by the test."""
    tiles = Tiles(f"{NAMED}/{{z}}/{{x}}/{{y}}.png", "nobody") if named else None
    answer = create_app(Settings(tmp_path, tiles)).test_client().get("/", buffered=True)
    headers = {"Content-Security-Policy": answer.headers["Content-Security-Policy"]}
    asked: list[str] = []

    def outside(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(body=PIXEL, content_type="image/svg+xml")

    context = browser.new_context()
    page = context.new_page()
    page.route(f"{NAMED}/**", outside)
    page.route(f"{OTHER}/**", outside)
    page.route(
        "https://planner.test/",
        lambda route: route.fulfill(
            body="<!doctype html>", content_type="text/html", headers=headers
        ),
    )
    page.goto("https://planner.test/")
    assert page.evaluate(LOADS, f"{NAMED}/1/0/0.svg") is named
    assert page.evaluate(LOADS, f"{OTHER}/1/0/0.svg") is False
    assert page.evaluate(FETCHES, f"{NAMED}/data") is False, "pictures, and nothing else"
    assert asked == ([f"{NAMED}/1/0/0.svg"] if named else [])
    context.close()
