"""What each call costs for the largest body it admits: time, memory, length of the answer.

    python tests/bench/costs.py                     # all, some ten minutes
    python tests/bench/costs.py --only reach

One application in process, default limits. Prints a row a case: the answer's status, seconds that
passed, processor seconds, by how much the process's memory grew at the most (what examines or draws
a file apart is not in it), and the answer's length. Ends with 1 where a call takes more than
its budget of time, 1.2 GiB or 40 MB of answer, or is answered otherwise than the case says; a
case whose sums are over at their time (413) is marked: it is held, not answered.
"""

from __future__ import annotations

import argparse
import contextlib
import ctypes
import gc
import json
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
from flask.testing import FlaskClient
from largest import (
    BASE,
    PAPERS,
    PLANS,
    Ask,
    Case,
    Yard,
    dug,
    everything,
    exported,
    flow,
    form,
    many_places,
    old_pipe,
    outline,
    readings,
    search,
    spots,
)

from yardfall.app import Settings, create_app
from yardfall.core import compiled

MOST_MIB: Final = 1229
MOST_ANSWER_BYTES: Final = 40_000_000
LATE: Final = 1.0
"""A sum is over a moment after its time: so many seconds."""
JSON_BYTES: Final = 4 << 20
LOTS: Final = ("drawn", "sloped", "rough", "holed")
HELD: Final = (200, 413)
ANY: Final = {"If-Match": "*"}


def cases() -> Iterator[Case]:
    """Every call of the contract."""
    for name, sent in {
        "readings": "5,000 elevations",
        "chance": "5,000 elevations, errors drawn",
        "raster": "500 points over a raster, 2,000 stations",
        "stations": "500 elevations, 2,000 stations",
        "fifty lines": "51 lines of 100 elevations, errors drawn",
    }.items():
        yield Case("plan", sent, lambda y, n=name: Ask("POST", "plan", PLANS[n](y)))
    yield Case(
        *("plan", "2,000 elevations, five breaks that dig least"),
        lambda y: Ask("POST", "plan", PLANS["least dig"](y)),
        statuses=HELD,
    )
    yield Case(
        *("plan", "the same, explain false"),
        lambda y: Ask("POST", "plan", PLANS["least dig"](y) | {"explain": False}),
    )
    yield Case(
        *("plan", "51 lines of 2,000 elevations"),
        lambda y: Ask("POST", "plan", PLANS["whole body"](y)),
        statuses=HELD,
    )
    yield Case("profile", "500 points over a raster, 2,000 stations", _profile)
    yield Case("flow", "100 inflows", lambda _: Ask("POST", "flow", flow()))
    for kind in LOTS:
        sent = f"{kind} ground, 2 million cells"
        yield Case("reach", sent, lambda y, k=kind: Ask("POST", "reach", search(y, k)))
    for kind in LOTS:
        yield Case(
            *("reach", f"{kind} ground, all that may be asked"),
            lambda y, k=kind: Ask("POST", "reach", search(y, k, **everything())),
        )
    yield Case(
        *("reach", "5,000 spot heights, 200 draws"),
        lambda _: Ask("POST", "reach", spots(draws=200)),
    )
    yield Case(
        *("reach", "spot heights, 480 places"),
        lambda _: Ask("POST", "reach", spots(draws=200, **many_places())),
        statuses=HELD,
    )
    yield Case(
        *("grade-check", "2,000 stations, 500 readings"),
        lambda y: Ask("POST", "grade-check", dug(PLANS["stations"](y))),
    )
    six = [("readings", "six plans of 5,000 elevations"), ("chance", "the same, errors drawn")]
    for name, sent in six:
        yield Case(
            *("compare", sent), lambda y, n=name: Ask("POST", "compare", _six(y, n)), statuses=HELD
        )
    yield Case("pipe-check", "500 readings", lambda _: Ask("POST", "pipe-check", old_pipe()))
    for paper in PAPERS:
        path = f"papers/{paper}"
        on_tape = (422,) if paper == "map.html" else (200,)  # a map of no place
        yield Case(
            *(path, "500 elevations, 2,000 stations"),
            lambda y, p=path: Ask("POST", p, PLANS["stations"](y)),
            statuses=on_tape,
        )
        yield Case(
            *(path, "51 lines of 100 elevations"),
            lambda y, p=path: Ask("POST", p, PLANS["fifty lines"](y)),
            statuses=(422,) if paper == "dig-sheet.pdf" else on_tape,
        )
        yield Case(
            path, "500 points, 3,000 of outlines", lambda y, p=path: Ask("POST", p, _laid(y))
        )
    yield from _kept()


