"""Without keys, whatever passes on others' requests is refused by any sign that it leaves."""

from __future__ import annotations

from pathlib import Path

import pytest
from front import served

SIGNS = {
    "Via": "1.1 somewhere",
    "Forwarded": "for=192.0.2.7",
    "X-Forwarded-For": "192.0.2.7",
    "X-Forwarded-Host": "yard.example",
    "X-Forwarded-Proto": "https",
    "X-Forwarded-Port": "443",
    "X-Forwarded-Server": "a",
    "X-Real-IP": "192.0.2.7",
    "X-Client-IP": "192.0.2.7",
    "X-Cluster-Client-IP": "192.0.2.7",
    "True-Client-IP": "192.0.2.7",
    "Client-IP": "192.0.2.7",
    "CF-Connecting-IP": "192.0.2.7",
    "CF-Ray": "8f0a",
    "CDN-Loop": "a",
    "X-Original-Host": "yard.example",
    "X-Envoy-External-Address": "192.0.2.7",
    "X-Amzn-Trace-Id": "Root=1-6",
    "Fly-Client-IP": "192.0.2.7",
    "Fastly-Client-IP": "192.0.2.7",
    "X_Forwarded_For": "192.0.2.7",
    "X-Nginx-Proxy": "true",
    "X-Varnish": "12",
    "X-Amz-Cf-Id": "a",
    "X-Appengine-User-Ip": "192.0.2.7",
    "X-Scheme": "https",
    "Front-End-Https": "on",
    "X-Remote-Addr": "192.0.2.7",
    "X-Cloud-Trace-Context": "a/1",
    "Proxy-Connection": "keep-alive",
    "Max-Forwards": "3",
    "Tailscale-User-Login": "a@b.example",
}


@pytest.mark.parametrize("name", SIGNS)
def test_each_sign_is_enough(name: str, client) -> None:
    assert client.get("/api/v1/rasters").status_code == 200
    for value in (SIGNS[name], ""):
        answer = client.get("/api/v1/rasters", headers={name: value})
        assert answer.status_code == 403
        assert "yardfall key new" in answer.json["detail"]


@pytest.mark.parametrize("host", ["yard.example", "10.0.0.4:8000", "a.trycloud.example", "0.0.0.0"])
def test_a_host_that_is_not_this_machine_is_enough(host: str, client) -> None:
    assert client.get("/api/v1/rasters", headers={"Host": host}).status_code == 403


def test_the_start_says_so_and_the_server_lets_each_sign_through_to_be_seen(tmp_path: Path) -> None:
    with served(tmp_path) as server:
        assert "a tunnel" in server.log
        assert "yardfall key new NAME" in server.log
        assert server.call("GET", "/rasters")[0] == 200
        passed = {name: server.call("GET", "/rasters", **{name: SIGNS[name]})[0] for name in SIGNS}
    assert set(passed.values()) == {403}, passed


def test_with_a_key_a_proxy_is_served(app, client) -> None:
    _, secret = app.extensions["keys"].make("Ann")
    headers = SIGNS | {"Authorization": f"Bearer {secret}", "Host": "yard.example"}
    assert client.get("/api/v1/rasters", headers=headers).status_code == 200
