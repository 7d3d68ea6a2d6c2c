"""A planner with keys, in a real browser: the key given to its prompt serves page and calls."""

from __future__ import annotations

import base64
import re
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from planner_page import expect_answer
from playwright.sync_api import Browser
from serving import wait_for

pytestmark = pytest.mark.browser


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[tuple[str, str, Path]]:
    """The address of a planner that has a key, the key, and the planner's log of requests."""
    command = [sys.executable, "-m", "yardfall.cli"]
    made = subprocess.run(
        [*command, "key", "new", "Ann's tablet", "--data", str(tmp_path)],
        capture_output=True,
        text=True,
        check=True,
    )
    (key,) = re.findall(r"^\s*(\S{30,})\s*$", made.stdout, re.MULTILINE)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    log = tmp_path / "planner.log"
    serve = [*command, "serve", "--port", str(port), "--data", str(tmp_path), "--log", "requests"]
    with log.open("wb") as out, subprocess.Popen(serve, stdout=out, stderr=out) as process:
        try:
            address = f"http://127.0.0.1:{port}"
            wait_for(address, process, log)
            yield address, key, log
        finally:
            process.terminate()
            process.wait(20)


def test_a_key_given_to_the_browsers_prompt_serves_page_and_calls(
    locked: tuple[str, str, Path], browser: Browser
) -> None:
    address, key, log = locked
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

    text = log.read_text("utf-8")
    assert '"path": "/api/v1/plan"' in text, "the log holds the requests"
    assert key not in text
    assert base64.b64encode(f"Ann:{key}".encode()).decode() not in text
