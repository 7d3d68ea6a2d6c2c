"""Jobs on the page: kept, opened, compared, put away, and never lost to whoever saves first."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from accessible import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, cell, expect_answer, screen, see, start_from, type_readings
from playwright.sync_api import Locator, Page, Route, expect

pytestmark = pytest.mark.browser

JOBS = "/api/v1/jobs"


def standing(page: Page) -> Locator:
    return page.locator("#job-standing")


def said(page: Page) -> Locator:
    return page.locator("#job-said")


def save(page: Page, name: str | None = None) -> None:
    """Save, under a name where one is given, until the page says that it is kept."""
    screen(page, "Answer")
    if name:
        page.locator("#job-name").fill(name)
    page.locator("#job-save").click()
    expect(standing(page)).to_contain_text("Kept as revision")


def yard(page: Page, name: str) -> str:
    """Type the five readings and keep them; the job's id."""
    screen(page, "Entries")
    type_readings(page)
    expect_answer(page)
    save(page, name)
    return kept(page)["job"]


def kept(page: Page) -> dict[str, Any]:
    """The plan as the page holds it."""
    page.evaluate("dispatchEvent(new Event('pagehide'))")
    return json.loads(page.evaluate("localStorage['yardfall.plan.1']"))["present"]


def row(page: Page, name: str) -> Locator:
    """A job in the list."""
    return page.locator(".job-rows li").filter(has=page.get_by_text(name, exact=True))


def find(page: Page, name: str) -> Locator:
    """The list of jobs, searched for a name."""
    if not page.locator(".jobs-view").is_visible():
        page.locator("#job-list").click()
    page.locator("#job-search").fill(name)
    expect(page.locator("#job-count")).to_have_text(re.compile("^1 to |^No job"))
    return row(page, name)


def choose(page: Page, text: str) -> None:
    """Answer the question that stands."""
    page.locator(".question").get_by_role("button", name=text, exact=True).click()
    expect(page.locator(".question")).to_be_hidden()


def save_elsewhere(page: Page, job: str, cover: int) -> None:
    """Someone else saves the job with another cover at the start."""
    now = page.request.get(f"{JOBS}/{job}").json()
    now["request"]["start"]["cover"] = cover
    now["form"]["plan"]["start"]["value"] = str(cover)
    body = {name: now[name] for name in ("name", "request", "form")}
    answer = page.request.put(f"{JOBS}/{job}", data=body, headers={"If-Match": now["etag"]})
    assert answer.ok


def test_a_job_is_kept_changed_and_compared(sheet: Page) -> None:
    page = sheet
    expect(standing(page)).to_have_text("Not saved as a job.")
    page.locator("#job-save").click()
    expect(said(page)).to_contain_text("Give the job a name first")
    expect(page.locator("#job-name")).to_be_focused()
    job = yard(page, "Elm St 4")
    see(page, "Trench check")
    page.locator("#trench-open").click()
    page.locator("#trench-reading").fill("29 1/2")
    page.keyboard.press("Enter")
    expect(page.locator("#trench-result")).not_to_be_empty()
    page.locator("#trench-close").click()
    page.locator("#trench-keep").click()
    expect(page.locator("#trench-kept")).to_have_text(
        "Kept as check 1 of “Elm St 4”, against revision 1."
    )
    checked = page.request.get(f"{JOBS}/{job}/grade-checks/1").json()
    record = page.locator("#trench-record")
    expect(record.locator("summary").first).to_have_text(re.compile("^1 check kept, .+: good"))
    record.locator("summary").first.click()
    record.get_by_text("Its stations").click()
    expect(record.get_by_role("table")).to_contain_text(checked["answer"]["stations"][0]["label"])
    cell(page, "start.value").fill("9")
    expect(standing(page)).to_have_text("Changed since revision 1.")
    page.locator("#trench-keep").click()
    expect(page.locator("#trench-kept")).to_contain_text("Save it first")
    cell(page, "start.value").focus()
    page.keyboard.press("Control+z")
    expect(standing(page)).to_contain_text("Kept as revision 1")
    page.keyboard.press("Control+y")
    expect_answer(page)
    save(page)
    expect(standing(page)).to_contain_text("Kept as revision 2")
    page.reload()
    expect(standing(page)).to_contain_text("Kept as revision 2")
    expect(page.locator("#job-name")).to_have_value("Elm St 4")

    page.locator("#job-list").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#job-search")).to_be_focused()
    row(page, "Elm St 4").get_by_role("button", name="Compare Elm St 4").press("Enter")
    table = page.locator(".job-found")
    expect(page.locator(".job-record")).to_contain_text("against revision 1")
    expect(page.locator(".job-record")).to_contain_text(checked["sentence"])
    expect(table).to_contain_text(re.compile("Cover at the start.*8 in.*9 in"))
    saves = [page.request.get(f"{JOBS}/{job}/revisions/{n}").json() for n in (1, 2)]
    spare = [f"{save['answer']['answer']['spare']:g} in" for save in saves]
    dirt = [f"{save['answer']['quantities']['trench']['bank']:.2f} cu yd" for save in saves]
    assert spare[0] != spare[1]
    expect(table).to_contain_text(re.compile("Fall to spare" + ".*".join(map(re.escape, spare))))
    expect(table).to_contain_text(re.compile("Dirt to dig" + ".*".join(map(re.escape, dirt))))
    page.locator("#revision-then").locator("..").get_by_role("button", name="Open this one").click()
    expect(page.locator(".jobs-view")).to_be_hidden()
    expect(cell(page, "start.value")).to_have_value("8")
    expect(said(page)).to_contain_text("This is revision 1 of 2. Saved, it becomes revision 3.")
    expect(standing(page)).to_have_text("Revision 1 of 2, as it was kept.")


