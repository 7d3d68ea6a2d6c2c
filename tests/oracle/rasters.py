"""Elevation rasters of our own making, handed to the service as any caller hands them."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import rasterio
from rasterio.io import MemoryFile


def raster(service: Any, levels: np.ndarray, cell: float) -> str:
    """An elevation raster of these levels (rows from the north, m), kept by the service."""
    place = rasterio.transform.from_origin(500000, 5000000, cell, cell)
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff", height=levels.shape[0], width=levels.shape[1], count=1,
            dtype="float32", crs="EPSG:26915", transform=place, nodata=-9999,
        ) as file:  # fmt: skip
            file.write(levels.astype("float32"), 1)
        memory.seek(0)
        sent = {"file": (io.BytesIO(memory.read()), "ground.tif")}
    answered = service.client.post("/api/v1/rasters", data=sent)
    assert answered.status_code == 201, answered.json
    return answered.json["id"]
