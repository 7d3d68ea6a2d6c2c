"""The command line. What a command needs is imported once it is asked for: help comes at once."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

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
    for one in (new, listed, revoke, backup, back, *_source_parsers(commands)):
        one.add_argument("--data", type=Path, default=Path(".data"), help="where data is kept")
    return parser


def _source_parsers(commands: Any) -> Iterator[argparse.ArgumentParser]:
    """`yardfall source …`, each command once."""
    source = commands.add_parser(
        "source", help="name the ground, lots and buildings users may take"
    )
    deeds = source.add_subparsers(required=True)
    kinds = deeds.add_parser("add", help="name a source and read what it has").add_subparsers(
        required=True
    )
    tiles = kinds.add_parser("elevation", help="GeoTIFFs of elevations, their headers alone")
    tiles.add_argument("name", help="what users see and requests name")
    tiles.add_argument(
        "root",
        nargs="+",
        help="a folder, a GeoTIFF, a STAC document (.json), or a text of one address a line "
        "(.txt); on this machine or at an http(s) address",
    )
    tiles.add_argument("--unit", choices=("m", "ft", "us-ft"), help="of the elevations")
    tiles.add_argument("--datum", help="vertical datum, such as NAVD88")
    tiles.add_argument("--rmse", type=float, metavar="METRES", help="vertical error, RMSE")
    tiles.add_argument(
        "--lidar", choices=("dense", "usual", "spec_only"), help="how it was flown, if by lidar"
    )
    tiles.add_argument("--asset", metavar="KEY", help="which asset of each STAC item")
    tiles.set_defaults(run=("sources", "add_elevation"))
    yield _dated(tiles)
    for kind in ("lots", "buildings"):
        areas = kinds.add_parser(
            kind,
            help=f"{kind}, from a GeoPackage, FlatGeobuf, GeoJSON, GeoParquet or zipped shapefile",
        )
        areas.add_argument("name", help="what users see")
        areas.add_argument("file", help="on this machine or at an http(s) address")
        areas.add_argument("--id", required=True, metavar="FIELD", help="the field of their ids")
        areas.add_argument("--layer", help="which layer, where the file has several")
        areas.set_defaults(run=("sources", "add_outlines"), kind=kind)
        yield _dated(areas)
    for deed, run, told in (
        ("list", "list_sources", "list the sources and what was stated of them"),
        ("check", "check_source", "see whether its files are as they were read"),
        ("refresh", "refresh_source", "read what changed, or go on where a reading ended"),
        ("remove", "remove_source", "forget it; its files stay"),
    ):
        one = deeds.add_parser(deed, help=told)
        if deed != "list":
            one.add_argument("name")
        one.set_defaults(run=("sources", run))
        yield one


def _dated(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("--date", metavar="DAY", help="when it was measured, such as 2024-05-31")
    parser.add_argument("--licence", help="a line that users are shown with it")
    return parser


if __name__ == "__main__":
    sys.exit(main())
