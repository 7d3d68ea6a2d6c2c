"""One whole job told end to end: from a plot plan on paper to the as-built record."""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO

import pytest
from accessible import expect_clean
from PIL import Image, ImageDraw
from planner_page import cell, expect_answer, see, sentence
from playwright.sync_api import Page, expect
from test_crossings import add_gas_line
from test_jobs import save
from test_papers import take
from test_site_plan import click_picture
from test_works import add_to_map, roof

pytestmark = pytest.mark.browser

DPI = 100


def plot_plan() -> dict[str, object]:
    """A plot of our own as a PDF of one page, 12 by 9 in: a house 40 ft wide, its width beside."""
    sheet = Image.new("RGB", (12 * DPI, 9 * DPI), "white")
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((100, 100, 1100, 800), outline="black", width=3)
    pen.rectangle((400, 250, 800, 500), outline="black", width=4)
    pen.text((580, 520), "40 ft", fill="black")
    file = BytesIO()
    sheet.save(file, "PDF", resolution=DPI)
    return {"name": "plot.pdf", "mimeType": "application/pdf", "buffer": file.getvalue()}


def at_share(page: Page, right: float, down: float) -> None:
    """Click the picture at shares of its width and height."""
    box = page.locator(".sheet-picture image").evaluate(
        "image => [image.width.baseVal.value, image.height.baseVal.value]"
    )
    click_picture(page, right * box[0], down * box[1])


def draw_on_plot(page: Page, *places: tuple[float, float]) -> None:
    for right, down in places:
        at_share(page, right / 1200, down / 900)
    page.locator("#draw-finish").click()


def fill_rows(page: Page, sheet: str, rows: list[dict[str, str]], first: int = 0) -> None:
    for i, row in enumerate(rows):
        for column, typed in row.items():
            field = cell(page, f"{sheet}.rows.{first + i}.{column}")
            if field.evaluate("e => e.tagName") == "SELECT":
                field.select_option(typed)
            else:
                field.fill(typed)


def test_from_a_plot_plan_to_the_as_built_record(page: Page) -> None:
    expect_answer(page)
    # the plot plan, and its scale
    page.get_by_role("button", name="Draw your own line").click()
    page.locator("#own-file").set_input_files(plot_plan())  # type: ignore[arg-type]
    expect(sentence(page)).to_contain_text("Set the scale of your site plan")
    page.get_by_role("button", name="Set the scale").click()
    at_share(page, 400 / 1200, 500 / 900)
    at_share(page, 800 / 1200, 500 / 900)
    expect(page.locator("#site-distance")).to_be_focused()
    page.keyboard.type("40")
    expect(page.locator("#site")).to_contain_text(re.compile(r"picture is (119\.\d|120(\.\d)?) ft"))
    # the main line, read by a rod
    page.get_by_role("button", name="Draw your line").click()
    draw_on_plot(page, (820, 400), (1000, 400), (1000, 760))
    page.locator("#ground-kind").select_option("rod")
    rod = [{"rod": "4.50"}]
    rod += [
        {"at": at, "rod": read}
        for at, read in (("0", "5.10"), ("18", "5.60"), ("36", "6.20"), ("58", "7.10"))
    ]
    fill_rows(page, "rod", rod)
    first = expect_answer(page)
    assert first.startswith("Yes"), first
    # two downspouts and a pump: one at the start, the others on branches
    add_to_map(page, "A branch")
    draw_on_plot(page, (820, 270), (1000, 420))
    add_to_map(page, "A branch")
    draw_on_plot(page, (780, 520), (1000, 600))
    branches = (("north spout", "99.4", "98.6"), ("sump", "98.7", "97.8"))
    for i, (name, start, end) in enumerate(branches):
        cell(page, f"branches.rows.{i}.name").fill(name)
        page.locator(f"#f-branches-rows-{i}-ground").select_option("elevations")
        points = page.locator("#branches fieldset").nth(i).locator('[data-path^="branch_points"]')
        for field, typed in zip(points.all(), ("0", start, "40", end), strict=False):
            field.fill(typed)
    expect(page.locator("#whole-sentence")).to_contain_text("Every branch joins")
    expect(sentence(page)).to_contain_text("the main line and its 2 branches run")
    # the water: two roofs and the pump
    page.locator("#add-inflow").click()
    roof(page, 0, "600", "5")
    cell(page, "inflows.rows.0.at").fill("0")
    page.locator("#add-inflow").click()
    page.locator("#f-inflows-rows-1-on").select_option(label="Branch north spout")
    roof(page, 1, "400", "5")
    cell(page, "inflows.rows.1.at").fill("0")
    page.locator("#add-inflow").click()
    page.locator("#f-inflows-rows-2-on").select_option(label="Branch sump")
    page.locator("#f-inflows-rows-2-kind").select_option("pump")
    cell(page, "inflows.rows.2.at").fill("0")
    cell(page, "inflows.rows.2.rate").fill("20")
    # 600 and 400 sq ft at 5 in/h are 31.2 and 20.8 gpm (1 in/h on 1 sq ft = 0.01039 gpm)
    see(page, "Water")
    expect(page.locator("#water-answer")).to_contain_text("31.2 gpm")
    expect(page.locator("#water-answer")).to_contain_text("20.8 gpm")
    # what is in the way
    add_gas_line(page, "25", "30")
    expect(page.locator("#profile .crossing-label")).to_have_text("gas line: pass over")
    answered = expect_answer(page)
    # prices
    see(page, "To buy")
    page.locator("#prices > summary").click()
    page.get_by_label("Pipe, a coil").fill("68")
    expect(page.locator("#bill-total")).to_contain_text(re.compile(r"\d+\.\d\d"))
    expect_clean(page)
    # kept, and taken along
    save(page, "The Novak lot")
    named = page.locator("#job-name").bounding_box()
    assert named is not None
    assert named["width"] > 100, "its name can be read beside what saves it"
    see(page, "Papers")
    sheet = take(page, "dig-sheet.html").decode()
    assert page.locator("#whole-sentence").text_content() in unescape(sheet)
    for words in ("gas line", "north spout", "sump", "Rod on bottom"):
        assert words in sheet
    # dug to the marks that the sheet prints
    see(page, "Trench check")
    page.locator("#trench-open").click()
    while page.locator("#trench-label").inner_text() != "All read":
        label = page.locator("#trench-label").inner_text()
        mark = page.locator("#trench-should b").inner_text()
        assert mark.endswith(" ft")
        assert mark.removesuffix(" ft") in sheet, f"{label}: the sheet has no {mark}"
        page.locator("#trench-reading").fill(mark.removesuffix(" ft"))
        page.keyboard.press("Enter")
        expect(page.locator(".trench-list .is-tick")).not_to_have_count(0)
        expect(page.locator("#trench-label")).not_to_have_text(label)
    expect(page.locator("#trench-verdict")).to_contain_text("Pass")
    expect_clean(page)
    # the as-built record
    page.locator("#trench-close").click()
    page.locator("#trench-keep").click()
    expect(page.locator("#trench-kept")).to_contain_text("Kept as check 1")
    (job,) = page.request.get("/api/v1/jobs?search=The Novak lot").json()["jobs"]
    checks = page.request.get(f"/api/v1/jobs/{job['id']}/grade-checks").json()["grade_checks"]
    assert [one["verdict"] for one in checks] == ["pass"]
    page.reload()
    assert expect_answer(page) == answered
