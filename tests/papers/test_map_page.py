"""The map: one file that opens with no network, shows the plan, and runs nothing it was handed."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Route
from plot import feature
from read_paper import HOSTILE

pytestmark = pytest.mark.browser


AT_REST = """() => new Promise(resolve => {
    const at = () => document.querySelector('img.leaflet-image-layer').getBoundingClientRect().x;
    const before = at();
    setTimeout(() => resolve(at() === before), 300);
})"""
"""Whether the map's first zoom, a quarter of a second, is over."""


class Opened:
    """A paper opened from a file, with everything it asked for or complained of."""

    def __init__(self, browser: Browser, path: Path) -> None:
        self.asked: list[str] = []
        self.said: list[str] = []
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, offline=True
        )
        context.route(re.compile("^(https?|wss?):"), self._block)
        self.page: Page = context.new_page()
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: (self.said.append("dialog"), dialog.dismiss()))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(path.as_uri())

    def _block(self, route: Route) -> None:
        route.abort()

    @property
    def remote(self) -> list[str]:
        return [url for url in self.asked[1:] if not url.startswith("data:")]


@pytest.fixture
def opened(browser: Browser, tmp_path: Path, take):
    """Take a paper, put it in a file, open that."""
    shown: list[Opened] = []

    def call(name: str, request: dict, **title: object) -> Opened:
        path = tmp_path / name
        path.write_bytes(take(name, request, **title).data)
        shown.append(Opened(browser, path))
        return shown[-1]

    yield call
    for one in shown:
        one.page.context.close()


def test_a_map_opens_from_a_file_without_network(opened, planned, drawn_request) -> None:
    answer = planned(drawn_request)
    shown = opened("map.html", drawn_request, title="Elm Street")
    page = shown.page
    assert page.evaluate("L.version").startswith("1.9")
    labels = page.locator(".plan-label").all_inner_texts()
    ends = answer["stations"][0], answer["stations"][-1]
    for word, s in zip(("START", "OUTLET"), ends, strict=True):
        assert f"{word} {s['label']}: {s['marks']['dig_depth']} in" in labels
    assert "gas line: dig by hand" in labels
    assert "INLET sump" in labels
    assert any(label.startswith("START East wing") for label in labels)
    # Every station has its ring, and each line its path, over a relief that fits the plane.
    rings = page.locator("path.leaflet-interactive").count()
    stations = len(answer["stations"]) + len(answer["branches"][0]["stations"])
    assert rings >= stations + 2
    assert page.locator("img.leaflet-image-layer").get_attribute("src").startswith("data:image/png")
    assert page.locator("img.leaflet-image-layer").evaluate("i => i.complete && i.naturalWidth > 0")
    page.get_by_text("Stations and depths").tap()
    cells = page.locator("#panel td").all_inner_texts()
    assert all(s["marks"]["dig_depth"] in cells for s in answer["stations"])
    assert page.locator("#panel").inner_text().startswith("Elm Street")
    assert shown.remote == []
    assert shown.said == []


def test_the_relief_lies_under_the_line(opened, planned, drawn_request) -> None:
    # The raster reaches from x 511995.2 to 512045.2 and the line starts 11.3 m inside it.
    answer = planned(drawn_request)
    page = opened("map.html", drawn_request).page
    page.wait_for_function(AT_REST)
    picture = page.locator("img.leaflet-image-layer").bounding_box()
    start = page.locator("path.leaflet-interactive[fill='#06283d']").first.bounding_box()
    x, y = answer["stations"][0]["x"], answer["stations"][0]["y"]
    across = (start["x"] + start["width"] / 2 - picture["x"]) / picture["width"]
    down = (start["y"] + start["height"] / 2 - picture["y"]) / picture["height"]
    assert across == pytest.approx((x - 511995.2) / 50, abs=0.005)
    assert down == pytest.approx((4705040.7 - y) / 40, abs=0.005)


