"""A kept job's address: it opens there, stays there, and one place keeps one job."""

from __future__ import annotations

import json
import re

import pytest
from accessible import CONTRAST, expect_clean
from planner_page import Opener, cell, expect_answer, screen, see, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

JOBS = "/api/v1/jobs"
AT_LENGTH = pytest.param(True, marks=pytest.mark.long, id="phone")
SIZES = pytest.mark.parametrize("phone", [pytest.param(False, id="desk"), AT_LENGTH])


def standing(page: Page):
    return page.locator("#job-standing")


def named_yard(page: Page, name: str) -> None:
    """Type the five readings and a name to keep them by."""
    screen(page, "Entries")
    type_readings(page)
    expect_answer(page)
    screen(page, "Answer")
    page.locator("#job-name").fill(name)


def kept_yard(page: Page, name: str) -> str:
    """Type the five readings and keep them; the job's id, as the address tells it."""
    named_yard(page, name)
    page.locator("#job-save").click()
    expect(standing(page)).to_contain_text("Kept as revision 1")
    (job,) = re.findall(r"/#job=([0-9a-f]{32})$", page.url)
    return job


def set_cover(page: Page, inches: str) -> None:
    screen(page, "Entries")
    cell(page, "start.value").fill(inches)
    screen(page, "Answer")
    expect(standing(page)).to_contain_text("Changed since")


def save(page: Page) -> None:
    page.locator("#job-save").click()
    expect(standing(page)).to_contain_text("Kept as revision")


@SIZES
def test_a_job_opens_by_its_address_and_stays(open_page: Opener, phone: bool) -> None:
    first = open_page(phone=phone, empty=True)
    job = kept_yard(first, f"Address {phone}")
    assert first.title() == f"Address {phone} · Yardfall"
    other = open_page(phone=phone)
    expect_answer(other)
    other.evaluate("address => { location.href = address; }", f"/#job={job}")
    expect(other.locator("#job-name")).to_have_value(f"Address {phone}")
    expect(standing(other)).to_contain_text("Kept as revision 1")
    expect(cell(other, "level_line.rows.4.down")).to_have_value("22")
    expect(other.locator("#job-said")).to_contain_text("from its address")
    for _ in range(2):
        other.reload()
        other.wait_for_selector("html[data-ready]", state="attached")
        expect(standing(other)).to_contain_text("Kept as revision 1")
        assert other.url.endswith(f"/#job={job}")
    set_cover(other, "9")
    other.wait_for_timeout(400)  # longer than the plan waits before it is kept
    other.reload()
    other.wait_for_selector("html[data-ready]", state="attached")
    expect(standing(other)).to_contain_text("Changed since revision 1")
    expect(cell(other, "start.value")).to_have_value("9")


@SIZES
def test_an_address_opens_in_a_browser_that_was_never_here(
    open_page: Opener, phone: bool, planner: str
) -> None:
    job = kept_yard(open_page(phone=phone, empty=True), f"Sent {phone}")
    page = open_page(phone=phone).context.new_page()
    page.goto(f"{planner}/#job={job}")
    expect(page.locator("#job-name")).to_have_value(f"Sent {phone}")
    expect(standing(page)).to_contain_text("Kept as revision 1")
    assert page.url.endswith(f"/#job={job}")
    other = open_page(phone=phone).context.new_page()
    other.goto(f"{planner}/#job={job}&in-the-trench")
    expect(other.locator("#trench-view")).to_be_visible()
    expect(other.locator("#trench-view")).to_contain_text("29 1/2 in")
    other.locator("#trench-close").click()
    assert other.url.endswith(f"/#job={job}")


def test_an_address_takes_no_unkept_plan_unasked(open_page: Opener) -> None:
    page = open_page(empty=True)
    job = kept_yard(page, "Asked first")
    page.locator("#examples > summary").click()
    page.locator("#example-list button").nth(1).click()
    expect(page.locator("#job-name")).to_have_value("")
    assert "#job=" not in page.url
    cell(page, "start.value").fill("11")
    page.evaluate("id => { location.hash = `job=${id}`; }", job)
    question = page.locator(".question")
    expect(question).to_contain_text("changes that no job keeps")
    question.get_by_role("button", name="Stay with my plan").click()
    expect(cell(page, "start.value")).to_have_value("11")
    expect(page.locator("#job-name")).to_have_value("")
    expect(page).not_to_have_url(re.compile("job="))


def test_an_address_of_nothing_says_so(open_page: Opener) -> None:
    page = open_page()
    before = expect_answer(page)
    page.evaluate("location.hash = 'job=' + '0'.repeat(32)")
    expect(page.locator("#job-said")).to_contain_text("No job is kept at this address any more")
    assert expect_answer(page) == before
    expect(page).not_to_have_url(re.compile("#."))


def test_the_trench_keeps_the_jobs_address(open_page: Opener) -> None:
    page = open_page(empty=True)
    job = kept_yard(page, "In the trench")
    see(page, "Trench check")
    page.locator("#trench-open").click()
    assert page.url.endswith(f"/#job={job}&in-the-trench")
    page.reload()
    expect(page.locator("#trench-view")).to_be_visible()
    page.locator("#trench-close").click()
    assert page.url.endswith(f"/#job={job}")


