"""The outlet cut open, fixes before and after, figures that lead to reasons, answers so far."""

from __future__ import annotations

import json
import re

import pytest
from accessible import expect_clean
from planner_page import (
    Opener,
    cell,
    expect_answer,
    expect_other_answer,
    screen,
    see,
    sentence,
    type_readings,
)
from playwright.sync_api import Page, Request, expect

pytestmark = pytest.mark.browser


def too_flat(page: Page) -> str:
    """Five readings whose last one lies too high: a no at the outlet."""
    type_readings(page)
    before = expect_answer(page)
    cell(page, "level_line.rows.4.down").fill("12")
    return expect_other_answer(page, before)


def test_the_outlet_is_drawn_to_scale_with_the_figure_that_decides(open_page: Opener) -> None:
    page = open_page(empty=True)
    said = too_flat(page)
    see(page, "Why")
    picture = page.locator("#outlet-picture svg")
    (short,) = re.findall(r"([\d.]+) in too deep", said)
    expect(picture.locator(".figure")).to_have_text(f"{short} in too deep")
    # ASTM F405 names a 4 in pipe by its inside; the wall drawn is 4.6 in, as the catalogue has it
    px = float(picture.get_attribute("data-px") or 0)
    for name, size in (("wall", 4.6), ("bore", 4.0)):
        width = float(picture.locator(f".{name}").get_attribute("stroke-width") or 0)
        assert width == pytest.approx(size * px, rel=1e-3)
    arrow = picture.locator(".missed .arrow").first.get_attribute("d") or ""
    top, bottom = re.findall(r"[\d.]+ ([\d.]+)", arrow)
    assert float(bottom) - float(top) == pytest.approx(float(short) * px, abs=0.2)
    bar = re.findall(r"([\d.]+) [\d.]+", picture.locator(".bar").get_attribute("d") or "")
    assert float(bar[-1]) - float(bar[0]) == pytest.approx(12 * px, abs=0.2)
    expect_clean(page)


def test_each_kind_of_outlet_has_a_picture(open_page: Opener) -> None:
    page = open_page(empty=True, phone=True)
    screen(page, "Entries")
    type_readings(page)
    for kind, words in (
        ("pop_up", "pop-up lid"),
        ("daylight", "level ditch"),
        ("curb", "gutter: measure it"),
        ("dry_well", "dry well, not sized"),
        ("tie_in", "the drain it joins"),
    ):
        screen(page, "Entries")
        page.locator("#outlet-kind").select_option(kind)
        if kind in ("curb", "tie_in"):
            cell(page, "outlet.min").fill("6")
            cell(page, "outlet.max").fill("16")
        see(page, "Why")
        expect(page.locator("#outlet-picture svg")).to_contain_text(words)
        expect(page.locator("#outlet-picture figcaption")).to_contain_text("soil over the pipe")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, kind


def test_a_fix_is_drawn_once_it_is_seen_and_a_press_makes_it(open_page: Opener) -> None:
    page = open_page(empty=True)
    asked: list[Request] = []
    page.on("request", lambda request: request.url.endswith("/plan") and asked.append(request))
    said = too_flat(page)
    quiet = len(asked)
    page.wait_for_timeout(400)
    assert len(asked) == quiet, "a change was asked about that nobody looks at"
    page.get_by_role("button", name="Ways to fix it").click()
    first = page.locator("#fixes .fixes li").first
    expect(first.locator(".fix-picture svg .was")).to_have_count(1)
    expect(first.locator(".fix-picture svg .then")).to_have_count(1)
    told = first.locator(".fix-picture small").inner_text()
    assert all(json.loads(one.post_data or "{}")["explain"] is False for one in asked[quiet:])
    first.get_by_role("button").click()
    assert expect_other_answer(page, said).startswith("Yes")
    depth = re.search(r"Comes out ([\d.]+ in)", told)
    assert depth is not None
    expect(page.locator("#outlet-picture figcaption")).to_contain_text(f"{depth[1]} deep")
    page.locator("#undo").click()
    expect(sentence(page)).to_have_text(said)


def test_soil_that_a_fix_lays_is_a_second_ground_line_and_goes_by_undo(open_page: Opener) -> None:
    page = open_page(empty=True)
    said = too_flat(page)
    page.get_by_role("button", name="Ways to fix it").click()
    fix = page.locator("#fixes .fixes li", has_text="Lay soil on the start, 2 3/4 in")
    fix.scroll_into_view_if_needed()
    expect(fix.locator(".fix-picture svg .was-ground")).to_have_count(1)
    fix.get_by_role("button").click()
    assert expect_other_answer(page, said).startswith("Yes, if up to 2 3/4 in of soil is laid")
    expect(page.locator("#profile .finished")).to_have_count(1)
    expect(cell(page, "fills.rows.0.depth")).to_have_value("2.75")
    expect(cell(page, "level_line.rows.0.down")).to_have_value("9")  # a reading stays as it was
    see(page, "Dig table")
    expect(page.locator("#station-table tbody tr").first).to_contain_text("2 3/4")
    page.locator("#undo").click()
    expect(sentence(page)).to_have_text(said)
    expect(page.locator("#profile .finished")).to_have_count(0)


def test_a_figure_of_the_sentence_leads_to_where_it_comes_from(open_page: Opener) -> None:
    page = open_page(empty=True)
    said = too_flat(page)
    figures = page.locator("#sentence .figure-press")
    short = figures.first.inner_text()
    assert short in said
    figures.first.click()
    expect(page.locator("#facts .pointed")).to_have_text(f"Short by{short}")
    expect(page.locator("#facts .pointed")).to_be_focused()
    page.locator("#sentence .figure-press", has_text="0+52").click()
    expect(page.locator("#station-table tr.marked")).to_contain_text("0+52")


def test_an_answer_while_readings_come_in_holds_so_far(open_page: Opener) -> None:
    page = open_page(empty=True)
    cell(page, "route.length").fill("80")
    type_readings(page)
    expect(sentence(page)).to_have_text(re.compile(r"^So far, read to 0\+52 of 0\+80: yes: "))
    expect(page.get_by_role("button", name="Go on to the next reading")).to_be_visible()
    cell(page, "route.length").fill("")
    expect(sentence(page)).to_have_text(re.compile("^Yes: "))


def test_a_source_is_told_once_at_the_end_of_its_list(page: Page) -> None:
    expect_answer(page)
    for name, card in (
        ("Cautions", "#cautions"),
        ("Defaults used", "#assumed"),
        ("To buy", "#bill"),
    ):
        see(page, name)
        notes = page.locator(f"{card} .footnotes li").all_inner_texts()
        assert len(notes) == len(set(notes)) > 0
        assert page.locator(card).inner_text().count("ommon practice, no source") <= 2
        numbers = page.locator(f"{card} .footnote").all_inner_texts()
        assert {int(re.findall(r"\d+", one)[-1]) for one in numbers} == set(
            range(1, len(notes) + 1)
        )
