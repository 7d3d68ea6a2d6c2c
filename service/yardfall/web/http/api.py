"""The API object: OpenAPI 3.1, problem+json for every error, strict bodies."""

from __future__ import annotations

import json
from collections.abc import Callable
from threading import Lock
from typing import Any, Final

from flask import Flask, Response, request
from flask_smorest import Api, Blueprint
from werkzeug.exceptions import UnsupportedMediaType

from yardfall import __version__
from yardfall.web.http.problems import MEDIA_TYPE, ProblemBody
from yardfall.web.openapi.fields import document_forms
from yardfall.web.openapi.finish import finished
from yardfall.web.openapi.geojson import document_geojson
from yardfall.web.openapi.operations import add_examples, add_headers
from yardfall.web.openapi.security import REFUSALS, document_keys, refusal
from yardfall.web.openapi.units import ABOUT, document_measures

BASE: Final = "/api/v1"
UPLOADS: Final = ("/rasters", "/site-plans", "/imports")
"""The calls that take a file; all others that take a body take JSON."""
SPEC: Final = {
    "API_TITLE": "Yardfall",
    "API_VERSION": __version__,
    "OPENAPI_VERSION": "3.1.0",
    "OPENAPI_URL_PREFIX": BASE,
    "OPENAPI_JSON_PATH": "openapi.json",
    "API_SPEC_OPTIONS": {
        "info": {"description": ABOUT},
        "servers": [{"url": "/"}],
    },
}


class PlannerApi(Api):
    """flask-smorest's Api with the project's one shape for errors.

    What the contract says of each call is written when the contract is first asked for: it takes
    several times as long as all else that an application needs to start.
    """

    ERROR_SCHEMA = ProblemBody

    def __init__(self) -> None:
        super().__init__()
        self._unwritten: list[Callable[[], None]] = []
        self._writing = Lock()
        self._contract: str | None = None

    def write_later(self, write: Callable[[], None]) -> None:
        """Keep what writes a part of the contract until somebody asks for it."""
        self._unwritten.append(write)

    def _openapi_json(self) -> Response:
        with self._writing:
            if self._contract is None:
                self._contract = self._written()
        return Response(self._contract, mimetype="application/json")

    def _written(self) -> str:
        """The contract as JSON."""
        for write in self._unwritten:
            write()
        converter = self.ma_plugin.converter
        document = self.spec.to_dict()
        add_headers(document)
        add_examples(document)
        classes = {name: key[0] for key, name in converter.refs.items()}
        return json.dumps(finished(document, classes), indent=2, ensure_ascii=False)

    def _register_error_handlers(self) -> None:
        """Errors are answered by `register_problems` for the whole application."""

    def _register_responses(self) -> None:
        document_forms(self.ma_plugin)
        document_geojson(self.spec, self.ma_plugin)
        document_measures(self.ma_plugin)
        document_keys(self.spec)
        self.spec.components.response(
            "UNPROCESSABLE_ENTITY", _problem_response("What was sent cannot be computed.")
        )
        for status, description in REFUSALS.items():
            self.spec.components.response(refusal(status), _problem_response(description))
        self.spec.components.response("DEFAULT_ERROR", _problem_response("Any other error."))


def _problem_response(description: str) -> dict[str, Any]:
    return {"description": description, "content": {MEDIA_TYPE: {"schema": ProblemBody}}}


def make_api(app: Flask, *blueprints: Blueprint) -> Api:
    """Register the calls and their documentation on an application."""
    app.config.update(SPEC)
    api = PlannerApi()
    api.init_app(app)
    for blueprint in blueprints:
        api.register_blueprint(blueprint, url_prefix=BASE)

    @app.before_request
    def _body_is_json() -> None:
        if request.method not in ("POST", "PUT") or not request.path.startswith(BASE):
            return
        upload = request.path.removeprefix(BASE) in UPLOADS
        wanted = "multipart/form-data" if upload else "application/json"
        if request.mimetype != wanted and request.url_rule is not None:
            raise UnsupportedMediaType(f"Send the body as {wanted}.")

    return api
