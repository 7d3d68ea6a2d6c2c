"""Who calls, and what they may: a key, or the one user of a machine without keys."""

from __future__ import annotations

import ipaddress
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final
from urllib.parse import urlsplit

from flask import Flask, Response, current_app, g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import (
    Forbidden,
    HTTPException,
    ServiceUnavailable,
    TooManyRequests,
    Unauthorized,
)

from yardfall.core.errors import YardfallError
from yardfall.store.keys import Key, KeyStore
from yardfall.store.owners import LOCAL
from yardfall.store.records.crew_links import BEGINS, CrewLink, admitted
from yardfall.web.http.api import BASE
from yardfall.web.http.watch.limits import Limits, Rates

OPEN: Final = (
    f"{BASE}/health",
    f"{BASE}/openapi.json",
    "/reference",
    "/offline.js",
    "/crew",
    "/problems",
    "/static/",
    "/leaflet/",
)
"""What holds nobody's data."""
OPEN_BELOW: Final = tuple(path if path.endswith("/") else path + "/" for path in OPEN)
COMPUTES: Final = frozenset(
    {"plan", "profile", "flow", "reach", "grade-check", "pipe-check", "compare", "papers"}
)
"""Calls that keep nothing: a read key may POST to them. Any other change needs a write key."""
JOB: Final = f"{BASE}/jobs/<string:id>"
CREW_READS: Final = re.compile(
    re.escape(JOB)
    + r"(/revisions|/grade-checks)?(/<int:number>)?|"
    + re.escape(JOB)
    + r"/[\w-]+\.\w+"
)
"""The calls by which a crew's link reads its job: itself, its revisions, its checks, its papers."""
CREW_ADDS: Final = (f"{JOB}/grade-check", f"{JOB}/grade-checks")
ADMIN: Final = ("/metrics", f"{BASE}/keys")
SAFE: Final = ("GET", "HEAD", "OPTIONS")
FORWARDED: Final = tuple(
    f"HTTP_{name}"
    for name in (
        *("VIA", "FORWARDED", "X_FORWARDED", "X_REAL_IP", "X_CLIENT_IP", "X_CLUSTER_CLIENT_IP"),
        *("X_ORIGINAL_", "X_PROXY", "X_ENVOY_", "X_AMZN_", "X_AZURE_", "X_VERCEL_", "TRUE_CLIENT"),
        *("X_NGINX_PROXY", "X_VARNISH", "X_AMZ_CF_", "X_APPENGINE_", "X_SCHEME", "X_REMOTE_ADDR"),
        *("X_CLOUD_TRACE_CONTEXT", "FRONT_END_HTTPS", "PROXY_CONNECTION", "MAX_FORWARDS"),
        *("CLIENT_IP", "CF_", "CDN_LOOP", "FASTLY_", "FLY_", "TAILSCALE_", "NGROK_", "X_TUNNEL"),
    )
)
"""How what a proxy or a tunnel adds begins, by its name in the WSGI environment (PEP 3333)."""

LATE: Final = "yardfall.late"
"""In the environment: the request came after the service was told to stop."""
UNREAD: Final = "yardfall.unread"
"""In the environment: the front door asked `admits`, was told no, and did not read the body."""
WHOSE: Final = "yardfall.whose"
"""In the environment, from here on: whose key the request was served for."""
LATE_RETRY_S: Final = 10
BY_SCRIPT: Final = "X-Requested-With"
"""What a page's own script can send, and a form of another site cannot: a browser asks the
service first whether it may (Fetch standard, "CORS-preflight fetch"), and is told no."""
ASK: Final = tuple(WWWAuthenticate(kind, {"realm": "Yardfall"}) for kind in ("basic", "bearer"))
CLOSED: Final = (
    "This service has no keys yet, so it serves only its own machine. Make one there: "
    "yardfall key new NAME"
)


