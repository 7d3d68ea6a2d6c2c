"""The server that `yardfall serve` runs: waitress behind its front door."""

from __future__ import annotations

import time
from contextlib import suppress
from typing import Any, Final

from flask import Flask
from waitress import wasyncore
from waitress.adjustments import Adjustments

from yardfall.app import MAX_REQUEST_BYTES
from yardfall.serving.connections import ON_DISK_BYTES, FrontDoor
from yardfall.serving.turns import Turns

THREADS: Final = 8
MOST_EACH: Final = 4
"""Threads that one caller may hold."""
REST_S: Final = 25.0
"""How long requests in flight may take once the service has been told to stop."""
AGAIN_S: Final = 1.0
LOOK_S: Final = 0.5


class Server:
    """A service on one address. A name such as `localhost` may stand for several sockets."""

    def __init__(self, app: Flask, host: str, port: int) -> None:
        self._map: dict[int, Any] = {}
        self._turns = Turns(THREADS, MOST_EACH)
        self._stop_by_s: float | None = None
        options = Adjustments(
            host=host,
            port=port,
            ident=None,
            max_request_body_size=MAX_REQUEST_BYTES,
            inbuf_overflow=ON_DISK_BYTES,
            asyncore_use_poll=True,
            # A proxy's headers tell that a request came through one; see web/http/access.py.
            clear_untrusted_proxy_headers=False,
        )
        self._doors = [
            FrontDoor(
                app,
                app.extensions["admits"],
                map=self._map,
                dispatcher=self._turns,
                adj=options,
                sockinfo=place,
            )
            for place in options.listen
        ]

    @property
    def port(self) -> int:
        """The port it answers on."""
        return int(self._doors[0].effective_port)

    @property
    def stopping(self) -> bool:
        """Whether it was told to stop."""
        return self._stop_by_s is not None

    def stop(self) -> None:
        """Answer what is in flight, refuse what comes now, then end. A signal may call this.

        Told again AGAIN_S later, it waits no longer.
        """
        now_s = time.monotonic()
        if self._stop_by_s is None:
            self._stop_by_s = now_s + REST_S
        elif now_s > self._stop_by_s - REST_S + AGAIN_S:
            self._stop_by_s = now_s
        for door in self._doors:
            door.going = True
            with suppress(OSError):  # it has ended just now
                door.pull_trigger()

    def run(self) -> None:
        """Serve until told to stop."""
        try:
            while not self._at_rest():
                with suppress(MemoryError):  # what is refused frees some; the next look goes on
                    wasyncore.loop(LOOK_S, use_poll=True, map=self._map, count=1)
        finally:
            self._turns.shutdown()
            wasyncore.close_all(self._map)

    def _at_rest(self) -> bool:
        if self._stop_by_s is None:
            return False
        if time.monotonic() > self._stop_by_s:
            return True
        channels = [c for door in self._doors for c in door.active_channels.values()]
        return self._turns.idle and not any(channel.in_flight for channel in channels)
