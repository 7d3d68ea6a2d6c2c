"""A form on another site's page changes nothing, though the browser sends the key along."""

from __future__ import annotations

import base64
import http.server
import io
import threading
from contextlib import contextmanager
from pathlib import Path

import chromium
import pytest
from front import make_keys, served
from playwright.sync_api import sync_playwright


@pytest.fixture
def send(app, tiff_of_its_own):
    """An upload as the page sends it with the password that the browser knows; its status."""
    _, secret = app.extensions["keys"].make("Ann")
    basic = "Basic " + base64.b64encode(f"any:{secret}".encode()).decode()
    client = app.test_client()

    def upload(**headers: str) -> int:
        sent = {"X-Requested-With": "yardfall-page"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        parts = {"file": (io.BytesIO(tiff_of_its_own), "yard.tif")}
        return client.post(
            "/api/v1/rasters", data=parts, headers={"Authorization": basic} | sent
        ).status_code

    return upload


@pytest.fixture(scope="module")
def tiff_of_its_own() -> bytes:
    import numpy as np
    from rasterio.io import MemoryFile
    from rasterio.transform import from_origin

    profile = {"driver": "GTiff", "width": 40, "height": 40, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 0.5, 0.5)}
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            out.write(np.ones((40, 40), np.float32), 1)
        return bytes(memory.read())


@pytest.mark.parametrize(
    ("host", "origin", "status"),
    [
        ("yard.example", "http://yard.example", 201),
        ("yard.example:8000", "http://yard.example:8000", 201),
        ("yard.example", "https://yard.example", 201),  # what ends TLS passed the Host on
        ("yard.example", "https://yard.example:443", 201),
        ("192.168.1.20:8000", "http://192.168.1.20:8000", 201),
        ("[fd00::1]:8000", "http://[fd00::1]:8000", 201),
        ("yard.example", "http://other.example", 403),
        ("yard.example:8000", "http://yard.example:8001", 403),
        ("yard.example:8000", "http://yard.example", 403),
        ("yard.example", "http://sub.yard.example", 403),
        ("yard.example", "http://yard.example.other.example", 403),
        ("192.168.1.20:8000", "http://192.168.1.21:8000", 403),
        ("192.168.1.20:8000", "http://127.0.0.1:8000", 403),
        ("yard.example", "null", 403),
        ("yard.example", "file://", 403),
        ("yard.example", "http://yard.example:99999", 403),
    ],
)
def test_the_origin_decides_where_a_browser_tells_nothing_else(send, host, origin, status) -> None:
    assert send(Host=host, Origin=origin) == status
    assert send(Host=host, Origin=origin, Sec_Fetch_Site="cross-site") == 403


def test_a_program_with_a_password_and_the_header_may(send) -> None:
    assert send(Host="yard.example") == 201


def test_a_form_alone_changes_nothing_though_nothing_tells_its_site(send) -> None:
    """As from a browser, or an extension in it, that leaves out Origin and Sec-Fetch-Site."""
    assert send(Host="yard.example", X_Requested_With="") == 403
    alike = {"Origin": "http://yard.example", "Sec_Fetch_Site": "same-origin"}
    assert send(Host="yard.example", X_Requested_With="", **alike) == 403


def test_no_other_sites_script_may_send_the_header(app) -> None:
    """A browser asks first (Fetch standard, CORS-preflight fetch), and no answer allows it."""
    asks = {"Origin": "http://other.example", "Access-Control-Request-Method": "POST"}
    asks |= {"Access-Control-Request-Headers": "x-requested-with"}
    answer = app.test_client().options("/api/v1/rasters", headers=asks)
    assert not [name for name in dict(answer.headers) if name.startswith("Access-Control-Allow")]


def test_without_keys_another_page_of_this_machine_changes_nothing(app, tiff_of_its_own) -> None:
    client = app.test_client()

    def upload(origin: str) -> int:
        parts = {"file": (io.BytesIO(tiff_of_its_own), "yard.tif")}
        headers = {"Host": "localhost:8000", "Origin": origin}
        return client.post("/api/v1/rasters", data=parts, headers=headers).status_code

    assert upload("http://localhost:3000") == 403
    assert upload("http://127.0.0.1:8000") == 403
    assert upload("http://localhost:8000") == 201


PAGE = """<form method=post enctype=multipart/form-data action="%s/api/v1/imports">
<textarea name=file>x</textarea></form><script>document.forms[0].submit()</script>"""


@contextmanager
def another_site(target: str):
    """A page that sends a form to the service by itself; its port."""

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write((PAGE % target).encode())

        def log_message(self, *_: object) -> None:
            """Nothing."""

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as site:
        threading.Thread(target=site.serve_forever, daemon=True).start()
        yield site.server_address[1]
        site.shutdown()


NAMES = {"by name": "planner.test", "by address": "192.168.77.5"}


@pytest.mark.browser
def test_a_real_browsers_form_over_plain_http(tmp_path: Path) -> None:
    """A browser sends no Sec-Fetch-Site to a place that it does not trust, and these are such."""
    (key,) = make_keys(tmp_path, "Ann")
    with served(tmp_path, "--log", "requests") as server, sync_playwright() as playwright:
        rules = ", ".join(f"MAP {name} 127.0.0.1" for name in (*NAMES.values(), "evil.test"))
        asked = [*chromium.ARGUMENTS, f"--host-resolver-rules={rules}"]
        with playwright.chromium.launch(
            executable_path=chromium.executable(), args=asked
        ) as browser:
            for way, name in NAMES.items():
                there = f"http://{name}:{server.port}"
                ann = {"username": "Ann", "password": key}
                with (
                    another_site(there) as port,
                    browser.new_context(http_credentials=ann) as context,
                ):
                    page = context.new_page()
                    assert page.goto(there).status == 200, way
                    with page.expect_response(lambda told: "/imports" in told.url) as sent:
                        page.goto(f"http://evil.test:{port}/", wait_until="commit")
                    headers = sent.value.request.all_headers()
                    assert "sec-fetch-site" not in headers, way
                    assert "authorization" in headers, f"the key came along, {way}: a real attack"
                    assert sent.value.status == 403, way