@dataclass(frozen=True)
class Caller:
    """Whose things a request may see, under which name it saves, and the key that says so.

    With the link of a crew, one job alone.
    """

    owner: str
    name: str
    key: Key | None = None
    crew: CrewLink | None = None

    @property
    def sent(self) -> str | None:
        """The id of the key or link that was sent; None on a machine without keys."""
        shown = self.key or self.crew
        return None if shown is None else shown.id


HERE: Final = Caller(LOCAL, "this machine")


def caller() -> Caller:
    """Who makes the request at hand."""
    found: Caller = g.caller
    return found


def is_open(path: str) -> bool:
    """Whether what stands at a path is for everybody."""
    return path in OPEN or path.startswith(OPEN_BELOW)


def register_access(app: Flask, keys: KeyStore, limits: Limits) -> None:
    """Let nobody in who may not; keep each key to its rate.

    The application's extension `admits` tells from a header alone whose body may be read.
    """
    rates = Rates(limits.requests_per_s, limits.burst)

    def admits(environ: Mapping[str, Any]) -> str | None:
        """Whose the body of a request is; None where it is not to be read."""
        with app.request_context(dict(environ)):
            if is_open(request.path):  # nothing there takes a body
                return None
            try:
                return _group(_judged(keys))
            except (HTTPException, YardfallError):  # the request itself will be told
                return None

    app.extensions["admits"] = admits

    @app.before_request
    def _admit() -> None:
        g.caller = HERE
        environ = request.environ
        if LATE in environ:
            raise ServiceUnavailable(
                "The service is being stopped. Nothing was changed; try again soon.",
                retry_after=LATE_RETRY_S,
            )
        if is_open(request.path):
            return
        g.caller = who = _judged(keys)
        environ[WHOSE] = _group(who)
        wait_s = 0.0
        if who.sent:
            wait_s, left = rates.take(who.sent)
            g.rate = rates.told(left)
        if wait_s > 0:
            raise TooManyRequests(
                f"This key may make {limits.requests_per_s:g} requests a second, "
                f"{limits.burst} at once. Wait {wait_s:.1f} s and send fewer at a time.",
                retry_after=math.ceil(wait_s),
            )
        if UNREAD in environ:
            raise TooManyRequests(
                "As many large bodies are coming in with this key as may at once. Wait until one "
                "has come in whole.",
                retry_after=LATE_RETRY_S,
            )

    @app.after_request
    def _tell_rate(answer: Response) -> Response:
        rate = g.get("rate")
        if rate is not None:
            answer.headers["RateLimit"] = rate
            answer.headers["RateLimit-Policy"] = rates.policy
        return answer


def _group(who: Caller) -> str:
    return f"key {who.sent}" if who.sent else "here"


def _judged(keys: KeyStore) -> Caller:
    """Who makes the request at hand. Raises Unauthorized, Forbidden where they may not."""
    secret = _crew_secret()
    if secret is not None:
        return _judged_crew(secret, keys)
    key = _key(keys)
    if key is None:
        if keys.any_made():
            raise Unauthorized(
                "Send a key of this service: Authorization: Bearer <key>. A browser asks for "
                "it: any name, and the key as the password.",
                www_authenticate=ASK,
            )
        _require_own_machine()
        return HERE
    needed = _scope()
    if not key.may(needed):
        raise Forbidden(
            f"The key {key.name!r} is for {key.scope} only; this takes a key made with "
            f"--scope {needed}."
        )
    return Caller(key.owner, key.name, key)


def _crew_secret() -> str | None:
    given = request.authorization
    token = given.token if given is not None and given.type == "bearer" else None
    return token if token is not None and token.startswith(BEGINS) else None