def _kept() -> Iterator[Case]:
    """The calls of what is kept."""
    yield _file("rasters", "484 MiB", "heavy", 60)
    yield _file("rasters", "400 million cells", "wide", 60)
    for kind, sent in (("heavy", "484 MiB"), ("wide", "400 million cells")):
        yield Case(
            *("rasters/{id}/relief.png", sent),
            lambda y, k=kind: Ask("GET", f"rasters/{y.kept(k)}/relief.png"),
        )
    yield _file("site-plans", "80 million pixels", "plan picture", 60)
    yield Case(
        *("site-plans", "a page of 200,000 lines"),
        lambda y: Ask("POST", "site-plans", file=y.file("plan page")),
        60,
        (201, 422),
    )
    yield Case(
        *("site-plans/{id}/picture", "80 million pixels"),
        lambda y: Ask("GET", f"site-plans/{y.kept('plan picture')}/picture"),
    )
    largest = {"name": "a", "request": readings(5000), "form": form(3.5)}
    yield Case(
        "jobs, POST", "5,000 elevations, a form of 3.5 MiB", lambda _: Ask("POST", "jobs", largest)
    )
    job = "jobs/{id}"
    yield Case(job, "2,000 stations", lambda y: Ask("GET", f"jobs/{y.job('stations')}"))
    yield Case(
        f"{job}/copies",
        "2,000 stations",
        lambda y: Ask("POST", f"jobs/{y.job('stations')}/copies", {"name": "b"}, headers=ANY),
    )
    yield Case(
        *(f"{job}/grade-checks", "2,000 stations, 500 readings"),
        lambda y: Ask(
            "POST",
            f"jobs/{y.job('stations')}/grade-checks",
            {"as_dug": dug({})["as_dug"]},
            headers=ANY,
        ),
    )
    for paper in PAPERS:
        yield Case(
            *(f"{job}/{paper}", "2,000 stations"),
            lambda y, p=paper: Ask("GET", f"jobs/{y.job('raster')}/{p}"),
        )
    for listed in ("rasters", "site-plans", "jobs"):
        yield Case(
            f"{listed}, GET",
            "all that is kept",
            lambda _, p=listed: Ask("GET", f"{p}?page_size=200"),
        )
    for call in ("pipes?units=us", "health", "page-settings", "openapi.json"):
        yield Case(call, "", lambda _, p=call: Ask("GET", p))
    yield Case("export", "all that was kept here", lambda _: Ask("GET", "export"), np.inf)
    yield Case(
        *("imports", "all of it again but the 484 MiB"),
        lambda y: Ask("POST", "imports", file=exported(y)),
        120,
    )


def _file(call: str, sent: str, name: str, budget_s: float) -> Case:
    """An upload of a file; the first time it is kept is the one measured."""
    return Case(call, sent, lambda y: Ask("POST", call, file=y.file(name)), budget_s)


def _profile(yard: Yard) -> Ask:
    plan = PLANS["raster"](yard)
    return Ask("POST", "profile", {k: plan[k] for k in ("units", "route", "ground", "stations")})


def _six(yard: Yard, name: str) -> dict:
    plan = PLANS[name](yard)
    return {"plans": [{"name": f"plan {n}", "plan": plan} for n in range(6)]}


def _laid(yard: Yard) -> dict:
    plan = PLANS["raster"](yard)
    x, y = plan["route"]["line"]["coordinates"][250]
    return plan | {"paper": {"avoid": outline(2_900, (x + 30, y + 30), 20), "clearance": 2}}


def memory_mib(line: str) -> float:
    """A line of this process's status: VmRSS what it holds, VmHWM the most since `forget`."""
    rows = Path("/proc/self/status").read_text().splitlines()
    return int(next(row for row in rows if row.startswith(line)).split()[1]) / 1024


def forget() -> None:
    """Count the most memory from now on (Linux, proc(5))."""
    Path("/proc/self/clear_refs").write_text("5")


def measure(client: FlaskClient, case: Case, yard: Yard) -> bool:
    """Print what a case costs; whether it keeps within its budget."""
    asked = case.make(yard)
    path, content = f"{BASE}/{asked.path}", None
    if asked.body is not None:
        content = json.dumps(asked.body).encode()
        if len(content) > JSON_BYTES:
            raise SystemExit(f"{case}: {len(content):,} bytes")
    with contextlib.ExitStack() as stack:
        given = {} if content is None else {"data": content, "content_type": "application/json"}
        if asked.file is not None:
            given = {
                "data": {"file": (stack.enter_context(asked.file.open("rb")), asked.file.name)}
            }
        how = {"method": asked.method, "headers": asked.headers}
        del asked
        gc.collect()
        ctypes.CDLL(None).malloc_trim(0)  # or what an earlier case gave back would be used again
        forget()
        before_mib, cpu_s, began_s = memory_mib("VmRSS"), time.process_time(), time.perf_counter()
        answer = stack.enter_context(client.open(path, **how, **given))
        length = sum(len(part) for part in answer.iter_encoded())
        took_s, cpu_s = time.perf_counter() - began_s, time.process_time() - cpu_s
    return tell(case, answer.status_code, took_s, cpu_s, memory_mib("VmHWM") - before_mib, length)


def tell(
    case: Case, status: int, took_s: float, cpu_s: float, grown_mib: float, length: int
) -> bool:
    """Print a row; whether all of it is within its budget."""
    over = [
        name
        for name, is_over in (
            ("time", took_s > case.budget_s + LATE),
            ("memory", grown_mib > MOST_MIB),
            ("answer", length > MOST_ANSWER_BYTES and case.call != "export"),
            ("status", status not in case.statuses),
        )
        if is_over
    ]
    told = (" held" if status == 413 else "") + (f" OVER: {', '.join(over)}" if over else "")
    print(
        f"{case.call:26} {case.sent:44} {status} {took_s:7.2f} s {cpu_s:7.2f} s "
        f"{grown_mib:6.0f} MiB {length / 1e6:8.2f} MB{told}",
        flush=True,
    )
    return not over


def main() -> int:
    """Measure each case; 1 where one is over its budget."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--only", nargs="*", default=[""], help="cases with one of these in call or what is sent"
    )
    only = parser.parse_args().only
    compiled.warm()
    held = True
    with tempfile.TemporaryDirectory() as folder:
        yard_folder = Path(folder) / "yard"
        yard_folder.mkdir()
        client = create_app(Settings(Path(folder) / "data")).test_client()
        yard = Yard(client, yard_folder)
        for case in cases():
            if any(one in f"{case.call}, {case.sent}" for one in only):
                held &= measure(client, case, yard)
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
