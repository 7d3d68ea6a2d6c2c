"""The page in the pocket: installed by the browser, opened with no network as it was left."""

from __future__ import annotations

import json
from pathlib import Path

import chromium
import pytest
from front import make_keys, served
from planner_page import Opener, cell, expect_answer, expect_other_answer, see, sentence
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser

KEPT = """caches.open("yardfall-page-1").then(open => open.keys())
    .then(keys => keys.map(({ url }) => new URL(url).pathname))"""
CONTENT = """caches.open("yardfall-page-1").then(async open => Promise.all((await open.keys())
    .map(async key => JSON.stringify([...key.headers]) + await (await open.match(key)).text())))"""
PARTS = 130
"""The page is made of more files than these."""


def is_kept(page: Page, least: int = PARTS) -> list[str]:
    """Wait until the browser has kept so many parts of the page; their paths."""
    enough = (
        "least => caches.open('yardfall-page-1').then(c => c.keys()).then(k => k.length >= least)"
    )
    page.wait_for_function(enough, arg=least)
    found: list[str] = page.evaluate(KEPT)
    return found


def test_a_manifest_says_what_to_install(page: Page) -> None:
    """Its members are those of the Web Application Manifest (W3C); the browser reads it itself."""
    link = page.locator("link[rel=manifest]").get_attribute("href")
    answer = page.request.get(str(link))
    assert answer.headers["content-type"].startswith("application/manifest+json")
    manifest = json.loads(answer.text())
    assert {"name", "short_name", "start_url", "display", "icons"} <= set(manifest)
    assert page.request.get(manifest["icons"][0]["src"]).ok
    read = page.context.new_cdp_session(page).send("Page.getAppManifest")
    assert read["errors"] == []
    assert read["url"].endswith(str(link))


def test_it_opens_with_no_network_where_it_was_left(open_page: Opener) -> None:
    page = open_page(pocket=True)
    before = expect_answer(page)
    cell(page, "start.value").fill("9")
    left = expect_other_answer(page, before)
    page.wait_for_timeout(400)  # longer than the plan waits before it is kept
    is_kept(page)
    relief = "caches.match(document.querySelector('.relief').src).then(Boolean)"
    page.wait_for_function(relief)
    paths = page.evaluate(KEPT)
    assert "/" in paths
    assert "/api/v1/plan" not in paths
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(sentence(page)).to_have_text(left)
    expect(page.locator("#standing")).to_contain_text("last answer to just this plan")
    expect(cell(page, "start.value")).to_have_value("9")
    expect(page.locator(".relief")).to_be_visible()
    page.locator("#job-list").click()  # loaded the first time that it is asked for
    expect(page.locator(".jobs-view")).to_contain_text("The planner cannot be reached")
    page.locator("#jobs-close").click()
    with page.expect_event("requestfailed", lambda request: request.url.endswith("/plan")):
        page.evaluate("dispatchEvent(new Event('online'))")  # asked again, in vain
    expect(page.locator("#standing")).to_contain_text("last answer to just this plan")
    see(page, "Dig table")
    assert page.locator("#station-table tbody tr").count() > 5
    cell(page, "start.value").fill("8")
    expect(page.locator("#standing")).to_contain_text("from before your latest change")
    page.context.set_offline(False)
    expect(sentence(page)).to_have_text(before)
    expect(page.locator("#standing")).to_be_hidden()


def test_what_a_key_opens_is_not_kept(tmp_path: Path, browser: Browser) -> None:
    (key,) = make_keys(tmp_path, "Ann")
    with served(tmp_path) as server:
        credentials = {"username": "Ann", "password": key}
        address = f"http://127.0.0.1:{server.port}"
        with browser.new_context(base_url=address, http_credentials=credentials) as context:
            page = context.new_page()
            page.goto("/")
            page.wait_for_selector("html[data-ready]", state="attached")
            expect_answer(page)
            paths = is_kept(page)
            assert not [path for path in paths if path.startswith(("/api/v1/r", "/api/v1/s"))]
            assert key not in "".join(page.evaluate(CONTENT))


def test_over_plain_http_from_elsewhere_it_says_what_is_withheld(
    tmp_path: Path, browser: Browser
) -> None:
    """A browser trusts https and its own machine alone (W3C, Secure Contexts)."""
    (key,) = make_keys(tmp_path, "Ann")
    with served(tmp_path) as server:
        asked = [*chromium.ARGUMENTS, "--host-resolver-rules=MAP planner.test 127.0.0.1"]
        with browser.browser_type.launch(
            executable_path=chromium.executable(), args=asked
        ) as other:
            credentials = {"username": "Ann", "password": key}
            page = other.new_context(http_credentials=credentials).new_page()
            page.goto(f"http://planner.test:{server.port}/")
            page.wait_for_selector("html[data-ready]", state="attached")
            expect_answer(page)
            see(page, "Trench check")
            expect(page.locator("#withheld")).to_contain_text("Ask whoever runs the planner")
