"""Bytes of files on the web, by ranges (RFC 9110, section 14), and nothing that leads elsewhere.

The client is the standard library's own, because it does less than others: it follows no redirect,
takes no proxy or password from the environment, and its socket is ours, so that a time bounds an
exchange as a whole. A server that sends a byte every few seconds, of its header or of its body, is
over when the time is.
"""

from __future__ import annotations

import http.client
import re
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import SplitResult, urlsplit

AT_ONCE: Final = 16
"""Connections of one process to one host."""
CONNECT_S: Final = 3.0
ANSWER_S: Final = 6.0
"""One exchange, from its first byte to its last."""
TRIES: Final = 3
PAUSE_S: Final = 0.2
"""Before the second try; twice as long before the third."""
MOST_BYTES: Final = 64 << 20
"""Of one answer."""
CHUNK: Final = 64 << 10
AGAIN: Final = (429, 500, 502, 503, 504)
"""What a server says when the same may work a moment later."""
WHOLE: Final = re.compile(r"bytes (\d+)-(\d+)/(\d+)")


class WebFault(Exception):  # noqa: N818 - told to an operator, or turned into a sentence
    """A file far away cannot be read. `why` is slow, dead, moved, changed, gone or refused."""

    def __init__(self, why: str, told: str) -> None:
        super().__init__(told)
        self.why = why


@dataclass(frozen=True)
class Piece:
    """Bytes of a file, its whole size, and what names its state: its ETag, or when it changed."""

    content: bytes
    size: int
    tag: str


class _BySocket:
    """A socket whose every wait ends at one moment."""

    until_s = 0.0

    def recv_into(self, *args: Any, **kwargs: Any) -> int:
        self.settimeout(self._left_s())  # type: ignore[attr-defined]
        return int(super().recv_into(*args, **kwargs))  # type: ignore[misc]

    def sendall(self, *args: Any, **kwargs: Any) -> None:
        self.settimeout(self._left_s())  # type: ignore[attr-defined]
        super().sendall(*args, **kwargs)  # type: ignore[misc]

    def _left_s(self) -> float:
        left_s = self.until_s - time.monotonic()
        if left_s <= 0:
            raise TimeoutError
        return left_s


class _Plain(_BySocket, socket.socket):
    pass


class _Tls(_BySocket, ssl.SSLSocket):
    pass


class _Connection(http.client.HTTPConnection):
    """A connection with its own socket, over TLS where the address says so."""

    def __init__(self, host: str, port: int, *, tls: bool) -> None:
        super().__init__(host, port, timeout=CONNECT_S)
        self._tls = tls

    def connect(self) -> None:
        found = socket.create_connection((self.host, self.port), CONNECT_S)
        found.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        if self._tls:
            context = ssl.create_default_context()
            context.sslsocket_class = _Tls
            self.sock = context.wrap_socket(found, server_hostname=self.host)
        else:
            self.sock = _Plain(found.family, found.type, found.proto, found.detach())

    def by(self, until_s: float) -> None:
        """Have all waiting end then."""
        if self.sock is None:
            self.connect()
        self.sock.until_s = until_s  # type: ignore[union-attr]


def is_address(place: str) -> bool:
    """Whether this is an address that files are read from."""
    parts = urlsplit(place)
    return parts.scheme in ("http", "https") and bool(parts.hostname)


