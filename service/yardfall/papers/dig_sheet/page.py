"""The dig sheet as one HTML file that prints: no script, no link to anything."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import jinja2
from markupsafe import Markup

from yardfall.papers.csp import style_policy
from yardfall.papers.dig_sheet.sheet_text import write_sheet
from yardfall.papers.drawing.drawing import Drawing
from yardfall.papers.drawing.plan_sketch import draw_plan
from yardfall.papers.drawing.profile_drawing import draw_profile
from yardfall.papers.drawing.svg import to_svg
from yardfall.papers.model import Job

TEMPLATES: Final = Path(__file__).parents[1] / "templates"
CSS: Final = (TEMPLATES / "dig-sheet.css").read_text("utf-8")
PAGE_SIZE: Final = {"letter": "letter portrait", "a4": "A4 portrait"}
DRAWN_WIDE_PT: Final = {"letter": 536.0, "a4": 519.0}
"""What a page leaves between half-inch margins, less its frames."""
SKETCH_WIDE_PT: Final = 196.0
DRAWN_HIGH_PT: Final = 124.0

_pages = jinja2.Environment(
    loader=jinja2.FileSystemLoader(TEMPLATES),
    autoescape=True,
    trim_blocks=True,
    undefined=jinja2.StrictUndefined,
)


def dig_sheet_page(job: Job) -> tuple[str, str]:
    """The sheet as HTML, and the policy under which it may be shown."""
    css = CSS.replace("letter portrait", PAGE_SIZE[job.title.page])
    policy = style_policy(css)
    page = _pages.get_template("dig-sheet.html").render(
        sheet=write_sheet(job),
        drawings=[[Markup(to_svg(d)) for d in group] for group in sheet_drawings(job)],  # noqa: S704
        on_map=any(True for _ in job.placed()),
        css=Markup(css),  # noqa: S704
        policy=policy,
    )
    return page.strip(), policy


def sheet_drawings(job: Job) -> list[list[Drawing]]:
    """The drawings beside each line: the plan sketch with the main, and each profile."""
    sketch = draw_plan(job, SKETCH_WIDE_PT, DRAWN_HIGH_PT)
    wide = DRAWN_WIDE_PT[job.title.page]
    beside = wide - (SKETCH_WIDE_PT + 6 if sketch else 0)
    groups = [[draw_profile(job, job.main, beside, DRAWN_HIGH_PT)]]
    if sketch:
        groups[0].insert(0, sketch)
    for line in job.lines[1:]:
        groups.append([draw_profile(job, line, wide, DRAWN_HIGH_PT)])
    return groups