def test_whoever_saves_second_sees_what_differs_and_chooses(sheet: Page) -> None:
    page = sheet
    job = yard(page, "Oak St 1")
    cell(page, "start.value").fill("9")
    save_elsewhere(page, job, 7)
    page.locator("#job-save").click()
    question = page.locator(".question")
    expect(question).to_contain_text("“Oak St 1” is at revision 2 now, saved by this machine.")
    expect(question).to_contain_text(re.compile("Cover at the start.*7 in.*9 in"))
    choose(page, "Leave all as it is")
    expect(standing(page)).to_contain_text("Someone else saved revision 2 since.")
    assert page.request.get(f"{JOBS}/{job}").json()["request"]["start"]["cover"] == 7

    page.locator("#job-save").click()
    choose(page, "Open theirs")
    expect(cell(page, "start.value")).to_have_value("7")
    expect(standing(page)).to_contain_text("Kept as revision 2")
    page.locator("#undo").click()
    expect(cell(page, "start.value")).to_have_value("9")

    save_elsewhere(page, job, 6)
    page.locator("#job-save").click()
    choose(page, "Save mine over it")
    expect(standing(page)).to_contain_text("Kept as revision 4")
    assert page.request.get(f"{JOBS}/{job}").json()["request"]["start"]["cover"] == 9

    save_elsewhere(page, job, 5)
    page.locator("#job-save").click()
    choose(page, "Keep mine as a copy")
    expect(page.locator("#job-name")).to_have_value("Oak St 1 (mine)")
    expect(standing(page)).to_contain_text("Kept as revision 1")
    assert page.request.get(f"{JOBS}/{job}").json()["request"]["start"]["cover"] == 5


def test_the_list_opens_copies_puts_away_deletes_and_moves(sheet: Page) -> None:
    page = sheet
    job = yard(page, "Ash St 7")
    start_from(page, "An empty plan")
    expect(standing(page)).to_have_text("Not saved as a job.")
    cell(page, "start.value").fill("11")
    find(page, "Ash St 7").get_by_role("button", name="Open Ash St 7").click()
    choose(page, "Stay with my plan")
    row(page, "Ash St 7").get_by_role("button", name="Open Ash St 7").click()
    choose(page, "Open it all the same")
    expect(cell(page, "level_line.rows.4.down")).to_have_value("22")
    expect(page.locator("#job-name")).to_have_value("Ash St 7")
    page.locator("#undo").click()
    expect(cell(page, "start.value")).to_have_value("11")
    expect(standing(page)).to_have_text("Not saved as a job.")
    page.locator("#redo").click()
    expect(page.locator("#job-name")).to_have_value("Ash St 7")

    listed = page.locator("#job-list-said")
    find(page, "Ash St 7").get_by_role("button", name="Copy Ash St 7").click()
    copy = row(page, "Ash St 7 (copy)")
    expect(copy).to_be_visible()
    copy.get_by_role("button", name="Put away").click()
    expect(copy).to_be_hidden()
    page.locator("#job-state").select_option("archived")
    expect(copy).to_be_visible()
    page.locator("#job-state").select_option("open")
    row(page, "Ash St 7").get_by_role("button", name="Delete").click()
    choose(page, "Keep it")
    row(page, "Ash St 7").get_by_role("button", name="Delete").click()
    choose(page, "Delete it for good")
    expect(listed).to_contain_text("is deleted")
    assert page.request.get(f"{JOBS}/{job}").status == 404

    page.locator(".jobs-view summary").click()
    with page.expect_download() as bundle:
        page.locator("#job-export").click()
    before = page.request.get(f"{JOBS}?state=all").json()["page"]["total"]
    page.locator("#job-import").set_input_files(
        {"name": "a.zip", "mimeType": "application/zip", "buffer": read(bundle.value.path())}
    )
    expect(listed).to_contain_text(f"Brought back: jobs {before}")
    assert page.request.get(f"{JOBS}?state=all").json()["page"]["total"] == 2 * before
    page.locator("#jobs-close").click()
    expect(standing(page)).to_have_text("Not saved as a job.")
    expect(cell(page, "level_line.rows.4.down")).to_have_value("22")


