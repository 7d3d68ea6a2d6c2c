"""A site plan as the base: from a picture to a verdict."""

from __future__ import annotations

import re
from io import BytesIO
from urllib.parse import parse_qs, urlsplit

import pytest
from accessible import expect_clean
from PIL import Image, ImageDraw
from planner_page import cell, expect_answer, map_place, middle_of, sentence
from playwright.sync_api import Page, Route, expect

pytestmark = pytest.mark.browser


def plot() -> dict[str, object]:
    """A plot plan of our own: a house 400 px wide with its width written under it."""
    sheet = Image.new("RGB", (1200, 900), "white")
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((100, 100, 1100, 800), outline="black", width=3)
    pen.rectangle((400, 250, 800, 500), outline="black", width=4)
    pen.text((580, 520), "40 ft", fill="black")
    file = BytesIO()
    sheet.save(file, "PNG")
    return {"name": "plot.png", "mimeType": "image/png", "buffer": file.getvalue()}


def click_picture(page: Page, u: float, v: float) -> None:
    """Click a point of the picture, by its pixels."""
    page.locator("#map").scroll_into_view_if_needed()
    x, y = page.locator(".sheet-picture image").evaluate(
        """(image, [u, v]) => {
            const { x, y } = new DOMPoint(u, v).matrixTransform(image.getScreenCTM());
            return [x, y];
        }""",
        [u, v],
    )
    page.mouse.click(x, y)


def shown_at(page: Page, part: dict[str, list[str]], place: list[float]) -> list[float]:
    """Where on the screen the picture of a source's ground has a place of the part asked for."""
    west, south, east, north = (float(part[side][0]) for side in ("west", "south", "east", "north"))
    at = [(place[0] - west) / (east - west), (north - place[1]) / (north - south)]
    return page.locator(".ground-view image").evaluate(
        """(image, [u, v]) => {
            const { x, y } = new DOMPoint(u, v).matrixTransform(image.getScreenCTM());
            return [x, y];
        }""",
        at,
    )


def upload(page: Page) -> None:
    page.locator("#base-details > summary").click()
    page.locator("#site-file").set_input_files(plot())  # type: ignore[arg-type]
    expect(sentence(page)).to_contain_text("Set the scale of your site plan")


def upload_to_scale(page: Page, one: tuple[int, int], other: tuple[int, int]) -> None:
    """The picture with two of its points said to be 40 apart."""
    upload(page)
    page.locator("#site summary").first.click()
    for name, (right, down) in (("A", one), ("B", other)):
        page.locator(f"#site-{name}-right").fill(str(right))
        page.locator(f"#site-{name}-down").fill(str(down))
        page.keyboard.press("Tab")
    page.locator("#site-distance").fill("40")


def drawn_length(page: Page) -> float:
    """The length of the line under the hand, ft."""
    return float(page.locator("#line-readout").inner_text().split(" ft")[0])


def test_from_a_site_plan_to_a_verdict(page: Page) -> None:
    expect_answer(page)
    upload(page)
    expect(page.locator(".leaflet-control-scale")).to_have_count(0)  # no length is known yet
    page.get_by_role("button", name="Set the scale").click()
    click_picture(page, 400, 500)
    click_picture(page, 800, 500)
    expect(page.locator("#site-distance")).to_be_focused()
    page.keyboard.type("40")
    # 1,200 px at a tenth of a foot each, clicked to a pixel of the screen at both ends
    expect(page.locator("#site")).to_contain_text(re.compile(r"picture is (119\.\d|120(\.\d)?) ft"))
    expect(page.locator(".leaflet-control-scale")).to_be_visible()
    page.get_by_role("button", name="Draw your line").click()
    click_picture(page, 800, 400)
    click_picture(page, 1050, 400)
    click_picture(page, 1050, 700)
    page.locator("#draw-finish").click()
    # 250 px and 300 px at a tenth of a foot each; a pixel of the screen is about a third of a foot
    assert drawn_length(page) == pytest.approx(55, abs=1)
    for i, (at, down) in enumerate((("0", "9"), ("25", "14"), ("57", "22"))):
        cell(page, f"level_line.rows.{i}.at").fill(at)
        cell(page, f"level_line.rows.{i}.down").fill(down)
    answered = expect_answer(page)
    expect(page.locator(".station-dot").first).to_be_visible()
    page.reload()
    assert expect_answer(page) == answered
    expect(page.locator(".sheet-picture image")).to_be_visible()


