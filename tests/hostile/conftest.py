"""What the hostile requests share: their cost, bodies of very many points, two keys."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask import Flask
from flask.testing import FlaskClient

from yardfall.app import Settings, create_app
from yardfall.core import compiled
from yardfall.store.keys import KeyStore
from yardfall.web.http.watch.limits import Limits

STATUS = Path("/proc/self/status")


@dataclass
class Cost:
    """Processor seconds of this process, and by how much its memory grew at the most, MiB."""

    cpu_s: float = math.nan
    grown_mib: float = 0.0


def resident_mib() -> float:
    """Memory this process holds; 0 where the system does not tell."""
    if not STATUS.exists():
        return 0.0
    line = next(row for row in STATUS.read_text().splitlines() if row.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


@contextmanager
def measured() -> Iterator[Cost]:
    """The cost of what runs inside."""
    cost, over, before = Cost(), threading.Event(), resident_mib()

    def look() -> None:
        while not over.wait(0.02):
            cost.grown_mib = max(cost.grown_mib, resident_mib() - before)

    watch = threading.Thread(target=look, daemon=True)
    watch.start()
    began = time.process_time()
    try:
        yield cost
    finally:
        cost.cpu_s = time.process_time() - began
        over.set()
        watch.join()


@pytest.fixture(scope="session", autouse=True)
def _compiled() -> None:
    """Compiling is no request's cost."""
    compiled.warm()


@pytest.fixture
def cost() -> Callable[[], Any]:
    return measured


@pytest.fixture
def readings() -> Callable[..., dict[str, Any]]:
    """A default plan of so many elevations, 2 ft apart on a yard with humps."""

    def make(count: int, noise_ft: float = 0.1, **more: Any) -> dict[str, Any]:
        at = 2.0 * np.arange(count)
        z = 100 - 0.02 * at + noise_ft * np.random.default_rng(1).standard_normal(count)
        points = [
            {"at": float(a), "elevation": round(float(e), 3)} for a, e in zip(at, z, strict=True)
        ]
        return {
            "units": "us",
            "route": {"length": float(at[-1])},
            "ground": {"kind": "elevations", "points": points},
            "pipe": {"code": "pvc-sdr35-4"},
            "start": {"cover": 10},
            "outlet": {"kind": "daylight"},
        } | more

    return make


@pytest.fixture
def yard() -> Callable[..., dict[str, Any]]:
    """A reach on spot heights over 100 m by 100 m, from its middle."""

    def make(**more: Any) -> dict[str, Any]:
        rng = np.random.default_rng(1)
        xy = np.vstack([rng.uniform(0, 100, (56, 2)), [[0, 0], [100, 0], [0, 100], [100, 100]]])
        z = 100 - 0.02 * xy.sum(axis=1) + 0.2 * rng.standard_normal(60)
        return {
            "units": "si",
            "crs": "local",
            "ground": {"kind": "spots", "points": np.column_stack([xy, z]).round(3).tolist()},
            "start": {"point": [50, 50], "cover": 200},
            "pipe": {"code": "pvc-sdr35-4"},
            "outlet": {"kind": "daylight"},
        } | more

    return make


@pytest.fixture
def ring() -> Callable[..., list[list[float]]]:
    """A closed ring of so many points about a place, its radius going up and down by a share."""

    def make(
        count: int, middle: tuple[float, float], radius: float, wave: float = 0.0
    ) -> list[list[float]]:
        turn = np.linspace(0, 2 * np.pi, count)
        out = radius * (1 + wave * np.sin(turn * count / 7))
        xy = np.column_stack([middle[0] + out * np.cos(turn), middle[1] + out * np.sin(turn)])
        xy[-1] = xy[0]
        return xy.tolist()

    return make


@pytest.fixture
def keyed(tmp_path: Path) -> Callable[..., tuple[Flask, dict[str, FlaskClient]]]:
    """An application with the limits given, and a client with a key for each name."""

    def make(*names: str, **limits: Any) -> tuple[Flask, dict[str, FlaskClient]]:
        app = create_app(Settings(tmp_path / "keyed", limits=Limits(**limits)))
        store: KeyStore = app.extensions["keys"]
        clients = {}
        for name in names:
            _, text = store.make(name, "write")
            clients[name] = app.test_client()
            clients[name].environ_base["HTTP_AUTHORIZATION"] = f"Bearer {text}"
        return app, clients

    return make
