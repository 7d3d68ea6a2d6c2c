"""Commands: `yardfall plan`, `serve`, `contract`, `warm`."""

from __future__ import annotations

import argparse
import faulthandler
import gc
import json
import logging
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import marshmallow as ma

from yardfall.app import (
    Settings,
    create_app,
    load_demo,
    load_demo_sources,
    open_rasters,
    open_site_plans,
)
from yardfall.core import compiled, deadline, threads
from yardfall.core.errors import InputError, YardfallError
from yardfall.core.units import SYSTEMS
from yardfall.geo import sandbox
from yardfall.papers import figures
from yardfall.papers.registry import Paper
from yardfall.serving.memory import hold_memory
from yardfall.serving.server import REST_S, Server
from yardfall.web.http.parsing import NotJsonError, read_json
from yardfall.web.http.problems import flatten
from yardfall.web.http.watch.request_log import start_log
from yardfall.web.page.tiles import TilesSettingError
from yardfall.web.plan.handlers import answer_paper, answer_plan
from yardfall.web.schemas.plan_schemas import PlanBody

HERE = ("127.0.0.1", "localhost", "::1")
OVERALL = {
    "yes": "yes",
    "conditional": "yes, on conditions",
    "too_close": "too close to call",
    "no": "no",
}
NO_KEYS = (
    "It has no keys, so it serves this machine alone. Before others may reach it, through a tunnel "
    "or a proxy too, make one:  yardfall key new NAME"
)
LEVELS = {"faults": logging.WARNING, "requests": logging.INFO}


def run_plan(arguments: argparse.Namespace) -> int:
    """Print the plan of a request file as JSON or as a table."""
    try:
        body = PlanBody().load(read_json(read_bytes(arguments.request)))
        rasters = open_rasters(arguments.data)
        if arguments.paper:
            site_plans = open_site_plans(arguments.data)
            made = answer_paper(arguments.paper, body, rasters, site_plans)
            return write_paper(made, arguments.output)
        answer = answer_plan(body, rasters)
    except OSError as error:
        return complain(f"{arguments.request} cannot be read: {error.strerror}.")
    except NotJsonError as error:
        return complain(str(error))
    except ma.ValidationError as error:
        return complain(*(f"{p.pointer or '/'}: {p.detail}" for p in flatten(error.messages)))
    except InputError as error:
        return complain(*(f"{p.pointer}: {p.detail}" for p in error.problems))
    except YardfallError as error:
        return complain(str(error))
    print(table(answer) if arguments.table else json.dumps(answer, indent=2))
    return 0


def write_paper(paper: Paper, path: Path | None) -> int:
    """Write a paper to a file and say where."""
    where = path or Path(paper.name)
    try:
        where.write_bytes(paper.content)
    except OSError as error:
        return complain(f"{where} cannot be written: {error.strerror}.")
    print(f"Wrote {where}")
    return 0


def read_bytes(name: str) -> bytes:
    """What a file holds, or standard input for `-`."""
    return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()


def complain(*lines: str) -> int:
    """Say what is wrong on standard error."""
    for line in lines:
        print(line, file=sys.stderr)
    return 2


def table(answer: dict[str, Any]) -> str:
    """The stations as a table with the verdict above."""
    us = answer["units"] == "us"
    small, large = ("in", "ft") if us else ("mm", "m")
    if not answer["ground_known"]:
        return _without_ground(answer, large)
    rod = any(s["rod_at_bottom"] is not None for s in answer["stations"])
    strung = any(s["line_to_bottom"] is not None for s in answer["stations"])
    head = [
        "station",
        f"string to ground {small}" if strung else f"ground {large}",
        f"dig {small}",
        f"cover {small}",
        "rod" if rod else "string to bottom",
        "grade %",
    ]
    digits = 1 if us else 0
    rows = [
        [
            s["label"],
            _to_ground(s, digits) if strung else f"{s['ground']:.3f}",
            figures.dig(s, SYSTEMS[answer["units"]])[0],
            f"{s['cover']:.{digits}f}" if s["cover"] >= 0 else f"{-s['cover']:.{digits}f} out",
            s["marks"]["line_to_bottom"] or s["marks"]["rod_at_bottom"] or "",
            f"{s['grade_percent']:.2f}",
        ]
        for s in answer["stations"]
    ]
    return _laid_out(answer, [head, *rows])


def _without_ground(answer: dict[str, Any], large: str) -> str:
    """What is left of the table where only the pipe's own two ends are known."""
    rows = [
        [s["label"], f"{s['invert']:.3f}", f"{s['grade_percent']:.2f}"] for s in answer["stations"]
    ]
    return _laid_out(answer, [["station", f"invert {large}", "grade %"], *rows])


