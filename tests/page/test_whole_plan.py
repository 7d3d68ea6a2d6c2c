"""All of the contract's plan on the page: each field is there, and a plan is set like a user does.

`tests/page/unit/whole_plan.test.mjs` holds the page's requests against the contract; here each
field that such a request came from is found on the page.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from planner_page import Opener, cell, expect_answer, map_place, type_readings
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
WHOLE = sorted((ROOT / "fixtures" / "whole_plans").glob("*.json"))
CONTRACT = json.loads((ROOT / "openapi" / "openapi.json").read_text("utf-8"))
NO_RASTER = "0" * 32

OPEN_WHOLE = """async ([request, base]) => {
    const { opened } = await import('/static/model/load/load.js');
    const { buildRequest, pathOf } = await import('/static/model/request/request.js');
    const local = { id: 'blank', route_crs: 'local', origin: [0, 0], metres_per_unit: [1, 1] };
    const bases = { blank: local, [base.id]: base };
    const { plan, left } = opened(request, (id) => bases[id] ?? null);
    const { body, places } = buildRequest(plan, bases[plan.base]);
    const leaves = (value, at) => value === null || typeof value !== 'object' ? [at]
        : Object.entries(value).flatMap(([key, part]) => leaves(part, `${at}/${key}`));
    const kept = JSON.stringify({ past: [], present: plan, future: [] });
    const paths = leaves(body, '').map((pointer) => [pointer, pathOf(pointer, places)]);
    return { left, body, kept, paths };
}"""
"""A request as a plan that the browser keeps, what it asks for, and each leaf's field."""

FIELDS = """() => Object.fromEntries(
    [...document.querySelectorAll('[data-path], [data-choice]')].map(e => [
        e.dataset.path ?? e.dataset.choice,
        e.options ? [...e.options].map(o => o.value)
            : e.type === 'radio' ? [...document.getElementsByName(e.name)].map(r => r.value) : null,
    ]))"""

ELSEWHERE = {
    r"/units": "input[name=units]",
    r"/ground/kind": "#ground-kind",
    r"/ground/raster": "#base",
    r"(/branches/\d+)*/route/(crs|line/.*)": "#bends",
    r"(/branches/\d+)+/joins_at": "#map",
    r"(/branches/\d+)*/ground/(kind|of|raster|vertical_unit|points/.*)": "#branch-list",
}
"""What is set otherwise than in a field of its own: the map and its base, the kind of ground.

A drawn branch joins where it ends on the map; on the surface there it has the main line's ground.
"""
ON_SURFACE = {"level_line", "raster", "spots"}
"""What the first choice of a branch's ground may mean: a string, or the surface under the map."""
FOR_PROGRAMS = {"source"}
"""The page keeps the part of a source that it uses, as a raster of its own."""
DRAWN_PAPER = {
    "within": "#draw-lot",
    "avoid": "#draw-avoid",
    "clearance": "[data-path='search.clearance']",
    "beneath": "#base",
}
"""What papers show around the drain, by how it is drawn; the rest is typed at their head."""
PRICED = "prices.parts."
"""A part's price is asked for where the plan needs that part."""


def general(pointer: str) -> str:
    """A pointer for any row; a branch in a branch is a branch."""
    return re.sub(r"^(/branches/#)+", "/branches/#", re.sub(r"/\d+", "/#", pointer))


def choices(schema: dict[str, Any], at: str = "", within: tuple[str, ...] = ()) -> Iterator[Any]:
    """(pointer, value) of every value that the contract lists."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        if name not in within:
            yield from choices(CONTRACT["components"]["schemas"][name], at, (*within, name))
    for form in [part for word in ("oneOf", "anyOf", "allOf") for part in schema.get(word, [])]:
        yield from choices(form, at, within)
    for key, part in schema.get("properties", {}).items():
        yield from choices(part, f"{at}/{key}", within)
    if "items" in schema:
        yield from choices(schema["items"], f"{at}/#", within)
    alone = [schema["const"]] if "const" in schema else []
    yield from ((at, value) for value in schema.get("enum", alone))


def place_point(page: Page, i: int, at: tuple[float, float]) -> None:
    """Type where a point of the shape under the hand lies."""
    for side, value in zip(("right", "up"), at, strict=True):
        page.locator(f"#point-{i}-{side}").fill(str(value))
        page.keyboard.press("Enter")


def draw_points(page: Page, button: str, points: tuple[tuple[float, float], ...]) -> None:
    """Draw a shape by clicks, then type in the table where each of its points lies."""
    page.locator(button).click()
    for i in range(len(points)):
        page.mouse.click(*map_place(page, 0.2 + 0.15 * i, 0.3 + 0.1 * (i % 2)))
    page.locator("#draw-finish").click()
    for i, at in enumerate(points):
        place_point(page, i, at)


def the_demo(page: Page) -> dict[str, Any] | None:
    """The demo yard's raster, as a base of the page."""
    demo = page.request.get("/demo.json").json()
    lies = {"origin": [0, 0], "metres_per_unit": [1, 1]}
    return {"id": demo["raster"], "route_crs": demo["crs"], **lies}


