"""Connections: many, each cheap, each with its time; and no body of a caller who may not send one.

waitress reads requests and sends answers in one thread, for all connections at once, so that a slow
caller costs a socket and no thread. What it leaves open is closed here: how long a header, a body
and the taking of an answer may last, what happens when there are too many connections, that a key
is looked at before a body is read, and that requests in flight are answered before the end.
"""

from __future__ import annotations

import copy
import functools
import socket
import sys
import threading
import time
from contextlib import suppress
from typing import Any, Final

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer
from waitress.task import WSGITask

from yardfall.serving.turns import OPEN, STRANGERS
from yardfall.web.http.access import LATE, UNREAD, WHOSE, forwards, is_open

MOST_CONNECTIONS: Final = 400 if sys.platform == "win32" else 500
"""Beyond them the one that has been quiet longest makes room. select() on Windows holds 512."""
HEADER_S: Final = 10.0
"""From a request's first byte, or from the connection, to the end of its header."""
QUIET_S: Final = 60.0
"""How long a connection may wait for another request."""
GRACE_S: Final = 20.0
LEAST_BYTES_PER_S: Final = 4096
"""How fast a body must arrive and an answer be taken, on average, once the grace is over."""
LINGER_S: Final = 2.0
"""How long what still arrives is thrown away, so that a refusal is read before the connection ends
(RFC 9112, 9.6)."""
ON_DISK_BYTES: Final = 512 * 1024
MOST_LARGE: Final = 4
"""Bodies over ON_DISK_BYTES that one caller may be sending at once."""
MOST_REMEMBERED: Final = 1000
REMEMBERED_S: Final = 60.0


class Incoming(HTTPRequestParser):
    """A request on its way in. What is never read of it the application learns by `told`."""

    def __init__(self, adj: Any, channel: Visit) -> None:
        super().__init__(adj)
        self.channel = channel
        self.whose = STRANGERS
        self.told: str | None = None
        self.admitted = False
        self.began_s = time.monotonic()

    def parse_header(self, header_plus: bytes) -> None:
        """Read the header; a request that comes once the end has begun is read no further."""
        super().parse_header(header_plus)
        for line in header_plus.split(b"\r\n")[1:]:
            name, mark, _ = line.partition(b":")
            if mark and b"_" in name:  # waitress leaves such out: a forwarder's is to be seen
                key = name.decode("latin-1").strip().upper().replace("-", "_")
                if forwards(f"HTTP_{key}"):
                    self.headers.setdefault(key, "")
        server = self.channel.server
        self.began_s = time.monotonic()
        self.whose = OPEN if is_open(self.path) else server.whose(self.headers)
        if self.whose == STRANGERS:
            self.whose = self.channel.known_by(self.headers)
        if server.going:
            self.turn_away(LATE)
        else:
            known = self.whose not in (OPEN, STRANGERS)
            self.admitted = self.body_rcv is None or (known and not self.large)

    def turn_away(self, why: str) -> None:
        """Read nothing of the body: the application says why, and the connection ends."""
        self.told = why
        self.body_rcv = None
        self.content_length = 0
        self.chunked = self.expect_continue = False
        self.headers["CONNECTION"] = "close"
        self.channel.turned_away = True

    @property
    def large(self) -> bool:
        """Whether its body goes to the disk."""
        return self.chunked or self.content_length > ON_DISK_BYTES


class Call(WSGITask):
    """A request handed to the application, with what the front door knows of it."""

    def get_environment(self) -> dict[str, Any]:
        """The WSGI environment."""
        environ: dict[str, Any] = super().get_environment()
        if self.request.told:
            environ[self.request.told] = True
        return environ

    def execute(self) -> None:
        """Serve it; a key that it was served for is known from now on."""
        super().execute()
        environ = self.environ or {}
        if WHOSE in environ:
            self.channel.server.remember(self.request.headers, environ[WHOSE])


def _without_length(headers: dict[str, str]) -> dict[str, str]:
    return {name: said for name, said in headers.items() if name != "CONTENT_LENGTH"}


class Question:
    """Whether the body of a request may be read, asked before it is."""

    def __init__(self, channel: Visit, request: Incoming) -> None:
        self.channel, self.request, self.whose = channel, request, request.whose

    def service(self) -> None:
        """Ask the application; no answer is a no."""
        channel, request, server = self.channel, self.request, self.channel.server
        bare = copy.copy(request)
        bare.body_rcv = None
        admitted = False
        try:
            whose = server.admits(Call(channel, bare).get_environment())
            if whose is not None:
                request.whose = whose
                server.remember(request.headers, whose)
                channel.remember(request.headers, whose)
                admitted = server.has_room_for(request)
        finally:
            with channel.requests_lock:
                channel.answered(request, admitted)
            with suppress(OSError):  # the service ended meanwhile
                server.pull_trigger()

    def cancel(self) -> None:
        """The service ends: nobody asks any more."""


