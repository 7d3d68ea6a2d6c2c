"""A server of files on this machine that tells what was asked of it, and can be late or unfair."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

RANGE = re.compile(r"bytes=(\d+)-(\d+)")


@dataclass
class TileServer:
    """`asked` is every request: its path and its range. `behave` may answer in our place."""

    folder: Path
    address: str = ""
    latency_s: float = 0.0
    asked: list[tuple[str, str]] = field(default_factory=list)
    at_once: int = 0
    most_at_once: int = 0
    behave: Any = None
    lock: Any = field(default_factory=threading.Lock)


def _handler(server: TileServer) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        disable_nagle_algorithm = True
        wbufsize = 1 << 16

        def log_message(self, *_: Any) -> None:
            pass

        def do_GET(self) -> None:
            with server.lock:
                server.asked.append((self.path, self.headers.get("Range", "")))
                server.at_once += 1
                server.most_at_once = max(server.most_at_once, server.at_once)
            try:
                time.sleep(server.latency_s)
                if server.behave is None or not server.behave(self):
                    self._send()
            except OSError:
                pass
            finally:
                with server.lock:
                    server.at_once -= 1

        def _send(self) -> None:
            path = (server.folder / self.path.lstrip("/")).resolve()
            if not path.is_relative_to(server.folder.resolve()) or not path.is_file():
                self.send_response(404)
                self.send_header("Content-Length", "0")
                self.end_headers()
                return
            whole = path.read_bytes()
            found = RANGE.fullmatch(self.headers.get("Range", ""))
            content = whole[int(found[1]) : int(found[2]) + 1] if found else whole
            self.send_response(206 if found else 200)
            if found:
                last = int(found[1]) + len(content) - 1
                self.send_header("Content-Range", f"bytes {found[1]}-{last}/{len(whole)}")
            self.send_header("ETag", f'"{path.stat().st_mtime_ns:x}"')
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

    return Handler


@contextmanager
def serving(folder: Path, latency_s: float = 0.0) -> Iterator[TileServer]:
    """A server of a folder's files, while it is needed."""
    told = TileServer(folder, latency_s=latency_s)
    http = ThreadingHTTPServer(("127.0.0.1", 0), _handler(told))
    http.daemon_threads = True
    told.address = f"http://127.0.0.1:{http.server_address[1]}"
    thread = threading.Thread(target=http.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield told
    finally:
        http.shutdown()
        http.server_close()
        thread.join()
