"""Commands for whoever runs a service: `yardfall key`, `yardfall backup`, `yardfall restore`."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Engine

from yardfall.app import Settings
from yardfall.core.errors import YardfallError
from yardfall.store.backup import back_up, restore
from yardfall.store.database import open_database
from yardfall.store.files import private_folder
from yardfall.store.keys import SCOPES, Key, KeyStore

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_commands(commands: Commands) -> None:
    """Add these commands to the command line's."""
    key = commands.add_parser("key", help="make, list and revoke keys")
    kinds = key.add_subparsers(required=True)
    new = kinds.add_parser("new", help="make a key; it is shown this once")
    new.add_argument("name", help="whose it is, in your words")
    new.add_argument("--scope", choices=SCOPES, default="write")
    new.add_argument("--shares", metavar="ID", help="a key whose jobs and rasters it shall see")
    new.add_argument(
        "--adopt", action="store_true", help="give it what was kept before there were keys"
    )
    new.set_defaults(run=_told(new_key))
    listed = kinds.add_parser("list", help="list every key ever made")
    listed.set_defaults(run=_told(list_keys))
    revoke = kinds.add_parser("revoke", help="end a key at once; what it kept stays")
    revoke.add_argument("id")
    revoke.set_defaults(run=_told(revoke_key))
    backup = commands.add_parser("backup", help="write all that is kept into one file")
    backup.add_argument("file", type=Path)
    backup.set_defaults(run=_told(make_backup))
    back = commands.add_parser("restore", help="put a backup into an empty data directory")
    back.add_argument("file", type=Path)
    back.set_defaults(run=_told(restore_backup))
    for parser in (new, listed, revoke, backup, back):
        parser.add_argument("--data", type=Path, default=Path(".data"), help="where data is kept")


class _told:  # noqa: N801 - reads as a phrase where it is used
    """A command that says what went wrong in a sentence, with exit code 2."""

    def __init__(self, command: object) -> None:
        self.command = command

    def __call__(self, arguments: argparse.Namespace) -> int:
        try:
            settings = Settings.from_environment(arguments.data)
            private_folder(settings.data_dir)
            engine = open_database(settings.data_dir, settings.database_url)
            self.command(arguments, engine)  # type: ignore[operator]
        except (YardfallError, ValueError) as error:
            print(error, file=sys.stderr)
            return 2
        except OSError as error:
            print(f"{error.filename or arguments.data}: {error.strerror}.", file=sys.stderr)
            return 2
        return 0


def new_key(arguments: argparse.Namespace, engine: Engine) -> None:
    """Make a key and show it."""
    key, secret = KeyStore(engine).make(
        arguments.name, arguments.scope, arguments.shares, arguments.adopt
    )
    print(secret)
    print(
        f"\nThis is the key of {key.name!r} ({key.scope}), id {key.id}. It is shown this once; "
        "keep it as you would a password.\nSoftware sends it as  Authorization: Bearer <key>. A "
        "browser asks for it: any name, and the key as the password.",
        file=sys.stderr,
    )
    left = KeyStore(engine).left_behind()
    if left:
        told = ", ".join(f"{name.replace('_', ' ')} ({count})" for name, count in left.items())
        print(
            f"\nKept before there were keys, and now seen with none: {told}. To see them with "
            f"this key, make a second one that takes them over for both:\n"
            f"    yardfall key new NAME --shares {key.id} --adopt",
            file=sys.stderr,
        )


def list_keys(_arguments: argparse.Namespace, engine: Engine) -> None:
    """A line for each key, without its secret."""
    for key in KeyStore(engine).all():
        print("  ".join(_row(key)))


def _row(key: Key) -> tuple[str, ...]:
    ended = f"revoked {key.revoked_at:%Y-%m-%d}" if key.revoked_at else "alive"
    shares = "" if key.owner == key.id else f"sees what {key.owner} keeps"
    return key.id, f"{key.scope:5}", f"{key.made_at:%Y-%m-%d}", f"{ended:18}", key.name, shares


def revoke_key(arguments: argparse.Namespace, engine: Engine) -> None:
    """End a key."""
    key = KeyStore(engine).revoke(arguments.id)
    print(f"The key of {key.name!r} opens nothing any more. What it kept stays.")


def make_backup(arguments: argparse.Namespace, engine: Engine) -> None:
    """Write a backup."""
    _count("Backed up", back_up(engine, arguments.data, arguments.file))


def restore_backup(arguments: argparse.Namespace, engine: Engine) -> None:
    """Restore one."""
    _count("Restored", restore(engine, arguments.data, arguments.file))


def _count(what: str, rows: dict[str, int]) -> None:
    print(f"{what}: " + ", ".join(f"{count} {name}" for name, count in rows.items()) + ".")