def _judged_crew(secret: str, keys: KeyStore) -> Caller:
    """Who comes by the link of a crew. It opens no machine that serves itself alone."""
    any_keys = keys.any_made()
    if not any_keys:
        _require_own_machine()
    found = admitted(current_app.extensions["engine"], secret, any_keys=any_keys)
    if found is None:
        raise Unauthorized(
            "This link for a crew opens nothing: it was withdrawn, or its job was deleted. Ask "
            "whoever sent it for another.",
            www_authenticate=ASK,
        )
    link = found.link
    rule = request.url_rule.rule if request.url_rule else ""
    own = (request.view_args or {}).get("id") == link.job
    reads = request.method in ("GET", "HEAD") and CREW_READS.fullmatch(rule)
    adds = request.method == "POST" and rule in CREW_ADDS
    if not (own and (reads or adds)):
        raise Forbidden(
            f"The link for {link.name!r} reads one job and adds checks of its trench; it is for "
            "nothing else."
        )
    return Caller(found.owner, link.name, crew=link)


def _key(keys: KeyStore) -> Key | None:
    given = request.authorization
    if given is None:
        return None
    if given.type == "bearer":
        return keys.holder(given.token or "")
    if given.type == "basic":
        _require_same_site()
        _require_script()
        return keys.holder(given.password or "")
    return None


def _scope() -> str:
    if any(request.path == path or request.path.startswith(path + "/") for path in ADMIN):
        return "admin"
    call = request.path.removeprefix(BASE + "/").split("/", 1)[0]
    rule = request.url_rule.rule if request.url_rule else ""
    computes = call in COMPUTES or rule == f"{JOB}/grade-check"
    return "read" if request.method in SAFE or computes else "write"


def _require_same_site() -> None:
    """A browser sends what it knows along with requests that another site's page makes.

    Over plain http it tells the origin alone: a form of another origin cannot leave it out
    (Fetch standard, "append a request `Origin` header").
    """
    if request.method in SAFE:
        return
    environ = request.environ
    site, origin = environ.get("HTTP_SEC_FETCH_SITE", "none"), environ.get("HTTP_ORIGIN")
    if site not in ("none", "same-origin") or not (origin is None or _is_of_this_host(origin)):
        raise Forbidden("Another site's page may change nothing here.")


def _require_script() -> None:
    """A browser sends the password that it knows with any form, whoever made the form."""
    if request.method not in SAFE and not request.headers.get(BY_SCRIPT):
        raise Forbidden(
            "A key sent as a password reads; to change or ask anything with it, send the header "
            f"{BY_SCRIPT} too, which no other site's form can send, or send the key as "
            "Authorization: Bearer <key>."
        )


def _is_of_this_host(origin: str) -> bool:
    """Whether an origin is this service, by the name that it was called by.

    What ends TLS for it may leave out the port that its scheme implies.
    """
    try:
        given = urlsplit(origin)
        called = urlsplit(f"//{request.host}")
        ports = given.port, called.port
    except ValueError:
        return False
    implied = {"http": 80, "https": 443}.get(given.scheme)
    if implied is None or given.hostname is None or given.hostname != called.hostname:
        return False
    return (ports[0] or implied) == (ports[1] or implied)


def _require_own_machine() -> None:
    """Without keys: only from this machine, under its own name, and not through a proxy."""
    environ = request.environ
    origin = environ.get("HTTP_ORIGIN")
    near = _is_loopback(request.remote_addr) and _is_at_loopback(f"//{request.host}")
    if not near or _any_forwards(tuple(environ)):
        raise Forbidden(CLOSED)
    if origin is not None and not _is_at_loopback(origin):
        raise Forbidden("Another site's page may ask nothing here.")
    _require_same_site()


def forwards(name: str) -> bool:
    """Whether a header of this name, in the WSGI environment's writing, tells of a forwarder."""
    return name.startswith(FORWARDED)


@lru_cache(maxsize=256)
def _any_forwards(names: tuple[str, ...]) -> bool:
    return any(map(forwards, names))


@lru_cache(maxsize=256)
def _is_at_loopback(address: str) -> bool:
    try:
        return _is_loopback(urlsplit(address).hostname)
    except ValueError:
        return False


@lru_cache(maxsize=256)
def _is_loopback(name: str | None) -> bool:
    try:
        return name == "localhost" or ipaddress.ip_address(name or "").is_loopback
    except ValueError:
        return False
