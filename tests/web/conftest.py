"""What the tests of the calls share: the committed contract, checked answers, a raster to send."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import schemathesis
from closed import closed
from flask.testing import FlaskClient
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from werkzeug.test import TestResponse

ROOT = Path(__file__).resolve().parents[2]
Conforms = Callable[[str, TestResponse], None]


@pytest.fixture(scope="session")
def document() -> schemathesis.BaseSchema:
    """The committed contract, answers closed: what it does not name is seen."""
    return schemathesis.openapi.from_dict(closed())


@pytest.fixture
def conforms(document: schemathesis.BaseSchema) -> Conforms:
    """Hold an answer against what the committed contract says of its call, `"POST /plan"`."""

    def check(call: str, answer: TestResponse) -> None:
        method, path = call.split(" ")
        operation = document.find_operation_by_label(f"{method} /api/v1{path}")
        assert operation is not None, f"the contract has no {call}"
        operation.validate_response(answer)

    return check


@pytest.fixture
def plan(client: FlaskClient, conforms: Conforms) -> Callable[[dict], dict[str, Any]]:
    """Plan a request; the answer must be 200 and keep to the contract."""

    def call(request: dict) -> dict[str, Any]:
        answer = client.post("/api/v1/plan", json=request)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        conforms("POST /plan", answer)
        return answer.json

    return call


@pytest.fixture
def refused(client: FlaskClient, conforms: Conforms) -> Callable[..., dict[str, Any]]:
    """Send what must be refused; the answer is problem+json by the contract."""

    def call(path: str, status: int = 422, **request: Any) -> dict[str, Any]:
        answer = client.post(f"/api/v1{path}", **request)
        assert answer.status_code == status, answer.get_data(as_text=True)
        assert answer.mimetype == "application/problem+json"
        conforms(f"POST {path}", answer)
        assert answer.json["status"] == status
        return answer.json

    return call


@pytest.fixture
def tiff() -> Callable[..., bytes]:
    """A small GeoTIFF under the raster example's line: ground that falls 2 % to the south-east."""

    def make(z: np.ndarray | None = None, **options: Any) -> bytes:
        if z is None:
            down, across = np.mgrid[0:80, 0:100]
            z = (300 - 0.01 * (down + across)).astype(np.float32)
        profile = {
            "driver": "GTiff",
            "width": z.shape[1],
            "height": z.shape[0],
            "count": 1,
            "dtype": z.dtype.name,
            "crs": "EPSG:26915",
            "transform": from_origin(511995.2, 4705040.7, 0.5, 0.5),
        } | options
        with MemoryFile() as memory:
            with memory.open(**profile) as out:
                out.write(z, 1)
            return bytes(memory.read())

    return make


@pytest.fixture
def upload(client: FlaskClient) -> Callable[..., TestResponse]:
    """Send bytes as a raster."""

    def send(content: bytes, name: str = "yard.tif") -> TestResponse:
        return client.post("/api/v1/rasters", data={"file": (io.BytesIO(content), name)})

    return send
