"""Every sheet and screen at every size, light and dark, and at 200 % zoom: nothing runs off the
side, nothing is cut, no control lies on another, axe finds nothing."""

from __future__ import annotations

import pytest
from accessible import CONTRAST, RULES, expect_clean
from planner_page import Opener, expect_answer, screen, see
from playwright.sync_api import Page, expect
from test_layout import SHEETS
from test_works import draw

pytestmark = [pytest.mark.browser, pytest.mark.long]

SIZES = {"desk": (1280, 900), "wide": (1920, 1080), "phone": (390, 844)}
LEAST_WIDE = 320
"""No narrower than this has a page to reflow at 200 % and more (WCAG 2.2, 1.4.10)."""
SCREENS = ("Entries", "Yard", "Trench", "Answer")
FAULTS = """() => {
  const inView = e => e.checkVisibility({visibilityProperty: true, opacityProperty: true})
      && getComputedStyle(e).clipPath === 'none' && !e.closest('.leaflet-pane, [inert]');
  const told = e => (e.id ? '#' + e.id + ' ' : '') + e.outerHTML.slice(0, 70)
      + ' ' + e.textContent.slice(0, 30);
  const found = [];
  const wide = document.documentElement;
  if (wide.scrollWidth > innerWidth) found.push(`the page is ${wide.scrollWidth} px wide`);
  for (const frame of document.querySelectorAll('.card, dialog[open], #result, #yard, .top, .strip,'
      + ' #dock, #screens, #rail')) {
    if (!inView(frame) || frame.matches('#rail')) continue;
    if (frame.scrollWidth > frame.clientWidth + 1) {
      found.push(`${frame.scrollWidth - frame.clientWidth} px run off the side of ${told(frame)}`);
    }
  }
  const controls = [...document.querySelectorAll(
      'button:not(.figure-press), input, select, summary, textarea, label:has(> input)')]
      .filter(inView).filter(e => !e.matches('.visually-hidden, [type=range], [type=file]'));
  // What is seen of a control: frames that scroll cut it.
  const seen = e => {
    let { left, top, right, bottom } = e.getBoundingClientRect();
    for (let up = e.parentElement; up; up = up.parentElement) {
      const { overflowX: x, overflowY: y } = getComputedStyle(up), r = up.getBoundingClientRect();
      if (x !== 'visible') [left, right] = [Math.max(left, r.left), Math.min(right, r.right)];
      if (y !== 'visible') [top, bottom] = [Math.max(top, r.top), Math.min(bottom, r.bottom)];
    }
    return { left, top, right, bottom, width: right - left, height: bottom - top };
  };
  // What stays while the rest scrolls lies over it by right.
  const stays = e => {
    for (let up = e; up; up = up.parentElement) {
      if (['sticky', 'fixed'].includes(getComputedStyle(up).position)) return up;
    }
    return null;
  };
  const boxes = controls.map(e => [e, seen(e)]).filter(([, r]) => r.width > 0 && r.height > 0);
  for (const [e, r] of boxes) {
    const framed = e.closest('.table-frame, .sheet-frame, .data-frame, [data-scrolls]');
    if (e.matches('button, summary') && e.scrollWidth > e.clientWidth + 1) {
      found.push(`words cut: ${told(e)}`);
    }
    if (e.matches('input:not([type=checkbox], [type=radio])') && e.value
        && e.scrollWidth > e.clientWidth + 1) found.push(`value cut: ${told(e)} ${e.value}`);
    let scrolls = false;
    for (let up = e.parentElement; up; up = up.parentElement) {
      if (['auto', 'scroll'].includes(getComputedStyle(up).overflowX)
          && up.scrollWidth > up.clientWidth + 1) scrolls = true;
    }
    const whole = e.getBoundingClientRect();
    if (!scrolls && !framed && (whole.right > innerWidth + 1 || whole.left < -1)) {
      found.push(`off the side: ${told(e)}`);
    }
  }
  const group = e => e.closest('.card, dialog, .top, .strip, nav, aside, section, #map-tools');
  for (let i = 0; i < boxes.length; i += 1) {
    for (let j = i + 1; j < boxes.length; j += 1) {
      const [a, r] = boxes[i], [b, s] = boxes[j];
      if (group(a) !== group(b) || stays(a) !== stays(b)) continue;
      if (a.contains(b) || b.contains(a)) continue;
      const over = Math.min(r.right, s.right) - Math.max(r.left, s.left);
      const down = Math.min(r.bottom, s.bottom) - Math.max(r.top, s.top);
      if (over > 2 && down > 2) found.push(`one on another: ${told(a)} / ${told(b)}`);
    }
  }
  return found;
}"""


def expect_in_order(page: Page, where: str, options: dict[str, object] = RULES) -> None:
    faults = page.evaluate(FAULTS)
    if faults:
        raise AssertionError("\n".join([f"{where}:", *faults]))
    try:
        expect_clean(page, options)
    except AssertionError as found:
        raise AssertionError(f"{where}: {str(found)[:400]}") from None


@pytest.mark.parametrize("zoom", [1, 2], ids=["plain", "zoomed"])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_every_sheet_and_screen(
    open_page: Opener, size: tuple[int, int], dark: bool, zoom: int
) -> None:
    phone = size == SIZES["phone"]
    wide = max(size[0], LEAST_WIDE * zoom)
    page = open_page(size=(wide, size[1]), dark=dark, zoom=zoom, phone=phone)
    options = CONTRAST if dark else RULES
    faults = []

    def look(where: str) -> None:
        try:
            expect_in_order(page, where, options)
        except AssertionError as found:
            faults.append(str(found))

    expect_answer(page)
    if zoom == 1:
        screen(page, "Yard")
        draw(page, "A branch", ((0.714, 0.415), (0.675, 0.195), (0.5, 0.22)))
        expect(page.locator("#branch-answer-list")).to_contain_text("It joins at")
        expect_answer(page)
    for name in SCREENS:
        screen(page, name)
        look(f"screen {name}")
    for name in SHEETS:
        see(page, name)
        page.locator("#result details").evaluate_all("all => all.forEach(d => { d.open = true; })")
        look(name)
    see(page, "Trench check")
    page.locator("#trench-open").click()
    expect(page.locator("#trench-label")).not_to_be_empty()
    look("in the trench")
    page.locator("#trench-close").click()
    page.locator("#job-list").click()
    expect(page.locator(".jobs-view")).to_be_visible()
    look("jobs")
    if faults:
        pytest.fail("\n\n".join(faults), pytrace=False)
