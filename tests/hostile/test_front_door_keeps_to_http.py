"""What the front door adds changes nothing for who keeps to HTTP: RFC 9112, RFC 9110 10.1.1."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from front import head, make_keys, served

BODY = (Path(__file__).resolve().parents[2] / "openapi/examples/level_line.json").read_bytes()
JSON = "Content-Type: application/json"


@pytest.fixture(scope="module")
def ann(tmp_path_factory):
    folder = tmp_path_factory.mktemp("served")
    (key,) = make_keys(folder, "Ann")
    with served(folder) as server:
        yield server, key


def read_all(opened) -> bytes:
    content = b""
    while part := opened.recv(65536):
        content += part
    return content


def test_the_body_is_asked_for_where_it_may_be_sent(ann) -> None:
    server, key = ann
    lines = (JSON, f"Content-Length: {len(BODY)}", "Expect: 100-continue", "Connection: close")
    with server.connect(head("POST", "/plan", key, *lines)) as opened:
        assert opened.recv(65536) == b"HTTP/1.1 100 Continue\r\n\r\n"
        opened.sendall(BODY)
        assert read_all(opened).startswith(b"HTTP/1.1 200 OK")


@pytest.mark.parametrize("size", [1, 1000, 100_000])
def test_a_body_in_pieces(size: int, ann) -> None:
    server, key = ann
    lines = (JSON, f"Content-Length: {len(BODY)}", "Connection: close")
    with server.connect() as opened:
        whole = head("POST", "/plan", key, *lines) + BODY
        for at in range(0, len(whole), size):
            opened.sendall(whole[at : at + size])
        assert read_all(opened).startswith(b"HTTP/1.1 200 OK")


def test_a_body_in_chunks(ann) -> None:
    server, key = ann
    lines = (JSON, "Transfer-Encoding: chunked", "Connection: close")
    with server.connect(head("POST", "/plan", key, *lines)) as opened:
        for at in range(0, len(BODY), 200):
            part = BODY[at : at + 200]
            opened.sendall(f"{len(part):x}\r\n".encode() + part + b"\r\n")
        opened.sendall(b"0\r\n\r\n")
        assert read_all(opened).startswith(b"HTTP/1.1 200 OK")


def test_several_requests_in_one_packet_are_answered_in_their_order(ann) -> None:
    server, key = ann
    plan = head("POST", "/plan", key, JSON, f"Content-Length: {len(BODY)}") + BODY
    first = head("GET", "/jobs", key)
    last = head("GET", "/nowhere", key, "Connection: close")
    with server.connect(first + plan + first + plan + last) as opened:
        content = read_all(opened)
    assert re.findall(rb"HTTP/1\.1 (\d+) ", content) == [b"200"] * 4 + [b"404"]


def test_one_connection_may_be_used_again_and_again(ann) -> None:
    import http.client

    server, key = ann
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    for _ in range(20):
        connection.request("POST", "/api/v1/plan", BODY, headers)
        answer = connection.getresponse()
        assert (answer.status, len(answer.read()) > 1000) == (200, True)
    first = connection.sock
    connection.request("GET", "/api/v1/jobs", headers=headers)
    connection.getresponse().read()
    assert connection.sock is first
    connection.close()


@pytest.mark.parametrize(
    "sent",
    [
        b"\r\n\r\n" * 3,
        b"GET / HTTP/1.1\r\nHost a\r\n\r\n",
        b"BREW / HTCPCP/1.0\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200),
        b"POST /api/v1/plan HTTP/1.1\r\nContent-Length: -5\r\n\r\n",
        b"POST /api/v1/plan HTTP/1.1\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
        b"POST /api/v1/plan HTTP/1.1\r\nTransfer-Encoding: xchunked\r\n\r\n0\r\n\r\n",
        b"GET / HTTP/1.1\r\nX-A: " + b"a" * 400_000 + b"\r\n\r\n",
        b"POST /api/v1/rasters HTTP/1.1\r\nContent-Length: 99999999999999\r\n\r\n",
    ],
    ids=["blank", "header", "protocol", "tls", "negative", "two lengths", "coding", "long", "huge"],
)
def test_what_is_no_request_is_refused_and_harms_nothing(sent: bytes, ann) -> None:
    server, key = ann
    with server.connect() as opened:
        try:
            opened.sendall(sent)
            opened.shutdown(1)
            content = read_all(opened)
        except OSError:
            content = b""
    assert content == b"" or content.split()[1][:1] in (b"4", b"5"), content[:200]
    assert server.call("GET", "/pipes", key=key)[0] == 200
    assert "Traceback" not in server.log
