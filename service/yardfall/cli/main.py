"""The command line. What a command needs is imported once it is asked for: help comes at once."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from yardfall import __version__


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; 0 when it worked, 2 when the input cannot be computed."""
    arguments = _parser().parse_args(argv)
    module, name = arguments.run
    return int(getattr(import_module(f"yardfall.cli.{module}"), name)(arguments))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="yardfall", description="Plan a buried drain, serve the planner, keep what it keeps."
    )
    parser.add_argument("--version", action="version", version=f"Yardfall {__version__}")
    commands = parser.add_subparsers(required=True)

    plan = commands.add_parser("plan", help="plan a request file and print the answer")
    plan.add_argument("request", help="JSON file, or - for standard input")
    plan.add_argument("--table", action="store_true", help="print a table of stations")
    plan.add_argument("--data", type=Path, default=Path(".data"), help="where rasters are kept")
    plan.add_argument(
        "--paper", metavar="NAME", help="write one of the plan's papers, such as dig-sheet.pdf"
    )
    plan.add_argument("-o", "--output", type=Path, help="where to write it (default: its name)")
    plan.set_defaults(run=("commands", "run_plan"))

    serve = commands.add_parser("serve", help="serve the planner")
    serve.add_argument("--host", default="127.0.0.1")
    serve.add_argument("--port", type=int, default=8000)
    serve.add_argument("--data", type=Path, default=Path(".data"))
    serve.add_argument(
        "--log",
        choices=("faults", "requests"),
        help="what to log (default: faults on this machine, else all)",
    )
    serve.set_defaults(run=("commands", "run_serve"))

    contract = commands.add_parser("contract", help="print the OpenAPI document")
    contract.add_argument("--data", type=Path, default=Path(".data"))
    contract.set_defaults(run=("commands", "run_contract"))

    warm = commands.add_parser("warm", help="compile the sums now, so that no plan waits for it")
    warm.set_defaults(run=("commands", "run_warm"))

    key = commands.add_parser("key", help="make, list and revoke keys")
    kinds = key.add_subparsers(required=True)
    new = kinds.add_parser("new", help="make a key; it is shown this once")
    new.add_argument("name", help="whose it is, in your words")
    new.add_argument("--scope", choices=("read", "write", "admin"), default="write")
    new.add_argument("--shares", metavar="ID", help="a key whose jobs and rasters it shall see")
    new.add_argument(
        "--adopt", action="store_true", help="give it what was kept before there were keys"
    )
    new.set_defaults(run=("admin", "new_key"))
    listed = kinds.add_parser("list", help="list every key ever made")
    listed.set_defaults(run=("admin", "list_keys"))
    revoke = kinds.add_parser("revoke", help="end a key at once; what it kept stays")
    revoke.add_argument("id")
    revoke.set_defaults(run=("admin", "revoke_key"))
    backup = commands.add_parser("backup", help="write all that is kept into one file")
    backup.add_argument("file", type=Path)
    backup.set_defaults(run=("admin", "make_backup"))
    back = commands.add_parser("restore", help="put a backup into an empty data directory")
    back.add_argument("file", type=Path)
    back.set_defaults(run=("admin", "restore_backup"))
    for one in (new, listed, revoke, backup, back):
        one.add_argument("--data", type=Path, default=Path(".data"), help="where data is kept")
    return parser


if __name__ == "__main__":
    sys.exit(main())
