"""One job for a crew: a link that its owner makes, the code on its sheet, the trench by both."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import chromium
import pypdfium2 as pdfium
import pytest
import zxingcpp
from accessible import CONTRAST, SMALL_TARGETS, expect_clean
from front import Served, make_keys, served
from PIL import Image
from planner_page import Opener, expect_answer, see
from playwright.sync_api import Browser, BrowserContext, Page, expect

pytestmark = pytest.mark.browser

EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
URL = "http://planner.test"
SIZES = [(1280, 900), (390, 844)]
FINGER_PX = 44
GONE = "This link for a crew opens nothing: it was withdrawn"


class Yard:
    """A planner with a key, reached by others at URL, and one job in it."""

    def __init__(self, server: Served, key: str) -> None:
        self.server, self.key = server, key
        request = json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))
        self.job = self.call("POST", "/jobs", {"name": "Elm St 4", "request": request})["id"]

    def call(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """One call by the owner's key."""
        status, content = self.server.call(method, path, body, key=self.key, **headers)
        assert status < 300, content
        return json.loads(content) if content else None

    def link(self, name: str = "Dave's crew") -> dict[str, str]:
        return self.call("POST", f"/jobs/{self.job}/crew-links", {"name": name})

    def save_again(self) -> None:
        """The job's next revision, with a steeper least grade."""
        request = json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))
        request["grade"]["min_percent"] = 1.1
        body = {"name": "Elm St 4", "request": request}
        self.call("PUT", f"/jobs/{self.job}", body, **{"If-Match": "*"})


@pytest.fixture(scope="module")
def planner_elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, str]]:
    folder = tmp_path_factory.mktemp("elsewhere")
    (key,) = make_keys(folder, "Ann")
    with served(folder, YARDFALL_PUBLIC_URL=URL) as server:
        yield server, key


@pytest.fixture
def yard(planner_elsewhere: tuple[Served, str]) -> Yard:
    return Yard(*planner_elsewhere)


Open = Callable[..., BrowserContext]


@pytest.fixture(scope="module")
def others(browser: Browser, planner_elsewhere: tuple[Served, str]) -> Iterator[Browser]:
    """A browser that finds the planner under the address by which others reach it."""
    server, _ = planner_elsewhere
    asked = [
        *chromium.ARGUMENTS,
        f"--host-resolver-rules=MAP planner.test:80 127.0.0.1:{server.port}",
    ]
    with browser.browser_type.launch(executable_path=chromium.executable(), args=asked) as launched:
        yield launched


@pytest.fixture
def phone(others: Browser) -> Iterator[Open]:
    """A fresh phone, or another screen, that was never here before."""
    opened: list[BrowserContext] = []

    def make(size: tuple[int, int] = (390, 844), **options: Any) -> BrowserContext:
        wide, tall = size
        context = others.new_context(
            viewport={"width": wide, "height": tall},
            has_touch=wide < 1000,
            reduced_motion="reduce",
            **options,
        )
        context.set_default_timeout(10_000)
        opened.append(context)
        return context

    yield make
    for context in opened:
        context.close()


def go(context: BrowserContext, address: str) -> Page:
    """Open an address as if it came from elsewhere, and wait for the page."""
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("html[data-ready]", state="attached")
    return page


def take(page: Page, name: str) -> bytes:
    with page.expect_download() as kept:
        page.locator(f'[data-paper="{name}"]').click()
    return Path(kept.value.path()).read_bytes()


def code_on(pdf: bytes) -> str:
    """What the code on a sheet says, read by zxing-cpp off the sheet at 150 dots an inch."""
    document = pdfium.PdfDocument(pdf)
    picture = document[0].render(scale=150 / 72).to_pil().convert("L")
    document.close()
    (code,) = zxingcpp.read_barcodes(picture)
    return code.text


