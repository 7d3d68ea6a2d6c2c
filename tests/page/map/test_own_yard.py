"""A yard of one's own: begun empty, from a file or a blank sheet; files told apart and deleted."""

from __future__ import annotations

import re

import pytest
from accessible import expect_clean
from planner_page import Opener, expect_answer, map_place, screen, sentence
from playwright.sync_api import Locator, Page, expect
from test_line import BENDS, YARD
from test_site_plan import click_picture, drawn_length, plot

pytestmark = pytest.mark.browser


def begin(page: Page) -> Locator:
    """Begin an own yard from the demo, and give what it offers."""
    expect_answer(page)
    page.get_by_role("button", name="Draw your own line").click()
    offer = page.locator("#own-yard")
    expect(offer).to_be_visible()
    return offer


def uploads(page: Page) -> Locator:
    """The rows of what was uploaded, their fold open."""
    screen(page, "Entries")
    fold = page.locator("#base-details")
    if fold.get_attribute("open") is None:
        fold.locator("summary").click()
    return fold.locator(".uploads li")


@pytest.mark.parametrize("phone", [False, True])
def test_ones_own_line_begins_on_a_sheet_empty_of_the_demo(open_page: Opener, phone: bool) -> None:
    page = open_page(phone=phone)
    demo = expect_answer(page)
    offer = begin(page)
    expect(offer.get_by_label("Upload a picture, a PDF or an elevation raster")).to_be_focused()
    expect(page.locator(".relief")).to_have_count(0)
    expect(page.locator(".yard-label")).to_have_count(0)
    expect(page.locator(BENDS)).to_have_count(0)
    box = offer.bounding_box()
    room = page.locator("#map-place").bounding_box()
    assert box is not None
    assert room is not None
    assert box["y"] >= room["y"]
    assert box["y"] + box["height"] <= room["y"] + room["height"]
    expect_clean(page)
    offer.get_by_role("button", name="Draw on the blank sheet").click()
    expect(offer).to_be_hidden()
    for i, right in enumerate((0.4, 0.6)):
        page.mouse.click(*map_place(page, right, 0.75))
        expect(page.locator(BENDS)).to_have_count(i + 1)
    page.locator("#draw-finish").click()
    expect(page.get_by_role("button", name="Type your readings")).to_be_visible()
    expect(offer).to_be_hidden()
    for _ in range(20):
        if not page.locator("#undo").is_enabled():
            break
        page.locator("#undo").click()
    expect(sentence(page)).to_have_text(demo)


def test_the_two_points_of_the_scale_are_never_points_of_the_line(page: Page) -> None:
    offer = begin(page)
    offer.get_by_role("button", name="Draw on the blank sheet").click()  # drawing has begun
    expect(page.locator("#draw-finish")).to_be_visible()
    page.locator("#base-details > summary").click()
    page.locator("#site-file").set_input_files(plot())  # type: ignore[arg-type]
    expect(sentence(page)).to_contain_text("Set the scale of your site plan")
    expect(page.locator("#draw-finish")).to_be_hidden()
    page.locator("#draw").click()  # and once more, on the picture itself
    page.get_by_role("button", name="Show two points, A and B").click()
    click_picture(page, 400, 500)
    click_picture(page, 800, 500)
    page.locator("#site-distance").fill("40")
    expect(page.locator(".thing-scale")).to_have_count(2)
    expect(page.locator(BENDS)).to_have_count(0)
    page.get_by_role("button", name="Draw your line").click()
    click_picture(page, 800, 400)
    click_picture(page, 1050, 400)
    page.locator("#draw-finish").click()
    expect(page.locator(BENDS)).to_have_count(2)
    assert drawn_length(page) == pytest.approx(25, abs=1)


def test_files_of_one_name_are_told_apart_and_deleted(page: Page) -> None:
    offer = begin(page)
    offer.locator("#own-file").set_input_files(plot())  # type: ignore[arg-type]
    expect(sentence(page)).to_contain_text("Set the scale of your site plan")
    rows = uploads(page)
    before = rows.count()
    page.locator("#site-file").set_input_files(plot())  # type: ignore[arg-type]
    expect(rows).to_have_count(before + 1)
    names = rows.locator("b").all_inner_texts()
    assert len(set(names)) == len(names)
    newest = names[0]
    assert re.fullmatch(r"plot\.png \(\d+\)", newest)
    expect(page.locator("#base option:checked")).to_have_text(newest)
    page.get_by_role("button", name=f"Delete {newest}", exact=True).click()
    question = page.locator("dialog.question[open]")
    expect(question).to_contain_text("Your plan lies on it")
    expect_clean(page)
    question.get_by_role("button", name="Keep it").click()
    expect(rows).to_have_count(before + 1)
    page.get_by_role("button", name=f"Delete {newest}", exact=True).click()
    question.get_by_role("button", name="Delete it").click()
    expect(rows).to_have_count(before)
    expect(page.locator("#base-details")).to_contain_text(f"{newest} is deleted. Your plan lies on")
    expect(page.locator("#base")).to_have_value("blank")
    page.locator("#undo").click()  # what undo brings back does not lie on it either
    expect(page.locator("#base option:checked")).not_to_have_text(newest)
    page.reload()
    page.wait_for_selector("html[data-ready]", state="attached")
    expect(uploads(page)).to_have_count(before)


def test_a_raster_of_ones_own_goes_and_the_demo_stays(page: Page) -> None:
    offer = begin(page)
    offer.locator("#own-file").set_input_files(YARD)
    chosen = page.locator("#base option:checked")
    expect(chosen).to_have_text(re.compile(r"^yard\.tif"), timeout=20_000)
    name = chosen.text_content()
    options = page.locator("#base option")
    count = options.count()
    demo = page.evaluate("fetch('/demo.json').then(r => r.json()).then(d => d.raster)")
    shown = page.locator(f'#base option[value="{demo}"]').text_content()
    expect(uploads(page).filter(has_text=name)).to_have_count(1)
    expect(page.get_by_role("button", name=f"Delete {shown}", exact=True)).to_have_count(0)
    page.get_by_role("button", name=f"Delete {name}", exact=True).click()
    page.locator("dialog.question[open]").get_by_role("button", name="Delete it").click()
    expect(options).to_have_count(count - 1)
    expect(page.locator("#base")).to_have_value("blank")
    expect(offer).to_be_visible()
