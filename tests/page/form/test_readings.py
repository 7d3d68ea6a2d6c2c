"""From readings typed or pasted to a verdict, on the real page with the real planner."""

from __future__ import annotations

import re

import pytest
from planner_page import (
    FIVE_READINGS,
    Opener,
    cell,
    expect_answer,
    expect_other_answer,
    see,
    sentence,
    start_from,
    type_readings,
)
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

SPARE = "Yes: 8.6 in of fall to spare."
"""The contract's example: 10.4 in there, 7.8 in needed."""


def test_a_first_visit_shows_a_whole_answer_and_the_next_step(page: Page) -> None:
    expect_answer(page)
    for part in ("#profile svg .pipe", ".relief", "#caution-press"):
        expect(page.locator(part)).to_be_visible()
    for name, part in (("Dig table", "#stations"), ("Defaults used", "#assumed")):
        see(page, name)
        expect(page.locator(part)).to_be_visible()
    page.locator("#caution-press").click()
    expect(page.locator("#cautions")).to_contain_text("Call the utility marking service")
    expect(page.locator("#next")).to_contain_text("demo yard")
    expect(page.locator("#notices")).to_contain_text("Before you dig")
    assert page.locator("#station-table tbody tr").count() >= 5


def test_five_typed_readings_give_the_verdict(page: Page) -> None:
    expect_answer(page)
    page.get_by_role("button", name="Type your own readings").click()
    expect(cell(page, "level_line.rows.0.down")).to_be_focused()
    type_readings(page)
    expect(sentence(page)).to_have_text(SPARE)
    assert [
        cell(page, f"level_line.rows.{i}.at").input_value() for i in range(len(FIVE_READINGS))
    ] == [str(at) for at, _ in FIVE_READINGS]
    digs = page.locator("#station-table tbody tr td:nth-child(3) b").all_text_contents()
    assert digs[0] == "12 1/2"  # 8 in of cover and 4.6 in of pipe
    assert page.locator("#verdict").get_attribute("data-verdict") == "yes"


def test_rows_pasted_from_a_spreadsheet_fill_the_sheet(sheet: Page) -> None:
    text = "Station\tReading\n" + "\n".join(f"{at}\t{down}" for at, down in FIVE_READINGS)
    sheet.context.grant_permissions(["clipboard-read", "clipboard-write"])
    sheet.evaluate("text => navigator.clipboard.writeText(text)", text)
    cell(sheet, "level_line.rows.0.at").focus()
    sheet.keyboard.press("Control+V")
    expect(cell(sheet, "level_line.rows.4.down")).to_have_value("22")
    expect(sentence(sheet)).to_have_text(SPARE)


def test_on_a_phone_a_fraction_is_tapped_beside_the_number_pad(open_page: Opener) -> None:
    page = open_page(phone=True, empty=True)
    down = cell(page, "level_line.rows.0.down")
    down.tap()
    expect(down).to_have_attribute("inputmode", "decimal")
    page.keyboard.type("10")
    page.get_by_role("group", name="Add a fraction").get_by_role("button", name="1/2").tap()
    expect(down).to_have_value("10 1/2")
    expect(down).to_be_focused()


def test_a_fraction_is_tapped_for_what_is_in_the_way_too(open_page: Opener) -> None:
    """Its fields stand in no table; to touch one was once an error."""
    page = open_page(phone=True, empty=True)
    page.locator("#add-crossing").tap()
    top = cell(page, "crossings.rows.0.top_depth")
    top.tap()
    page.keyboard.type("14")
    page.get_by_role("group", name="Add a fraction").get_by_role("button", name="1/2").tap()
    expect(top).to_have_value("14 1/2")


def test_an_empty_sheet_says_what_to_do_and_offers_an_example(sheet: Page) -> None:
    expect(sentence(sheet)).to_contain_text("Type two readings or more")
    expect(sheet.locator("#stations")).to_be_hidden()
    sheet.locator("#next").get_by_role("button", name="Fill in an example").click()
    expect_answer(sheet)
    expect(cell(sheet, "level_line.rows.0.at")).to_have_value("0")


def test_a_level_book_is_read_in_its_own_rod_unit(page: Page) -> None:
    start_from(page, "Example level book")
    expect_answer(page)
    expect(page.locator("#facts")).to_contain_text("Levels close")
    expect(page.locator("#station-table thead")).to_contain_text("Rod on bottom ft")


