"""Without a good key no body is read: the answer comes at once, and nothing is kept of it."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest
from front import ends_within, head, make_keys, served

LARGE = 400 << 20


@pytest.fixture(scope="module")
def crew(tmp_path_factory):
    """A server with keys, and one that may only read."""
    folder = tmp_path_factory.mktemp("served")
    make_keys(folder, "Ann")
    (key,) = make_keys(folder, "Crew", scope="read")
    with served(folder) as server:
        yield server, key


@pytest.fixture
def server(crew):
    return crew[0]


def answer(opened) -> tuple[int, dict]:
    """Status and problem of an answer that ends with its connection."""
    content = b""
    while part := opened.recv(65536):
        content += part
    lines, _, body = content.partition(b"\r\n\r\n")
    return int(lines.split(b" ")[1]), json.loads(body)


def send_on(opened, seconds: float) -> None:
    """Send for so long."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        opened.sendall(bytes(65536))
        time.sleep(0.05)


WAYS = {
    "raster": ("/rasters", f"Content-Length: {LARGE}", "Content-Type: multipart/form-data"),
    "chunks": ("/imports", "Transfer-Encoding: chunked", "Content-Type: multipart/form-data"),
    "plan": ("/plan", "Content-Length: 4000000", "Content-Type: application/json"),
    "asks first": ("/rasters", f"Content-Length: {LARGE}", "Expect: 100-continue"),
}


@pytest.mark.parametrize("key", ["", "yard_" + "x" * 43], ids=["no key", "wrong key"])
@pytest.mark.parametrize("way", WAYS)
def test_it_is_refused_before_its_body(way: str, key: str, server) -> None:
    began = time.monotonic()
    with server.connect(head("POST", WAYS[way][0], key, *WAYS[way][1:])) as opened:
        status, problem = answer(opened)
    assert (status, problem["status"]) == (401, 401), "and no 100 Continue before it"
    assert time.monotonic() - began < 5


def test_the_refusal_is_read_by_one_who_goes_on_sending(server) -> None:
    """What is sent meanwhile is thrown away for a while: a reset would take the answer along."""
    with server.connect(head("POST", *("/rasters", ""), f"Content-Length: {LARGE}")) as opened:
        for _ in range(8):
            opened.sendall(bytes(65536))
            time.sleep(0.02)
        assert answer(opened)[0] == 401
        with pytest.raises(OSError, match=r"(?i)pipe|reset"):  # it is not read for ever
            send_on(opened, 40)


def test_an_open_call_takes_no_body(server) -> None:
    with server.connect(head("POST", "/health", "", f"Content-Length: {LARGE}")) as opened:
        assert answer(opened)[0] == 405


def test_a_key_that_may_only_read_uploads_nothing(crew) -> None:
    server, key = crew
    with server.connect(head("POST", "/rasters", key, f"Content-Length: {LARGE}")) as opened:
        assert answer(opened)[0] == 403


def test_without_keys_a_forwarded_body_is_not_read(tmp_path: Path) -> None:
    with served(tmp_path) as server:
        sent = head("POST", "/rasters", "", f"Content-Length: {LARGE}", "Via: 1.1 somewhere")
        with server.connect(sent) as opened:
            assert answer(opened)[0] == 403
        with server.connect(head("POST", "/rasters", "", f"Content-Length: {LARGE}")) as opened:
            assert not ends_within(opened, 1), "its own machine may send one"
