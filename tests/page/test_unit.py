"""The page's pure modules, by node where there is one, else in the browser."""

from __future__ import annotations

import json
import mimetypes
import shutil
import subprocess
from pathlib import Path
from urllib.parse import urlparse

import pytest
from playwright.sync_api import Browser, Route

HERE = Path(__file__).parent / "unit"
ROOT = Path(__file__).resolve().parents[2]
TESTS = sorted(HERE.glob("*.test.mjs"))
STAND_INS = {"node:test": "test", "node:assert/strict": "assert", "node:fs": "fs"}


def test_by_node() -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("there is no node here; the same tests run in the browser")
    done = subprocess.run(
        [node, "--test", *map(str, TESTS)], capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.browser
def test_in_the_browser(browser: Browser) -> None:
    """The same files, with small stand-ins for the three node modules that they use."""

    def serve(route: Route) -> None:
        path = urlparse(route.request.url).path
        if path == "/":
            route.fulfill(body="<!doctype html><title>unit</title>", content_type="text/html")
            return
        file = ROOT / path.lstrip("/")
        text = file.read_text("utf-8")
        if path.endswith(".test.mjs"):
            for module, name in STAND_INS.items():
                text = text.replace(f'"{module}"', f'"/tests/page/unit/stand_in/{name}.mjs"')
        kind = mimetypes.guess_type(path)[0] or "text/javascript"
        route.fulfill(body=text, content_type="text/javascript" if "js" in path else kind)

    page = browser.new_page()
    page.route("http://unit.test/**", serve)
    page.goto("http://unit.test/")
    results = page.evaluate(
        """async (files) => {
            for (const file of files) await import(file);
            const { results } = await import('/tests/page/unit/stand_in/test.mjs');
            return Promise.all(results());
        }""",
        [f"/{test.relative_to(ROOT).as_posix()}" for test in TESTS],
    )
    page.close()
    failed = [result for result in results if result["error"]]
    assert not failed, json.dumps(failed, indent=1)
    declared = sum(test.read_text("utf-8").count("\ntest(") for test in TESTS)
    assert len(results) == declared
