"""Every error as application/problem+json (RFC 9457), by one table."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from http import HTTPStatus
from itertools import islice
from typing import Any, Final

import marshmallow as ma
from flask import Flask, Response, g, request
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from yardfall.core.errors import (
    FileRefusedError,
    InputError,
    KeyUsedError,
    NotFoundError,
    NotYoursError,
    OutOfTimeError,
    Problem,
    StaleError,
    StillRunningError,
    StorageFullError,
    TooLargeError,
    UnavailableError,
    YardfallError,
)
from yardfall.sentences import say
from yardfall.store.database import FULL
from yardfall.store.files import NO_ROOM
from yardfall.web.http.pointers import below, place, steps
from yardfall.web.http.problem_kinds import KINDS, PROBLEMS, code_of, kind_of

STATUS: Final[dict[type[YardfallError], HTTPStatus]] = {
    InputError: HTTPStatus.UNPROCESSABLE_ENTITY,
    FileRefusedError: HTTPStatus.UNPROCESSABLE_ENTITY,
    KeyUsedError: HTTPStatus.UNPROCESSABLE_ENTITY,
    StillRunningError: HTTPStatus.CONFLICT,
    NotFoundError: HTTPStatus.NOT_FOUND,
    OutOfTimeError: HTTPStatus.SERVICE_UNAVAILABLE,
    TooLargeError: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    UnavailableError: HTTPStatus.SERVICE_UNAVAILABLE,
    StaleError: HTTPStatus.PRECONDITION_FAILED,
    NotYoursError: HTTPStatus.FORBIDDEN,
    StorageFullError: HTTPStatus.INSUFFICIENT_STORAGE,
}
RETRY_AFTER_S: Final = {UnavailableError: 5, StillRunningError: 5, OutOfTimeError: 60}
"""Seconds to wait where the same may work later. A sum that took all its time needs a machine with
less to do."""
MOST_TOLD: Final = 20
"""Errors that one answer lists."""
MOST_LETTERS: Final = 1000
"""Of one error's sentence; what is sent back of a caller's own words is cut, never ours."""
MOST_POINTER: Final = 500
KEPT_HEADERS: Final = ("Allow", "Retry-After", "WWW-Authenticate")
PLAIN: Final = {
    404: "There is nothing at this address; /reference lists the calls.",
    405: "This address does not take that method; the Allow header says which it does.",
}
SAID_PLAINLY: Final = {
    "Unknown field.": "There is no field {name!r} here; leave it out.",
    "Missing data for required field.": "The field {name!r} is missing.",
    "Field may not be null.": "This cannot be null: give a value, or leave the field out.",
    "Invalid input type.": "This must be an object.",
    "Invalid type.": "This must be an object.",
    "Invalid value.": "This value is not taken here.",
    "Not a valid mapping type.": "This must be an object.",
    "Not a valid list.": "This must be a list.",
    "Not a valid string.": "This must be a text.",
    "Not a valid utf-8 string.": "This must be a text in UTF-8.",
    "Not a valid boolean.": "This must be true or false.",
    "Not a valid integer.": "This must be a whole number.",
    "Not a valid number.": "This must be a number.",
    "Number too large.": "This number is too large.",
}
"""What the schemas' library says of itself, for whoever reads an answer."""
MEDIA_TYPE: Final = "application/problem+json"
log = logging.getLogger("yardfall")


class ProblemItem(ma.Schema):
    """One fault of what was sent."""

    pointer = ma.fields.String(required=True)
    detail = ma.fields.String(required=True)
    code = ma.fields.String(required=True)


class ProblemBody(ma.Schema):
    """RFC 9457 problem details."""

    type = ma.fields.String(required=True)
    title = ma.fields.String(required=True)
    status = ma.fields.Integer(required=True)
    detail = ma.fields.String(required=True)
    errors = ma.fields.List(ma.fields.Nested(ProblemItem), required=True)


def problem(
    status: int, detail: str, errors: Sequence[Problem] = (), kind: str | None = None
) -> Response:
    """One problem+json response, of the usual kind for its status unless `kind` names another."""
    body = {
        "type": f"{request.script_root}{PROBLEMS}/{kind or kind_of(status)}",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "errors": [{"pointer": e.pointer, "detail": e.detail, "code": e.code} for e in errors],
    }
    return Response(json.dumps(body), status, mimetype=MEDIA_TYPE)