def _laid_out(answer: dict[str, Any], rows: list[list[str]]) -> str:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["  ".join(c.rjust(w) for c, w in zip(row, widths, strict=True)) for row in rows]
    notes = [f"Warning: {w['text']}" for w in answer["warnings"]]
    cautions = [f"Caution: {c['text']}" for c in answer["cautions"]]
    whole = answer["whole"]
    said = [whole["sentence"], f"On the whole: {OVERALL[whole['overall']]}."]
    for name, line in _lines(answer):
        said += [f"Condition{name}: {c['text']}" for c in line["answer"]["conditions"]]
    return "\n".join([*said, "", *lines, "", *notes, *cautions])


def _lines(answer: dict[str, Any], name: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """A line and its branches, each with what it is called after a word."""
    yield name, answer
    for branch in answer["branches"]:
        yield from _lines(branch, f", branch {branch['name']}")


def _to_ground(station: dict[str, Any], digits: int) -> str:
    """From the string down to the ground, where a string is read there."""
    down = station["line_to_bottom"]
    return "" if down is None else f"{down - station['dig_depth']:.{digits}f}"


def run_serve(arguments: argparse.Namespace) -> int:
    """Serve the planner until Ctrl-C or SIGTERM: what is in flight is answered first."""
    near = arguments.host in HERE
    try:
        hold_memory(os.environ)
        app = create_app(Settings.from_environment(arguments.data))
    except (YardfallError, ValueError, TilesSettingError) as error:
        return complain(str(error))
    except OSError as error:
        return complain(
            f"The data folder {arguments.data} cannot be written to: {error.strerror}. Give "
            "another with --data DIR."
        )
    if not near and not app.extensions["keys"].any_alive():
        return complain(
            f"{arguments.host} can be reached from other machines, and there is no key yet. Make "
            f"one first:  yardfall key new NAME --data {arguments.data}"
        )
    start_log(sys.stderr, LEVELS[arguments.log or ("faults" if near else "requests")])
    load_demo(app.extensions["rasters"])
    load_demo_sources(app.extensions["rasters"].sources)
    settle()
    deadline.watch()
    threads.begin()
    for ready in (compiled.warm, sandbox.warm):
        threading.Thread(target=ready, name="warm", daemon=True).start()
    server = Server(app, arguments.host, arguments.port)

    def stop(_signal: int, _frame: object) -> None:
        if not server.stopping:
            end_by(REST_S + LATE_S)
        server.stop()

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
    shown = "127.0.0.1" if arguments.host == "0.0.0.0" else arguments.host  # noqa: S104
    print(f"Yardfall is at http://{shown}:{arguments.port}/  (Ctrl-C stops it)", flush=True)
    if not app.extensions["keys"].any_made():
        print(NO_KEYS, flush=True)
    server.run()
    sandbox.stop()
    for late in (signal.SIGINT, signal.SIGTERM):  # it is on its way out already
        signal.signal(late, signal.SIG_IGN)
    print("Yardfall has stopped.", flush=True)
    return 0


LATE_S: Final = 5.0
"""How long after the last that is in flight may be answered the process ends, whatever holds it."""


def end_by(seconds: float) -> None:
    """Have the process end by then, by exit code 1, and tell what held it.

    By a thread that asks nothing of Python, or where there is no memory for one by a signal.
    """
    try:
        faulthandler.dump_traceback_later(seconds, exit=True)
    except (RuntimeError, MemoryError, AttributeError, ValueError, OSError):  # no standard error
        if hasattr(signal, "alarm"):
            signal.signal(signal.SIGALRM, signal.SIG_DFL)
            signal.alarm(int(seconds))


SWITCH_S: Final = 0.0005
"""How long a thread may go on while another waits for the interpreter; by default 5 ms."""


def settle() -> None:
    """Leave what the start made out of later collections: each would stop all callers for it.

    What requests make is collected less often than by Python's own setting: an answer is thousands
    of values without a cycle among them. That saves a plan some 2 % of its time. And a thread that
    asks for the interpreter gets it soon: a plan asks after each of its compiled loops, and beside
    a busy thread would wait each time for as long as that one may go on.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000)
    sys.setswitchinterval(SWITCH_S)


def run_contract(arguments: argparse.Namespace) -> int:
    """Print the OpenAPI document that the code generates."""
    app = create_app(Settings(arguments.data))
    with app.test_client() as client:
        print(json.dumps(client.get("/api/v1/openapi.json").json, indent=2, ensure_ascii=False))
    return 0


def run_warm(_arguments: argparse.Namespace) -> int:
    """Compile every loop into the folder that keeps them, and say where that is."""
    compiled.warm()
    print(f"The sums are compiled, and kept in {compiled.folder()}")
    return 0
