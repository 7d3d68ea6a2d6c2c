"""One request and one answer of every call, as they were really sent and given, for the contract.

    python tests/sent/recorded.py > service/yardfall/web/openapi/recorded.json

writes them anew. Ids, times, secrets and the version of the sums are put in the place of those of
the day, so that a line only changes where an answer does.
"""

from __future__ import annotations

import io
import json
import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pyproj
from flask import Flask
from PIL import Image

from yardfall.app import Settings, create_app, load_demo, load_demo_sources
from yardfall.web.openapi import examples

DEMO = Path(__file__).resolve().parents[2] / "fixtures" / "demo"
ID = re.compile(r"\b[0-9a-f]{32}\b")
MOMENT = re.compile(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?\+00:00")
SUMS = re.compile(r"\+[0-9a-f]{12}\b")
SECRET = re.compile(r"crew_[A-Za-z0-9_-]{43}")
PLACEMENT = {
    "units": "us",
    "scale": {"points": [[10, 90], [110, 90]], "distance": 40},
    "turn": 0,
}
AS_DUG = {"as_dug": [{"at": 52, "line_to_bottom": 29.5}, {"at": 39, "line_to_bottom": 27.5}]}


class Recorder:
    """Sends each call once and keeps what was sent and answered."""

    def __init__(self, app: Flask) -> None:
        self._client = app.test_client()
        self.examples: dict[str, dict[str, Any]] = {}
        self.calls: dict[str, dict[str, str]] = {}

    def call(
        self,
        name: str,
        method: str,
        path: str,
        body: Any = None,
        like: str | None = None,
        **more: Any,
    ) -> Any:
        """Send one call, the one of an id; what it answered. It shows the answer of `like` where
        that is named: a whole plan stands in each."""
        sent = {"json": body} if body is not None else {}
        answer = self._client.open(f"/api/v1{path}", method=method, **sent, **more)
        assert answer.status_code in (200, 201, 204), (name, answer.text)
        told = self.calls[name] = {}
        if body is not None:
            told["request"] = self._keep(f"{name}.request", "What was sent.", body)
        if like is not None:
            told["answer"] = self.calls[like]["answer"]
        elif answer.mimetype == "application/json":
            told["answer"] = self._keep(f"{name}.answer", "What was answered.", answer.json)
        return answer.json if answer.mimetype == "application/json" else None

    def fetched(self, path: str) -> bytes:
        """A file that a call gives."""
        return self._client.get(f"/api/v1{path}").get_data()

    def _keep(self, name: str, summary: str, value: Any) -> str:
        same = (known for known, one in self.examples.items() if one["value"] == value)
        name = next(same, name)
        self.examples[name] = {"summary": summary, "value": value}
        return name


def record(app: Flask) -> dict[str, Any]:
    """Examples by name, and which of them each call has, by its id."""
    load_demo(app.extensions["rasters"])
    load_demo_sources(app.extensions["rasters"].sources)
    one = Recorder(app)
    call = one.call
    call("getHealth", "GET", "/health")
    call("getPageSettings", "GET", "/page-settings")
    call("listPipes", "GET", "/pipes?units=us")
    call("readProfile", "POST", "/profile", examples.PROFILE)
    call("planDrain", "POST", "/plan", examples.PLAN)
    call("checkFlow", "POST", "/flow", examples.FLOW)
    call("searchYard", "POST", "/reach", examples.REACH)
    call("checkGrade", "POST", "/grade-check", examples.GRADE_CHECK)
    call("checkPipe", "POST", "/pipe-check", examples.PIPE_CHECK)
    call("comparePlans", "POST", "/compare", examples.COMPARE)
    one.calls["makePaper"] = {"request": one._keep("makePaper.request", "A plan.", examples.PAPER)}
    bundle = {"file": (io.BytesIO(one.fetched("/export")), "yardfall-export.zip")}
    call("importKept", "POST", "/imports", data=bundle)
    _uploads(call)
    _sources(call)
    _jobs(call)
    return _of_no_day({"examples": one.examples, "calls": one.calls})


def _uploads(call: Callable[..., Any]) -> None:
    raster = {"file": (io.BytesIO((DEMO / "yard.tif").read_bytes()), "yard.tif")}
    kept = call("uploadRaster", "POST", "/rasters", data=raster)
    call("getRaster", "GET", f"/rasters/{kept['id']}")
    call("listRasters", "GET", "/rasters?page_size=1")
    picture = io.BytesIO()
    Image.new("L", (120, 100), 255).save(picture, "PNG")
    picture.seek(0)
    kept = call("uploadSitePlan", "POST", "/site-plans", data={"file": (picture, "survey.png")})
    call("placeSitePlan", "PUT", f"/site-plans/{kept['id']}/placement", PLACEMENT)
    call("getSitePlan", "GET", f"/site-plans/{kept['id']}")
    call("listSitePlans", "GET", "/site-plans?page_size=1")


def _sources(call: Callable[..., Any]) -> None:
    yard = json.loads((DEMO / "yard.json").read_text("utf-8"))
    shapes = {f["properties"]["kind"]: f["geometry"] for f in yard["features"]["features"]}
    x, y = shapes["sump"]["coordinates"]
    to_map = pyproj.Transformer.from_crs("EPSG:32617", "OGC:CRS84", always_xy=True)
    lon, lat = (round(value, 7) for value in to_map.transform(x, y))
    call("listSources", "GET", "/sources")
    call("getGround", "GET", f"/ground?lon={lon}&lat={lat}")
    call("getLot", "GET", f"/lots?lon={lon}&lat={lat}")
    window = {"bounds": [x - 5, y - 5, x + 5, y + 5], "crs": "EPSG:32617"}
    call("keepSourceWindow", "POST", "/sources/demo-ground/windows", window)


def _jobs(call: Callable[..., Any]) -> None:
    body = {"name": "14 Elm Street", "request": examples.PLAN}
    job = call("createJob", "POST", "/jobs", body)
    at = f"/jobs/{job['id']}"
    call("getJob", "GET", at)
    call("saveJob", "PUT", at, body, "createJob", headers={"If-Match": job["etag"]})
    call("listJobs", "GET", "/jobs")
    call("listRevisions", "GET", f"{at}/revisions")
    call("getRevision", "GET", f"{at}/revisions/1")
    call("checkGradeOfJob", "POST", f"{at}/grade-check", AS_DUG)
    call("keepGradeCheck", "POST", f"{at}/grade-checks", AS_DUG)
    call("getGradeCheck", "GET", f"{at}/grade-checks/1")
    call("listGradeChecks", "GET", f"{at}/grade-checks")
    link = call("makeCrewLink", "POST", f"{at}/crew-links", {"name": "Friday's crew"})
    call("getCrewLink", "GET", f"{at}/crew-links/{link['id']}")
    call("listCrewLinks", "GET", f"{at}/crew-links")
    call("copyJob", "POST", f"{at}/copies", {"name": "14 Elm Street, again"}, "createJob")
    call("archiveJob", "POST", f"{at}/archive", {"archived": True}, "createJob")


def _of_no_day(whole: dict[str, Any]) -> dict[str, Any]:
    """The same under ids, times and secrets of our own."""
    text = json.dumps(whole)
    ids = {found: f"{n:032x}" for n, found in enumerate(dict.fromkeys(ID.findall(text)), 1)}
    text = ID.sub(lambda found: ids[found[0]], text)
    text = MOMENT.sub("2026-05-04T09:30:00+00:00", text)
    text = SECRET.sub(f"crew_{'x' * 43}", text)
    found: dict[str, Any] = json.loads(SUMS.sub("+0123456789ab", text))
    return found


def written(whole: dict[str, Any]) -> str:
    """As JSON, an example a line."""
    parts = (
        ",\n".join(f"{json.dumps(name)}: {json.dumps(one)}" for name, one in whole[part].items())
        for part in ("examples", "calls")
    )
    examples_told, calls_told = parts
    return f'{{"examples": {{\n{examples_told}\n}},\n"calls": {{\n{calls_told}\n}}}}'


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        print(written(record(create_app(Settings(Path(folder))))))
