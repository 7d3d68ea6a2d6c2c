"""What a plan takes and costs on the page, and plans side by side."""

from __future__ import annotations

import pytest
from accessible import CONTRAST, SMALL_TARGETS, YARD_TARGET_PX, expect_clean
from planner_page import Opener, expect_answer, screen, see, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser


@pytest.fixture
def yes(open_page: Opener) -> Page:
    """A yes by five readings from a string, on a phone."""
    page = open_page(empty=True, phone=True)
    screen(page, "Entries")
    type_readings(page)
    expect_answer(page)
    return page


def test_a_cost_comes_only_from_prices_given(yes: Page) -> None:
    bill = yes.locator("#bill")
    expect(bill).to_contain_text("1 coil of 100 ft")
    expect(bill).to_contain_text("with a trencher to 18 in (460 mm)")
    expect(bill).not_to_contain_text("_")
    expect(yes.locator("#bill-cost")).to_be_empty()
    see(yes, "To buy")
    yes.locator("#prices > summary").click()
    yes.get_by_label("Pipe, a coil").fill("68")
    expect(yes.locator("#bill-total")).to_have_text("68.00")
    yes.get_by_label("Currency").fill("USD")
    yes.get_by_label("Pop-up emitter, each").fill("12.50")
    yes.get_by_label("Digging by hand, an hour").fill("45")
    yes.get_by_label("Sod").fill("1")
    # 68 + 12.50 + 52 ft at 4 ft an hour times 45, and 52 ft by 6.6 in of sod
    expect(yes.locator("#bill-total")).to_have_text("694.10 USD")
    expect(yes.locator(".bill-left-out")).to_contain_text("90 degree elbow with a weep hole")
    yes.get_by_label("Digging by machine, an hour").fill("90")
    expect(yes.locator("#prices .error:visible")).to_contain_text("not both")
    yes.get_by_label("Digging by machine, an hour").fill("")
    yes.locator("input[name=units][value=si]").dispatch_event("click")
    expect(yes.get_by_label("Sod")).to_have_value("10.764")
    expect(yes.locator("#bill-total")).to_have_text("694.10 USD")
    expect_clean(yes)
    assert yes.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert yes.evaluate("document.documentElement.scrollWidth") <= 390
    yes.emulate_media(color_scheme="dark")
    expect_clean(yes, CONTRAST)


def test_kept_plans_stand_side_by_side_and_can_be_taken_up_again(yes: Page) -> None:
    see(yes, "Compare")
    yes.locator("#keep-plan").click()
    expect(yes.locator("#compared")).to_contain_text("Kept. Now change")
    screen(yes, "Entries")
    yes.locator("#pipe-code").select_option("pvc-sdr35-4")
    yes.locator("#outlet-kind").select_option("daylight")
    screen(yes, "Answer")
    yes.locator("#keep-name").fill("smooth </script>")
    yes.locator("#keep-plan").click()
    head = yes.locator(".side-by-side thead th")
    expect(head).to_have_text(["Plan A", "smooth </script>"])
    expect(yes.locator("#compared")).to_contain_text("digs least")
    spare = yes.locator(".side-by-side tr", has_text="Fall to spare").locator("td")
    expect(spare.nth(0)).to_contain_text("8.6 in")
    expect(spare.locator("small")).to_have_text("best")
    yes.get_by_label("Its name", exact=True).fill("Plan A")
    yes.locator("#keep-plan").click()
    expect(yes.locator("#keep-error")).to_contain_text("taken")
    screen(yes, "Entries")
    yes.locator("#start-value").fill("9")
    screen(yes, "Answer")
    yes.locator("#compare-again").click()
    expect(head).to_have_text(["Plan A", "smooth </script>", "This plan now"])
    expect_clean(yes)
    assert yes.evaluate(SMALL_TARGETS, YARD_TARGET_PX) == []
    assert yes.evaluate("document.documentElement.scrollWidth") <= 390
    yes.reload()
    expect_answer(yes)
    see(yes, "Compare")
    yes.get_by_role("button", name="Use this plan: Plan A").click()
    expect(yes.locator("#pipe-code")).to_have_value("corrugated-single-4")
    expect(yes.locator("#start-value")).to_have_value("8")