class Visit(HTTPChannel):
    """One connection."""

    task_class = Call

    def __init__(self, *given: Any, **named: Any) -> None:
        self.parser_class = functools.partial(Incoming, channel=self)
        self.quiet_since_s = time.monotonic()
        self.asking = self.turned_away = self.served = False
        self.lingers_until_s = self.sending_since_s = 0.0
        self.sent_bytes = 0
        self._known: tuple[dict[str, str], str, float] = ({}, STRANGERS, 0.0)
        super().__init__(*given, **named)

    def remember(self, headers: dict[str, str], whose: str) -> None:
        """Know who sends such a header on this connection, for a while."""
        self._known = (_without_length(headers), whose, time.monotonic() + REMEMBERED_S)

    def known_by(self, headers: dict[str, str]) -> str:
        """Who sent the same header on this connection before, whatever its body's length."""
        known, whose, until_s = self._known
        same = time.monotonic() < until_s and _without_length(headers) == known
        return whose if same else STRANGERS

    @property
    def whose(self) -> str:
        """Whose request is served next."""
        request: Incoming = self.requests[0]
        return request.whose

    def readable(self) -> bool:
        """Whether to read more: not while the application is asked whether it may be read."""
        return bool(self.lingers_until_s) or (not self.asking and super().readable())

    def received(self, data: bytes) -> bool:
        """Take in what came. A body that is not whole yet is asked about first."""
        taken: bool = super().received(data)
        request = self.request
        if request is not None and request.headers_finished and not request.admitted:
            self.asking = True
            self.server.add_task(Question(self, request))
        return taken

    def send_continue(self) -> None:
        """Ask for the body, once it may be sent."""
        if self.request is not None and self.request.admitted:
            super().send_continue()

    def answered(self, request: Incoming, admitted: bool) -> None:
        """Read the body, or turn the request away; `requests_lock` is held."""
        self.asking = False
        if not self.connected:
            return
        if admitted:
            request.began_s = time.monotonic()
            if request.expect_continue and not self.requests:
                self.send_continue()
            return
        request.turn_away(UNREAD)
        request.completed = True
        self.request = None
        self.requests.append(request)
        if len(self.requests) == 1:
            self.server.add_task(self)

    def service(self) -> None:
        """Serve the request that came first."""
        if self.requests[0].error:
            self.turned_away = True
        super().service()
        self.quiet_since_s, self.served = time.monotonic(), True

    def handle_read(self) -> None:
        """Read; what comes after a refusal is thrown away."""
        if not self.lingers_until_s:
            super().handle_read()
            return
        with suppress(OSError):
            self.recv(self.adj.recv_bytes)

    def send(self, data: bytes, do_close: bool = True) -> int:
        """Send, and count."""
        sent: int = super().send(data, do_close)
        self.sent_bytes += sent
        return sent

    def handle_close(self) -> None:
        """End the connection; after a refusal, once the caller has had time to read it."""
        if self.turned_away and self.connected and not self.lingers_until_s:
            self.lingers_until_s = time.monotonic() + LINGER_S
            self.will_close = self.close_when_flushed = False
            with suppress(OSError):
                self.socket.shutdown(socket.SHUT_WR)
            return
        super().handle_close()

    def over(self, now_s: float) -> bool:
        """Whether its time is over."""
        if self.lingers_until_s:
            return now_s > self.lingers_until_s
        if self.total_outbufs_len:
            if not self.sending_since_s:
                self.sending_since_s, self.sent_bytes = now_s, 0
            return now_s - self.sending_since_s > GRACE_S + self.sent_bytes / LEAST_BYTES_PER_S
        self.sending_since_s = 0.0
        request = self.request
        if self.requests or self.asking:
            return False
        if request is None:
            return now_s - self.quiet_since_s > (QUIET_S if self.served else HEADER_S)
        if not request.headers_finished:
            return now_s - request.began_s > HEADER_S
        brought = request.body_bytes_received / LEAST_BYTES_PER_S
        return now_s - request.began_s > GRACE_S + brought

    @property
    def in_flight(self) -> bool:
        """Whether a request has come that is not answered yet, or not wholly sent."""
        coming = self.request is not None and self.request.headers_finished
        return bool(self.requests or self.total_outbufs_len or self.asking or coming)


class FrontDoor(TcpWSGIServer):
    """One listening socket and its connections."""

    channel_class = Visit

    def __init__(self, application: Any, admits: Any, **options: Any) -> None:
        self.admits = admits
        self.going = False
        self._known: dict[str, tuple[str, float]] = {}
        self._admitting = threading.Lock()
        self._next_look_s = 0.0
        super().__init__(application, **options)

    def whose(self, headers: dict[str, str]) -> str:
        """Whose a request is, by what it sends as its key: nothing is looked up."""
        whose, until_s = self._known.get(headers.get("AUTHORIZATION", ""), (STRANGERS, 0.0))
        return whose if time.monotonic() < until_s else STRANGERS

    def remember(self, headers: dict[str, str], whose: str) -> None:
        """Know a good key for a while. Every request is still judged by the application."""
        given = headers.get("AUTHORIZATION")
        if given:
            if len(self._known) >= MOST_REMEMBERED:
                self._known.clear()
            self._known[given] = (whose, time.monotonic() + REMEMBERED_S)

    def has_room_for(self, request: Incoming) -> bool:
        """Admit a body, unless its caller is sending as many large ones already as one may."""
        with self._admitting:
            coming = [channel.request for channel in list(self.active_channels.values())]
            large = [r for r in coming if r is not None and r.admitted and r.large]
            same = sum(r.whose == request.whose for r in large)
            request.admitted = not (request.large and same >= MOST_LARGE)
            return request.admitted

    def readable(self) -> bool:
        """Whether to accept another; looks after the connections once a second."""
        now_s = time.monotonic()
        if now_s >= self._next_look_s:
            self._next_look_s = now_s + 1.0
            for channel in self.active_channels.values():
                if channel.over(now_s):
                    channel.will_close = True
        return True

    def handle_accept(self) -> None:
        """Accept; where there are too many, the one that has been quiet longest makes room."""
        super().handle_accept()
        if len(self.active_channels) > MOST_CONNECTIONS:
            quiet = (c for c in self.active_channels.values() if not (c.in_flight or c.will_close))
            oldest = min(quiet, key=lambda channel: channel.quiet_since_s, default=None)
            if oldest is not None:
                oldest.will_close = True