def test_every_field_of_a_plan_is_on_the_page(open_page: Opener) -> None:
    page = open_page(empty=True)
    base = the_demo(page)
    offered: dict[str, set[str]] = {}
    priced = 0
    for file in WHOLE:
        request = json.loads(file.read_text("utf-8").replace(NO_RASTER, base["id"]))
        told = page.evaluate(OPEN_WHOLE, [request, base])
        assert told["left"] == [], file.name
        answer = page.request.post("/api/v1/plan", data=told["body"])
        assert answer.status == 200, (file.name, answer.text())
        page.add_init_script(f"localStorage['yardfall.plan.1'] = {json.dumps(told['kept'])}")
        page.reload()
        page.wait_for_selector("html[data-ready]", state="attached")
        expect_answer(page)
        fields = page.evaluate(FIELDS)
        priced += sum(path.startswith(PRICED) for path in fields)
        for pointer, path in told["paths"]:
            if path in fields:
                offered.setdefault(general(pointer), set()).update(fields[path] or [])
                continue
            if (path or "").startswith(PRICED):
                continue
            places = [place for known, place in ELSEWHERE.items() if re.fullmatch(known, pointer)]
            assert places, f"{file.name}: {pointer} has no field ({path})"
            assert page.locator(places[0]).count(), places[0]
    assert priced, "parts that the plan needs ask for a price"
    for name in CONTRACT["components"]["schemas"]["PaperPart"]["properties"]:
        assert page.locator(DRAWN_PAPER.get(name, f"#paper-{name}")).count(), name

    listed: dict[str, set[str]] = {}
    for pointer, value in choices({"$ref": "#/components/schemas/PlanBody"}):
        listed.setdefault(pointer, set()).add(value)
    offered["/branches/#/ground/kind"] |= ON_SURFACE
    for pointer in ("/ground/kind", "/branches/#/ground/kind"):
        listed[pointer] -= FOR_PROGRAMS
    offered["/branches/#/ground/of"] |= {"ground"}  # never the pipe's, so it is not asked
    offered["/branches/#/ground/vertical_unit"] |= offered["/ground/vertical_unit"]
    for pointer, values in listed.items():
        if pointer in offered:
            assert values <= offered[pointer], pointer
    assert sum(pointer in offered for pointer in listed) >= 20


def test_a_whole_plan_is_set_like_a_user_does(sheet: Page) -> None:
    """A drawn line read by string, a branch that starts at a level, a cable on it, the lot."""
    page = sheet
    type_readings(page)
    alone = "Yes: 8.6 in of fall to spare."
    expect(page.locator("#sentence")).to_have_text(alone)
    page.get_by_text("On a map", exact=True).click()
    page.get_by_text("Points as a table").click()
    draw_points(page, "#draw", ((0, 0), (26, 0), (46.8, 15.6)))
    expect(page.locator("#line-readout")).to_contain_text("52.0 ft from start to outlet, 1 bend")
    expect(page.locator("#sentence")).to_have_text(alone)  # drawn or taped, the same line

    page.locator("#add-menu > summary").click()
    draw_points(page, "#draw-branch", ((20, 20), (20, 0.5)))
    branch = page.locator("#branch-list .crossing")
    expect(branch).to_contain_text("Still needed: two readings or more of the ground along it")
    for i, (at, down) in enumerate((("0", "12"), ("10", "13"), ("20", "15"))):
        cell(page, f"branch_readings.rows.{i}.at").fill(at)
        cell(page, f"branch_readings.rows.{i}.down").fill(down)
    branch.get_by_label("At its start, set").select_option("invert elevation")
    level = cell(page, "branches.rows.0.start_value")
    expect(branch.get_by_text("That is (ft)")).to_be_visible()
    level.fill("-4")  # two feet under where the main line lies: that must go down for it, too far
    expect(page.locator("#verdict")).to_have_attribute("data-verdict", "no")
    level.fill("-2")
    expect(page.locator("#verdict")).to_have_attribute(
        "data-verdict", re.compile("yes|conditional")
    )
    dig = page.locator("#branch-answers .bases tbody tr").first.locator("td").first
    expect(dig).to_have_text("12 1/4")  # 12 in to the invert, and the pipe's wall of 0.3 in

    page.get_by_role("button", name="Add something to pass").click()
    crossing = page.locator("#crossing-list .crossing")
    crossing.get_by_label("It crosses").select_option("Branch A")
    crossing.get_by_label("What it is").fill("cable")
    crossing.get_by_label("At station").fill("10")
    crossing.get_by_label("Its top lies below ground").fill("30")
    crossing.get_by_label("Pass it").select_option("over it")
    expect(page.locator("#branch-answers")).to_contain_text("At 0+10 it passes over the cable.")
    crossing.get_by_label("At station").fill("400")
    page.keyboard.press("Tab")
    expect(page.locator("#f-crossings-rows-0-at-error")).to_contain_text("beyond the end")
    crossing.get_by_label("At station").fill("10")
    expect_answer(page)

    page.locator("#add-menu > summary").click()
    draw_points(page, "#draw-lot", ((-10, -10), (60, -10), (60, 10), (-10, 30)))
    expect(page.locator("#outline-list")).to_contain_text("Lot line")
    assert "Yes" in expect_answer(page)
    whole = page.locator("#whole-sentence")
    expect(whole).to_contain_text("Branch A: Yes, if the cable at 0+10, exposed by hand first")
    notices = page.locator("#notices")
    # the second leg, 26 + t on a slope of 3 in 4, meets y = 10 + (60 - x) 2/7 at t = 23.79
    expect(notices).to_contain_text("The main line leaves your lot: 0+49.79 to 0+52")
    place_point(page, 2, (60, 30))
    expect(notices).not_to_contain_text("your lot")
    page.reload()
    expect(level).to_have_value("-2")
    assert "Yes" in expect_answer(page)
