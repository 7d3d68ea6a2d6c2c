"""What the first load costs over the wire, counted by the browser itself."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

MOST_BYTES = 450_000
TEXTS = ("text/", "application/json", "image/svg")
LEAST_PACKED = 2000
"""A text longer than this, with up to 900 bytes of headers, is one that must come packed."""


class Wire:
    """Every response of a page by URL: bytes with headers as they came in, and what they say."""

    def __init__(self, browser: Browser, planner: str) -> None:
        self.planner = planner
        self.context = browser.new_context(viewport={"width": 1280, "height": 900})
        self.page = self.context.new_page()
        self.answers: dict[str, dict] = {}
        self.bytes: dict[str, float] = {}
        self.asked: list[str] = []
        session = self.context.new_cdp_session(self.page)
        session.on("Network.requestWillBeSent", lambda e: self.asked.append(e["request"]["url"]))
        session.on(
            "Network.responseReceived",
            lambda e: self.answers.update({e["requestId"]: e["response"]}),
        )
        session.on(
            "Network.loadingFinished",
            lambda e: self.bytes.update({e["requestId"]: e["encodedDataLength"]}),
        )
        session.send("Network.enable")

    def load(self) -> None:
        """The planner's page, until it is at rest."""
        self.answers.clear()
        self.bytes.clear()
        self.page.goto(self.planner)
        self.page.wait_for_selector("html[data-ready]", state="attached")
        self.page.wait_for_load_state("networkidle")

    @property
    def total(self) -> float:
        return sum(self.bytes.values())


@pytest.fixture
def wire(browser: Browser, planner: str):
    wire = Wire(browser, planner)
    yield wire
    wire.context.close()


def test_the_first_load_is_light_and_all_from_here(wire) -> None:
    wire.load()
    assert len(wire.bytes) > 20, "nothing was counted"
    listed = sorted(((n, wire.answers[key]["url"]) for key, n in wire.bytes.items()), reverse=True)
    assert wire.total <= MOST_BYTES, listed[:10]
    print(f"first load: {wire.total:,.0f} bytes in {len(wire.bytes)} answers", listed[:6])
    ready = wire.page.evaluate("performance.getEntriesByType('navigation')[0].domComplete")
    print(ready)
    elsewhere = [url for url in wire.asked if not url.startswith((wire.planner, "data:", "blob:"))]
    assert not elsewhere
    plain = [
        answer["url"]
        for key, answer in wire.answers.items()
        if answer["mimeType"].startswith(TEXTS)
        and wire.bytes.get(key, 0) > LEAST_PACKED
        and answer["headers"].get("Content-Encoding") != "gzip"
    ]
    assert not plain, "these came unpacked"


def test_the_second_load_asks_only_whether_files_changed(wire) -> None:
    wire.load()
    first = wire.total
    seen = len(wire.bytes)
    wire.load()
    assert len(wire.bytes) > seen / 2, "the second load was not counted"
    assert wire.total < first / 2
