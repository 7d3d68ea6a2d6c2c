"""kill -9 of a serving planner in the middle of saves and uploads over HTTP, again and again.

Each round a server of its own process (`yardfall serve`, forked from one that has imported it all)
takes saves of two jobs and uploads of rasters, and is killed after a random time. The next round's
server must have everything that was acknowledged: each save as it was sent, each raster whole, and
nothing half-kept. A killed examiner of uploads must end with its server.

    python tests/bench/kill_http.py --rounds 200
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import http.client
import json
import multiprocessing
import os
import random
import socket
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
from rasterio.io import MemoryFile
from rasterio.transform import from_origin

LONGEST_S = 0.5
WAITS_EVERY, WAITS_S = 5, 60.0
"""A server's first upload waits for its examiner to start: every fifth round waits for that."""
STARTS_WITHIN_S = 60.0
GONE = (OSError, http.client.HTTPException)


def serve(port: int, data: str) -> None:
    """What `yardfall serve` does, told of on no screen."""
    from yardfall.cli.main import main

    with Path(os.devnull).open("w") as nowhere, contextlib.redirect_stdout(nowhere):
        os.dup2(nowhere.fileno(), 2)  # an examiner that loses its server while it starts complains
        main(["serve", "--port", str(port), "--data", data])


def call(port: int, method: str, path: str, body: Any = None, **headers: str) -> tuple[int, Any]:
    """One call: its status and its JSON."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    try:
        sent = body if isinstance(body, bytes) or body is None else json.dumps(body)
        kind = {"Content-Type": "application/json"} if not isinstance(body, bytes) else {}
        connection.request(method, f"/api/v1{path}", sent, kind | headers)
        answer = connection.getresponse()
        content = answer.read()
        return answer.status, json.loads(content) if content else None
    finally:
        connection.close()


def raster(rng: random.Random) -> bytes:
    """A sound GeoTIFF like no other, of some 10 kB or 1 MB."""
    side = rng.choice((50, 500))
    z = np.random.default_rng(rng.getrandbits(32)).normal(100, 1, (side, side)).astype(np.float32)
    profile = {"driver": "GTiff", "width": side, "height": side, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 0.5, 0.5)}
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            out.write(z, 1)
        return bytes(memory.read())


class Ledger:
    """What was acknowledged: (job, revision) to what was sent, and raster to digest."""

    def __init__(self) -> None:
        self.saves: dict[tuple[str, int], str] = {}
        self.rasters: dict[str, str] = {}
        self.sent: set[str] = set()

    def save_on(self, port: int, job: str, rng: random.Random) -> None:
        """Save until the server is gone."""
        with contextlib.suppress(*GONE):
            while True:
                text = rng.randbytes(rng.choice((20, 20_000))).hex()
                request = {"text": text, "digest": hashlib.sha256(text.encode()).hexdigest()}
                body = {"name": job, "draft": True, "request": request}
                status, told = call(port, "PUT", f"/jobs/{job}", body, **{"If-Match": "*"})
                if status == 200:
                    self.saves[job, told["revision"]] = request["digest"]

    def upload_on(self, port: int, rng: random.Random) -> None:
        """Upload until the server is gone."""
        edge = b"--edge\r\nContent-Disposition: form-data; name=file; filename=%s\r\n\r\n"
        edge += b"%s\r\n--edge--"
        with contextlib.suppress(*GONE):
            while True:
                content = raster(rng)
                digest = hashlib.sha256(content).hexdigest()
                self.sent.add(digest)
                body = edge % (digest.encode(), content)
                kind = {"Content-Type": "multipart/form-data; boundary=edge"}
                status, told = call(port, "POST", "/rasters", body, **kind)
                if status == 201:
                    self.rasters[told["id"]] = digest

    def faults(self, port: int, data: Path, jobs: list[str]) -> list[str]:
        """What the server that is there now has lost or half-kept, in sentences."""
        found = []
        for job in jobs:
            newest = call(port, "GET", f"/jobs/{job}")[1]
            last = max((n for name, n in self.saves if name == job), default=1)
            if newest["revision"] < last:
                found.append(f"save {last} was acknowledged, and {newest['revision']} is the last")
            for number in {last, newest["revision"]} - {1}:
                kept = call(port, "GET", f"/jobs/{job}/revisions/{number}")[1]["request"]
                digest = hashlib.sha256(kept["text"].encode()).hexdigest()
                if {digest, self.saves.get((job, number), digest)} != {kept["digest"]}:
                    found.append(f"save {number} is not as it was sent")
        listed, number = {}, 1
        while page := call(port, "GET", f"/rasters?page={number}&page_size=100")[1]["rasters"]:
            listed |= {r["id"]: r["name"] for r in page if r["name"] in self.sent}
            number += 1
        found += [f"raster {key} is lost" for key in self.rasters if key not in listed]
        for key, name in listed.items():
            path = data / "rasters" / f"{key}.tif"
            if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != name:
                found.append(f"raster {key} is half-kept")
        for key in listed:  # checked: the next round has less to read
            call(port, "DELETE", f"/rasters/{key}")
            self.rasters.pop(key, None)
        return found


class Serving:
    """A server in a process of its own."""

    def __init__(self, context: Any, data: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.process = context.Process(target=serve, args=(self.port, str(data)))
        self.process.start()
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until and self.process.is_alive():
            with contextlib.suppress(*GONE):
                call(self.port, "GET", "/health")
                return
            time.sleep(0.02)
        raise RuntimeError("the server did not start")

    def kill(self) -> None:
        """Pull the plug."""
        self.process.kill()
        self.process.join()


def run(rounds: int, seed: int) -> tuple[Ledger, int, list[str]]:
    """What was acknowledged, how many rasters of it, and faults."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["yardfall.cli.commands"])
    ledger, faults, uploads = Ledger(), [], 0
    with tempfile.TemporaryDirectory() as name:
        data = Path(name)
        server = Serving(context, data)
        draft = {"name": "a", "draft": True, "request": {}}
        jobs = [call(server.port, "POST", "/jobs", draft)[1]["id"] for _ in range(2)]
        for number in range(rounds):
            rng = random.Random(f"{seed} {number}")
            works = [(ledger.save_on, (server.port, job, rng)) for job in jobs]
            works.append((ledger.upload_on, (server.port, rng)))
            threads = [threading.Thread(target=work, args=given) for work, given in works]
            for thread in threads:
                thread.start()
            until = time.monotonic() + (WAITS_S if number % WAITS_EVERY == 0 else 0)
            while not ledger.rasters and time.monotonic() < until:
                time.sleep(0.01)
            time.sleep(rng.uniform(0.02, LONGEST_S))
            server.kill()
            for thread in threads:
                thread.join()
            uploads += len(ledger.rasters)
            server = Serving(context, data)
            faults += ledger.faults(server.port, data, jobs)
        server.process.terminate()
        server.process.join(20)
    return ledger, uploads, faults


def main() -> int:
    """Run and tell; 1 if anything was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    began = time.monotonic()
    ledger, uploads, faults = run(arguments.rounds, arguments.seed)
    print(
        f"{arguments.rounds} servers killed in {time.monotonic() - began:.0f} s: "
        f"{len(ledger.saves)} saves and {uploads} uploads acknowledged, "
        f"{len(faults)} lost or half-kept"
    )
    print("\n".join(faults[:20]), end="")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
