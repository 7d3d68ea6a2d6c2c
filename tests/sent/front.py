"""A real `yardfall serve` for tests that misbehave towards it, and the ways to do so."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from serving import wait_for

from yardfall.store.database import open_database
from yardfall.store.keys import KeyStore


class Served:
    """A server's process, and calls to it."""

    def __init__(self, process: subprocess.Popen[bytes], port: int, data: Path, log: Path) -> None:
        self.process, self.port, self.data, self._log = process, port, data, log

    @property
    def log(self) -> str:
        """What it has written."""
        return self._log.read_text("utf-8", "replace")

    def connect(self, first: bytes = b"", takes: int | None = None) -> socket.socket:
        """A connection that has sent so much; `takes` is how many bytes it is ready to take."""
        opened = socket.socket()
        if takes:
            opened.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, takes)
        opened.settimeout(30)
        opened.connect(("127.0.0.1", self.port))
        opened.sendall(first)
        return opened

    def call(
        self, method: str, path: str, body: Any = None, key: str = "", **headers: str
    ) -> tuple[int, bytes]:
        """One call on a connection of its own: status and content."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        sent = headers | ({"Authorization": f"Bearer {key}"} if key else {})
        if body is not None and not isinstance(body, bytes):
            body = json.dumps(body).encode()
            sent["Content-Type"] = "application/json"
        try:
            connection.request(method, f"/api/v1{path}", body, sent)
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()

    def waits_ms(self, path: str, key: str = "", times: int = 30) -> list[float]:
        """How long calls take, shortest first. Each must be answered with 200."""
        found = []
        for _ in range(times):
            began = time.perf_counter()
            status, content = self.call("GET", path, key=key)
            found.append(1000 * (time.perf_counter() - began))
            assert status == 200, content
            time.sleep(0.02)
        return sorted(found)


@contextlib.contextmanager
def served(folder: Path, *arguments: str, **environment: str) -> Iterator[Served]:
    """Run `yardfall serve` over `folder/data`."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    data, log = folder / "data", folder / "server.log"
    command = [sys.executable, "-m", "yardfall", "serve", "--port", str(port)]
    command += ["--data", str(data), *arguments]
    env = {**os.environ, **environment}
    with log.open("ab") as out, subprocess.Popen(command, stdout=out, stderr=out, env=env) as run:
        try:
            wait_for(f"http://127.0.0.1:{port}", run, log)
            yield Served(run, port, data, log)
        finally:
            run.kill()
            run.wait(20)


def make_keys(folder: Path, *names: str, scope: str = "write") -> list[str]:
    """The secrets of new keys of the data in `folder/data`, of a server that runs or not yet."""
    (folder / "data").mkdir(exist_ok=True)
    engine = open_database(folder / "data")
    secrets = [KeyStore(engine).make(name, scope)[1] for name in names]
    engine.dispose()
    return secrets


def head(method: str, path: str, key: str = "", *lines: str) -> bytes:
    """The head of a request, as it goes over the wire."""
    sent = [f"{method} /api/v1{path} HTTP/1.1", "Host: 127.0.0.1"]
    sent += [f"Authorization: Bearer {key}"] if key else []
    return "\r\n".join([*sent, *lines, "", ""]).encode()


def ends_within(opened: socket.socket, seconds: float) -> bool:
    """Whether the other side ends a connection in that time."""
    opened.settimeout(seconds)
    try:
        while opened.recv(65536):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True
