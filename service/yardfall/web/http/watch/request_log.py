"""The log: a line of JSON for each request, which nothing that was sent can forge or break."""

from __future__ import annotations

import json
import logging
import re
import secrets
import time
import traceback
from typing import Any, Final, TextIO

from flask import Flask, Response, g, request

ID: Final = re.compile(r"[A-Za-z0-9._-]{8,64}")
HEADER: Final = "X-Request-Id"
TRACE: Final = re.compile(
    r"(?!ff)[0-9a-f]{2}-(?!0{32})([0-9a-f]{32})-(?!0{16})([0-9a-f]{16})-[0-9a-f]{2}(-.*)?"
)
"""A `traceparent` (W3C Trace Context, 3.2.2): the trace, and the caller's own span in it."""
MOST_TEXT: Final = 500
log = logging.getLogger("yardfall.requests")


class Lines(logging.Formatter):
    """One line of JSON a record. ASCII alone, so that no text sent can start a line of its own."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(record.created))
            + f".{int(record.msecs):03d}Z",
            "level": record.levelname.lower(),
            "from": record.name,
            "event": record.getMessage(),
            "request": getattr(record, "request", None),
        } | getattr(record, "fields", {})
        if record.exc_info:
            line["trace"] = "".join(traceback.format_exception(*record.exc_info))
        return json.dumps({k: _short(v) for k, v in line.items() if v is not None})


def _short(value: Any) -> Any:
    limit = 20 * MOST_TEXT if isinstance(value, str) and "\n" in value else MOST_TEXT
    return value[:limit] if isinstance(value, str) else value


def start_log(stream: TextIO, level: int) -> None:
    """Write what this package logs to a stream, from a level on."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(Lines())
    handler.addFilter(_with_request)
    for name in ("yardfall", "waitress"):
        logger = logging.getLogger(name)
        logger.handlers = [handler]
        logger.setLevel(level)
        logger.propagate = False
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a warning for each that waits


def _with_request(record: logging.LogRecord) -> bool:
    record.request = g.get("request_id") if _in_request() else None
    return True


def _in_request() -> bool:
    return bool(g)


def register_journal(app: Flask) -> None:
    """Give each request an id, told in `X-Request-Id` and in every line about it."""

    @app.before_request
    def _begin() -> None:
        given = request.headers.get(HEADER, "")
        g.request_id = given if given and ID.fullmatch(given) else secrets.token_hex(8)
        g.began = time.perf_counter()

    @app.after_request
    def _end(answer: Response) -> Response:
        answer.headers[HEADER] = g.request_id
        if log.isEnabledFor(logging.INFO):
            log.info("request", extra={"fields": _told(answer)})
        return answer


def _told(answer: Response) -> dict[str, Any]:
    """What is told of a request: no query, no body, no header but these, so no secret."""
    who = g.get("caller")
    return {
        "method": request.method,
        "path": request.path,
        "status": answer.status_code,
        "ms": round(1000 * (time.perf_counter() - g.began), 1),
        "bytes_in": request.content_length or 0,
        "key": who.sent if who else None,
        "from_address": request.remote_addr,
        **_trace(),
    }


def _trace() -> dict[str, str]:
    """The trace that a request is part of, where whoever sent it says so."""
    found = TRACE.fullmatch(request.headers.get("traceparent", ""))
    return {} if found is None else {"trace_id": found[1], "parent_id": found[2]}