def read(path: Path) -> bytes:
    return Path(path).read_bytes()


def test_what_cannot_be_answered_yet_is_kept_as_a_draft(sheet: Page) -> None:
    cell(sheet, "level_line.rows.0.down").fill("9")
    save(sheet, "Half a sheet")
    expect(standing(sheet)).to_contain_text("a draft that has no answer yet")
    expect(find(sheet, "Half a sheet")).to_contain_text("Draft, no answer")


@pytest.mark.parametrize("base", ["raster", "site plan"])
def test_what_a_job_was_drawn_on_is_gone(base: str, page: Page) -> None:
    """All else of it opens, and the page says what is missing."""
    expect_answer(page)
    save(page, f"On a {base}")
    plan = kept(page)
    body = page.request.get(f"{JOBS}/{plan['job']}").json()
    gone, form = "0" * 32, body["form"]["plan"]
    form["base"], form["start"]["value"], form["lines"] = gone, "9.5", {gone: [[2, 3], [20, 3]]}
    if base == "site plan":
        form |= {
            "sites": {gone: {"points": [], "distance": "", "turn": "", "north": "", "tie": None}}
        }
        form["ground"] = "level_line"
    sent = {"name": f"On a {base}", "request": body["request"], "form": body["form"]}
    path = f"{JOBS}/{plan['job']}"
    assert page.request.put(path, data=sent, headers={"If-Match": "*"}).ok
    find(page, f"On a {base}").get_by_role("button", name="Open").click()
    expect(said(page)).to_contain_text(re.compile(f"{base}.*is not kept here any more"))
    expect(cell(page, "start.value")).to_have_value("9.5")
    expect(standing(page)).to_have_text("Changed since revision 2.")
    lines = kept(page)["lines"]
    assert lines[gone] == [[2, 3], [20, 3]]
    assert lines.get("blank") == ([[2, 3], [20, 3]] if base == "site plan" else None)


def test_a_raster_that_came_after_the_page_is_drawn_on_without_a_reload(page: Page) -> None:
    """It comes with a file that is brought back, or is named by a job that is opened."""
    answer = expect_answer(page)
    save(page, "On the new raster")
    raster = kept(page)["base"]
    base = page.locator(f'#base option[value="{raster}"]')

    def none_yet(route: Route) -> None:
        route.fulfill(json={"rasters": [], "page": {}})

    def loaded_without() -> None:
        page.evaluate(
            "localStorage.clear(); addEventListener('pagehide', () => localStorage.clear())"
        )
        page.route("**/api/v1/rasters?*", none_yet)
        page.evaluate("history.replaceState(null, '', '/')")  # its address would open the job
        page.reload()
        page.wait_for_selector("html[data-ready]", state="attached")
        page.unroute("**/api/v1/rasters?*", none_yet)
        expect(base).to_have_count(0)

    loaded_without()
    find(page, "On the new raster").get_by_role("button", name="Open").click()
    choose(page, "Open it all the same")
    assert expect_answer(page) == answer
    expect(page.locator("#base")).to_have_value(raster)
    expect(page.locator("img.relief")).to_have_count(1)
    loaded_without()
    bundle = page.request.get(f"{JOBS.removesuffix('/jobs')}/export").body()
    page.locator("#job-list").click()
    page.locator("#job-import").set_input_files(
        {"name": "a.zip", "mimeType": "application/zip", "buffer": bundle}
    )
    expect(page.locator("#job-list-said")).to_contain_text("Brought back")
    expect(base).to_have_count(1)


