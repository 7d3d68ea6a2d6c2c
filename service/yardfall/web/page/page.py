"""The planner page, the API reference, and the static files of both."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import flask_swagger_ui
import xstatic.pkg.leaflet
from flask import Blueprint, Flask, Response, current_app, g, jsonify

from yardfall.shipped import folder
from yardfall.web.http.access import HERE
from yardfall.web.http.static_files import KEEP_A_DAY, send_static
from yardfall.web.http.watch.request_log import HEADER as REQUEST_ID
from yardfall.web.page.problem_pages import problem_pages

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

PAGE: Final = folder("page")
DEMO: Final = folder("demo")
LEAFLET: Final = Path(xstatic.pkg.leaflet.BASE_DIR)
REFERENCE: Final = Path(flask_swagger_ui.__file__).parent / "dist"
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'; manifest-src 'self'; worker-src 'self'"
)
REFERENCE_POLICY: Final = POLICY.replace("style-src 'self'", "style-src 'self' 'unsafe-inline'")
"""The reference page is a library's own; it sets styles inline. The planner does not."""
CORP: Final = "Cross-Origin-Resource-Policy"
GUARDS: Final = [
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    (CORP, "same-origin"),
    ("Permissions-Policy", "camera=(), geolocation=(), microphone=()"),
]
"""On every answer, beside the policy."""
POLICY_HEADER: Final = "Content-Security-Policy"
GUARDS_AND_POLICY: Final = [*GUARDS, (POLICY_HEADER, POLICY)]
PARTS: Final = (".js", ".css")
PART_GUARDS: Final = [guard for guard in GUARDS if guard[0] in ("X-Content-Type-Options", CORP)]
"""On a script or a style sheet, which a browser holds to the policy of the page that it is part of
(CSP Level 3, "policy container"). The page has some 150 of them: the rest would be 60 kB."""

page = Blueprint("page", __name__)


@page.get("/")
def index() -> Response:
    """The planner."""
    answer = send_static(PAGE, "index.html")
    tiles = current_app.extensions["tiles"]
    if tiles is not None:
        answer.headers[POLICY_HEADER] = POLICY.replace(
            "img-src 'self'", f"img-src 'self' {tiles.origin}"
        )
    return answer


@page.get("/crew")
def crew() -> Response:
    """One job for a crew: the page alone, which holds nobody's data. What it shows it asks for."""
    return send_static(PAGE, "crew.html")


@page.get("/static/<path:name>")
def static_file(name: str) -> Response:
    """A file of the planner."""
    return send_static(PAGE, name)


@page.get("/offline.js")
def worker() -> Response:
    """The service worker, at the root: it may keep only what lies below its own address."""
    answer = send_static(PAGE, "offline.js")
    answer.headers[POLICY_HEADER] = POLICY
    return answer


@page.get("/leaflet/<path:name>")
def leaflet_file(name: str) -> Response:
    """A file of the map library."""
    return send_static(LEAFLET, name, KEEP_A_DAY)


@page.get("/demo.json")
def demo() -> Response:
    """The demo yard, with the id of its raster here."""
    yard: dict[str, Any] = json.loads((DEMO / "yard.json").read_text("utf-8"))
    record = current_app.extensions["rasters"].find_named(DEMO_RASTER)
    return jsonify(yard | {"raster": record.id if record else None})


@page.get("/reference")
def reference() -> Response:
    """The API reference, from local files."""
    answer = send_static(PAGE, "reference.html")
    answer.headers[POLICY_HEADER] = REFERENCE_POLICY
    return answer


@page.get("/reference/<path:name>")
def reference_file(name: str) -> Response:
    """A file of the reference page's library."""
    return send_static(REFERENCE, name, KEEP_A_DAY)


DEMO_RASTER: Final = "The demo yard"


def register_page(app: Flask) -> None:
    """Serve the page, with the security headers on every answer."""
    app.register_blueprint(page)
    app.register_blueprint(problem_pages)

    app.wsgi_app = _guarded(app.wsgi_app)  # type: ignore[method-assign, assignment]

    @app.after_request
    def _keeping(answer: Response) -> Response:
        headers = answer.headers
        if g.get("caller", HERE).sent is not None:  # what a key opens, nobody else finds in a cache
            headers["Cache-Control"] = "no-store"
        kind = headers.get("Content-Type", "")
        if kind.startswith(("text/html", "application/json")) and "Cache-Control" not in headers:
            headers["Cache-Control"] = "no-cache"
        return answer


def _guarded(application: WSGIApplication) -> WSGIApplication:
    """The application, with the guards on whatever it answers."""

    def guarded(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        is_part = environ["PATH_INFO"].endswith(PARTS)

        def start(status: str, headers: list[tuple[str, str]], *error: Any) -> Any:
            if is_part and status[0] in "23":
                kept = [header for header in headers if header[0] != REQUEST_ID]
                return start_response(status, kept + PART_GUARDS, *error)
            own = any(name == POLICY_HEADER for name, _ in headers)
            return start_response(status, headers + (GUARDS if own else GUARDS_AND_POLICY), *error)

        return application(environ, start)

    return guarded
