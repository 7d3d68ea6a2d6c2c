"""Papers from the page: each is a file of the plan that is shown, under the head that was typed."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pypdfium2
import pytest
from planner_page import cell, expect_answer, see, type_readings
from playwright.sync_api import Page, expect
from test_site_plan import click_picture, upload_to_scale

pytestmark = pytest.mark.browser


def take(page: Page, name: str) -> bytes:
    """Click a paper and read the file that the browser keeps."""
    see(page, "Papers")
    with page.expect_download() as kept:
        page.locator(f'[data-paper="{name}"]').click()
    assert kept.value.suggested_filename.endswith(name)
    return Path(kept.value.path()).read_bytes()


def test_papers_of_the_plan_that_is_shown(page: Page) -> None:
    shown = expect_answer(page)
    see(page, "Papers")
    page.locator("#papers").get_by_text("Title block").click()
    page.get_by_label("Job name").fill("Mrs. O'Neil </script>")
    page.get_by_label("Paper", exact=True).select_option("a4")
    html = take(page, "dig-sheet.html").decode()
    assert shown in html
    assert "size: A4 portrait" in html
    assert re.search("<h1>Mrs. O&#39;Neil &lt;/script&gt;</h1>", html)
    assert take(page, "dig-sheet.pdf").startswith(b"%PDF-")
    page.locator("#papers").get_by_text("Stakes", exact=True).click()
    expect(page.locator("#paper-fixed")).to_have_value("House")
    page.get_by_label("A tag for each stake, to cut out").check()
    staked = take(page, "dig-sheet.html").decode()
    assert "Corners to tape from: House A" in staked
    assert 'class="tag"' in staked
    assert 'class="tag"' not in html
    page_of_map = take(page, "map.html")
    assert b"L.imageOverlay(\n" in page_of_map
    for words in (b"Keep out: Septic field", b"Septic field; stay 2 ft away", b"the lot line"):
        assert words in page_of_map
    assert b"uns through what it must keep out of" not in page_of_map
    named = "Mrs-O-Neil-script-map.html is in your downloads."
    expect(page.locator("#papers-said")).to_have_text(named)
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


def shown_on(page: str) -> tuple[list, list, list]:
    """Of a map: where the picture lies, the line, and the edge of the area; y, x in metres."""
    overlay = re.search(r'L\.imageOverlay\(\s*"data:[^"]+",\s*(\[\[.*?\]\])', page)
    assert overlay
    lines = re.findall(r"L\.polyline\(\s*(\[\[.*?\]\]),\s*(\{.*?\})", page)
    area = next(way for way, looks in lines if '"dashArray": "9 5"' in looks)
    line = next(way for way, looks in lines if '"color": "#06283d"' in looks)
    return json.loads(overlay[1]), json.loads(line), json.loads(area)


def test_a_map_of_a_turned_site_plan_from_the_page_and_from_the_job_kept(page: Page) -> None:
    expect_answer(page)
    upload_to_scale(page, (400, 500), (800, 500))
    page.locator("#site-turn").fill("20")
    page.get_by_role("button", name="Draw your line").click()
    for u, v in ((800, 400), (1050, 400), (1050, 700)):
        click_picture(page, u, v)
    page.locator("#draw-finish").click()
    page.locator("#add-menu > summary").click()
    page.locator("#add-menu").get_by_role("button", name="An area to keep out of").click()
    for u, v in ((600, 600), (800, 600), (800, 750)):
        click_picture(page, u, v)
    page.locator("#draw-finish").click()
    for i, (at, down) in enumerate((("0", "9"), ("25", "14"), ("57", "22"))):
        cell(page, f"level_line.rows.{i}.at").fill(at)
        cell(page, f"level_line.rows.{i}.down").fill(down)
    expect_answer(page)

    def off(u: float, v: float) -> list[float]:
        """y, x from the line's start to a point of the picture, m: a tenth of a foot a pixel."""
        right, up, turn = (u - 800) * 0.03048, (400 - v) * 0.03048, math.radians(20)
        cos, sin = math.cos(turn), math.sin(turn)
        return [up * cos - right * sin, right * cos + up * sin]

    (south_west, north_east), line, area = shown_on(take(page, "map.html").decode())
    near = {"abs": 0.15}  # a click is good to a pixel of the screen, about a third of a foot
    assert line[-1] == pytest.approx(off(1050, 700), **near)
    assert area == [
        pytest.approx(off(*uv), **near) for uv in ((600, 600), (800, 600), (800, 750), (600, 600))
    ]
    assert [south_west[0], north_east[0]] == pytest.approx(
        [off(1200, 900)[0], off(0, 0)[0]], **near
    )
    assert [south_west[1], north_east[1]] == pytest.approx(
        [off(0, 900)[1], off(1200, 0)[1]], **near
    )

    page.locator("#job-name").fill("On the plot")
    page.locator("#job-save").click()
    expect(page.locator("#job-standing")).to_contain_text("Kept as revision 1")
    (job,) = page.request.get("/api/v1/jobs?search=On the plot").json()["jobs"]
    kept = page.request.get(f"/api/v1/jobs/{job['id']}/map.html").text()
    assert shown_on(kept) == ([south_west, north_east], line, area)
    assert "Area 1; stay 2 ft away from it" in kept


SMALL_TEXT = """() => [...document.querySelectorAll('body *')]
    .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
    .filter(e => e.getClientRects().length && !e.closest('svg, .leaflet-container'))
    .map(e => [parseFloat(getComputedStyle(e).fontSize), e.textContent.trim().slice(0, 20)])
    .filter(([size]) => size < 14)"""
"""Texts of a page that are smaller than 14 px."""


def test_sheet_and_map_read_on_a_phone(page: Page, tmp_path: Path) -> None:
    expect_answer(page)
    phone = page.context.new_page()
    phone.set_viewport_size({"width": 390, "height": 844})
    for name in ("dig-sheet.html", "map.html"):
        file = tmp_path / name
        file.write_bytes(take(page, name))
        phone.goto(file.as_uri())
        if name == "map.html":
            phone.get_by_text("Stations and depths").click()
            panel = phone.locator("#panel").evaluate("e => [e.scrollWidth, e.clientWidth]")
            assert panel[0] <= panel[1]
        assert phone.evaluate("document.documentElement.scrollWidth") <= 390
        assert phone.evaluate(SMALL_TEXT) == []
        lettering = phone.locator("svg text:visible").evaluate_all(
            "es => es.map(e => e.getBoundingClientRect().height)"
        )
        assert min(lettering, default=99) >= 9, "the small drawings keep their lettering"
    phone.close()


def test_prints_break_between_rows(page: Page, tmp_path: Path) -> None:
    """Printed by a browser: the figures of each station stand on the page of its label."""
    expect_answer(page)
    file = tmp_path / "sheet.html"
    file.write_bytes(take(page, "dig-sheet.html"))
    paper = page.context.new_page()
    paper.goto(file.as_uri())
    cells = paper.locator("td.station").evaluate_all(
        "es => es.map(e => [e.firstChild.data.trim(), e.parentNode.cells[2].textContent])"
    )
    document = pypdfium2.PdfDocument(paper.pdf(prefer_css_page_size=True))
    pages = [one.get_textpage().get_text_bounded() for one in document]
    document.close()
    paper.close()
    assert len(cells) > 10
    for label, dig in cells:
        row = re.compile(rf"{re.escape(label)}\s[^+]*?\b{dig}\b")
        assert any(row.search(text) for text in pages), label
