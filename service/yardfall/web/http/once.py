"""Calls that make something and are made once, however often they are sent.

The header is that of draft-ietf-httpapi-idempotency-key-header-07. What is kept of a call is a
digest of what was sent and what it made, for a day; the answer is put together anew from that.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from functools import wraps
from typing import IO, Any, Final

import marshmallow as ma
from flask import Response, current_app, request
from werkzeug.exceptions import BadRequest

from yardfall.core.errors import NotFoundError
from yardfall.store.records.repeats import RepeatStore
from yardfall.web.http.access import caller

HEADER: Final = "Idempotency-Key"
FORM: Final = r'"[ !#-~]{1,200}"|[!#-~]{1,200}'
CHUNK: Final = 1 << 20


class OnceHeader(ma.Schema):
    """A key of the caller's own for this very request."""

    class Meta:
        unknown = ma.EXCLUDE

    idempotency_key = ma.fields.String(
        data_key=HEADER,
        metadata={"example": "2f1c0b9e-5d0a-4e0e-9a53-0d6a4b1f7c22", "pattern": f"^({FORM})$"},
    )


def once(again: Callable[..., Response]) -> Callable[..., Any]:
    """Have a view answer a request that is sent again as it did first.

    `again` takes the last step of the address of what was made, and the call's own arguments by
    name, and puts the answer together anew; NotFoundError where that is gone.
    """

    def decorated(view: Callable[..., Response]) -> Callable[..., Response]:
        @wraps(view)
        def kept(_headers: dict[str, Any], *args: Any, **kwargs: Any) -> Response:
            key = _key()
            if key is None:
                return view(*args, **kwargs)
            who = caller()
            repeats = RepeatStore(current_app.extensions["engine"], who.sent or who.owner)
            earlier = repeats.begin(key, _fingerprint())
            if earlier is not None:
                try:
                    return again(earlier, **kwargs)
                except NotFoundError:  # deleted since
                    repeats.begin_anew(key)
            made = None
            try:
                answer = view(*args, **kwargs)
                made = answer.headers["Location"].rpartition("/")[2]
            finally:
                repeats.end(key, made)
            return answer

        return kept

    return decorated


def _key() -> str | None:
    given = request.headers.get(HEADER)
    if given is None:
        return None
    if not re.fullmatch(FORM, given):
        raise BadRequest(
            f"{HEADER} takes 1 to 200 visible ASCII characters, with or without quotation marks "
            "around them; a random UUID is best."
        )
    return given.strip('"')


def _fingerprint() -> str:
    """A digest of what was sent: of a file its name and its content, however it was wrapped."""
    found = hashlib.sha256(f"{request.method} {request.full_path}\n".encode())
    if request.files:
        for part, file in sorted(request.files.items()):
            found.update(f"{part}\n{file.filename}\n".encode())
            _add(found, file.stream)
    else:
        found.update(request.get_data())
    return found.hexdigest()


def _add(found: Any, stream: IO[bytes]) -> None:
    stream.seek(0)
    while chunk := stream.read(CHUNK):
        found.update(chunk)
    stream.seek(0)