class WebFiles:
    """Connections to the hosts of sources, kept open between pieces."""

    def __init__(self, at_once: int = AT_ONCE, answer_s: float = ANSWER_S) -> None:
        self._idle: dict[tuple[str, str, int], list[_Connection]] = {}
        self._lock = threading.Lock()
        self._room = threading.BoundedSemaphore(at_once)
        self._answer_s = answer_s

    def read(
        self, address: str, start: int, stop: int, tag: str | None = None, until_s: float = 0.0
    ) -> Piece:
        """Bytes `start` up to `stop` of a file, fewer where it ends.

        `tag` is what the file must still be; `until_s` (`time.monotonic`) when to give up, 0: only
        by this exchange's own time. Raises WebFault.
        """
        answer = self._asked(address, {"Range": f"bytes={start}-{stop - 1}"}, stop - start, until_s)
        if tag is not None and answer.tag != tag:
            raise WebFault("changed", f"{address} has changed since it was listed.")
        return answer

    def whole(self, address: str, most_bytes: int) -> Piece:
        """All of a small file. Raises WebFault."""
        return self._asked(address, {}, most_bytes, 0.0)

    def _asked(
        self, address: str, headers: dict[str, str], most_bytes: int, until_s: float
    ) -> Piece:
        parts = urlsplit(address)
        for attempt in range(1, TRIES + 1):
            last = attempt == TRIES
            end_s = time.monotonic() + self._answer_s
            end_s = min(end_s, until_s) if until_s else end_s
            try:
                with self._connection(parts, end_s) as connection:
                    return _exchange(connection, parts, headers, min(most_bytes, MOST_BYTES))
            except WebFault as fault:
                if fault.why != "busy" or last:
                    raise
            except TimeoutError as error:
                if last or (until_s and time.monotonic() >= until_s):
                    raise WebFault("slow", f"{address} did not answer in time.") from error
            except (OSError, http.client.HTTPException, ValueError) as error:
                if last:
                    raise WebFault("dead", f"{address} cannot be reached: {error}.") from error
            pause_s = PAUSE_S * 2 ** (attempt - 1)
            if until_s and time.monotonic() + pause_s >= until_s:
                raise WebFault("slow", f"{address} did not answer in time.")
            time.sleep(pause_s)
        raise AssertionError("the last try returns or raises")

    @contextmanager
    def _connection(self, parts: SplitResult, end_s: float) -> Iterator[_Connection]:
        tls = parts.scheme == "https"
        where = (parts.scheme, parts.hostname or "", parts.port or (443 if tls else 80))
        if not self._room.acquire(timeout=max(0.0, end_s - time.monotonic())):
            raise TimeoutError
        try:
            with self._lock:
                idle = self._idle.setdefault(where, [])
                connection = idle.pop() if idle else _Connection(where[1], where[2], tls=tls)
            try:
                connection.by(end_s)
                yield connection
            except BaseException:
                connection.close()
                raise
            if connection.sock is not None:
                with self._lock:
                    idle.append(connection)
        finally:
            self._room.release()

    def __del__(self) -> None:
        self.close()

    def close(self) -> None:
        """End every connection that waits."""
        with self._lock:
            for idle in self._idle.values():
                while idle:
                    with suppress(OSError):
                        idle.pop().close()


def _exchange(
    connection: _Connection, parts: SplitResult, headers: dict[str, str], most_bytes: int
) -> Piece:
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    sent = {"Accept-Encoding": "identity", "User-Agent": "yardfall", **headers}
    address = parts.geturl()
    connection.request("GET", path, headers=sent)
    answer = connection.getresponse()
    if answer.status not in (200, 206) or (answer.status == 200 and "Range" in headers):
        connection.close()
        raise _refused(address, answer.status)
    content = bytearray()
    while chunk := answer.read1(CHUNK):
        content += chunk
        if len(content) > most_bytes:
            connection.close()
            raise WebFault("refused", f"{address} sends more than the {most_bytes:,} bytes asked.")
    size = len(content)
    if size < int(answer.headers.get("Content-Length", size)):
        raise http.client.IncompleteRead(bytes(content))
    answer.read()  # nothing is left; the connection learns that it may be used again
    if answer.status == 206:
        found = WHOLE.fullmatch(answer.headers.get("Content-Range", ""))
        asked = int(headers["Range"].removeprefix("bytes=").split("-")[0])
        if found is None or int(found[1]) != asked or int(found[2]) + 1 - asked != size:
            connection.close()
            raise WebFault("refused", f"{address} sends other bytes than those asked for.")
        size = int(found[3])
    tag = answer.headers.get("ETag") or answer.headers.get("Last-Modified") or ""
    return Piece(bytes(content), size, f"{tag} {size}")


def _refused(address: str, status: int) -> WebFault:
    if 300 <= status < 400:
        return WebFault("moved", f"{address} sends us elsewhere, which is not followed.")
    if status in (404, 410):
        return WebFault("gone", f"{address} is not there ({status}).")
    if status in AGAIN:
        return WebFault("busy", f"{address} answers {status}; try again later.")
    if status == 200:
        return WebFault("refused", f"The server of {address} does not send ranges of files.")
    return WebFault("refused", f"{address} answers {status}.")
