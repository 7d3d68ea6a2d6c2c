"""Applications called without a network, as schemathesis does."""

from __future__ import annotations

from flask import Flask


def called_from_here(app: Flask) -> Flask:
    """The application called as a server would: from an address, closing what was answered."""
    inner = app.wsgi_app

    def from_here(environ, start_response):
        environ.setdefault("REMOTE_ADDR", "127.0.0.1")
        answer = inner(environ, start_response)
        try:
            return [b"".join(answer)]
        finally:
            answer.close()

    app.wsgi_app = from_here
    return app
