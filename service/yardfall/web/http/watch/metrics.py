"""Counts and times for Prometheus at /metrics, by its own client library."""

from __future__ import annotations

import os
import time
from functools import lru_cache
from typing import Final

from flask import Flask, Response, g, request
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
    multiprocess,
)

BUCKETS_S: Final = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)
ODD: Final = "other"
REFUSED: Final = ("413", "429", "507")
METHODS: Final = ("GET", "HEAD", "OPTIONS", "POST", "PUT", "DELETE")


def register_metrics(app: Flask) -> None:
    """Count every request by call and status. Labels hold no text that a caller can choose.

    A request's time is counted from where the journal began it.

    With PROMETHEUS_MULTIPROC_DIR set, /metrics tells of all workers that share that folder.
    """
    registry = CollectorRegistry()
    labels = ("method", "call", "status")
    requests = Counter("yardfall_requests", "Requests answered", labels, registry=registry)
    times = Histogram(
        "yardfall_request_seconds", "Time taken", ("call",), buckets=BUCKETS_S, registry=registry
    )
    under_way = Gauge(
        "yardfall_requests_under_way",
        "Requests being answered",
        multiprocess_mode="livesum",
        registry=registry,
    )
    refused = Counter(
        "yardfall_refused", "Requests refused by a limit", ("status",), registry=registry
    )

    counted = lru_cache(maxsize=None)(requests.labels)
    timed = lru_cache(maxsize=None)(times.labels)

    @app.before_request
    def _begin() -> None:
        g.counted = True
        under_way.inc()

    @app.after_request
    def _end(answer: Response) -> Response:
        rule, method, status = request.url_rule, request.method, str(answer.status_code)
        call = rule.rule if rule else ODD
        counted(method if method in METHODS else ODD, call, status).inc()
        timed(call).observe(time.perf_counter() - g.began)
        if status in REFUSED:
            refused.labels(status).inc()
        return answer

    @app.teardown_request
    def _gone(_error: BaseException | None) -> None:
        if g.pop("counted", False):
            under_way.dec()

    @app.get("/metrics")
    def metrics() -> Response:
        """The counts, in Prometheus' text format."""
        shown = registry
        if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
            shown = CollectorRegistry()
            multiprocess.MultiProcessCollector(shown)
        return Response(generate_latest(shown), content_type=CONTENT_TYPE_LATEST)
