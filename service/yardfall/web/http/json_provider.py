"""How answers are written: compact JSON, keys in the order given, never NaN."""

from __future__ import annotations

import json
from typing import Any, Final

import orjson
from flask import current_app
from flask.json.provider import DefaultJSONProvider

AS_WRITTEN: Final = orjson.OPT_SERIALIZE_NUMPY


class AnswerJson(DefaultJSONProvider):
    """JSON for answers; a number that is not finite becomes null."""

    def response(self, *args: Any, **kwargs: Any) -> Any:
        """A flask response with its body."""
        answer = self._prepare_response_obj(args, kwargs)
        try:
            body = orjson.dumps(answer, option=AS_WRITTEN)
        except TypeError:  # a job kept before whole numbers of more than 64 bits were refused
            body = json.dumps(answer, separators=(",", ":"), ensure_ascii=False).encode()
        return current_app.response_class(body, mimetype=self.mimetype)
