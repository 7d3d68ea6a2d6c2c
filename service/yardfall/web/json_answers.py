"""How answers are written: compact JSON, keys in the order given, never NaN."""

from __future__ import annotations

from typing import Any, Final

import orjson
from flask import current_app
from flask.json.provider import DefaultJSONProvider

AS_WRITTEN: Final = orjson.OPT_SERIALIZE_NUMPY


class AnswerJson(DefaultJSONProvider):
    """JSON for answers; a number that is not finite becomes null."""

    def response(self, *args: Any, **kwargs: Any) -> Any:
        """A flask response with its body."""
        body = orjson.dumps(self._prepare_response_obj(args, kwargs), option=AS_WRITTEN)
        return current_app.response_class(body, mimetype=self.mimetype)
