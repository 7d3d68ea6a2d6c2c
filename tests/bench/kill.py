"""kill -9 in the middle of saves and uploads, again and again: what is lost, what is half-kept.

A child saves one job over and over and keeps rasters, telling each as soon as it is acknowledged;
it is killed after a random time. Then everything acknowledged must be there, every revision whole
and in a row, and every raster listed must have its file, whole; the sweep must leave nothing else.

    python tests/bench/kill.py --rounds 200 [--postgres | --database-url postgresql://...]

`--postgres` starts a server of its own.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from yardfall.store.database import open_database
from yardfall.store.records.jobs import JobStore
from yardfall.store.records.revision import Content
from yardfall.store.uploads.rasters import RasterStore

LONGEST_S = 0.15


def save_on_and_on(data: Path, url: str | None, job: str, seed: str, told) -> None:
    """Save and upload until killed; tell what was acknowledged."""
    engine = open_database(data, url)
    jobs, rasters = JobStore(engine, "ann"), RasterStore(engine, data, "ann")
    rng = random.Random(seed)
    told.send(("ready", ""))
    while True:
        answer = {"readings": [rng.random() for _ in range(rng.choice((10, 3000)))]}
        saved = jobs.save(job, None, Content("a", answer, answer, "1", "yes"))
        told.send(("job", saved.latest.number))
        content = rng.randbytes(rng.choice((100, 3_000_000)))
        with rasters.incoming(io.BytesIO(content)) as part:
            kept = rasters.keep(part, hashlib.sha256(content).hexdigest(), {"n": 1})
        told.send(("raster", kept.id))


def faults_of(data: Path, url: str | None, job: str, revision: int, ids: list[str]) -> list[str]:
    """What was lost or half-kept, in sentences."""
    engine = open_database(data, url)
    jobs, rasters = JobStore(engine, "ann"), RasterStore(engine, data, "ann")
    found = []
    kept, total = jobs.revisions(job, 1, 10**6)
    if [r.number for r in kept] != list(range(total, 0, -1)) or total < revision:
        found.append(f"revision {revision} was acknowledged, and {total} are there")
    latest = jobs.get(job).latest.content
    if latest is None or latest.request != latest.answer:
        found.append(f"revision {total} is half-kept")
    records, _ = rasters.page(1, 10**6)
    found += [
        f"raster {key} was acknowledged and is lost"
        for key in ids
        if key not in {r.id for r in records}
    ]
    for record in records:
        if not record.path.exists():
            found.append(f"raster {record.id} is listed without a file")
        elif hashlib.sha256(record.path.read_bytes()).hexdigest() != record.name:
            found.append(f"raster {record.id} is half-kept")
    rasters.sweep(still_s=0)
    left = {p.name for p in (data / "rasters").iterdir()} - {f"{r.id}.tif" for r in records}
    found += [f"{name} was left" for name in left]
    for record in records:
        rasters.delete(record.id)
    engine.dispose()
    return found


def run(rounds: int, url: str | None, seed: int = 1) -> tuple[int, int, list[str]]:
    """Kills survived, things acknowledged, and faults."""
    fork = multiprocessing.get_context("fork")
    faults, acknowledged = [], 0
    with tempfile.TemporaryDirectory() as name:
        data = Path(name)
        engine = open_database(data, url)
        job = JobStore(engine, "ann").create(Content("a", {}, {}, "1", "yes")).id
        engine.dispose()
        for number in range(rounds):
            here, there = fork.Pipe(duplex=False)
            work = (data, url, job, f"{seed} {number}", there)
            process = fork.Process(target=save_on_and_on, args=work)
            process.start()
            there.close()
            here.recv()
            time.sleep(random.Random(f"{seed} {number} wait").uniform(0.001, LONGEST_S))
            assert process.pid
            os.kill(process.pid, signal.SIGKILL)
            process.join()
            revision, ids = 0, []
            with suppress(EOFError):
                while True:
                    kind, value = here.recv()
                    acknowledged += 1
                    if kind == "job":
                        revision = value
                    else:
                        ids.append(value)
            here.close()
            faults += faults_of(data, url, job, revision, ids)
    return rounds, acknowledged, faults


def main() -> int:
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--database-url")
    parser.add_argument("--postgres", action="store_true")
    arguments = parser.parse_args()
    if arguments.postgres:
        sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "store"))
        from postgres_server import PostgresServer

        with tempfile.TemporaryDirectory() as folder:
            server = PostgresServer(Path(folder))
            try:
                return report(arguments.rounds, server.make_database("kill"))
            finally:
                server.stop()
    return report(arguments.rounds, arguments.database_url)


def report(rounds: int, url: str | None) -> int:
    """Run and print; 1 if anything was lost."""
    began = time.monotonic()
    rounds, acknowledged, faults = run(rounds, url)
    where = "PostgreSQL" if url else "SQLite"
    print(
        f"{where}: {rounds} kills in {time.monotonic() - began:.0f} s, {acknowledged} saves and "
        f"uploads acknowledged, {len(faults)} lost or half-kept"
    )
    print("\n".join(faults[:20]), end="")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