def test_scale_turn_and_north_carry_the_drawing_along_and_can_be_undone(page: Page) -> None:
    expect_answer(page)
    upload_to_scale(page, (400, 500), (800, 520))
    page.get_by_role("button", name="Draw your line").click()
    click_picture(page, 500, 600)
    click_picture(page, 900, 620)
    page.locator("#draw-finish").click()
    drawn = drawn_length(page)
    assert drawn == pytest.approx(40, abs=1)
    page.locator("#site-distance").fill("80")
    assert drawn_length(page) == pytest.approx(2 * drawn, abs=0.11)
    page.locator("#site-level").click()
    expect(page.locator("#site-turn")).to_have_value("-2.86")  # arctan of 20 over 400 is 2.862°
    (xa, ya), (xb, yb) = (middle_of(mark) for mark in page.locator(".thing-scale").all())
    assert ya == pytest.approx(yb, abs=1)
    assert xb > xa
    expect_clean(page)
    page.locator("#site-north").fill("30")
    expect(page.locator(".north")).to_have_attribute("aria-label", "North is 27° clockwise from up")
    for _ in range(3):
        page.locator("#undo").click()
    assert drawn_length(page) == drawn


def test_a_file_that_is_no_picture_is_refused_in_words(page: Page) -> None:
    expect_answer(page)
    page.locator("#base-details > summary").click()
    note = {"name": "note.png", "mimeType": "image/png", "buffer": b"not a picture"}
    page.locator("#site-file").set_input_files(note)  # type: ignore[arg-type]
    expect(page.locator("#site-file-error")).to_be_visible()


def test_a_line_goes_along_between_a_site_plan_and_a_raster(page: Page) -> None:
    assert "8.7 in" in expect_answer(page)
    demo = page.locator("#base").input_value()
    upload(page)
    site = page.locator("#base").input_value()
    page.locator("#site summary").first.click()
    for name, value in (("A-right", 400), ("A-down", 250), ("B-right", 800), ("B-down", 250)):
        page.locator(f"#site-{name}").fill(str(value))
        page.keyboard.press("Tab")
    page.locator("#site-distance").fill("80")
    page.locator("#tie > summary").click()
    expect(page.locator("#tie-show")).to_be_disabled()
    page.locator("#site-north").fill("0")
    page.locator("#tie-raster").select_option(demo)
    page.locator("#tie-show").click()
    expect(page.locator("#draw-words")).to_contain_text("where point A")
    page.mouse.click(*middle_of(page.locator(".point-start")))
    expect(page.locator("#tie-0")).not_to_have_value("")
    page.locator("#tie-0").fill("325128")
    page.locator("#tie-1").fill("4624270")
    page.keyboard.press("Tab")
    page.locator("#base").select_option(demo)
    page.locator("#ground-kind").select_option("raster")
    assert "8.7 in" in expect_answer(page)
    page.locator("#base").select_option(site)
    expect(page.locator(".point-end")).to_be_visible()
    assert drawn_length(page) == pytest.approx(112, abs=0.5)
    # It lies on the map now, so a named source has ground for it, shown where it is.
    with page.expect_request(re.compile(r"/relief\.png\?west")) as asked:
        page.locator("#show-all, .show-all a").first.click()
    drawn = parse_qs(urlsplit(asked.value.url).query)
    expect(page.locator(".ground-view")).to_be_visible()
    start = page.request.get("/demo.json").json()["routes"]["works"]["line"]["coordinates"][0]
    assert shown_at(page, drawn, start) == pytest.approx(
        middle_of(page.locator(".point-start")), abs=1
    )
    page.get_by_role("button", name="Use the finest ground there").click()
    expect(page.locator("#ground-place-told")).to_contain_text("those of demo-ground.")
    assert drawn_length(page) == pytest.approx(112, abs=0.5)


def test_online_tiles_only_where_the_operator_named_a_source(page: Page, planner: str) -> None:
    expect_answer(page)
    expect(page.locator("#tiles-place")).to_be_hidden()
    tile = BytesIO()
    Image.new("RGB", (256, 256), "#cdd8c0").save(tile, "PNG")
    asked: list[str] = []

    def serve(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(body=tile.getvalue(), content_type="image/png")

    source = {"url": f"{planner}/tile/{{z}}/{{x}}/{{y}}.png", "attribution": "A survey"}
    page.route("**/page-settings", lambda r: r.fulfill(json={"tiles": source | {"max_zoom": 19}}))
    page.route("**/tile/**", serve)
    page.reload()
    expect_answer(page)
    page.locator("#base-details > summary").click()
    page.locator("#place").fill("41.7505 -83.1024")
    page.locator("#place-go").click()
    expect(page.locator(".tile-credit:not(#ground-credit)")).to_have_text("A survey")
    page.get_by_role("button", name="Draw your line").click()
    page.mouse.click(*map_place(page, 0.4, 0.5))
    page.mouse.click(*map_place(page, 0.6, 0.5))
    page.locator("#draw-finish").click()
    assert drawn_length(page) > 10
    assert "/19/" in asked[-1]
    expect(page.locator(".tile").first).to_be_visible()