@pytest.mark.parametrize("size", SIZES, ids=["desk", "phone"])
def test_a_crew_reads_its_job_and_adds_a_check(yard: Yard, phone: Open, size) -> None:
    link = yard.link()
    context = phone(size)
    page = go(context, URL + link["address"])
    expect(page.locator("#crew-title")).to_have_text("Elm St 4")
    expect(page.locator("#crew-standing")).to_contain_text("Revision 1, kept")
    expect(page.locator("#crew-sentence")).to_contain_text("of fall to spare")
    assert page.url == f"{URL}/crew#job={yard.job}", "the key is out of sight"
    expect(page.locator("#withheld")).to_contain_text("plain http")
    expect_clean(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)
    page.emulate_media(color_scheme="light")
    if size[0] < 1000:
        assert page.evaluate(SMALL_TARGETS, FINGER_PX) == []

    page.reload()
    expect(page.locator("#crew-title")).to_have_text("Elm St 4")
    page.locator("#trench-open").click()
    assert page.url == f"{URL}/crew#job={yard.job}&in-the-trench"
    page.locator("#trench-reading").fill("29 1/2")
    page.keyboard.press("Enter")
    expect(page.locator("#trench-result")).to_contain_text("Good")
    page.reload()
    expect(page.locator("#trench-view")).to_be_visible()
    expect(page.locator("#trench-places")).to_contain_text("29 1/2")
    assert yard.call("GET", f"/jobs/{yard.job}/grade-checks")["page"]["total"] == 0
    page.locator("#trench-close").click()
    page.locator("#trench-keep").click()
    expect(page.locator("#trench-kept")).to_have_text(
        "Kept as check 1 of “Elm St 4”, against revision 1."
    )
    (kept,) = yard.call("GET", f"/jobs/{yard.job}/grade-checks")["grade_checks"]
    assert kept["checked_by"] == "Dave's crew"
    assert b"%PDF" in take(page, "dig-sheet.pdf")[:8]
    assert page.locator('[data-paper="map.html"]').count() == 0, "a taped run has no map"


def test_the_code_on_the_sheet_opens_the_trench(yard: Yard, phone: Open) -> None:
    """From the sheet's own code, by a reader that is not ours, into the trench."""
    link = yard.link()
    context = phone()
    address = code_on(take(go(context, URL + link["address"]), "dig-sheet.pdf"))
    assert address == f"{URL}/crew#job={yard.job}&revision=1&in-the-trench"
    scanned = go(context, address)
    expect(scanned.locator("#trench-view")).to_be_visible()
    expect(scanned.locator(".trench-should, .trench-head")).to_contain_text("29 1/2")
    scanned.locator("#trench-reading").fill("29 1/2")
    scanned.keyboard.press("Enter")
    expect(scanned.locator("#trench-result")).to_contain_text("Good")
    scanned.locator("#trench-close").click()
    assert scanned.url == f"{URL}/crew#job={yard.job}&revision=1"

    yard.save_again()
    later = go(context, address)
    expect(later.locator("#trench-view")).to_be_hidden()
    expect(later.locator("#crew-newer")).to_contain_text("Your sheet is revision 1; revision 2")
    expect(later.locator("#crew-standing")).to_contain_text("Revision 1,")
    later.locator("#crew-to-newest").click()
    expect(later.locator("#trench-view")).to_be_visible()
    expect(later.locator("#crew-standing")).to_contain_text("Revision 2,")
    expect(later.locator("#crew-newer")).to_be_hidden()


def test_the_code_read_off_the_web_sheet_on_a_screen(yard: Yard, phone: Open, tmp_path) -> None:
    link = yard.link()
    context = phone()
    html = take(go(context, URL + link["address"]), "dig-sheet.html")
    sheet = context.new_page()
    for wide, tall in SIZES:
        sheet.set_viewport_size({"width": wide, "height": tall})
        sheet.set_content(html.decode())
        picture = tmp_path / f"{wide}.png"
        sheet.screenshot(path=picture)
        (code,) = zxingcpp.read_barcodes(Image.open(picture).convert("L"))
        assert code.text == f"{URL}/crew#job={yard.job}&revision=1&in-the-trench"


def test_a_phone_that_has_no_link_is_told_how_to_get_in(yard: Yard, phone: Open) -> None:
    context = phone()
    page = context.new_page()
    page.goto(f"{URL}/crew#job={yard.job}&revision=1&in-the-trench")
    question = page.locator(".question")
    expect(question).to_contain_text("Open the link that you were sent")
    question.get_by_label("Key").fill(yard.key)
    question.get_by_role("button", name="Use this key").click()
    expect(page.locator("#trench-view")).to_be_visible()
    expect(page.locator("#crew-title")).to_have_text("Elm St 4")

    stranger = phone().new_page()
    stranger.goto(f"{URL}/crew#job={yard.job}")
    stranger.locator(".question").get_by_role("button", name="Not now").click()
    expect(stranger.locator("#crew-sentence")).to_contain_text("Open the link that you were sent")
    assert "Elm St" not in stranger.content()
    nowhere = go(phone(), f"{URL}/crew")
    expect(nowhere.locator("#crew-sentence")).to_contain_text("No job is named in this address")


def test_a_withdrawn_link_says_so_and_what_it_brought_goes(yard: Yard, phone: Open) -> None:
    link = yard.link()
    page = go(phone(), URL + link["address"])
    expect(page.locator("#crew-title")).to_have_text("Elm St 4")
    yard.call("DELETE", f"/jobs/{yard.job}/crew-links/{link['id']}")
    page.reload()
    expect(page.locator("#crew-sentence")).to_contain_text(GONE)
    assert "Elm St" not in page.content()
    assert "Elm St" not in page.evaluate("JSON.stringify(localStorage)")
    assert link["key"] not in page.evaluate("JSON.stringify(localStorage)")


