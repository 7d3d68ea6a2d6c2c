"""On a full disk things can still be deleted: a little room is kept back for that."""

from __future__ import annotations

from flask import Flask, g, request

from yardfall.store.reserve import Reserve


def register_room(app: Flask, reserve: Reserve) -> None:
    """Give the room up while something is deleted from a full disk."""
    reserve.put_back()

    @app.before_request
    def _make_room() -> None:
        if request.method == "DELETE" and reserve.give_up():
            g.room_given_up = True

    @app.teardown_request
    def _keep_room(_error: BaseException | None) -> None:
        if g.pop("room_given_up", False):
            reserve.take_back()
