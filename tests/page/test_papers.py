"""Papers from the page: each is a file of the plan that is shown, under the head that was typed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from planner_page import expect_answer, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


def take(page: Page, name: str) -> bytes:
    """Click a paper and read the file that the browser keeps."""
    with page.expect_download() as kept:
        page.locator(f'[data-paper="{name}"]').click()
    assert kept.value.suggested_filename == name
    return Path(kept.value.path()).read_bytes()


def test_papers_of_the_plan_that_is_shown(page: Page) -> None:
    shown = expect_answer(page)
    page.locator("#papers summary").click()
    page.get_by_label("Job name").fill("Mrs. O'Neil </script>")
    page.get_by_label("Paper", exact=True).select_option("a4")
    html = take(page, "dig-sheet.html").decode()
    assert shown in html
    assert "size: A4 portrait" in html
    assert re.search("<h1>Mrs. O&#39;Neil &lt;/script&gt;</h1>", html)
    assert take(page, "dig-sheet.pdf").startswith(b"%PDF-")
    assert b"L.imageOverlay(" in take(page, "map.html")
    expect(page.locator("#papers-said")).to_have_text("map.html is in your downloads.")
    page.reload()
    expect_answer(page)
    expect(page.locator("#paper-title")).to_have_value("Mrs. O'Neil </script>")


def test_a_taped_run_offers_no_map_and_says_why(sheet: Page) -> None:
    expect(sheet.locator("#papers")).to_be_hidden()
    type_readings(sheet)
    expect_answer(sheet)
    expect(sheet.locator('[data-paper="map.html"]')).to_be_disabled()
    expect(sheet.locator("#papers-said")).to_contain_text("a taped run has no place")
    assert b"dig_depth_in" in take(sheet, "stations.csv")
