"""Addresses that an answer's header tells: of what was made, and of the pages beside this one."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from flask import Response, jsonify, request

from yardfall.web.http.api import BASE


def made(answer: Response | dict[str, Any], path: str) -> Response:
    """An answer of 201, with where what was made stands below the API's own address."""
    response = jsonify(answer) if isinstance(answer, dict) else answer
    response.status_code = 201
    response.headers["Location"] = f"{request.script_root}{BASE}{path}"
    return response


def paged(answer: dict[str, Any]) -> Response:
    """A page of a list, with links to those next to it (RFC 8288)."""
    page = answer["page"]
    last = max(1, -(-page["total"] // page["size"]))
    beside = {"prev": min(page["number"] - 1, last), "next": page["number"] + 1}
    response = jsonify(answer)
    for relation, number in beside.items():
        if 1 <= number <= last:
            query = urlencode(request.args.to_dict() | {"page": str(number)})
            address = f"{request.script_root}{request.path}?{query}"
            response.headers.add("Link", f'<{address}>; rel="{relation}"')
    return response
