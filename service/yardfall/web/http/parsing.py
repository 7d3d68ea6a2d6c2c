"""How requests are read: JSON in UTF-8 up to a size, and no name that is not known."""

from __future__ import annotations

import json
from collections import Counter
from functools import partial
from typing import Any, Final

import marshmallow as ma
from flask import Request
from flask_smorest import Blueprint
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import BadRequest

from yardfall.core.errors import InputError, Problem
from yardfall.store.records.revision import is_text
from yardfall.web.http.pointers import below
from yardfall.web.openapi.operations import operation_id
from yardfall.web.openapi.security import document_access

MAX_JSON_BYTES: Final = 4 * 1024 * 1024
"""Ten times the largest body that the limits on readings and points allow."""
HALF_ESCAPES: Final = (b"\\ud", b"\\uD")
"""Without one of these a body in UTF-8 holds no half of a character."""
MARK: Final = b"\xef\xbb\xbf"
MISSING: Final = {
    "Expecting value": "a value is missing",
    "Expecting ',' delimiter": "a comma or a closing bracket is missing",
    "Expecting ':' delimiter": "a colon is missing",
    "Expecting property name enclosed in double quotes": "a name in double quotes is missing",
    "Extra data": "something follows the end",
    "Unterminated string starting at": "a text begins that does not end",
    "Invalid control character at": "a text holds a line break or another control character",
}
"""What Python's decoder says, in the words of who wrote the body."""
HALF: Final = (
    "holds half of a character: an escape \\ud800 to \\udfff without its other half. Send the "
    "whole character, or leave it out."
)
IN_BODY: Final = "This call takes nothing behind a ? in its address: put it into the body."


class NotJsonError(ValueError):
    """A body that is no JSON that a request could be; the sentence says why."""


def read_json(body: bytes) -> Any:
    """A body as Python values.

    Raises NotJsonError where it is empty, not UTF-8, not JSON, nested too deeply, gives a name
    twice in one object (RFC 8259, 4) or holds a number of thousands of digits; InputError where a
    text holds half of a character.
    """
    if not body:
        raise NotJsonError("The body is empty, which is not JSON: send an object.")
    if body.startswith(MARK):
        raise NotJsonError("The body is not JSON: it starts with a byte order mark. Leave it out.")
    try:
        value = _READER.decode(body.decode("utf-8"))
    except json.JSONDecodeError as error:
        what = MISSING.get(error.msg, "what stands there does not belong")
        raise NotJsonError(
            f"The body is not JSON: {what} at line {error.lineno}, column {error.colno}."
        ) from error
    except UnicodeDecodeError as error:
        raise NotJsonError("The body is not JSON in UTF-8.") from error
    except NotJsonError:
        raise
    except (ValueError, RecursionError) as error:
        raise NotJsonError("The body is JSON of a kind that no request needs.") from error
    if any(escape in body for escape in HALF_ESCAPES):
        _refuse_halves(value)
    return value


def _each_name_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    whole = dict(pairs)
    if len(whole) != len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise NotJsonError(
            f"This is not JSON that can be relied on: {twice!a} stands twice in one object. "
            "Give each name once."
        )
    return whole


_READER: Final = json.JSONDecoder(object_pairs_hook=_each_name_once)


def _refuse_halves(value: Any) -> None:
    """Raise InputError at each text that is no text: one that UTF-8 cannot write."""
    found, waiting = [], [("", value)]
    while waiting:
        pointer, part = waiting.pop()
        if isinstance(part, dict):
            if not all(map(is_text, part)):
                found.append(Problem(pointer, f"A name in here {HALF}"))
            waiting += [(below(pointer, name), inner) for name, inner in part.items()]
        elif isinstance(part, list):
            waiting += [(f"{pointer}/{i}", inner) for i, inner in enumerate(part)]
        elif isinstance(part, str) and not is_text(part):
            found.append(Problem(pointer, f"This {HALF}"))
    if found:
        raise InputError(*found)


class StrictParser(FlaskParser):
    """Bodies that are not JSON are 400; unknown query fields and file parts are refused."""

    DEFAULT_UNKNOWN_BY_LOCATION = FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION | {
        "query": ma.RAISE,
        "files": ma.RAISE,
    }

    def load_json(self, req: Request, schema: ma.Schema) -> Any:
        """The body; RequestEntityTooLarge over MAX_JSON_BYTES. A call with one takes no query."""
        if req.query_string and req.args:
            raise InputError(*(Problem(below("", name), IN_BODY) for name in req.args))
        req.max_content_length = MAX_JSON_BYTES
        try:
            return read_json(req.get_data())
        except NotJsonError as error:
            raise BadRequest(str(error)) from error


class Calls(Blueprint):
    """A group of calls that read strictly."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._prepare_doc_cbks.append(document_access)

    def _store_endpoint_docs(self, endpoint: str, *args: Any, **kwargs: Any) -> None:
        super()._store_endpoint_docs(endpoint, *args, **kwargs)
        for info in self._docs[endpoint].values():
            if isinstance(info, dict) and "docstring" in info:
                info.setdefault("manual_doc", {}).setdefault("operationId", operation_id(endpoint))

    def register_views_in_doc(self, api: Any, *args: Any, **kwargs: Any) -> None:
        """The application takes these calls at once; the contract tells of them once it is read."""
        api.write_later(partial(super().register_views_in_doc, api, *args, **kwargs))
