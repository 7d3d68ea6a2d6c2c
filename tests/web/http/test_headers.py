"""What every answer carries: no inline script or style, no sniffing, no referrer."""

from __future__ import annotations

import pytest

PLAIN = [
    ("GET", "/"),
    ("GET", "/reference"),
    ("GET", "/static/nothing.js"),
    ("GET", "/demo.json"),
    ("GET", "/api/v1/health"),
    ("GET", "/api/v1/page-settings"),
    ("GET", "/api/v1/site-plans/none/picture"),
    ("GET", "/api/v1/openapi.json"),
    ("GET", "/api/v1/nowhere"),
    ("HEAD", "/api/v1/health"),
    ("OPTIONS", "/api/v1/plan"),
    ("GET", "/api/v1/plan"),
    ("POST", "/api/v1/plan"),
]


def policy(answer) -> dict[str, list[str]]:
    """The content security policy by directive."""
    parts = answer.headers["Content-Security-Policy"].split(";")
    return {name: values for name, *values in (part.split() for part in parts)}


@pytest.mark.parametrize(("method", "path"), PLAIN)
def test_every_answer_is_guarded(method: str, path: str, client) -> None:
    answer = client.open(path, method=method, buffered=True)
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["X-Frame-Options"] == "DENY"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    allowed = answer.headers["Permissions-Policy"].split(", ")
    assert {"camera=()", "geolocation=()", "microphone=()"} <= set(allowed)
    rules = policy(answer)
    assert rules["default-src"] == ["'none'"]
    assert rules["script-src"] == rules["connect-src"] == ["'self'"]
    assert rules["frame-ancestors"] == rules["base-uri"] == rules["form-action"] == ["'none'"]
    sources = {source for values in rules.values() for source in values}
    assert sources <= {"'none'", "'self'", "'unsafe-inline'", "data:", "blob:"}
    assert "'unsafe-inline'" not in rules["script-src"]
    if path != "/reference":  # a library's own page, which sets styles inline
        assert "'unsafe-inline'" not in sources


@pytest.mark.parametrize(
    "path", ["/static/main.js", "/static/style/page.css", "/leaflet/leaflet.js"]
)
def test_a_part_of_the_page_is_guarded_by_the_pages_policy(path: str, client) -> None:
    """A browser holds a script to the policy of its page (CSP Level 3), and reads none in it."""
    sent = client.get(path, buffered=True)
    again = client.get(path, headers={"If-None-Match": sent.headers["ETag"]})
    assert (sent.status_code, again.status_code) == (200, 304)
    for answer in (sent, again):
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"


def test_a_file_not_sent_again_is_guarded(client) -> None:
    tag = client.get("/", buffered=True).headers["ETag"]
    answer = client.get("/", headers={"If-None-Match": tag})
    assert answer.status_code == 304
    assert policy(answer)["default-src"] == ["'none'"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_a_made_up_fault_is_guarded_too(client, monkeypatch) -> None:
    monkeypatch.setattr("yardfall.web.plan.views.raster_page", lambda *_, **__: 1 / 0)
    answer = client.get("/api/v1/rasters")
    assert answer.status_code == 500
    assert policy(answer)["default-src"] == ["'none'"]


def test_answers_are_not_kept_by_a_browser_unasked(client, yard_request) -> None:
    answer = client.post("/api/v1/plan", json=yard_request)
    assert answer.headers["Cache-Control"] == "no-cache"
    assert "Server" not in answer.headers


def test_the_reference_asks_only_this_host(client) -> None:
    page = client.get("/reference", buffered=True).get_data(as_text=True)
    assert "//" not in page.replace("<!doctype html>", ""), "no address of another host"
    assert "<script>" not in page
