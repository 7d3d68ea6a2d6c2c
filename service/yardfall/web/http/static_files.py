"""Files of the page and of its libraries: packed once, told apart by a tag of their content."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from flask import Response, request
from werkzeug.exceptions import NotFound
from werkzeug.utils import safe_join

from yardfall.web.http.compression import LEAST_BYTES, ONCE, packed, takes_gzip

MEDIA_TYPES: Final = {
    ".css": "text/css",
    ".html": "text/html",
    ".js": "text/javascript",
    ".json": "application/json",
    ".map": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
"""Not the system's own table, which on Windows may call a script plain text: nosniff stops that."""
TEXTS: Final = (".css", ".html", ".js", ".json", ".map", ".svg")
ASK_AGAIN: Final = "no-cache"
"""Kept, and asked for again with its tag: the modules of two versions never run together."""
KEEP_A_DAY: Final = "public, max-age=86400"


@dataclass(frozen=True)
class StaticFile:
    """A file's content, plain and packed (None where that is not smaller), and its tag."""

    plain: bytes
    packed: bytes | None
    tag: str


@lru_cache(maxsize=256)
def _kept(path: Path, _changed_ns: int, _size: int) -> StaticFile:
    content = path.read_bytes()
    small = None
    if path.suffix in TEXTS and len(content) >= LEAST_BYTES:
        small = packed(content, ONCE)
    if small is not None and len(small) >= len(content):
        small = None
    return StaticFile(content, small, hashlib.sha256(content).hexdigest()[:20])


def send_static(folder: Path, name: str, keeping: str = ASK_AGAIN) -> Response:
    """A file under a folder, as gzip where that is taken; NotFound for any other name."""
    joined = safe_join(str(folder), name)
    path = Path(joined) if joined else None
    if path is None or path.suffix not in MEDIA_TYPES or not path.is_file():
        raise NotFound
    status = path.stat()
    file = _kept(path, status.st_mtime_ns, status.st_size)
    gzipped = file.packed is not None and takes_gzip(request)
    answer = Response(file.packed if gzipped else file.plain, mimetype=MEDIA_TYPES[path.suffix])
    if file.packed is not None:
        answer.vary.add("Accept-Encoding")
    if gzipped:
        answer.headers["Content-Encoding"] = "gzip"
    answer.set_etag(f"{file.tag}-gzip" if gzipped else file.tag)
    answer.headers["Cache-Control"] = keeping
    answer.make_conditional(request)
    return answer
