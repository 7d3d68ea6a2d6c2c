"""A real planner and a real browser, once per session; a watched page per test."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from serving import wait_for

from yardfall.core import compiled

HERE = Path(__file__).parent
STORIES = [folder for folder in HERE.iterdir() if any(folder.glob("test_*.py"))]
sys.path[:0] = map(str, [HERE, *STORIES])  # so that the stories can import planner_page, and steps
# of one another

EMPTY_SHEET = """localStorage["yardfall.plan.1"] ??= JSON.stringify(
    {past: [], present: {version: 1, units: "us"}, future: []})"""
"""What the browser of a user holds who left with an empty sheet of readings."""
REFUSED = re.compile(
    r"status of (401|404|412|413|422|429|503)|net::ERR_|Service Worker registration blocked"
)


@pytest.fixture(scope="session")
def planner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a planner that runs for this session on data of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    compiled.warm()  # into the cache on disk: no story waits for a loop to be compiled
    data = tmp_path_factory.mktemp("planner")
    log = data / "planner.log"
    command = [sys.executable, "-m", "yardfall", "serve", "--port", str(port), "--data", data]
    with log.open("wb") as out, subprocess.Popen(command, stdout=out, stderr=out) as process:
        try:
            address = f"http://127.0.0.1:{port}"
            wait_for(address, process, log)
            yield address
        finally:
            process.terminate()
            process.wait(10)


class Watched:
    """What a page asked for and complained of, other than what a test expects."""

    def __init__(self, planner: str) -> None:
        self.planner = planner
        self.urls: list[str] = []
        self.complaints: list[str] = []

    def watch(self, page: Page) -> None:
        """Listen to a page from its first request on."""
        page.on("request", lambda request: self.urls.append(request.url))
        page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        page.on("console", self._heard)

    def _heard(self, message: object) -> None:
        kind, text = message.type, message.text  # type: ignore[attr-defined]
        # A browser reports every refused request here; that a plan or a job is refused or the
        # planner is away is what some tests are about, and they check what the page makes of it.
        refused = REFUSED.search(text) is not None
        if kind in ("error", "warning") and not refused:
            self.complaints.append(f"{kind}: {text}")

    @property
    def elsewhere(self) -> list[str]:
        """Requests that left the planner's host."""
        own = (self.planner, "data:", "blob:")
        return [url for url in self.urls if not url.startswith(own)]


@pytest.fixture
def open_page(planner: str, browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens the planner page in a fresh browser profile, ready to use.

    When the test ends, no page may have asked another host for anything or complained.
    """
    contexts: list[BrowserContext] = []
    watched = Watched(planner)

    def open_it(
        *,
        phone: bool = False,
        dark: bool = False,
        empty: bool = False,
        size: tuple[int, int] | None = None,
        pocket: bool = False,
        zoom: int = 1,
    ) -> Page:
        wide, tall = size or ((390, 844) if phone else (1280, 900))
        context = browser.new_context(
            viewport={"width": wide // zoom, "height": tall // zoom},
            device_scale_factor=zoom,
            color_scheme="dark" if dark else "light",
            has_touch=phone,
            is_mobile=phone,
            reduced_motion="reduce",
            base_url=planner,
            # What a worker asks for, no test can hold or answer in the planner's place.
            service_workers="allow" if pocket else "block",
        )
        context.set_default_timeout(10_000)
        if empty:
            context.add_init_script(EMPTY_SHEET)
        contexts.append(context)
        page = context.new_page()
        watched.watch(page)
        page.goto("/")
        page.wait_for_selector("html[data-ready]", state="attached")
        return page

    yield open_it
    for context in contexts:
        context.close()
    assert not watched.elsewhere
    assert not watched.complaints


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    """The planner page on a desk."""
    return open_page()


@pytest.fixture
def sheet(open_page: Callable[..., Page]) -> Page:
    """The planner page on a desk, on an empty sheet of readings."""
    return open_page(empty=True)
