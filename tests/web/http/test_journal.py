"""The log, the counts and the state of health: what an operator has to go by."""

from __future__ import annotations

import io
import json
import logging

import pytest

from yardfall.web.http.watch.request_log import start_log

LOGGERS = [logging.getLogger(name) for name in ("yardfall", "waitress", "waitress.queue")]


@pytest.fixture
def stream():
    """What is logged, as text; logging is put back as it was."""
    before = [(logger.handlers, logger.level, logger.propagate) for logger in LOGGERS]
    text = io.StringIO()
    start_log(text, logging.INFO)
    yield text
    for logger, (handlers, level, propagate) in zip(LOGGERS, before, strict=True):
        logger.handlers, logger.propagate = handlers, propagate
        logger.setLevel(level)


@pytest.fixture
def log(stream):
    """What is logged, line by line."""
    return lambda: [json.loads(line) for line in stream.getvalue().splitlines()]


def test_a_request_is_one_line_with_its_id(client, log) -> None:
    answer = client.get("/api/v1/pipes?units=us")
    (line,) = log()
    assert line["request"] == answer.headers["X-Request-Id"]
    assert (line["method"], line["path"], line["status"]) == ("GET", "/api/v1/pipes", 200)
    assert line["ms"] > 0
    assert "key" not in line


def test_an_id_is_taken_over_where_it_has_the_form_of_one(client, log) -> None:
    for given in ("0123456789abcdef", "req-7.a_b"):
        sent = client.get("/api/v1/pipes", headers={"X-Request-Id": given})
        assert sent.headers["X-Request-Id"] == given
    for odd in ("short", "a" * 65, 'a"},{"level":"x', "a b c d e f g", "é" * 9):
        sent = client.get("/api/v1/pipes", headers={"X-Request-Id": odd.encode().decode("latin1")})
        assert len(sent.headers["X-Request-Id"]) == 16


@pytest.mark.parametrize(
    "text",
    ["%0a{%22event%22:%22forged%22}", "%0d%0aforged", "%1b[31mred", "%e2%80%a8line", '"},{"a":"'],
)
def test_nothing_sent_can_forge_a_line(text: str, client, log) -> None:
    client.get(f"/api/v1/rasters/{text}")
    client.get(f"/{text}")
    lines = log()
    assert [line["event"] for line in lines] == ["request", "request"]
    assert "forged" not in {key for line in lines for key in line}


def test_lines_are_ascii(client, stream) -> None:
    client.get("/%1b[31m%e2%80%a8%c3%a9")
    text = stream.getvalue()
    assert text.isascii()
    assert text.count("\n") == 1
    assert "\x1b" not in text


def test_no_secret_is_logged_or_told(app, client, log) -> None:
    _, secret = app.extensions["keys"].make("Ann")
    for header in (f"Bearer {secret}", "Bearer wrong-secret"):
        answer = client.get(
            "/api/v1/jobs?search=private", headers={"Authorization": header, "Cookie": "a=cookie"}
        )
        text = json.dumps(log()) + answer.get_data(as_text=True) + str(answer.headers)
        for word in (secret, "wrong-secret", "private", "cookie"):
            assert word not in text


def test_a_bug_is_logged_under_the_requests_id(client, log, monkeypatch) -> None:
    monkeypatch.setattr("yardfall.web.plan.views.raster_page", lambda *_, **__: 1 / 0)
    answer = client.get("/api/v1/rasters")
    bug, request = log()
    assert answer.status_code == request["status"] == 500
    assert bug["request"] == request["request"] == answer.headers["X-Request-Id"]
    assert (bug["level"], "ZeroDivisionError" in bug["trace"]) == ("error", True)


def test_counts_by_call_and_status(client) -> None:
    client.get("/api/v1/pipes")
    client.get("/api/v1/pipes?units=odd")
    client.get("/nowhere/" + "a" * 99)
    client.open("/api/v1/pipes", method="BREW")
    counts = client.get("/metrics")
    text = counts.get_data(as_text=True)
    assert counts.mimetype == "text/plain"
    call = 'call="/api/v1/pipes",method="GET"'
    assert f'yardfall_requests_total{{{call},status="200"}} 1.0' in text
    assert f'yardfall_requests_total{{{call},status="422"}} 1.0' in text
    assert 'call="other",method="GET",status="404"' in text
    assert 'method="other",status="405"' in text
    assert "aaaa" not in text
    assert "BREW" not in text
    assert "yardfall_requests_under_way 1.0" in text, "this one alone"
    assert 'yardfall_request_seconds_count{call="/api/v1/pipes"} 3.0' in text or (
        'yardfall_request_seconds_count{call="/api/v1/pipes"} 2.0' in text
    )


def test_health_tells_what_is_broken(client, conforms, monkeypatch, tmp_path) -> None:
    well = client.get("/api/v1/health")
    conforms("GET /health", well)
    assert (well.status_code, well.json["status"], well.json["broken"]) == (200, "ok", [])
    with monkeypatch.context() as patch:
        patch.setattr("yardfall.store.health.LEAST_FREE_BYTES", 1 << 60)
        full = client.get("/api/v1/health")
        conforms("GET /health", full)
    assert (full.status_code, full.json["status"]) == (503, "failing")
    assert full.json["depends_on"]["disk"] == "failing"
    assert "MiB are left" in full.json["broken"][0]
    (tmp_path / "data").rename(tmp_path / "elsewhere")
    gone = client.get("/api/v1/health").json
    assert gone["depends_on"]["files"] == "failing"
    assert any("cannot be written" in sentence for sentence in gone["broken"])


TRACE = "0af7651916cd43dd8448eb211c80319c"
"""The example of W3C Trace Context, 3.2.3 (from memory)."""


def test_a_trace_is_taken_into_the_log(client, log) -> None:
    client.get("/api/v1/pipes", headers={"traceparent": f"00-{TRACE}-b7ad6b7169203331-01"})
    (line,) = log()
    assert (line["trace_id"], line["parent_id"]) == (TRACE, "b7ad6b7169203331")


@pytest.mark.parametrize(
    "odd",
    [
        "",
        "00",
        f"ff-{TRACE}-b7ad6b7169203331-01",
        f"00-{'0' * 32}-b7ad6b7169203331-01",
        f"00-{TRACE}-{'0' * 16}-01",
        f"00-{TRACE.upper()}-b7ad6b7169203331-01",
        f'00-{TRACE}-b7ad6b7169203331-01"}},{{"a":"',
    ],
)
def test_what_is_no_trace_is_left_out_of_it(odd: str, client, log) -> None:
    client.get("/api/v1/pipes", headers={"traceparent": odd})
    assert "trace_id" not in log()[0]