def flatten(messages: Any, pointer: str = "") -> Iterator[Problem]:
    """marshmallow's nested messages as problems with pointers."""
    if isinstance(messages, Mapping):
        for key, value in messages.items():
            yield from flatten(value, pointer if key == "_schema" else below(pointer, key))
    elif isinstance(messages, list):
        for message in messages:
            yield from flatten(message, pointer)
    else:
        said = _plain(str(messages), pointer)
        yield Problem(pointer, said, code_of(str(messages), said))


def _plain(message: str, pointer: str) -> str:
    plain = SAID_PLAINLY.get(message)
    return message if plain is None else plain.format(name=_cut((steps(pointer) or [""])[-1], 100))


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def bounded(problems: Iterable[Problem]) -> list[Problem]:
    """The first MOST_TOLD and how many more there are, each short: however long the body was."""
    waiting = iter(problems)
    first = [_bounded(one) for one in islice(waiting, MOST_TOLD)]
    more = sum(1 for _ in waiting)
    if more:
        text = say("bounds.more_errors", count=f"{more:,}")
        first.append(Problem("", say("bounds.one_more_error") if more == 1 else text, "more"))
    return first


def _bounded(one: Problem) -> Problem:
    pointer = one.pointer
    while len(pointer) > MOST_POINTER:  # what holds the name that is too long to send back
        pointer = pointer.rpartition("/")[0]
    return Problem(pointer, _cut(one.detail, MOST_LETTERS), one.code)


def told(problems: Sequence[Problem], *, of_form: bool = False) -> str:
    """Faults in plain sentences for a user. Each names its place where there are several, where
    the form of the body is at fault, and where the sentence leans on it."""
    named = of_form or len(problems) > 1
    return " ".join(
        f"{place(p.pointer)}: {p.detail}"
        if p.pointer and (named or p.detail.startswith("This "))
        else p.detail
        for p in problems
    )


def register_problems(app: Flask) -> None:
    """Answer every error of ours, of HTTP and of bugs in the one shape."""

    def ours(error: Exception) -> Response:
        kind = next(kind for kind in STATUS if isinstance(error, kind))
        problems = bounded(error.problems) if isinstance(error, InputError) else ()
        detail = told(problems) or _cut(str(error), MOST_LETTERS)
        answer = problem(STATUS[kind], detail, problems, KINDS.get(kind))
        if kind in RETRY_AFTER_S:
            answer.headers["Retry-After"] = str(RETRY_AFTER_S[kind])
        return answer

    def http(error: HTTPException) -> Response:
        data = getattr(error, "data", None) or {}
        parts = (data.get("messages") or {}).values()
        found = bounded(item for part in parts for item in flatten(part))
        kind = getattr(error, "kind", None)
        plain = PLAIN.get(error.code or 500) or error.description or ""
        if isinstance(error, RequestEntityTooLarge):
            plain = _too_large()
        detail = told(found, of_form=True) or plain
        answer = problem(error.code or 500, detail, found, kind)
        for name, value in error.get_headers():
            if name in KEPT_HEADERS:
                answer.headers.add(name, value)
        return answer

    def system(error: OSError) -> Response:
        return ours(StorageFullError(FULL)) if error.errno in NO_ROOM else bug(error)

    def bug(error: Exception) -> Response:
        log.exception("a request failed", exc_info=error)
        return problem(500, "The planner failed on this request; the fault is ours, and logged.")

    def short(_error: MemoryError) -> Response:
        g.memory_was_short = True
        return ours(UnavailableError(say("bounds.memory")))

    app.register_error_handler(YardfallError, ours)
    app.register_error_handler(MemoryError, short)
    app.register_error_handler(HTTPException, http)
    app.register_error_handler(OSError, system)
    app.register_error_handler(Exception, bug)


def _too_large() -> str:
    most = request.max_content_length
    if most is None or (request.content_length or most + 1) <= most:
        return "A part beside the file is too large: send the file alone, in a part named 'file'."
    return f"The body is over {most >> 20} MiB, the most that this call takes. Send less at once."