@SIZES
def test_its_link_is_copied_whole(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone, empty=True)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    kept_yard(page, f"Copied {phone}")
    page.locator("#job-about").click()
    expect(page.locator("#job-reach")).to_contain_text("this machine alone")
    page.locator("#job-address-copy").click()
    expect(page.locator("#job-sheet")).to_contain_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == page.url
    expect_clean(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1280)
    page.emulate_media(color_scheme="dark")
    expect_clean(page, CONTRAST)
    page.keyboard.press("Escape")
    expect(page.locator("#job-sheet")).to_be_hidden()


@SIZES
def test_older_revisions_open_and_compare(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone, empty=True)
    job = kept_yard(page, f"Older {phone}")
    set_cover(page, "9")
    save(page)
    page.locator("#job-about").click()
    rows = page.locator("#job-sheet [data-revision]")
    expect(rows).to_have_count(2)
    expect(rows.nth(0)).to_contain_text("on the page now")
    page.get_by_role("button", name="Compare with the newest: revision 1").click()
    expect(page.locator(".job-found")).to_contain_text(re.compile("Cover at the start.*8 in.*9 in"))
    page.locator("#jobs-close").click()
    page.locator("#job-about").click()
    page.get_by_role("button", name="Open: revision 1").click()
    expect(page.locator("#job-sheet")).to_be_hidden()
    expect(cell(page, "start.value")).to_have_value("8")
    expect(standing(page)).to_have_text("Revision 1 of 2, as it was kept.")
    assert page.url.endswith(f"/#job={job}&revision=1")
    page.wait_for_timeout(400)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(standing(page)).to_have_text("Revision 1 of 2, as it was kept.")

    other = open_page(phone=phone)
    other.evaluate("hash => { location.hash = hash; }", f"job={job}&revision=1")
    expect(standing(other)).to_have_text("Revision 1 of 2, as it was kept.")
    screen(other, "Answer")
    save(other)
    expect(standing(other)).to_contain_text("Kept as revision 3")
    assert other.url.endswith(f"/#job={job}")
    kept = other.request.get(f"{JOBS}/{job}/revisions/3").json()
    assert kept["request"]["start"] == {"cover": 8}


def jobs_called(page: Page, name: str) -> list[dict]:
    found = page.request.get(JOBS, params={"search": name, "page_size": 200}).json()["jobs"]
    return [job for job in found if job["name"] == name]


@SIZES
def test_saving_twice_keeps_one_job(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone, empty=True)
    name = f"Twice {phone}"
    named_yard(page, name)
    page.locator("#job-save").dblclick()
    expect(standing(page)).to_contain_text("Kept as revision 1")
    page.locator("#job-save").click()
    expect(page.locator("#job-said")).to_contain_text("Nothing has changed since revision 1")
    assert [job["revision"] for job in jobs_called(page, name)] == [1]
    set_cover(page, "9")
    page.locator("#job-save").dblclick()
    expect(standing(page)).to_contain_text("Kept as revision 2")
    page.locator("#job-save").press("Enter")
    expect(page.locator("#job-said")).to_contain_text("Nothing has changed since revision 2")
    assert [job["revision"] for job in jobs_called(page, name)] == [2]


def test_the_same_name_is_asked_about_from_another_browser(open_page: Opener) -> None:
    kept_yard(open_page(empty=True), "One place")
    other = open_page(empty=True)
    type_readings(other)
    expect_answer(other)
    cell(other, "start.value").fill("9")
    other.locator("#job-name").fill("One place")
    other.locator("#job-save").click()
    question = other.locator(".question")
    expect(question).to_contain_text("A job is called “One place” already")
    question.get_by_role("button", name="Keep this as its revision 2").click()
    expect(standing(other)).to_contain_text("Kept as revision 2")
    assert [job["revision"] for job in jobs_called(other, "One place")] == [2]


def test_a_reopened_job_prints_the_same_sheet(open_page: Opener) -> None:
    """What stakes are taped from, and their tags, are kept with the job."""
    page = open_page()
    expect_answer(page)
    see(page, "Papers")
    page.locator("#papers").get_by_text("Stakes", exact=True).click()
    page.locator("#paper-fixed").select_option("Patio")
    page.locator("#paper-tags").check()
    page.locator("#job-name").fill("Staked out")
    page.locator("#job-save").click()
    expect(standing(page)).to_contain_text("Kept as revision 1")
    job = page.url.split("#job=")[1]
    paper = page.request.get(f"{JOBS}/{job}").json()["request"]["paper"]
    assert [area["properties"]["name"] for area in paper["fixed"]["features"]] == ["Patio"]
    assert paper["tags"] is True
    sheet = page.request.get(f"{JOBS}/{job}/dig-sheet.html").text()
    assert "Corners to tape from: Patio A" in sheet
    assert 'class="tag"' in sheet

    other = open_page()
    expect_answer(other)
    other.evaluate("id => { location.hash = `job=${id}`; }", job)
    expect(other.locator("#job-name")).to_have_value("Staked out")
    see(other, "Papers")
    expect(other.locator("#paper-fixed")).to_have_value("Patio")
    assert other.locator("#paper-tags").is_checked()
    expect(standing(other)).to_contain_text("Kept as revision 1")
    with other.expect_download() as kept:
        other.locator('[data-paper="dig-sheet.html"]').click()
    assert kept.value.path().read_text("utf-8") == sheet
    see(other, "Papers")
    other.locator("#papers").get_by_text("Stakes", exact=True).click()
    other.locator("#paper-tags").uncheck()
    expect(standing(other)).to_contain_text("Changed since revision 1")
    other.locator("#undo").click()
    assert other.locator("#paper-tags").is_checked()
    assert json.loads(other.evaluate("localStorage['yardfall.title-block'] ?? '{}'")) == {}
