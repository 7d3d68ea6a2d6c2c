"""Answers that say 304 where the caller has them already (RFC 9110, 13.1.2)."""

from __future__ import annotations

import hashlib
from typing import Final

from flask import Flask, Response, request

from yardfall import __version__
from yardfall.web.http.api import BASE

NEVER: Final = (f"{BASE}/health", f"{BASE}/export")
"""What is asked for as it is this moment, and what is written while it is sent."""


def weak_tag(*parts: object) -> str:
    """A tag for what these parts, and this release, stand for; without its quotation marks."""
    told = "\n".join(map(str, (__version__, *parts)))
    return hashlib.sha256(told.encode()).hexdigest()[:32]


def told_before(tag: str) -> Response | None:
    """The answer for a caller who has what a weak tag stands for; None for one who has not."""
    bare = unless_held(tagged(Response(), tag))
    return bare if bare.status_code == 304 else None


def unless_held(answer: Response) -> Response:
    """An answer with a tag; 304 and no body for a caller who has what that stands for.

    werkzeug's `make_conditional` would heed If-Match as well, and take `*` for no match.
    """
    tag, _weak = answer.get_etag()
    if tag is not None and request.if_none_match.contains_weak(tag):
        answer.status_code = 304
        answer.set_data(b"")
    return answer


def tagged(answer: Response, tag: str) -> Response:
    """An answer with a weak tag: its bytes may differ, and it may be packed."""
    answer.set_etag(tag, weak=True)
    return answer


def register_conditions(app: Flask) -> None:
    """Tag every JSON answer that is read and has no tag of its own, by what it holds."""

    @app.after_request
    def _tag(answer: Response) -> Response:
        if (
            request.method in ("GET", "HEAD")
            and answer.status_code == 200
            and answer.mimetype == "application/json"
            and request.path.startswith(BASE)
            and request.path not in NEVER
            and "ETag" not in answer.headers
        ):
            tagged(answer, hashlib.sha256(answer.get_data()).hexdigest()[:32])
            unless_held(answer)
        return answer
