"""A page for each kind of problem, at the address that the problem's `type` names."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response
from markupsafe import Markup

from yardfall.core.errors import NotFoundError
from yardfall.sentences import say
from yardfall.web.http.problem_kinds import ALL, PROBLEMS

PAGE: Final = Markup(
    '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    '<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n'
    '<link rel="stylesheet" href="{root}static/style/problems.css">\n'
    '<link rel="icon" href="data:,">\n</head>\n'
    "<body>\n<main>\n<h1>{title}</h1>\n{content}</main>\n</body>\n</html>\n"
)
ENTRY: Final = Markup('<h2 id="{kind}"><a href="{address}">{title}</a></h2>\n<p>{text}</p>\n')
ONE: Final = Markup('<p>{text}</p>\n<p><a href="../problems">{others}</a></p>\n')
problem_pages = Blueprint("problem pages", __name__)


@problem_pages.get(PROBLEMS)
def problems() -> Response:
    """Every kind of problem."""
    entries = (
        ENTRY.format(kind=kind, address=f"problems/{kind}", title=_title(kind), text=_text(kind))
        for kind in ALL
    )
    return _page("Problems", Markup("").join(entries), "")


@problem_pages.get(f"{PROBLEMS}/<string:kind>")
def problem_page(kind: str) -> Response:
    """What to do about one kind."""
    if kind not in ALL:
        raise NotFoundError("There is no kind of problem of that name; /problems lists them.")
    return _page(_title(kind), ONE.format(text=_text(kind), others="All problems"), "../")


def _title(kind: str) -> str:
    return kind.replace("-", " ").capitalize()


def _text(kind: str) -> str:
    return say(f"problems.{kind}")


def _page(title: str, content: Markup, root: str) -> Response:
    told = PAGE.format(title=title, content=content, root=root)
    return Response(told, mimetype="text/html")
