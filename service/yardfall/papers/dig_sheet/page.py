"""The dig sheet as one HTML file that prints: no script, no link to anything."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import jinja2
from markupsafe import Markup

from yardfall.papers.csp import style_policy
from yardfall.papers.dig_sheet.sheet_text import write_sheet
from yardfall.papers.dig_sheet.stake_out import PHONE_PT, plan_sheet, tags
from yardfall.papers.drawing.drawing import Drawing
from yardfall.papers.drawing.profile_drawing import draw_profile
from yardfall.papers.drawing.qr_code import qr_code
from yardfall.papers.drawing.svg import to_svg
from yardfall.papers.model import Job
from yardfall.sentences import say

TEMPLATES: Final = Path(__file__).parents[1] / "templates"
CSS: Final = (TEMPLATES / "dig-sheet.css").read_text("utf-8")
PAGE_SIZE: Final = {"letter": "letter portrait", "a4": "A4 portrait"}
DRAWN_WIDE_PT: Final = {"letter": 536.0, "a4": 519.0}
"""What a page leaves between half-inch margins, less its frames."""
DRAWN_HIGH_PT: Final = 124.0
CODE_PT: Final = 64.0
"""The side of the code that opens the job: no higher than the title block is without it."""

_pages = jinja2.Environment(
    loader=jinja2.FileSystemLoader(TEMPLATES),
    autoescape=True,
    trim_blocks=True,
    undefined=jinja2.StrictUndefined,
)


def dig_sheet_page(job: Job) -> tuple[str, str]:
    """The sheet as HTML, and the policy under which it may be shown."""
    upright = PAGE_SIZE[job.title.page]
    css = CSS.replace("letter portrait", upright)
    css = css.replace("letter landscape", upright.replace("portrait", "landscape"))
    policy = style_policy(css)
    plan = plan_sheet(job)
    code = code_of(job)
    both = zip(profiles(job), profiles(job, PHONE_PT[0]), strict=True)
    page = _pages.get_template("dig-sheet.html").render(
        sheet=write_sheet(job),
        profiles=[[_drawn(d) for d in pair] for pair in both],
        plan=plan,
        plans=[_drawn(plan.drawing), _drawn(plan.small)] if plan else [],
        tags=tags(job),
        code=code and (_drawn(code[0]), code[1]),
        on_map=any(True for _ in job.placed()),
        css=Markup(css),  # noqa: S704
        policy=policy,
    )
    return page.strip(), policy


def _drawn(drawing: Drawing) -> Markup:
    return Markup(to_svg(drawing))  # noqa: S704


def code_of(job: Job) -> tuple[Drawing, str] | None:
    """The code that opens a kept job in the trench, and what stands beneath it."""
    if job.address is None:
        return None
    said = say("papers.opens", revision=str(job.address.revision))
    return qr_code(job.address.url, CODE_PT, said), said


def profiles(job: Job, wide: float | None = None) -> list[Drawing]:
    """The profile of each line, as wide as the page or as given."""
    across = DRAWN_WIDE_PT[job.title.page] if wide is None else wide
    return [draw_profile(job, line, across, DRAWN_HIGH_PT) for line in job.lines]