def test_units_switch_in_place_and_back_without_loss(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    sheet.get_by_text("m, mm").click()
    expect(cell(sheet, "level_line.rows.1.down")).to_have_value("267")  # 10.5 × 25.4 = 266.7
    expect(cell(sheet, "start.value")).to_have_value("200")  # what the page filled in stays round
    # 8.6 × 25.4 = 218.4, less what a pop-up may at most be deep: 406.4 of 16 in, 400 in metric,
    # and the pipe starts 3.2 mm higher
    expect(sentence(sheet)).to_have_text("Yes: 215 mm of fall to spare.")
    sheet.get_by_text("ft, in").click()
    expect(cell(sheet, "level_line.rows.1.down")).to_have_value("10 1/2")
    expect(sentence(sheet)).to_have_text(SPARE)


def test_what_cannot_be_read_is_told_at_its_field_and_the_last_answer_stays(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    down = cell(sheet, "level_line.rows.2.down")
    down.fill("nine")
    expect(down).to_have_attribute("aria-invalid", "true")
    described = down.get_attribute("aria-describedby") or ""
    expect(sheet.locator(f"#{described.split()[0]}")).to_contain_text("not a number")
    expect(sheet.locator("#standing")).to_contain_text("before your last change")
    expect(sentence(sheet)).to_have_text(SPARE)
    assert sheet.locator("#stations").get_attribute("hidden") is None
    down.fill("9.5")
    expect(sheet.locator("#standing")).to_be_hidden()
    expect(down).not_to_have_attribute("aria-invalid", "true")


def test_an_error_from_the_planner_lands_at_its_field(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    at = cell(sheet, "level_line.rows.3.at")
    at.fill("26")  # a second reading at one station on one line
    expect(at).to_have_attribute("aria-invalid", "true")
    described = at.get_attribute("aria-describedby") or ""
    expect(sheet.locator(f"#{described.split()[0]}")).to_contain_text("same station")
    expect(sheet.locator("#standing")).to_be_visible()
    sheet.locator("#outlet-kind").select_option("curb")  # a curb's level must be measured
    at.fill("39")
    expect(sheet.locator("#error-outlet")).to_contain_text("level of its own")


def test_undo_goes_back_through_typing_and_choices(page: Page) -> None:
    before = expect_answer(page)
    page.get_by_role("button", name="Type your own readings").click()
    type_readings(page)
    expect(sentence(page)).to_have_text(SPARE)
    page.locator("#outlet-kind").select_option("daylight")
    deeper = expect_other_answer(page, SPARE)
    page.keyboard.press("Control+Z")
    expect(page.locator("#outlet-kind")).to_have_value("pop_up")
    expect(sentence(page)).to_have_text(SPARE)
    page.keyboard.press("Control+Shift+Z")
    expect(sentence(page)).to_have_text(deeper)
    while page.locator("#undo").is_enabled():
        page.locator("#undo").click()
    expect(sentence(page)).to_have_text(before)


def test_a_reload_loses_nothing(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    sheet.locator("#pipe-code").select_option("pvc-sch40-4")
    after = expect_other_answer(sheet, SPARE)
    sheet.reload()
    expect(sentence(sheet)).to_have_text(after)
    expect(cell(sheet, "level_line.rows.1.down")).to_have_value("10 1/2")
    expect(sheet.locator("#pipe-code")).to_have_value("pvc-sch40-4")
    sheet.locator("#undo").click()
    expect(sentence(sheet)).to_have_text(SPARE)


def test_while_the_planner_is_away_the_last_answer_stays_and_it_is_asked_again(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    sheet.route("**/api/v1/plan", lambda route: route.abort())
    cell(sheet, "level_line.rows.4.down").fill("22.5")
    expect(sheet.locator("#standing")).to_contain_text("cannot be reached")
    expect(sentence(sheet)).to_have_text(SPARE)
    sheet.unroute("**/api/v1/plan")
    expect(sentence(sheet)).to_have_text("Yes: 9.1 in of fall to spare.")
    expect(sheet.locator("#standing")).to_be_hidden()


def test_a_no_is_mended_by_one_of_its_fixes_and_undone(sheet: Page) -> None:
    type_readings(sheet)
    cell(sheet, "level_line.rows.4.down").fill("12")
    expect(sentence(sheet)).to_have_text(
        "No: the pipe would come out 1.4 in too deep at 0+52. It starts at 0+00 as stated, and "
        "must fall 7.8 in from there."
    )
    assert sheet.locator("#verdict").get_attribute("data-verdict") == "no"
    expect(sheet.locator("#profile .gap-label")).to_have_text("1.4 in short")
    sheet.get_by_role("button", name="Ways to fix it").click()
    sheet.locator("#fixes").get_by_role("button", name="Do this").first.click()
    expect(sentence(sheet)).not_to_contain_text("No:")
    expect_answer(sheet)
    sheet.locator("#undo").click()
    expect(sentence(sheet)).to_contain_text("No: the pipe would come out 1.4 in too deep")


def test_nothing_is_called_wrong_while_it_is_being_typed(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    down = cell(sheet, "level_line.rows.2.down")
    down.fill("9 1/")
    expect(sheet.locator("#standing")).to_contain_text("before what you are typing")
    expect(down).not_to_have_attribute("aria-invalid", "true")
    down.press("End")
    sheet.keyboard.type("2")
    expect(sheet.locator("#standing")).to_be_hidden()
    down.fill("9 1/")
    sheet.keyboard.press("Tab")
    expect(down).to_have_attribute("aria-invalid", "true")


def test_unfinished_rows_are_named_and_rows_out_of_order_can_be_put_in_order(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    cell(sheet, "level_line.rows.1.at").fill("45")
    cell(sheet, "level_line.rows.3.down").fill("")
    expect(sheet.locator(".unfinished")).to_be_empty()  # the hand is still in that row
    cell(sheet, "level_line.rows.4.down").focus()
    expect(sheet.locator(".unfinished")).to_have_text(
        "Row 4 is left out until it has “String down to ground”."
    )
    expect(sheet.locator("#verdict")).to_have_attribute("data-verdict", "yes")
    sheet.get_by_role("button", name="Put the rows in order").click()
    expect(cell(sheet, "level_line.rows.3.at")).to_have_value("45")
    expect(sheet.locator("#in-order")).to_be_hidden()


def test_every_measure_is_in_one_system_after_a_switch(sheet: Page) -> None:
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    ground = sheet.locator("#station-table tbody tr").nth(1).locator("td").first
    expect(ground).to_have_text("10 1/2")
    sheet.get_by_text("m, mm").click()
    expect(sentence(sheet)).to_contain_text("mm of fall")
    expect(ground).to_have_text("267")
    expect(cell(sheet, "level_line.rows.1.at")).to_have_value("3.962")
    units = sheet.locator("main .unit:visible").all_inner_texts()
    assert {text.strip("() ") for text in units} <= {"m", "mm", "%", ""}
    for part in ("#why", "#stations", "#profile-card", "#grade-hint", "#outlet-hint"):
        shown = sheet.locator(part).inner_text()
        assert not re.search(r"\d (in|ft)\b|\bper ft\b|[′″]", shown), shown


def test_a_pipe_of_the_list_takes_its_own_measures(sheet: Page) -> None:
    """Corrugated pipe differs by maker; the page asks to measure it, so the answer must take it."""
    type_readings(sheet)
    expect(sentence(sheet)).to_have_text(SPARE)
    sheet.locator("#pipe-sizes > summary").click()
    cell(sheet, "pipe.outside").fill("5 1/8")
    # 8 in of cover and 5.125 in of pipe
    expect(sheet.locator("#facts")).to_contain_text("13.1 in deep")
    expect_answer(sheet)


def test_nothing_in_inches_stands_beside_millimetres_when_units_switch(sheet: Page) -> None:
    type_readings(sheet)
    expect_answer(sheet)
    see(sheet, "Dig table")
    outlet = sheet.get_by_role("slider", name="Outlet depth")
    expect(outlet).to_have_attribute("aria-valuetext", re.compile(r" in$"))
    cell(sheet, "start.value").fill("deep")  # no fresh answer can come
    sheet.locator("input[name=units][value=si]").check()
    expect(outlet).to_be_hidden()
    expect(sheet.locator("#stations")).to_be_hidden()  # its inches would stand beside millimetres
    expect(sentence(sheet)).to_contain_text("can't be worked out yet")
    cell(sheet, "start.value").fill("203")
    expect(sentence(sheet)).to_contain_text("mm of fall")
    expect(sheet.locator("#stations")).to_be_visible()
