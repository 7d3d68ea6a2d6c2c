"""Bundles made to harm: 1.5 GiB of blanks in 1.3 KB of bzip2, and what is like it."""

from __future__ import annotations

import io
import json
import zipfile

import pytest

from yardfall.use_cases import transfer

HEAD = json.dumps(transfer.FORMAT)


def send(client, bundle: bytes):
    return client.post("/api/v1/imports", data={"file": (io.BytesIO(bundle), "a.zip")})


def bomb(packed_as: int, name: str, blanks_mib: int) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", packed_as) as bundle:
        parts = {
            transfer.HEAD: HEAD,
            transfer.RASTERS: "",
            transfer.SITE_PLANS: "",
            transfer.JOBS: "",
        }
        for part, text in parts.items():
            with bundle.open(part, "w", force_zip64=True) as file:
                file.write(text.encode())
                for _ in range(blanks_mib if part == name else 0):
                    file.write(b" " * (1 << 20))
    return out.getvalue()


@pytest.mark.parametrize("packed_as", [zipfile.ZIP_BZIP2, zipfile.ZIP_DEFLATED, zipfile.ZIP_LZMA])
@pytest.mark.parametrize("name", [transfer.HEAD, transfer.JOBS, transfer.RASTERS])
def test_blanks_are_refused_before_they_are_unpacked(client, cost, packed_as, name) -> None:
    bundle = bomb(packed_as, name, 100)
    with cost() as spent:
        answer = send(client, bundle)
    assert answer.status_code in (413, 422)
    assert spent.cpu_s < 1
    assert spent.grown_mib < 50


@pytest.mark.long
def test_a_gigabyte_and_a_half_of_blanks_in_bzip2(client, cost) -> None:
    bundle = bomb(zipfile.ZIP_BZIP2, transfer.JOBS, 1536)
    assert len(bundle) < 10_000
    with cost() as spent:
        assert send(client, bundle).status_code == 422
    assert spent.cpu_s < 1
    assert spent.grown_mib < 50


def test_lines_and_jobs_are_counted(client, yard_request, monkeypatch) -> None:
    for i in range(3):
        made = client.post("/api/v1/jobs", json={"name": f"job {i}", "request": yard_request})
        assert made.status_code == 201
    with client.get("/api/v1/export") as answer:
        bundle = answer.data
    for name, most in (("MOST_JOBS", 2), ("MOST_LINES", 2)):
        with monkeypatch.context() as patch:
            patch.setattr(transfer, name, most)
            assert send(client, bundle).status_code == 413
        assert client.get("/api/v1/jobs").json["page"]["total"] == 3, "all of it or nothing"
    assert send(client, bundle).status_code == 201


def test_an_import_has_a_time(client, yard_request, monkeypatch) -> None:
    client.post("/api/v1/jobs", json={"name": "a", "request": yard_request})
    with client.get("/api/v1/export") as answer:
        bundle = answer.data
    monkeypatch.setattr("yardfall.web.http.watch.turns.IMPORT_S", 0.0)
    monkeypatch.setattr("yardfall.web.http.watch.turns.max", lambda *_: 1e-9, raising=False)
    answer = send(client, bundle)
    assert answer.status_code == 503
    assert client.get("/api/v1/jobs").json["page"]["total"] == 1


def test_rows_count_towards_a_keys_share(keyed) -> None:
    """A thousand jobs of nothing take their room all the same."""
    client = keyed("ann", kept_mib=1, requests_per_s=1e6, burst=10**6)[1]["ann"]
    body = {"name": "x", "request": {}, "draft": True}
    kept = 0
    while (status := client.post("/api/v1/jobs", json=body).status_code) == 201 and kept < 600:
        kept += 1
    assert status == 413
    assert 200 < kept < 600
