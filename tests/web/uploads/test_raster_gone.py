"""A raster whose file goes while a request that found it is still at work."""

from __future__ import annotations

import pytest


@pytest.fixture
def gone(app, examples, tiff, upload) -> dict:
    """A request on a raster that is listed, and whose file is no longer there."""
    body = examples["raster"]
    body["ground"]["raster"] = key = upload(tiff()).json["id"]
    app.extensions["rasters"].get(key).path.unlink()
    return body


def test_a_plan_says_that_the_raster_is_gone(gone, refused) -> None:
    (error,) = refused("/plan", json=gone)["errors"]
    assert error["pointer"] == "/ground/raster"
    assert "Upload it again" in error["detail"]


def test_its_relief_is_not_found(client, gone) -> None:
    answer = client.get(f"/api/v1/rasters/{gone['ground']['raster']}/relief.png")
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


def test_it_can_still_be_deleted(client, gone) -> None:
    assert client.delete(f"/api/v1/rasters/{gone['ground']['raster']}").status_code == 204