def test_a_job_that_other_software_kept_opens(sheet: Page, yard_request: dict[str, Any]) -> None:
    more = {"prices": {"sod": 2}, "paper": {"title": "Elm St"}}
    body = {"name": "By software", "request": yard_request | more}
    answer = sheet.request.post(JOBS, data=body)
    assert answer.ok, answer.text()
    find(sheet, "By software").get_by_role("button", name="Open").click()
    expect(cell(sheet, "level_line.rows.4.down")).to_have_value("22")
    assert expect_answer(sheet) == answer.json()["answer"]["answer"]["sentence"]
    expect(cell(sheet, "prices.sod")).to_have_value("2")
    expect(said(sheet)).to_have_text(re.compile("has no place for: Title on the papers.$"))


def refuse(status: int, detail: str, headers: dict[str, str] | None = None):
    """What a planner answers that will not."""
    problem = json.dumps({"status": status, "detail": detail, "errors": []})

    def answer(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        kind = "application/problem+json"
        route.fulfill(status=status, body=problem, content_type=kind, headers=headers or {})

    return answer


def test_a_refusal_is_told_in_a_sentence_and_the_plan_stays(sheet: Page) -> None:
    page = sheet
    type_readings(page)
    expect_answer(page)
    page.locator("#job-name").fill("Elm")
    for status, headers, words in (
        (413, {}, "Too large, so nothing was kept. This key keeps 9 MiB."),
        (429, {"Retry-After": "2"}, "try again in 2 s"),
        (
            503,
            {"Retry-After": "5"},
            "cannot reach what it keeps. Nothing was changed; try again in 5 s",
        ),
    ):
        page.route(f"**{JOBS}", refuse(status, "This key keeps 9 MiB.", headers))
        page.locator("#job-save").click()
        expect(said(page)).to_contain_text(words)
        page.unroute(f"**{JOBS}")
    page.route(f"**{JOBS}", lambda route: route.abort())
    page.locator("#job-save").click()
    expect(said(page)).to_contain_text("cannot be reached")
    page.unroute(f"**{JOBS}")
    expect(standing(page)).to_have_text("Not saved as a job.")
    expect(cell(page, "level_line.rows.4.down")).to_have_value("22")


def test_a_key_is_asked_for_and_stays_with_the_window(sheet: Page) -> None:
    page = sheet
    sent: list[str | None] = []

    def guard(route: Route) -> None:
        sent.append(route.request.headers.get("authorization"))
        if sent[-1] == "Bearer yard_right":
            route.fulfill(json={"jobs": [], "page": {"number": 1, "size": 20, "total": 0}})
            return
        route.fulfill(status=401, json={"detail": "Send a key."})

    page.route(f"**{JOBS}?*", guard)
    page.locator("#job-list").click()
    page.get_by_label("Key", exact=True).fill("yard_wrong")
    page.keyboard.press("Enter")
    expect(page.locator(".question")).to_contain_text("That key opens nothing here")
    page.get_by_label("Key", exact=True).fill("yard_right")
    page.keyboard.press("Enter")
    expect(page.locator("#job-count")).to_contain_text("No job is kept yet")
    assert sent == [None, "Bearer yard_wrong", "Bearer yard_right"]
    assert page.evaluate("sessionStorage['yardfall.key']") == "yard_right"
    assert "yard_right" not in page.evaluate("JSON.stringify(localStorage)")


def test_on_a_phone_and_in_the_dark(open_page: Opener) -> None:
    page = open_page(phone=True, empty=True)
    job = yard(page, "A long name of a job " * 6)
    save_elsewhere(page, job, 7)
    for state in ("list", "compare", "question"):
        if state == "list":
            find(page, "A long name")
            expect(page.locator(".job-rows li").first).to_be_visible()
        elif state == "compare":
            page.locator(".job-rows").get_by_role("button", name="Compare").first.click()
            expect(page.locator(".job-found")).to_contain_text("Cover at the start")
        else:
            page.get_by_role("button", name="Back to the list").click()
            page.locator("#jobs-close").click()
            page.locator("#job-save").click()
            expect(page.locator(".question")).to_be_visible()
        expect_clean(page)
        assert page.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.emulate_media(color_scheme="dark")
        expect_clean(page, CONTRAST)
        page.emulate_media(color_scheme="light")