def test_a_turned_site_plan_lies_under_what_is_drawn_on_it(opened, plot_request) -> None:
    """The area stands about a blue square of the picture, so their middles are one place."""
    page = opened("map.html", plot_request).page
    page.wait_for_function(AT_REST)
    edge = page.locator("path[stroke-dasharray='9 5']").bounding_box()
    for hiding in (".leaflet-overlay-pane svg", ".leaflet-tooltip-pane"):
        page.locator(hiding).evaluate("e => { e.style.display = 'none'; }")
    pixels = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"), dtype=int)
    down, across = np.nonzero(np.abs(pixels - (0, 0, 255)).sum(axis=2) < 120)
    scale = pixels.shape[1] / 390
    assert down.size > 100
    assert (across.mean() + 0.5) / scale == pytest.approx(edge["x"] + edge["width"] / 2, abs=1)
    assert (down.mean() + 0.5) / scale == pytest.approx(edge["y"] + edge["height"] / 2, abs=1)


def test_areas_and_lot_line_are_named_and_told_apart_without_colour(opened, plot_request) -> None:
    shown = opened("map.html", plot_request, title="Plot")
    page = shown.page
    assert "Keep out: Oak" in page.locator(".plan-label").all_inner_texts()
    for dashes in ("9 5", "18 6 3 6", "1 6"):  # the area, the lot line, the ring to stay off
        assert page.locator(f"path[stroke-dasharray='{dashes}']").count() == 1
    assert page.locator("path.untapped[stroke-width='1.5']").count() == 1, "hatched"
    page.get_by_text("Keep out of").tap()
    assert "Oak; stay 2 ft away from it" in page.locator("#panel li").all_inner_texts()
    assert page.locator("img.leaflet-image-layer").evaluate("i => i.complete && i.naturalWidth > 0")
    assert shown.remote == []
    assert shown.said == []


@pytest.mark.parametrize("name", ["map.html", "dig-sheet.html", "profile.svg"])
def test_hostile_names_do_nothing(opened, drawn_request, name) -> None:
    drawn_request["branches"][0]["name"] = HOSTILE[:80]
    drawn_request["crossings"][0]["what"] = HOSTILE[:80]
    drawn_request["inflows"][0]["name"] = "`${alert(3)}`{{7*7}}\\`"
    title = dict.fromkeys(("title", "place", "prepared_for", "prepared_by"), HOSTILE)
    x, y = 512013.0, 4705026.0
    ring = [[x, y], [x + 9, y], [x, y + 9], [x, y]]
    title["avoid"] = feature("Polygon", [ring], name=HOSTILE[:80], clearance=1)
    title["within"] = feature("Polygon", [ring], name=HOSTILE[:80])
    shown = opened(name, drawn_request, **title)
    if name == "map.html":
        edge = shown.page.locator("path[stroke-dasharray='9 5']").bounding_box()
        shown.page.touchscreen.tap(edge["x"] + 1, edge["y"] + edge["height"] - 1)
    assert shown.page.locator("img[src=x]").count() == 0
    text = shown.page.locator("body, svg").first.text_content()
    assert "{{7*7}}" in text
    assert "onerror=alert(1)" in text
    assert shown.remote == []
    assert shown.said == []


def test_what_a_name_injects_would_not_run_either(take, drawn_request) -> None:
    """The second fence: the map's own policy names each of its scripts by hash, and no other."""
    answer = take("map.html", drawn_request)
    page = answer.get_data(as_text=True)
    policy = answer.headers["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert policy.startswith("default-src 'none'")
    inside = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)
    assert inside
    assert policy.startswith(inside.group(1))
    scripts = len(re.findall("<script>", page))
    assert 0 < len(re.findall("'sha256-", policy)) <= scripts + len(re.findall("<style>", page))


def test_nothing_in_the_file_is_elsewhere(take, drawn_request) -> None:
    page = take("map.html", drawn_request).get_data(as_text=True)
    assert not re.findall(r'(?:src|href)="(?!data:)[^"]*"', page.split("<script>")[0])
    assert not re.findall(r"<(?:script|link)[^>]+(?:src|href)", page)
    pictures = re.findall(r"data:image/png;base64,([A-Za-z0-9+/=]+)", page)
    assert all(base64.b64decode(p).startswith(b"\x89PNG") for p in pictures)
    assert pictures


def test_a_dig_sheet_prints_on_one_page(opened, yard_request, tmp_path) -> None:
    for size, points in (("letter", (612, 792)), ("a4", (595.3, 841.9))):
        shown = opened("dig-sheet.html", yard_request, page=size)
        printed = pypdfium2.PdfDocument(shown.page.pdf(prefer_css_page_size=True))
        assert len(printed) == 1
        assert printed[0].get_size() == pytest.approx(points, abs=1)
        printed.close()
        assert shown.said == []
