"""Who may call: the one user of a machine without keys; else a key, which sees its own alone."""

from __future__ import annotations

import base64
import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from yardfall.app import Settings, create_app, load_demo
from yardfall.store.keys import KeyStore
from yardfall.use_cases.reach import chance as reach_chance
from yardfall.web.http.watch.limits import Limits

JOBS = "/api/v1/jobs"
EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
REACH = EXAMPLES / "reach"


@pytest.fixture
def keys(app) -> KeyStore:
    return app.extensions["keys"]


def bearer(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


@pytest.fixture
def with_key(app, keys):
    """A client that sends a key of its own."""

    def make(name: str = "Ann", **options):
        key, secret = keys.make(name, **options)
        client = app.test_client()
        client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
        client.key, client.secret = key, secret
        return client

    return make


@pytest.mark.parametrize(
    "request_",
    [
        {"environ_overrides": {"REMOTE_ADDR": "192.0.2.7"}},
        {"headers": {"Host": "yard.example"}},
        {"headers": {"Host": "127.0.0.1.example:8000"}},
        {"headers": {"X-Forwarded-For": "192.0.2.7"}},
        {"headers": {"Forwarded": "for=192.0.2.7"}},
        {"headers": {"Origin": "https://yard.example"}},
        {"headers": {"Origin": "null"}},
    ],
    ids=["address", "name", "like name", "proxy", "proxy by rfc 7239", "origin", "no origin"],
)
def test_without_keys_only_the_own_machine_is_served(request_: dict, client) -> None:
    assert client.get("/api/v1/rasters").status_code == 200
    answer = client.get("/api/v1/rasters", **request_)
    assert (answer.status_code, answer.mimetype) == (403, "application/problem+json")


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost", "[::1]:8000"])
def test_the_own_machine_by_any_of_its_names(host: str, client) -> None:
    assert client.get("/api/v1/rasters", headers={"Host": host}).status_code == 200


def test_another_sites_page_can_change_nothing(client, tiff, with_key) -> None:
    def send(**headers: str) -> int:
        parts = {"file": (io.BytesIO(tiff()), "yard.tif")}
        return client.post("/api/v1/rasters", data=parts, headers=headers).status_code

    assert send(**{"Sec-Fetch-Site": "cross-site"}) == 403
    assert send(**{"Sec-Fetch-Site": "same-origin"}) == 201
    secret = with_key().secret
    basic = "Basic " + base64.b64encode(f"any:{secret}".encode()).decode()
    password = {"Authorization": basic, "X-Requested-With": "yardfall-page"}
    assert send(**{"Sec-Fetch-Site": "cross-site"}, **password) == 403
    assert send(**{"Sec-Fetch-Site": "same-origin"}, **password) == 201
    assert send(**{"Sec-Fetch-Site": "same-origin", "Authorization": basic}) == 403


def test_once_there_is_a_key_one_is_needed(app, client, keys, with_key) -> None:
    ann = with_key()
    assert ann.get("/api/v1/rasters").status_code == 200
    answer = client.get("/api/v1/rasters")
    assert (answer.status_code, answer.mimetype) == (401, "application/problem+json")
    challenges = answer.headers.getlist("WWW-Authenticate")
    assert sorted(c.split()[0] for c in challenges) == ["Basic", "Bearer"]
    keys.revoke(ann.key.id)
    assert ann.get("/api/v1/rasters").status_code == 401
    assert client.get("/api/v1/rasters").status_code == 401, "no key alive opens nothing"


def test_a_key_by_bearer_or_as_a_password(client, with_key) -> None:
    secret = with_key().secret

    def status(header: str) -> int:
        return client.get("/api/v1/rasters", headers={"Authorization": header}).status_code

    def basic(text: str) -> str:
        return "Basic " + base64.b64encode(text.encode()).decode()

    assert status(f"Bearer {secret}") == status(basic(f"ann:{secret}")) == 200
    wrong = [f"Bearer {secret}x", f"Bearer {secret[:-1]}", "Bearer ", "Bearer", f"Token {secret}"]
    wrong += [basic(f"{secret}:ann"), basic(secret), "Basic %%%", "\xff", f"Bearer {'y' * 9000}"]
    assert [status(header) for header in wrong] == [401] * len(wrong)


def test_only_digests_are_kept(app, with_key, tmp_path) -> None:
    secret = with_key().secret
    kept = b"".join(p.read_bytes() for p in (tmp_path / "data").iterdir() if p.is_file())
    assert b"Ann" in kept
    assert secret.encode() not in kept


def every_call(app) -> list[tuple[str, str]]:
    """Every method and path the service has, as it knows them itself."""
    return [
        (method, rule.rule)
        for rule in app.url_map.iter_rules()
        for method in sorted(rule.methods - {"HEAD", "OPTIONS"})
    ]


OPEN = {"/api/v1/health", "/api/v1/openapi.json", "/reference", "/reference/<path:name>"}
OPEN |= {"/static/<path:name>", "/leaflet/<path:name>", "/offline.js", "/crew"}
OPEN |= {"/problems", "/problems/<string:kind>"}


def test_every_call_needs_a_key_but_those_that_hold_no_data(app, client, with_key) -> None:
    with_key()
    for method, path in every_call(app):
        filled = re.sub(r"<int:\w+>", "1", re.sub(r"<(string|path):\w+>", "0" * 32, path))
        status = client.open(filled, method=method, buffered=True).status_code
        assert (status == 401) == (path not in OPEN), f"{method} {path} answers {status}"


DUG = {"as_dug": [{"at": 0, "depth": 14}]}


def ids_of(client, examples, tiff) -> dict[str, str]:
    """One of each kind of thing that has an id, kept by a key."""
    parts = {"file": (io.BytesIO(tiff()), "yard.tif")}
    raster = client.post("/api/v1/rasters", data=parts).json["id"]
    body = examples["raster"]
    body["ground"]["raster"] = raster
    job = client.post(JOBS, json={"name": "Ann's", "request": body}).json["id"]
    checked = client.post(f"{JOBS}/{job}/grade-checks", json=DUG)
    assert checked.status_code == 201, checked.get_data(as_text=True)
    link = client.post(f"{JOBS}/{job}/crew-links", json={"name": "Dave's crew"}).json["id"]
    out = io.BytesIO()
    Image.new("RGB", (60, 40)).save(out, "PNG")
    parts = {"file": (io.BytesIO(out.getvalue()), "plan.png")}
    plan = client.post("/api/v1/site-plans", data=parts).json["id"]
    return {"rasters": raster, "jobs": job, "site-plans": plan, "crew-links": link}


PLACED = {"units": "us", "scale": {"points": [[5, 5], [55, 5]], "distance": 30}}
BODIES = {
    "PUT /api/v1/site-plans/<string:id>/placement": PLACED,
    "PUT /api/v1/jobs/<string:id>": {"name": "x", "request": {}, "draft": True},
    "POST /api/v1/jobs/<string:id>/copies": {},
    "POST /api/v1/jobs/<string:id>/archive": {"archived": True},
    "POST /api/v1/jobs/<string:id>/grade-checks": DUG,
    "POST /api/v1/jobs/<string:id>/grade-check": DUG,
    "POST /api/v1/jobs/<string:id>/crew-links": {"name": "x"},
}


def test_every_call_that_takes_an_id_hides_another_keys(app, examples, tiff, with_key) -> None:
    """Calls are asked of the service itself: a new one is tested, or fails for want of an id."""
    ann, bob = with_key("Ann"), with_key("Bob")
    ids = ids_of(ann, examples, tiff)
    calls = [(m, p) for m, p in every_call(app) if "<string:id>" in p]
    assert len(calls) >= 24
    for method, path in calls:
        kind = path.split("/")[3]
        filled = path.replace("<string:id>", ids[kind]).replace("<int:number>", "1")
        filled = filled.replace("<string:link>", ids["crew-links"])
        body = BODIES.get(f"{method} {path}")
        sent = {"headers": {"If-Match": "*"}} | ({"json": body} if body is not None else {})
        hidden = bob.open(filled, method=method, buffered=True, **sent)
        assert hidden.status_code == 404, f"{method} {path} answers {hidden.status_code}"
        missing = filled.replace(ids[kind], "0" * 32)
        nothing = bob.open(missing, method=method, **sent)
        told = [
            a.get_data(as_text=True).replace(k, "")
            for a, k in ((hidden, ids[kind]), (nothing, "0" * 32))
        ]
        assert told[0] == told[1], "another's is told from what is not there"
        if method == "GET":
            assert ann.get(filled, buffered=True).status_code == 200
    assert bob.get(JOBS).json["jobs"] == []
    assert bob.get("/api/v1/rasters").json["rasters"] == []
    assert bob.get("/api/v1/site-plans").json["page"]["total"] == 0
    assert ann.get("/api/v1/site-plans").json["page"]["total"] == 1
    assert ann.get(JOBS).json["page"]["total"] == ann.get("/api/v1/rasters").json["page"]["total"]


def test_another_keys_raster_cannot_be_planned_on(examples, tiff, with_key) -> None:
    ann, bob = with_key("Ann"), with_key("Bob")
    body = examples["raster"]
    body["ground"]["raster"] = ids_of(ann, examples, tiff)["rasters"]
    profile = {name: body[name] for name in ("units", "route", "ground")}
    two = [{"name": name, "plan": body} for name in "ab"]
    for path, sent in (
        ("plan", body),
        ("profile", profile),
        ("jobs", {"name": "x", "request": body}),
        ("papers/stations.csv", body),
        ("grade-check", {"plan": body, "as_dug": []}),
        ("compare", {"plans": two}),
    ):
        assert ann.post(f"/api/v1/{path}", json=sent).status_code in (200, 201)
        answer = bob.post(f"/api/v1/{path}", json=sent)
        assert answer.status_code == 422
        assert answer.json["errors"][0]["pointer"].endswith("/ground/raster")


def test_keys_may_share_what_they_keep(examples, tiff, with_key) -> None:
    ann = with_key("Ann")
    ids = ids_of(ann, examples, tiff)
    crew = with_key("Crew", scope="read", shares=ann.key.id)
    assert crew.get(f"{JOBS}/{ids['jobs']}").status_code == 200
    assert crew.post("/api/v1/plan", json=examples["level_line"]).status_code == 200
    for answer in (
        crew.delete(f"{JOBS}/{ids['jobs']}", headers={"If-Match": "*"}),
        crew.post(JOBS, json={}),
        crew.post("/api/v1/rasters", data={}),
        crew.post("/api/v1/imports", data={}),
        crew.post("/api/v1/nowhere", json={}),
    ):
        assert answer.status_code == 403
        assert "--scope write" in answer.json["detail"]
    second = with_key("Ann again", shares=ann.key.id)
    saved = second.put(
        f"{JOBS}/{ids['jobs']}",
        json={"name": "x", "request": {}, "draft": True},
        headers={"If-Match": "*"},
    )
    assert saved.json["saved_by"] == "Ann again"


@pytest.mark.parametrize("path", sorted((EXAMPLES / "calls").glob("*.json")), ids=lambda p: p.stem)
def test_a_key_that_reads_may_have_anything_worked_out(path: Path, with_key) -> None:
    call, body = path.stem.replace("_", "-"), json.loads(path.read_text("utf-8"))
    crew = with_key("Crew", scope="read")
    assert crew.post(f"/api/v1/{call}", json=body).status_code == 200


def test_what_was_kept_before_keys_is_adopted(client, examples, tiff, with_key) -> None:
    ids = ids_of(client, examples, tiff)
    bob, ann = with_key("Bob"), with_key("Ann", adopts=True)
    assert bob.get(f"{JOBS}/{ids['jobs']}").status_code == 404
    assert ann.get(f"{JOBS}/{ids['jobs']}").status_code == 200
    assert ann.get(f"/api/v1/rasters/{ids['rasters']}").status_code == 200


def test_the_demo_yard_is_everybodys_and_nobodys_to_delete(app, with_key) -> None:
    load_demo(app.extensions["rasters"])
    ann = with_key()
    (demo,) = ann.get("/api/v1/rasters").json["rasters"]
    assert ann.get("/demo.json").json["raster"] == demo["id"]
    answer = ann.delete(f"/api/v1/rasters/{demo['id']}")
    assert (answer.status_code, answer.mimetype) == (403, "application/problem+json")
    assert ann.get(demo["relief"]).status_code == 200


def test_counts_are_for_an_admin(client, with_key) -> None:
    assert client.get("/metrics").status_code == 200
    assert with_key().get("/metrics").status_code == 403
    assert with_key(scope="admin").get("/metrics").status_code == 200


@pytest.fixture
def limited(tmp_path, yard_request):
    """A client with a key of a service with tight limits."""

    def make(**limits):
        app = create_app(Settings(tmp_path / "limited", limits=Limits(**limits)))
        client = app.test_client()
        _, secret = app.extensions["keys"].make("Ann")
        client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
        return client

    return make


def test_a_rate_is_kept_and_the_wait_told(limited, monkeypatch) -> None:
    now = 1000.0
    monkeypatch.setattr("yardfall.web.http.watch.limits.time.monotonic", lambda: now)
    ann = limited(requests_per_s=0.5, burst=3)
    assert [ann.get("/api/v1/pipes").status_code for _ in range(4)] == [200, 200, 200, 429]
    answer = ann.get("/api/v1/pipes")
    assert answer.headers["Retry-After"] == "2"
    assert "Wait 2.0 s" in answer.json["detail"]
    assert answer.headers["RateLimit-Policy"] == '"key";q=3;w=6'
    assert answer.headers["RateLimit"] == '"key";r=0;t=6'
    now += 2.0
    assert [ann.get("/api/v1/pipes").status_code for _ in range(2)] == [200, 429]
    assert ann.get("/api/v1/health").status_code == 200
    now += 60.0
    assert ann.get("/api/v1/pipes").headers["RateLimit"] == '"key";r=2;t=2'
    assert "RateLimit" not in ann.get("/api/v1/health").headers


def test_a_key_keeps_no_more_than_its_share(limited, tiff) -> None:
    ann = limited(kept_mib=1)
    large = tiff(np.random.default_rng(1).normal(100, 1, (200, 500)).astype(np.float32))  # 400 kB
    sent = [
        ann.post("/api/v1/rasters", data={"file": (io.BytesIO(large), "a.tif")}) for _ in range(3)
    ]
    assert [answer.status_code for answer in sent] == [201, 201, 413]
    assert "Delete rasters or jobs" in sent[2].json["detail"]
    assert ann.get("/api/v1/rasters").json["page"]["total"] == 2


def test_a_sum_takes_no_longer_than_it_may(limited, yard_request) -> None:
    ann = limited(sum_s=1e-9)
    for path, body in (("plan", yard_request), ("jobs", {"name": "x", "request": yard_request})):
        answer = ann.post(f"/api/v1/{path}", json=body)
        assert answer.status_code == 503
        assert answer.headers["Retry-After"]
        assert "Ask for less at once" in answer.json["detail"]
    assert limited(sum_s=30).post("/api/v1/plan", json=yard_request).status_code == 200


def test_a_search_of_a_yard_asks_for_its_time_between_draws(limited, monkeypatch) -> None:
    body = json.loads((REACH / "spots.json").read_text("utf-8"))
    body |= {"draws": 200, "accuracy": {"sigma": 1}}
    now, drawn = [1000.0], []
    monkeypatch.setattr("yardfall.core.deadline.time.monotonic", lambda: now[0])
    follow = reach_chance.follow

    def slow(*given):
        drawn.append(1)
        now[0] += 1.0
        return follow(*given)

    monkeypatch.setattr(reach_chance, "follow", slow)
    answer = limited(sum_s=5).post("/api/v1/reach", json=body)
    assert answer.status_code == 503
    assert "fewer draws" in answer.json["detail"]
    assert 5 <= len(drawn) < 20


@pytest.mark.parametrize("text", ["0", "-1", "many", "nan", ""])
def test_limits_from_the_environment_are_checked(text: str) -> None:
    assert Limits.from_environment({"YARDFALL_SUM_S": "3.5"}).sum_s == 3.5
    with pytest.raises(ValueError, match="YARDFALL_BURST"):
        Limits.from_environment({"YARDFALL_BURST": text})
