"""Who calls, and what they may: a key, or the one user of a machine without keys."""

from __future__ import annotations

import ipaddress
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final
from urllib.parse import urlsplit

from flask import Flask, g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import Forbidden, TooManyRequests, Unauthorized

from yardfall.store.keys import Key, KeyStore
from yardfall.store.owners import LOCAL
from yardfall.web.api import BASE
from yardfall.web.limits import Limits, Rates

OPEN: Final = (f"{BASE}/health", f"{BASE}/openapi.json", "/reference", "/static/", "/leaflet/")
"""What holds nobody's data."""
OPEN_BELOW: Final = tuple(path if path.endswith("/") else path + "/" for path in OPEN)
COMPUTES: Final = ("plan", "profile", "flow", "reach", "grade-check", "compare", "papers")
"""Calls that keep nothing: a read key may POST to them. Any other change needs a write key."""
ADMIN: Final = ("/metrics", f"{BASE}/keys")
SAFE: Final = ("GET", "HEAD", "OPTIONS")
FORWARDED: Final = frozenset(
    f"HTTP_{name}"
    for name in ("FORWARDED", "X_FORWARDED_FOR", "X_FORWARDED_HOST", "X_REAL_IP", "VIA")
)
"""What a proxy adds, by its name in the WSGI environment (PEP 3333)."""
ASK: Final = tuple(WWWAuthenticate(kind, {"realm": "Yardfall"}) for kind in ("basic", "bearer"))
CLOSED: Final = (
    "This service has no keys yet, so it serves only its own machine. Make one there: "
    "yardfall key new NAME"
)


@dataclass(frozen=True)
class Caller:
    """Whose things a request may see, under which name it saves, and the key that says so."""

    owner: str
    name: str
    key: Key | None = None


HERE: Final = Caller(LOCAL, "this machine")


def caller() -> Caller:
    """Who makes the request at hand."""
    found: Caller = g.caller
    return found


def register_access(app: Flask, keys: KeyStore, limits: Limits) -> None:
    """Let nobody in who may not; keep each key to its rate."""
    rates = Rates(limits.requests_per_s, limits.burst)

    @app.before_request
    def _admit() -> None:
        g.caller = HERE
        if request.path in OPEN or request.path.startswith(OPEN_BELOW):
            return
        key = _key(keys)
        if key is None:
            if keys.any_made():
                raise Unauthorized(
                    "Send a key of this service: Authorization: Bearer <key>. A browser asks for "
                    "it: any name, and the key as the password.",
                    www_authenticate=ASK,
                )
            _require_own_machine()
            return
        g.caller = Caller(key.owner, key.name, key)
        wait_s = rates.wait_s(key.id)
        if wait_s > 0:
            raise TooManyRequests(
                f"This key may make {limits.requests_per_s:g} requests a second, "
                f"{limits.burst} at once. Wait {wait_s:.1f} s and send fewer at a time.",
                retry_after=math.ceil(wait_s),
            )
        needed = _scope()
        if not key.may(needed):
            raise Forbidden(
                f"The key {key.name!r} is for {key.scope} only; this takes a key made with "
                f"--scope {needed}."
            )


def _key(keys: KeyStore) -> Key | None:
    given = request.authorization
    if given is None:
        return None
    if given.type == "bearer":
        return keys.holder(given.token or "")
    if given.type == "basic":
        _require_same_site()
        return keys.holder(given.password or "")
    return None


def _scope() -> str:
    if any(request.path == path or request.path.startswith(path + "/") for path in ADMIN):
        return "admin"
    call = request.path.removeprefix(BASE + "/").split("/", 1)[0]
    return "read" if request.method in SAFE or call in COMPUTES else "write"


def _require_same_site() -> None:
    """A browser sends what it knows along with requests that another site's page makes."""
    site = request.headers.get("Sec-Fetch-Site", "none")
    if request.method not in SAFE and site not in ("none", "same-origin"):
        raise Forbidden("Another site's page may change nothing here.")


def _require_own_machine() -> None:
    """Without keys: only from this machine, under its own name, and not through a proxy."""
    origin = request.headers.get("Origin")
    near = _is_loopback(request.remote_addr) and _is_at_loopback(f"//{request.host}")
    if not near or not FORWARDED.isdisjoint(request.environ):
        raise Forbidden(CLOSED)
    if origin is not None and not _is_at_loopback(origin):
        raise Forbidden("Another site's page may ask nothing here.")
    _require_same_site()


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
