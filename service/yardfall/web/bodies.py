"""How requests are read: JSON in UTF-8 up to a size, and no name that is not known."""

from __future__ import annotations

import json
from typing import Any, Final

import marshmallow as ma
from flask import Request
from flask_smorest import Blueprint
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import BadRequest

MAX_JSON_BYTES: Final = 4 * 1024 * 1024
"""Ten times the largest body that the limits on readings and points allow."""


class NotJsonError(ValueError):
    """A body that is no JSON that a request could be; the sentence says why."""


def read_json(body: bytes) -> Any:
    """A body as Python values.

    Raises NotJsonError where it is empty, not UTF-8, not JSON, nested too deeply or holds a number
    of thousands of digits.
    """
    try:
        return json.loads(body.decode("utf-8"))
    except json.JSONDecodeError as error:
        raise NotJsonError(f"The body is not JSON: {error}.") from error
    except UnicodeDecodeError as error:
        raise NotJsonError("The body is not JSON in UTF-8.") from error
    except (ValueError, RecursionError) as error:
        raise NotJsonError("The body is JSON of a kind that no request needs.") from error


class StrictParser(FlaskParser):
    """Bodies that are not JSON are 400; unknown query fields and file parts are refused."""

    DEFAULT_UNKNOWN_BY_LOCATION = FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION | {
        "query": ma.RAISE,
        "files": ma.RAISE,
    }

    def load_json(self, req: Request, schema: ma.Schema) -> Any:
        """The body; RequestEntityTooLarge over MAX_JSON_BYTES."""
        req.max_content_length = MAX_JSON_BYTES
        try:
            return read_json(req.get_data())
        except NotJsonError as error:
            raise BadRequest(str(error)) from error


class Calls(Blueprint):
    """A group of calls that read strictly."""

    ARGUMENTS_PARSER = StrictParser()
