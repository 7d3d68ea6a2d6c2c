"""Jobs and rasters kept, read, saved over, put away and deleted in any order.

Hypothesis draws the order; a plain dictionary says what must be there after each step.
"""

from __future__ import annotations

import io

import numpy as np
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    invariant,
    rule,
    run_state_machine_as_test,
)

from yardfall.app import Settings, create_app
from yardfall.web.http.watch.limits import Limits

NAMES = st.text(st.characters(codec="utf-8", categories=("L", "N")), min_size=1, max_size=9)
JOBS = "/api/v1/jobs"
RUN = settings(
    max_examples=4,
    stateful_step_count=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def of_service(app, content: bytes):
    """The machine on one service; each run of it is on a key of its own. `content` is a raster."""

    class Kept(RuleBasedStateMachine):
        jobs, files = Bundle("jobs"), Bundle("files")

        def __init__(self) -> None:
            super().__init__()
            _, secret = app.extensions["keys"].make("Ann")
            self.client = app.test_client()
            self.client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
            self.kept: dict[str, tuple[int, str, bool]] = {}
            self.there: set[str] = set()

        @rule(target=jobs, name=NAMES)
        def keep(self, name: str) -> str:
            answer = self.client.post(JOBS, json={"name": name, "draft": True, "request": {}})
            assert answer.status_code == 201
            self.kept[answer.json["id"]] = (1, name, False)
            return answer.json["id"]

        @rule(job=jobs, name=NAMES, tag=st.sampled_from(["its own", "the one before", "*"]))
        def save(self, job: str, name: str, tag: str) -> None:
            number, _, away = self.kept.get(job, (0, "", False))
            state = "-archived" if away else ""
            sent = {"its own": f'"{number}{state}"', "the one before": f'"{number - 1}"', "*": "*"}
            body = {"name": name, "draft": True, "request": {"n": number}}
            answer = self.client.put(f"{JOBS}/{job}", json=body, headers={"If-Match": sent[tag]})
            if not number:
                assert answer.status_code == 404
            elif tag == "the one before":
                assert answer.status_code == 412
            else:
                assert (answer.status_code, answer.json["revision"]) == (200, number + 1)
                self.kept[job] = (number + 1, name, away)

        @rule(job=jobs, away=st.booleans())
        def archive(self, job: str, away: bool) -> None:
            answer = self.client.post(f"{JOBS}/{job}/archive", json={"archived": away})
            assert answer.status_code == (200 if job in self.kept else 404)
            if job in self.kept:
                self.kept[job] = (*self.kept[job][:2], away)

        @rule(target=jobs, job=jobs)
        def copy(self, job: str) -> str:
            answer = self.client.post(f"{JOBS}/{job}/copies", json={})
            if job not in self.kept:
                assert answer.status_code == 404
                return job
            assert answer.status_code == 201
            self.kept[answer.json["id"]] = (1, self.kept[job][1], False)
            return answer.json["id"]

        @rule(job=jobs)
        def forget(self, job: str) -> None:
            answer = self.client.delete(f"{JOBS}/{job}", headers={"If-Match": "*"})
            assert answer.status_code == (204 if self.kept.pop(job, None) else 404)

        @rule(target=files, whole=st.booleans())
        def upload(self, whole: bool) -> str:
            sent = content if whole else content[: len(content) // 2]
            answer = self.client.post("/api/v1/rasters", data={"file": (io.BytesIO(sent), "a.tif")})
            assert answer.status_code == (201 if whole else 422)
            if not whole:
                return "0" * 32
            self.there.add(answer.json["id"])
            return answer.json["id"]

        @rule(file=consumes(files), job=jobs)
        def forget_with_its_file(self, file: str, job: str) -> None:
            body = {"name": "a", "draft": True, "request": {"raster": file}}
            made = self.client.post(JOBS, json=body).json["id"]
            path = f"{JOBS}/{made}?files=delete"
            assert self.client.delete(path, headers={"If-Match": "*"}).status_code == 204
            self.there.discard(file)

        @invariant()
        def all_is_there(self) -> None:
            listed = self.client.get(f"{JOBS}?state=all&page_size=100").json["jobs"]
            assert {j["id"]: (j["revision"], j["name"], j["archived"]) for j in listed} == self.kept
            rasters = self.client.get("/api/v1/rasters?page_size=100").json["rasters"]
            assert {raster["id"] for raster in rasters} == self.there

    return Kept


def test_in_any_order_what_is_kept_is_what_was_acknowledged(tmp_path, tiff) -> None:
    app = create_app(Settings(tmp_path, limits=Limits(requests_per_s=1e6, burst=10**6)))
    content = tiff(np.full((20, 20), 100, np.float32))
    run_state_machine_as_test(lambda: of_service(app, content)(), settings=RUN)
    app.extensions["engine"].dispose()