def test_the_owner_makes_and_withdraws_links_on_the_page(yard: Yard, phone: Open) -> None:
    page = go(phone((1280, 900), http_credentials={"username": "Ann", "password": yard.key}), URL)
    expect_answer(page)
    page.evaluate("id => { location.hash = `job=${id}`; }", yard.job)
    expect(page.locator("#job-name")).to_have_value("Elm St 4")
    page.locator("#job-about").click()
    sheet = page.locator("#job-sheet")
    expect(page.locator("#job-address")).to_have_value(f"{URL}/#job={yard.job}")
    expect(page.locator("#job-reach")).to_be_hidden()
    page.locator("#crew-make").click()
    expect(page.locator("#job-sheet-said")).to_contain_text("Say who the link is for")
    page.locator("#crew-name").fill("Night shift")
    page.locator("#crew-make").click()
    expect(page.locator("#job-sheet-said")).to_contain_text("it is not shown again")
    made = page.locator("#crew-link").input_value()
    assert re.fullmatch(rf"{URL}/crew#job={yard.job}&crew=crew_[\w-]{{43}}", made)
    expect(sheet).to_contain_text("Night shift")
    expect(sheet).to_contain_text("not used yet")
    expect_clean(page)

    crew = go(phone(), made)
    expect(crew.locator("#crew-title")).to_have_text("Elm St 4")
    page.locator("#job-sheet-close").click()
    page.locator("#job-about").click()
    expect(sheet).to_contain_text("last used")
    expect(page.locator("#crew-link")).to_be_hidden()
    assert made not in page.content()
    sheet.get_by_role("button", name="Withdraw the link for Night shift").click()
    expect(page.locator("#job-sheet-said")).to_contain_text("opens nothing any more")
    crew.reload()
    expect(crew.locator("#crew-sentence")).to_contain_text(GONE)


def test_the_sheet_that_the_page_prints_of_a_kept_plan_has_the_code(
    yard: Yard, phone: Open
) -> None:
    """And not that of a plan which no revision keeps: the code would open another plan's trench."""
    page = go(phone((1280, 900), http_credentials={"username": "Ann", "password": yard.key}), URL)
    expect_answer(page)
    page.locator("#job-name").fill("The demo yard")
    page.locator("#job-save").click()
    expect(page.locator("#job-standing")).to_contain_text("Kept as revision 1")
    job = page.url.removeprefix(f"{URL}/#job=")
    see(page, "Papers")
    code = code_on(take(page, "dig-sheet.pdf"))
    assert code == f"{URL}/crew#job={job}&revision=1&in-the-trench"
    page.locator('[data-path="start.value"]').fill("9")
    expect(page.locator("#job-standing")).to_contain_text("Changed since revision 1")
    document = pdfium.PdfDocument(take(page, "dig-sheet.pdf"))
    picture = document[0].render(scale=150 / 72).to_pil().convert("L")
    document.close()
    assert zxingcpp.read_barcodes(picture) == []


def test_the_trench_opens_with_no_network(open_page: Opener, planner: str) -> None:
    """On the planner's own machine, which a browser trusts as it does https."""
    page = open_page(pocket=True)
    request = json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))
    sent = page.request.post("/api/v1/jobs", data={"name": "Oak St 9", "request": request})
    job = sent.json()["id"]
    link = page.request.post(f"/api/v1/jobs/{job}/crew-links", data={"name": "crew"}).json()
    page.goto(link["address"])
    expect(page.locator("#crew-title")).to_have_text("Oak St 9")
    expect(page.locator("#withheld")).to_have_count(0)
    page.locator("#trench-open").click()
    page.locator("#trench-reading").fill("29 1/2")
    page.keyboard.press("Enter")
    expect(page.locator("#trench-result")).to_contain_text("Good")
    has = (
        "async () => Boolean(await caches.match('/crew') && await caches.match('/static/crew.js'))"
    )
    page.wait_for_function(has)
    kept = "async () => (await (await caches.open('yardfall-page-1')).keys()).length > 40"
    page.wait_for_function(kept)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("#crew-title")).to_have_text("Oak St 9")
    expect(page.locator("#crew-standing")).to_contain_text("as it last came here")
    expect(page.locator("#trench-view")).to_be_visible()
    expect(page.locator("#trench-verdict")).to_contain_text("Checked on this phone")
    expect(page.locator("#trench-places")).to_contain_text("29 1/2")
    page.context.set_offline(False)
    expect(page.locator("#trench-places .sign, #trench-places")).to_contain_text("Good")
