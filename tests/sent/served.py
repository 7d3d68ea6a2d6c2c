"""An application under waitress, in a thread of the test run."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import waitress
from flask import Flask


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """The address of a service on a port the system picked."""
    open_here: dict = {}
    server = waitress.create_server(app, open_here, host="127.0.0.1", port=0, threads=2)
    thread = threading.Thread(target=server.run)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"

    def stop() -> None:
        """In the loop's own thread: closed from another, it would wait on what is there no more."""
        server.close()
        for connection in list(open_here.values()):
            connection.close()

    server.trigger.pull_trigger(stop)
    thread.join(10)
    assert not thread.is_alive()
