"""A planner with keys, in a real browser: the key given to its prompt serves page and calls."""

from __future__ import annotations

import base64
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from front import Served, make_keys, served
from planner_page import expect_answer
from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[tuple[Served, str]]:
    """A planner that has a key and logs its requests, and the key."""
    (key,) = make_keys(tmp_path, "Ann's tablet")
    with served(tmp_path, "--log", "requests") as server:
        yield server, key


def test_a_key_given_to_the_browsers_prompt_serves_page_and_calls(
    locked: tuple[Served, str], browser: Browser
) -> None:
    server, key = locked
    address = f"http://127.0.0.1:{server.port}"
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(address)
    assert refused.value.code == 401
    assert refused.value.headers["WWW-Authenticate"].lower().startswith("basic"), "it prompts"

    credentials = {"username": "Ann", "password": key}
    with browser.new_context(base_url=address, http_credentials=credentials) as context:
        page = context.new_page()
        statuses: list[tuple[str, int]] = []
        page.on("response", lambda told: statuses.append((told.url, told.status)))
        page.goto("/")
        page.wait_for_selector("html[data-ready]", state="attached")
        expect_answer(page)
        calls = [(url, status) for url, status in statuses if "/api/v1/" in url]
        assert any(url.endswith("/plan") for url, _ in calls)
        assert {status for _, status in calls} == {200}
        assert key not in page.content()
        assert page.evaluate("JSON.stringify(localStorage)").find(key) < 0

    text = server.log
    assert '"path": "/api/v1/plan"' in text, "the log holds the requests"
    assert key not in text
    assert base64.b64encode(f"Ann:{key}".encode()).decode() not in text
